"""A job's answers from a file, for training and tests: it drives the very same run.

# step: what is answered
linings: yes
seal: no weeping at the bottom
seal: leave                     it stays failed, go on; `mend` goes where mending begins
speed-sensor: skip none fitted
seat: pull                      wait for the pulls of the adapter, say that the wheel was turned
settle: by hand                 no adapter: the person counts
final-back-off: choose 1
indicator: free                 wait until the indication is still, note that the plunger hangs free
indicator: set                  wait until it is pushed in and still, say yes
end-play: measure               begin, wait for enough holds, measure
linings: back                   from there to the step before; `again`, `forward`, `stop`
end: finish
"""

import re
import time
from dataclasses import dataclass

from rockhold.errors import UsageError
from rockhold.guided import course as c
from rockhold.guided import keys as k
from rockhold.guided.run import JobRun

_LINE = re.compile(r"([a-z0-9-]+):\s*(\S+)(?:\s+(.*))?")
_KEYS = {
    "yes": k.GO, "done": k.GO, "finish": k.GO, "mend": k.GO, "leave": k.NO, "back": k.BACK,
    "forward": k.FORWARD, "stop": k.STOP,
}  # fmt: skip
_WAITING = ("pull", "by", "measure", "again")
_SETTING_UP = {"free": k.FREE, "set": k.GO}
_REACTION_S = 0.5
_WALK_S = 0.25
_WORDS = (*_KEYS, "no", "skip", "choose", *_WAITING, *_SETTING_UP)


@dataclass(frozen=True, slots=True)
class Answer:
    """One line: its number, the step it is for, the word and what follows."""

    line: int
    step: str
    word: str
    rest: str


def answers_in(text: str, where: str) -> list[Answer]:
    """Return the answers in a text; `where` names it in errors.

    Raises:
        UsageError: With the line that is none.
    """
    answers = []
    for number, line in enumerate(text.splitlines(), start=1):
        line = line.strip()
        if not line or line.startswith("#"):
            continue
        found = _LINE.fullmatch(line)
        if found is None or found[2] not in _WORDS:
            raise UsageError(f"{where}, line {number}: write STEP: and one of {', '.join(_WORDS)}")
        if found[2] in ("no", "skip") and not found[3]:
            raise UsageError(f"{where}, line {number}: {found[2]} needs a reason")
        answers.append(Answer(number, found[1], found[2], found[3] or ""))
    return answers


class Script:
    """Presses keys for a person.

    Args:
        answers: In order.
        name: The file, for words.
    """

    def __init__(self, answers: list[Answer], name: str) -> None:
        self._answers = answers
        self._name = name
        self._at = 0
        self._begun = False
        self._pulls_seen = 0
        self._ready: tuple[int, float] | None = None  # board time in µs, and ours in s
        self._from_s: float | None = None

    def pause(self, seconds: float) -> None:
        """Go on: it waits for what it sees, not for a screen."""

    def hears_go(self) -> bool:
        """Say yes: it presses when it may."""
        return True

    def poll(self, run: JobRun) -> bool:
        """Do what can be done now; say whether anything was.

        Raises:
            UsageError: When the job is at another step than the answers.
        """
        if run.phase == c.ENDED:
            return False
        if self._at == len(self._answers):
            run.press(k.STOP)
            run.said = f"{self._name} ends before the job does"
            return True
        answer = self._answers[self._at]
        here = "end" if run.phase == c.REVIEW else run.step.id
        if answer.step != here and not self._begun:
            raise UsageError(
                f"{self._name}, line {answer.line}: is for {answer.step}, but the job is at {here}"
            )
        if answer.word in _WAITING:
            return self._wait(run, answer)
        if answer.word in _SETTING_UP and not _is_set_up(run, answer.word):
            return False
        self._at += 1
        if answer.word in ("no", "skip"):
            run.press(k.NO if answer.word == "no" else k.SKIP)
            run.write(answer.rest)
        elif answer.word == "choose":
            run.press(answer.rest)
        else:
            run.press((_KEYS | _SETTING_UP)[answer.word])
        return True

    def _wait(self, run: JobRun, answer: Answer) -> bool:
        if not self._begun:
            if not self._walked():
                return False
            run.press(k.AGAIN if answer.word == "again" else k.GO)
            self._begun, self._pulls_seen = True, 0
            if answer.word == "again":
                self._at, self._begun = self._at + 1, False
            return True
        if run.phase != c.ACTIVE:
            self._at, self._begun = self._at + 1, False
            return True
        if answer.word == "by" or (answer.word == "measure" and self._held_long_enough(run)):
            run.press(k.GO)
            return True
        if run.pulling is not None and len(run.pulling.peaks_nm) > self._pulls_seen:
            self._pulls_seen = len(run.pulling.peaks_nm)
            run.press(k.GO)
            return True
        return False

    def _walked(self) -> bool:
        """Say whether there was time to get from one step to the next: old readings have come."""
        now_s = time.monotonic()
        if self._from_s is None:
            self._from_s = now_s
        if now_s < self._from_s + _WALK_S:
            return False
        self._from_s = None
        return True

    def _held_long_enough(self, run: JobRun) -> bool:
        """Say whether the last hold has lasted on, as it does before a hand reaches the key.

        By our own time, too: the board's stands still where simulated hands have done all.
        """
        if not run.ready:
            self._ready = None
            return False
        now_us, now_s = run.board_us, time.monotonic()
        ready_us, ready_s = self._ready = self._ready or (now_us, now_s)
        return now_us >= ready_us + _REACTION_S * 1e6 or now_s >= ready_s + _REACTION_S


def _is_set_up(run: JobRun, word: str) -> bool:
    """Say whether the plunger hangs free, or was pushed in from there; and stands still."""
    plunger = run.plunger
    return plunger.still and (word == "free" or plunger.value != plunger.noted)
