"""Which sources are changed, and which tests should notice: those that touch the source."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Target:
    """A source and its tests.

    Attributes:
        source: Path from the repository's root.
        module: Its name when imported.
        tests: Test files, or single tests, from the root; the likeliest to notice first.
    """

    source: str
    module: str
    tests: tuple[str, ...]


def _wire(name: str, *tests: str) -> Target:
    own = [f"tests/protocol/test_{test}.py" for test in tests]
    return Target(f"protocol/rockwire/{name}.py", f"rockwire.{name}", tuple(own))


def _host(package: str, name: str, *tests: str) -> Target:
    own = [f"tests/host/{package}/test_{test}.py" for test in tests]
    return Target(f"host/rockhold/{package}/{name}.py", f"rockhold.{package}.{name}", tuple(own))


def _also(target: Target, *tests: str) -> Target:
    more = tuple(f"tests/{test}" for test in tests)
    return Target(target.source, target.module, (*target.tests, *more))


def _measured(name: str, *own: str) -> Target:
    quick = _also(_host("measure", name, *own), "host/evidence/test_method.py")
    whole = ("results", "measure", "findings", "pause", "free_stop", "turned")
    return _also(quick, *(f"host/measure/test_{name}.py" for name in whole))


def _sealed(name: str, *more: str) -> Target:
    return _host("evidence", name, name, *more, "verify", "hostile_files")


GROUPS: dict[str, tuple[Target, ...]] = {
    "wire": (
        _wire("chain", "chain", "receiver", "evidence_vectors"),
        _wire("cobs", "cobs"),
        _wire("crc", "crc"),
        _wire("decoder", "decoder", "frames"),
        _wire("frames", "frames", "wire", "decoder"),
        _wire("guard", "guard"),
        _wire("guide", "guide"),
        _wire("hmac256", "hmac256"),
        _also(
            _wire("messages", "messages", "wire", "frames"),
            "firmware/test_session.py",
            "host/record/test_conversation.py",
        ),
        _wire("radio", "radio"),
        _wire("receiver", "receiver"),
        _wire("sender", "sender"),
        _wire("units", "messages", "wire"),
        _also(
            _wire("upkeep", "messages", "wire", "frames"),
            "firmware/test_app.py",
            "firmware/test_spool.py",
            "firmware/test_settings.py",
        ),
        _wire("varint", "varint", "wire"),
        _wire("wire", "wire", "messages", "frames"),
    ),
    "hold": (
        _wire("hold", "hold"),
        _also(_host("measure", "quiet", "quiet", "holds"), "protocol/test_hold.py"),
    ),
    "endplay": tuple(
        _measured(name, *tests)
        for name, *tests in (
            ("astray", "astray"),
            ("beside", "beside"),
            ("budget", "budget"),
            ("choice", "choice"),
            ("contact", "contact"),
            ("coordinate", "trace"),
            ("digits", "digits_by_rule", "digits"),
            ("disturb", "disturb"),
            ("estimate", "budget"),
            ("fit", "fit"),
            ("free_stop", "free_stop"),
            ("holds", "holds"),
            ("levels", "levels", "steps_by_rule"),
            ("measure",),
            ("plunger", "free_stop"),
            ("press", "press"),
            ("received", "received"),
            ("rests", "choice"),
            ("rhythm", "unheld"),
            ("sides", "sides"),
            ("splits", "splits"),
            ("steps", "steps", "steps_by_rule"),
            ("stop", "stop"),
            ("trace", "trace"),
            ("turned", "turned"),
            ("unheld", "unheld"),
            ("visits", "visits"),
            ("work_end", "work_end"),
        )
    ),
    "verdict": (
        _host("measure", "decision", "decision"),
        _measured("findings", "findings", "words"),
        _host("measure", "advice", "advice", "words"),
        _host("measure", "words", "words", "advice"),
        _measured("limits", "decision", "budget"),
    ),
    "seal": (
        _sealed("seal"),
        _sealed("verify", "structure", "problems"),
        _sealed("linemarks"),
        _sealed("boardproof"),
        _sealed("compare"),
        _sealed("countersign"),
        _sealed("keyfile", "seal", "offered"),
        _sealed("structure"),
        _sealed("trust", "problems"),
        _sealed("reviews"),
    ),
}
