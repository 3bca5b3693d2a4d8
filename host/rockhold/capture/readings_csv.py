"""Readings as CSV: of an indicator, in the unit that the gauge showed, and of other sources."""

from rockhold.capture.channels import Channel
from rockhold.measure.trace import MM_PER_INCH, Trace

_DECIMALS = 6  # exact for every step of a gauge, in mm and in inches; times to the microsecond


def csv_of(trace: Trace) -> str:
    """Return the readings as CSV text with a heading line.

    Columns: `t_s`, seconds of the board's clock, and `travel_in` when the gauge showed inches
    throughout, else `travel_mm`.
    """
    inches = all(span.unit == "in" for span in trace.spans)
    travel = trace.travel_mm / MM_PER_INCH if inches else trace.travel_mm
    rows = [f"t_s,travel_{'in' if inches else 'mm'}"]
    for t_us, value in zip(trace.t_us.tolist(), travel.tolist(), strict=True):
        rows.append(f"{t_us / 1e6:.{_DECIMALS}f},{value + 0.0:.{_DECIMALS}f}")
    return "\n".join(rows) + "\n"


def channel_csv(channel: Channel) -> str:
    """Return the readings of a channel as CSV text with a heading line.

    Columns: `t_s`, seconds of the board's clock, and what the channel holds, for example
    `torque_nm`.
    """
    rows = [f"t_s,{channel.holds}"]
    for t_us, value in zip(channel.t_us.tolist(), channel.value.tolist(), strict=True):
        rows.append(f"{t_us / 1e6:.{_DECIMALS}f},{value + 0.0:.{_DECIMALS}f}")
    return "\n".join(rows) + "\n"
