"""One file for each kind of instrument that the board can listen to."""
