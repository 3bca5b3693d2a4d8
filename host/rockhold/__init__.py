"""rockhold: wheel-bearing end play, captured, measured with its uncertainty, and signed."""

__version__ = "0.1.0"
