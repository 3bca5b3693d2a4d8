"""What verification found, in the words of the person who has to decide about the file."""

from rockhold.capture.clockfit import BoardClock
from rockhold.evidence import findings as f
from rockhold.evidence.method import METHOD
from rockhold.evidence.reviews import ACCEPT
from rockhold.plain import plain
from rockhold.typed import typed

HEADLINES = {
    f.GOOD: "GOOD: untouched since it was sealed, by keys that you trust",
    f.UNSEALED: "NOT SEALED to its end, or not by the board",
    f.UNKNOWN_KEY: "UNKNOWN KEY: whole, but sealed by a key that you do not trust",
    f.UNREADABLE: "NOT READABLE as a capture",
    f.NEWER: "MADE BY A NEWER ROCKHOLD: this one cannot check it",
    f.NOT_REPRODUCED: "RESULT DOES NOT FIT: the readings give another result than the file states",
    f.DAMAGED: "DAMAGED OR FORGED: something in this file was changed",
}
NO_PERSON = "NOT SEALED by a person, and its board's key is not one that you trust"
OTHERWISE_TODAY = "RESULT READ OTHERWISE TODAY: untouched, but today's method gives another result"
SHORT = {
    f.GOOD: "good",
    f.UNSEALED: "not sealed",
    f.UNKNOWN_KEY: "unknown key",
    f.UNREADABLE: "not readable",
    f.NEWER: "too new",
    f.NOT_REPRODUCED: "result differs",
    f.DAMAGED: "DAMAGED",
}
_NEXT = {
    f.UNSEALED: "Next: ask who recorded it to finish it with `rockhold seal {file}`, or for the "
    "finished file.",
    f.UNKNOWN_KEY: "Next: compare the fingerprint with its owner, by telephone or face to face; if "
    "it is the same:",
    f.UNREADABLE: "Next: check that it is the right file, that you may read it, and that it was "
    "copied whole.",
    f.NEWER: "Next: bring rockhold up to date; the file is untouched by this one.",
    f.NOT_REPRODUCED: "Next: do not use the stored result. `rockhold measure {file}` shows what "
    "the readings give; ask who sealed the file.",
    f.DAMAGED: "Next: do not rely on it. Ask for the file as it was first stored, and keep this "
    "one to find out what happened to it.",
}


def one_line(found: f.Verification) -> str:
    """Return state, file and the worst problem in one line."""
    told = found.problems[0][1].removeprefix(f"{found.file} ") if found.problems else ""
    return plain(f"{SHORT[found.state]:<14} {found.file}" + (f": {told}" if told else ""))


def in_full(found: f.Verification) -> str:
    """Return everything that a reviewer needs, as a few lines."""
    lines = [found.file, f"  {headline_of(found)}"]
    lines += [f"  - {sentence}" for _, sentence in found.problems]
    lines += _table(found)
    lines += [f"  {line}" for line in next_step(found).splitlines()]
    return "\n".join(plain(line) for line in lines)


def headline_of(found: f.Verification) -> str:
    """Return the state of a file in words."""
    if found.state == f.UNKNOWN_KEY and not found.seals:
        return NO_PERSON
    if found.state == f.NOT_REPRODUCED and by_older_method(found):
        return OTHERWISE_TODAY
    return HEADLINES[found.state]


def by_older_method(found: f.Verification) -> bool:
    """Say whether the stored result was made by an older way to measure than today's."""
    return found.result is not None and found.result.line > 0 and found.result.method < METHOD


_NO_CRYSTAL_PPM = 1_000  # ten times what the worst crystal is off


def _table(found: f.Verification) -> list[str]:
    rows = []
    if found.job:
        rows.append(("Job", "; ".join(f"{title} {text}" for title, text in found.job.items())))
    rows += [("" if at else "Steps", line) for at, line in enumerate(found.steps)]
    board = found.board
    if board is not None:
        signed = "signed by the board" if board.sealed else "NOT signed by the board"
        rows.append(("Readings", f"{board.records} records, whole and in order, {signed}"))
        trust = _trust(board, board.name) if board.sealed else ""
        rows.append(("Board", f'{board.id} "{board.name}"' + trust))
        if board.sealed and not board.header_bound:
            rows.append(
                ("", "started with its button: its signature does not cover vehicle and wheel end")
            )
    if found.clock is not None:
        rows.append(("Clock", clock_words(found.clock)))
    for seal in found.seals:
        rows.append(
            (
                deed_of(seal),
                f"{seal.by}, {seal.signed_utc}, line {seal.line}" + _trust(seal, seal.by),
            )
        )
        if seal.because:
            rows.append(("", f'"{seal.because}"'))
    if found.result is not None and found.result.line:
        same = sameness(found.result)
        rows.append(("Result", f"{found.result.sentence} ({same})"))
    elif found.result is not None:
        rows.append(("Result", "none in the file"))
    return [f"  {name:<12} {text}" for name, text in rows]


def sameness(result: f.ResultFound) -> str:
    """Say whether the stored result is the one that the readings give."""
    if not result.reproduced:
        return "DIFFERS when computed again"
    if result.method != METHOD:
        return "by an older method; computed again: agrees within the uncertainty"
    return "computed again: the same"


def clock_words(clock: BoardClock) -> str:
    """Say how well the times of the readings are known."""
    drift = ""
    if clock.drift_ppm is not None and abs(clock.drift_ppm) > _NO_CRYSTAL_PPM:
        times = 1 / (1 + clock.drift_ppm * 1e-6)
        return f"board time ran {times:.3g} times as fast as the computer's: a demo, or a fault"
    if clock.drift_ppm is not None:
        drift = f", board's clock off by {clock.drift_ppm:+.0f} ppm"
    set_by = [f"{jump.by_us / 1e6:+.1f} s" for jump in clock.jumps]
    jumps = f"; the computer's clock was set by {', '.join(set_by)} meanwhile" if set_by else ""
    return f"times of the readings known to {clock.bound_us / 1000:.1f} ms{drift}{jumps}"


def _trust(found: f.SealFound | f.BoardFound, called: str) -> str:
    separator = ", " if found.trusted else ": "
    return f"; key {found.fingerprint}{separator}{trust_words(found, called)}"


def trust_words(found: f.SealFound | f.BoardFound, called: str) -> str:
    """Say what is known of a key that signed; `called` is what its owner is called in the file."""
    if not found.trusted:
        return found.remark
    known = f' as "{found.known_as}"' if found.known_as != called else ""
    remark = f" ({found.remark})" if found.remark else ""
    return f"trusted{known}{remark}"


def deed_of(seal: f.SealFound) -> str:
    """Say what somebody did with a seal."""
    if not seal.verdict and seal.because:
        return "Asked by"
    if not seal.verdict:
        return "Sealed by" if seal.role == "technician" else "Seen by"
    return "Accepted by" if seal.verdict == ACCEPT else "Rejected by"


def next_step(found: f.Verification) -> str:
    """Say what to do about a file that is not good; "" for a good one."""
    if found.state not in _NEXT:
        return ""
    file = typed(found.file)
    if found.state == f.NOT_REPRODUCED and by_older_method(found):
        return (
            "Next: nobody changed it, but rockhold measures in another way since. See what the "
            f"readings give now (`rockhold measure {file}`, `rockhold plot {file}`), then decide."
        )
    if found.state == f.UNSEALED and found.seals and found.sealed_lines == found.lines:
        return (
            "Next: decide whether you take the word of who sealed it for the readings; if not, "
            "have the wheel end measured again."
        )
    if found.state == f.UNKNOWN_KEY:
        trusting = (f"  rockhold keys trust {file} --role {role}" for role in _unknown(found))
        return "\n".join((_NEXT[f.UNKNOWN_KEY], *trusting))
    return _NEXT[found.state].format(file=file)


def _unknown(found: f.Verification) -> list[str]:
    """Return the roles whose keys are unknown, each once."""
    roles = [seal.role for seal in found.seals if not seal.trusted]
    if found.board is not None and found.board.sealed and not found.board.trusted:
        roles.append("board")
    return list(dict.fromkeys(roles))
