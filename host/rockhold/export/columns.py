"""The columns of exported tables: one place says what each is called, holds and means.

The unit is the last word of a name. Times without a date are of the board's own clock.
"""

from dataclasses import dataclass

TEXT, WHOLE, NUMBER, TEXTS = "text", "whole", "number", "texts"


@dataclass(frozen=True, slots=True)
class Column:
    """A column.

    Attributes:
        name: Its name; the last word is its unit.
        kind: TEXT, WHOLE (64 bits), NUMBER (64 bits) or TEXTS (a list).
        meaning: What it holds.
    """

    name: str
    kind: str
    meaning: str


READINGS = (
    Column("board_us", WHOLE, "time of the reading by the board's clock, exact to the microsecond"),
    Column("t_s", NUMBER, "the same in seconds"),
    Column("count", WHOLE, "what the gauge showed, in its own counts"),
    Column("step_mm", NUMBER, "one count"),
    Column("shown_unit", TEXT, 'the unit that the gauge showed: "mm" or "in"'),
    Column("travel_mm", NUMBER, "indication: count times step"),
)

# Of a torque adapter or motion sensor; in a file only the last column that it holds.
CHANNEL = (
    READINGS[0],
    READINGS[1],
    Column("torque_nm", NUMBER, "torque"),
    Column("turning_deg_s", NUMBER, "how fast the wheel turned, degrees in a second"),
    Column("knock_mg", NUMBER, "shock at the hub, thousandths of standard gravity"),
)

RESULTS = (
    Column("file", TEXT, "the capture's file"),
    Column("sha256", TEXT, "of the file's bytes"),
    Column("capture", TEXT, "the capture's id"),
    Column("opened_utc", TEXT, "when it was opened, RFC 3339"),
    Column("vehicle", TEXT, "company number of the vehicle, as the header says"),
    Column("wheel_end", TEXT, "wheel end, as the header says"),
    Column("technician", TEXT, "who did the work, as the header says"),
    Column("state", TEXT, "what `rockhold verify` finds, by the keys trusted here"),
    Column("review", TEXT, 'verdict of the last review: "accept" or "reject"'),
    Column("reviewed_by", TEXT, "who reviewed it"),
    Column("verdict", TEXT, '"accept", "reject" or "undecided"; empty when not measured'),
    Column("end_play_mm", NUMBER, "end play, computed from the readings"),
    Column("u_mm", NUMBER, "its combined standard uncertainty"),
    Column("expanded_mm", NUMBER, "its expanded uncertainty"),
    Column("coverage_factor", NUMBER, "expanded_mm over u_mm"),
    Column("dof", NUMBER, "effective degrees of freedom; empty for infinite"),
    Column("conformity_probability", NUMBER, "probability that the end play lies in the band"),
    Column("band_low_mm", NUMBER, "lower tolerance limit"),
    Column("band_high_mm", NUMBER, "upper tolerance limit"),
    Column("cycles", WHOLE, "complete out-and-in pairs"),
    Column("holds", WHOLE, "holds that were measured"),
    Column("drift_mm", NUMBER, "drift from the first hold to the last"),
    Column("finding_codes", TEXTS, "codes of the findings, in the order of time"),
    Column("trouble", TEXT, "why there is no result, in a sentence"),
)
