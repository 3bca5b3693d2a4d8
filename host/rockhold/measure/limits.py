"""What a procedure asks of an end-play measurement, and what is known of the gauge.

Values come from a procedure file (rockhold.procedure) and from the gauge's record, never from here.
"""

from dataclasses import dataclass

# What pulling out does to the indication. Base on the spindle end, plunger on the hub's face: it
# pushes the plunger in, and the indication rises. Base on the hub: the other way round.
OUT_SIGN = {"spindle": 1, "hub": -1}


@dataclass(frozen=True, slots=True)
class EndPlayLimits:
    """The end-play step of a procedure.

    Attributes:
        band_low_mm: Lower tolerance limit of the end play, in mm.
        band_high_mm: Upper tolerance limit of the end play, in mm.
        hold_s: How long a hold must last, in seconds.
        cycles_asked: Cycles (one out-hold and one in-hold) that the technician is asked for.
        cycles_required: Fewer cycles than this are not measured.
        guard_factor: Guard band as a multiple of the expanded uncertainty; 0 is simple
            acceptance, 1 the default of ILAC-G8:09/2019, 4.2.2.
        coverage: Coverage probability of the expanded uncertainty, for example 0.95.
        out_sign: +1 if pulling out raises the indication, -1 if it lowers it.
        quiet_band_mm: Spread of the indication that still counts as quiet, in mm.
        settle_s: Quiet time before the tracker says "settling", in seconds.
        gap_s: Silence that is reported as a gap in the data, in seconds.
        drift_limit_mm: Drift over the whole measurement that is reported, in mm.
        tilt_deg: Largest tilt of the plunger against the spindle, in degrees.
        stop_angle_deg: Largest difference between the mean angles of out-holds and in-holds.
        rock_angle_deg: Half the width of a rock that the technician is asked for, in degrees.
        threads_per_inch: Of the spindle nut; 0 if unknown.
        lock_positions: Places per turn where the nut's lock can engage; 0 if unknown.
        preload_mm: How far the plunger must at least be pushed in from its free stop, in mm, where
            that was noted.
    """

    band_low_mm: float
    band_high_mm: float
    hold_s: float
    cycles_asked: int
    cycles_required: int
    guard_factor: float
    coverage: float
    out_sign: int
    quiet_band_mm: float
    settle_s: float
    gap_s: float
    drift_limit_mm: float
    tilt_deg: float
    stop_angle_deg: float
    rock_angle_deg: float
    threads_per_inch: float
    lock_positions: int
    preload_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class GaugeFacts:
    """What is known of the indicator apart from its readings.

    Attributes:
        mpe_mm: Limit of error from its certificate, half width, in mm; None without one.
        overdue: Whether a tool of the job was past its calibration.
        name: Which one.
    """

    mpe_mm: float | None = None
    overdue: bool = False
    name: str = ""
