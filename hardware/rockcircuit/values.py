"""Values as they are printed on parts: "4.7k", "100n", "1M"."""

_FACTORS = {"p": 1e-12, "n": 1e-9, "u": 1e-6, "m": 1e-3, "k": 1e3, "M": 1e6}


def number_of(value: str) -> float:
    """Return a value in ohm or farad.

    Raises:
        ValueError: If the text is no value.

    >>> number_of("4.7k")
    4700.0
    """
    if value[-1:] in _FACTORS:
        return float(value[:-1]) * _FACTORS[value[-1]]
    return float(value)


def printed(value: str) -> str:
    """Return a value as people write it, with the sign for micro."""
    return value.replace("u", "µ")
