"""Reports of the invented fleet, and of a capture with a stranger's names in it."""

import dataclasses

from rockhold.evidence.keys import stored_keys
from rockhold.evidence.trust import trust_of
from rockhold.report.build import build
from rockhold.report.gather import gather
from rockhold.report.units import US
from support import ROOT
from support_evidence import JOB, TRUST, make_capture

FLEET = sorted((ROOT / "demo_captures").glob("*.capture"))
# Each would do something where a page, a picture, a PDF or a terminal took it for more than text.
HOSTILE = (
    '"><script>alert(1)</script><img src=x onerror=alert(2)>'
    "</style></title><svg onload=alert(3)>{{7*7}}{% raw %}#panic(1)$x$]\x1b[31m\u202e`${a}`&amp;"
)


def fleet_trust(monkeypatch):
    """The trust of somebody who trusts the demo keys."""
    monkeypatch.setenv("ROCKHOLD_HOME", str(ROOT / "demo_captures" / "keys"))
    return trust_of(stored_keys())


def report_of(path, trust=TRUST, units=US):
    return build(gather(path, trust), units)


def hostile_capture(path):
    """A capture whose every text of a person is hostile."""
    job = dataclasses.replace(
        JOB,
        technician=HOSTILE,
        vehicle={"number": HOSTILE, HOSTILE: HOSTILE},
        wheel_end={"position": HOSTILE},
        tools=({"kind": "indicator", "name": HOSTILE, "serial": HOSTILE, "due_on": HOSTILE},),
    )
    return make_capture(path, job=job)


STEPS = (
    {"step": "chock", "kind": "check", "title": "Wheels chocked", "outcome": "done", "attempt": 1,
     "values": {"answer": "yes"}},
    {"step": "seat", "kind": "torque", "title": "Seat the bearings", "outcome": "done",
     "attempt": 1, "values": {
         "target_nm": 271.16, "low_nm": 260.3, "high_nm": 282.0, "shown_unit": "lbf·ft",
         "tool": "wrench 3", "pulls": [
             {"start_us": 1_000_000, "peak_us": 1_900_000, "end_us": 2_200_000,
              "peak_nm": 270.0, "click": True, "turned": "by person"},
             {"start_us": 5_000_000, "peak_us": 5_900_000, "end_us": 6_200_000,
              "peak_nm": 300.0, "click": None, "turned": None}]}},
    {"step": "back", "kind": "turn", "title": "Back the nut off", "outcome": "done", "attempt": 1,
     "values": {"turn_rev": 0.25, "direction": "loosen", "lock_positions": None}},
    {"step": "play", "kind": "end_play", "title": "Measure", "outcome": "failed", "attempt": 1,
     "because": "the base was knocked", "values": {"end_play_mm": 0.0762, "expanded_mm": 0.0127,
                                                   "verdict": "undecided", "findings": []}},
    {"step": "play", "kind": "end_play", "title": "Measure", "outcome": "done", "attempt": 2,
     "values": {"end_play_mm": 0.0762, "expanded_mm": 0.0127, "verdict": "accept",
                "findings": []}},
    {"step": "oil", "kind": "fill", "title": "Fill with oil", "outcome": "skipped", "attempt": 1,
     "because": "no oil at hand", "values": {"level": "full line"}},
    {"step": "spin", "kind": "spin", "title": "Spin the wheel", "outcome": "begun", "attempt": 1,
     "values": {}},
)  # fmt: skip
