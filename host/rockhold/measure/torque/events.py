"""What the pull tracker tells, as plain values; times are µs of the board's clock."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Pull:
    """One pull, from a relaxed wrench to a relaxed wrench; torques above the resting indication.

    Attributes:
        start_us: When the torque rose above the start.
        peak_us: When it was highest.
        end_us: When the wrench was relaxed again.
        peak_nm: The highest torque, with scatter averaged and what lies between readings estimated.
        hidden_nm: Half the width of what the true peak may differ by, because it may lie between
            two readings.
        zero_nm: The resting indication that was taken off.
        scatter_nm: Standard deviation of a reading at rest.
        click: Whether the wrench clicked; None where the readings come too slowly to show it.
        loading_s: Time from 80 % of the target (or of the peak, without a target) to all of it;
            None where the target was not reached.
        readings: How many readings the pull has.
    """

    start_us: int
    peak_us: int
    end_us: int
    peak_nm: float
    hidden_nm: float
    zero_nm: float
    scatter_nm: float
    click: bool | None
    loading_s: float | None
    readings: int

    def to_json(self) -> dict[str, object]:
        """Return plain values, for a capture's line and for `--json`."""
        return {
            "start_us": self.start_us,
            "peak_us": self.peak_us,
            "end_us": self.end_us,
            "peak_nm": round(self.peak_nm, 3),
            "hidden_nm": round(self.hidden_nm, 3),
            "click": self.click,
            "loading_s": None if self.loading_s is None else round(self.loading_s, 3),
        }


@dataclass(frozen=True, slots=True)
class PullStarted:
    """A pull is on its way; known a little after `t_us`, when it began."""

    t_us: int


@dataclass(frozen=True, slots=True)
class PeakSeen:
    """The torque has fallen by a tenth from its highest reading so far."""

    t_us: int
    torque_nm: float


@dataclass(frozen=True, slots=True)
class ClickSeen:
    """The torque dropped for a moment and came back, as when a wrench clicks."""

    t_us: int
    torque_nm: float


@dataclass(frozen=True, slots=True)
class OverTorque:
    """The torque is above what is allowed; told at once, once a pull."""

    t_us: int
    torque_nm: float
    limit_nm: float


@dataclass(frozen=True, slots=True)
class PullEnded:
    """The wrench is relaxed again."""

    pull: Pull


Event = PullStarted | PeakSeen | ClickSeen | OverTorque | PullEnded
