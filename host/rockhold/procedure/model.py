"""A procedure as plain values: ordered steps, each of one kind."""

from dataclasses import dataclass

from rockhold.measure.limits import EndPlayLimits

CHECK, TORQUE, TURN, END_PLAY, FILL, SPIN = "check", "torque", "turn", "end_play", "fill", "spin"
KINDS = (CHECK, TORQUE, TURN, END_PLAY, FILL, SPIN)
AXLES = ("steer", "drive", "trailer")
LOOSEN, TIGHTEN = "loosen", "tighten"


@dataclass(frozen=True, slots=True)
class TorqueTarget:
    """What a torque step asks for.

    Attributes:
        low_nm: The least torque of a good pull, in N·m.
        high_nm: The most torque that is not too much, in N·m.
        target_nm: What the tool is set to, in N·m; the middle where the procedure gives a window.
        unit: In which the procedure says it: "lbf·ft", "lbf·in" or "N·m".
        pulls: How many pulls, at each bolt where there are several.
        wheel_turned: Whether the wheel is turned between the pulls.
        order: The bolts in the order in which they are tightened; empty for a single nut.
    """

    low_nm: float
    high_nm: float
    target_nm: float
    unit: str
    pulls: int
    wheel_turned: bool
    order: tuple[int, ...] = ()

    @property
    def pulls_in_all(self) -> int:
        """How many pulls the whole step has."""
        return self.pulls * max(1, len(self.order))


@dataclass(frozen=True, slots=True)
class TurnTarget:
    """How far a nut is turned.

    Attributes:
        low_rev: The least turn, in revolutions.
        high_rev: The most, in revolutions; equal to low_rev where one turn is asked for.
        by_thread: (threads per inch, turn in revolutions), where the turn depends on the thread.
        advised: Whether the turn is the one that follows from the measured end play.
        direction: "loosen" or "tighten"; an advised turn says its own.
        marks: Alignment marks or lock positions in one turn of the nut; 0 when there are none.
    """

    low_rev: float = 0.0
    high_rev: float = 0.0
    by_thread: tuple[tuple[float, float], ...] = ()
    advised: bool = False
    direction: str = LOOSEN
    marks: int = 0


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a procedure.

    Attributes:
        id: Its name in files and records.
        kind: One of KINDS.
        title: A few words.
        text: What to do and what to look for.
        source: Where the step comes from.
        caution: What must be heeded, "" for nothing beyond the usual.
        on_fail: What to do when it fails.
        go_back_to: The step where mending begins when this one fails, "" for this one itself.
        after_failed: The step is left out unless the step named here has failed; "" for always.
        torque: For a torque step.
        turn: For a turn step.
        end_play: For an end-play step.
        level: For a fill step: up to where.
        shows_indication: For a check step: whether the person sees what the indicator shows, and
            can note where its plunger hangs free.
    """

    id: str
    kind: str
    title: str
    text: str
    source: str
    caution: str = ""
    on_fail: str = ""
    go_back_to: str = ""
    after_failed: str = ""
    torque: TorqueTarget | None = None
    turn: TurnTarget | None = None
    end_play: EndPlayLimits | None = None
    level: str = ""
    shows_indication: bool = False


@dataclass(frozen=True, slots=True)
class Procedure:
    """Ordered steps for one kind of wheel end.

    Attributes:
        name: Short name.
        title: What it is for.
        steps: In the order in which they are done.
        text: The whole procedure in force as TOML, as it goes into a capture.
        axle: "steer", "drive", "trailer" or "".
        source: Where it comes from.
        caution: Shown before the job.
    """

    name: str
    title: str
    steps: tuple[Step, ...]
    text: str
    axle: str = ""
    source: str = ""
    caution: str = ""

    def step(self, name: str) -> Step:
        """Return the step of an id; raises KeyError when there is none."""
        for step in self.steps:
            if step.id == name:
                return step
        raise KeyError(name)
