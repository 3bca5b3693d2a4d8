"""The board's circuit as data, and everything that is made from it or held against it.

One source of truth: `build.circuit_of(board)`. Rules, netlist, parts list, wiring table, pictures
and simulation decks all read it; none of them says on its own what is connected to what.
"""
