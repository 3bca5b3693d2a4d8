"""What board and host must agree on; the same files run on MicroPython and CPython."""
