"""The board's program, for MicroPython; importing it touches no hardware."""
