"""Letting go of code that was needed once: a board's heap is small."""

import gc
import sys


def forget(*names: str) -> None:
    """Let go of modules; whoever imports one of them again loads it anew."""
    for name in names:
        package, _, leaf = name.rpartition(".")
        if name in sys.modules:
            del sys.modules[name]
            delattr(sys.modules[package], leaf)
    gc.collect()
