"""Units on the wire: one byte says what a count measures, two say how much one count is.

A count of 12 with unit IN, mantissa 5 and exponent -4 is 12 · 5 · 10⁻⁴ in. The decimal form keeps
the gauge's own step exact, which a binary fraction would not.
"""

from collections import namedtuple

NONE = 0  # a bare number
MM = 1
INCH = 2
NEWTON_METRE = 3
POUND_FOOT = 4
POUND_INCH = 5
MICROVOLT_PER_VOLT = 6
MILLIDEGREE_PER_SECOND = 7
MILLI_G = 8

NAMES = {
    NONE: "1",
    MM: "mm",
    INCH: "in",
    NEWTON_METRE: "N·m",
    POUND_FOOT: "lbf·ft",
    POUND_INCH: "lbf·in",
    MICROVOLT_PER_VOLT: "µV/V",
    MILLIDEGREE_PER_SECOND: "mdeg/s",
    MILLI_G: "mg",
}

# What one count is: mantissa (1–255) · 10**exponent (-128–127) of a unit.
Scale = namedtuple("Scale", "unit mantissa exponent")

HUNDREDTH_MM = Scale(MM, 1, -2)
HALF_THOU = Scale(INCH, 5, -4)
