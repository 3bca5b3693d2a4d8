"""The capture file: written, read, sealed, verified."""
