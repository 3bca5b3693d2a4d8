"""The evidence that of two rates one is lower."""

from math import log


def evidence(a: float, n_a: float, b: float, n_b: float) -> float:
    """Return the log likelihood ratio of two rates against one, if a's rate is the lower one.

    Poisson rates of a in n_a and b in n_b readings; a quarter keeps none from being certain.
    """
    a, b = a + 0.25, b + 0.25
    if a * n_b >= b * n_a:
        return 0.0
    both = (a + b) / (n_a + n_b)
    return a * log(a / n_a / both) + b * log(b / n_b / both)
