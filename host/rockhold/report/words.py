"""What a person reads: the cautions of the trade, and a result in words."""

from collections.abc import Mapping
from typing import Any

from rockhold.measure.trace import MM_PER_INCH

# Common practice in heavy-vehicle workshops, no source. The maker's instructions come first.
CAUTIONS = (
    "Before you rock the wheel: level ground, wheels chocked, the axle on rated stands and never "
    "on a jack alone.",
    "Eye protection on; hands clear of the gap between tyre and body; wheel assemblies are heavy.",
    "No impact wrench on spindle nuts. The maker's instructions, the fleet's rules and the law "
    "come first.",
    "This work is for trained people. A verdict is never permission to drive: the wheel must also "
    "turn smooth, quiet and free.",
)


def result_lines(row: Mapping[str, Any]) -> list[str]:
    """Return a result, as the object that `measure --json` prints, in lines for a person."""
    lines = []
    if row["end_play_mm"] is not None:
        value, expanded = row["end_play_mm"], row["expanded_mm"]
        lines.append(
            f"End play {value / MM_PER_INCH:.5f} in ± {expanded / MM_PER_INCH:.5f} in"
            f"   ({value:.4f} mm ± {expanded:.4f} mm, 95 %)"
        )
    if row["verdict"]:
        lines.append(f"Verdict: {row['verdict']}")
    if row["sentence"]:
        lines.append(row["sentence"])
    lines += [f"At {f['at_s']:.2f} s: {f['code']}: {f['text']}" for f in row["findings"]]
    return lines
