"""One file for each board: which pins, ports and clock the program gets."""
