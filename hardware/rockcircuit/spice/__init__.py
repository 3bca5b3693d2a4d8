"""ngspice runs of the circuit: decks are made from the netlist, never written beside it."""
