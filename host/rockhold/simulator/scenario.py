"""What a simulated job is made of: wheel end, technician, gauge, misfortunes; plain values."""

from dataclasses import dataclass, field

MISFORTUNES = (
    "plunger_dropped",
    "contact_lost",
    "zero_pressed",
    "base_moved",
    "no_hold",
    "short_hold",
    "one_sided",
    "data_gap",
    "gauge_frozen",
    "unit_changed",
    "drifting",
    "low_preload",
    "wild_reading",
)


@dataclass(frozen=True, slots=True)
class Misfortune:
    """One thing that goes wrong.

    Attributes:
        kind: One of MISFORTUNES.
        at: When, as a fraction of the time from the first rock to the last hold; 0 to 1.
        size_mm: How large (shift, depth), in mm; 0 means a size that fits the kind.
        length_s: How long, in seconds; 0 means a length that fits the kind.
    """

    kind: str
    at: float = 0.5
    size_mm: float = 0.0
    length_s: float = 0.0

    def __post_init__(self) -> None:
        if self.kind not in MISFORTUNES:
            known = ", ".join(MISFORTUNES)
            raise ValueError(f"unknown misfortune {self.kind!r}; use one of: {known}")


@dataclass(frozen=True, slots=True)
class WheelEnd:
    """The bearing, the hub and how the indicator sits on them; lengths in mm.

    Attributes:
        end_play_mm: Settled distance between out and in at the technician's usual force.
        runout_mm: Full travel of the hub's face over one turn.
        second_harmonic: Share of the runout that repeats twice per turn; 0 to 1.
        give_mm: How far the parts spring under the usual force, on top of the end play when it
            is pushed harder and less of it when it is pushed softer.
        seating_mm: How far from its place an unseated bearing starts.
        seating_s: Rocking time after which a third of that is left, in seconds.
        drift_mm_per_min: Slow travel of the base or the parts.
        out_sign: +1 if pulling out raises the indication, else -1.
    """

    end_play_mm: float = 0.0762
    runout_mm: float = 0.012
    second_harmonic: float = 0.0
    give_mm: float = 0.004
    seating_mm: float = 0.01
    seating_s: float = 0.6
    drift_mm_per_min: float = 0.0
    out_sign: int = 1


@dataclass(frozen=True, slots=True)
class Technician:
    """How the wheel is moved.

    Attributes:
        style: "swing" (even to-and-fro), "strokes" (uneven strokes), "dwell" (a stop at the end
            of each stroke), "restless" (speed and width change all the time).
        cycles: Out-and-in pairs.
        first_side: "out" or "in".
        rock_deg: Half the width of a rock, in degrees.
        rock_hz: Rocks per second.
        rock_s: Shortest and longest time of rocking before a hold, in seconds.
        hold_s: Shortest and longest hold, in seconds.
        hold_deg: Standard deviation of the angle at which the wheel stops, in degrees.
        force_sd: Relative standard deviation of the push from hold to hold.
        rock_force: Mean push while rocking, as a multiple of the push in a hold.
        tremor_mm: Standard deviation of the hand's tremor at the indicator, in mm.
        change_s: Time to change from pulling to pushing, in seconds.
        free_s: Quiet time before the first rock and after the last hold, in seconds.
        handling: Whether the indicator is set up in view: large travel before the first rock.
    """

    style: str = "swing"
    cycles: int = 3
    first_side: str = "out"
    rock_deg: float = 22.5
    rock_hz: float = 0.8
    rock_s: tuple[float, float] = (2.0, 4.0)
    hold_s: tuple[float, float] = (1.2, 2.2)
    hold_deg: float = 3.0
    force_sd: float = 0.08
    rock_force: float = 1.0
    tremor_mm: float = 0.0006
    change_s: float = 0.4
    free_s: float = 1.5
    handling: bool = False


@dataclass(frozen=True, slots=True)
class Gauge:
    """The indicator and the way it sends its readings.

    Attributes:
        unit: "mm" or "in".
        step_mm: One count, in mm.
        rate_hz: Mean readings per second.
        jitter: Standard deviation of the spacing, relative to the mean spacing.
        lag_s: Time constant of the indicator's first-order lag, in seconds.
        rounding: "nearest" or "down".
        lost: Share of readings that never arrive.
    """

    unit: str = "in"
    step_mm: float = 0.00127
    rate_hz: float = 20.0
    jitter: float = 0.05
    lag_s: float = 0.03
    rounding: str = "nearest"
    lost: float = 0.0


@dataclass(frozen=True, slots=True)
class Scenario:
    """One simulated job."""

    wheel_end: WheelEnd = field(default_factory=WheelEnd)
    technician: Technician = field(default_factory=Technician)
    gauge: Gauge = field(default_factory=Gauge)
    misfortunes: tuple[Misfortune, ...] = ()


@dataclass(frozen=True, slots=True)
class TrueHold:
    """One hold as it was meant: times in seconds, level in mm, side "out" or "in"."""

    start_s: float
    end_s: float
    level_mm: float
    side: str


@dataclass(frozen=True, slots=True)
class Truth:
    """What really happened.

    Attributes:
        end_play_mm: The end play that a perfect measurement would give.
        holds: The holds, whether or not anything spoilt them.
        misfortunes: Each kind and the time it happened, in seconds.
    """

    end_play_mm: float
    holds: tuple[TrueHold, ...]
    misfortunes: tuple[tuple[str, float], ...]
