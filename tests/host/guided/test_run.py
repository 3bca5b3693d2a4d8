"""The guided job as a state machine: whatever a person does, no step is lost."""

import json
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from rockhold.capture.lines import to_line
from rockhold.capture.reader import parse_capture
from rockhold.capture.steps import DONE, attempts_of
from rockhold.guided import course as c
from rockhold.guided import keys as k
from rockhold.guided.drawing import lines_of, painted
from rockhold.guided.means import Means
from rockhold.guided.run import REASONS, JobRun
from rockhold.guided.screen import screen_of
from rockhold.measure.trace import Trace
from rockhold.procedure.load import load_procedure
from rockhold.simulator.jobbench import SCENARIO
from rockhold.simulator.scenario import Misfortune
from rockhold.simulator.simulate import simulate
from rockhold.simulator.spin import Spin, spin
from rockwire import messages as m
from rockwire.units import HALF_THOU, MILLI_G, MILLIDEGREE_PER_SECOND, POUND_FOOT, Scale

PROCEDURE = load_procedure("double-nut-steer")
MEANS = Means("A. Tester")
HEADER = b'{"rockhold":"capture","version":1}\n'


class Disk:
    """What was written, and the run that goes on from it after a kill."""

    def __init__(self, procedure=PROCEDURE):
        self.procedure = procedure
        self.entries = []
        self.run = JobRun(procedure, MEANS)

    def settle(self):
        self.entries += self.run.take_entries()

    def attempts(self):
        lines = b"".join(to_line(entry) for entry in self.entries)
        return attempts_of(parse_capture(Path("x"), HEADER + lines))

    def kill(self):
        self.run = JobRun(self.procedure, MEANS, self.attempts())


def readings(trace: Trace, later_us=0):
    for t_us, count in zip(trace.t_us.tolist(), trace.count.tolist(), strict=True):
        yield m.Readings(0, HALF_THOU, (t_us + later_us,), (count,))


def press_through(disk, until):
    """Do every step well by hand until a step is shown."""
    run = disk.run
    for _ in range(200):
        if run.phase in (c.REVIEW, c.ENDED) or run.step.id == until:
            return
        if run.step.turn is not None and run.step.turn.by_thread:
            run.press("1")
        else:
            run.press(k.GO)
        disk.settle()
    raise AssertionError("it goes in a circle")


KEYS = st.sampled_from(
    [k.GO] * 4 + [k.NO, k.SKIP, k.BACK, k.FORWARD, k.AGAIN, "1", "2", "kill", "write", "nothing"]
)


@settings(max_examples=150, deadline=None)
@given(st.lists(KEYS, max_size=60))
def test_no_step_is_lost_whatever_is_pressed(keys):
    disk = Disk()
    closed = {}
    for key in keys:
        if key == "kill":
            disk.kill()
        elif key == "write":
            disk.run.write("for a reason")
        elif key == "nothing":
            disk.run.write("")
        else:
            disk.run.press(key)
        disk.settle()
        assert lines_of(screen_of(disk.run))
        for attempt in disk.attempts():
            if attempt.outcome != "begun":
                closed[attempt.step, attempt.number] = attempt.outcome
    # Every attempt that was ever closed is in the record, once and unchanged.
    found = {(a.step, a.number): a.outcome for a in disk.attempts() if a.outcome != "begun"}
    assert found == closed
    numbers = [(e["step"], e["attempt"]) for e in disk.entries if e["outcome"] != "begun"]
    assert len(numbers) == len(set(numbers))
    # A run made from the record knows what the run that wrote it knew.
    again = JobRun(PROCEDURE, MEANS, disk.attempts())
    assert again.history.open_points() == disk.run.history.open_points()
    # Failed and skipped steps say why.
    assert all(e.get("because") for e in disk.entries if e["outcome"] in ("failed", "skipped"))


def test_a_killed_job_goes_on_at_the_right_step():
    disk = Disk()
    press_through(disk, "settle")
    disk.kill()
    assert disk.run.step.id == "settle"
    disk.run.press(k.GO)
    disk.settle()  # begun, then the power goes
    disk.kill()
    assert (disk.run.step.id, disk.run.phase) == ("settle", c.ASK)
    press_through(disk, "washer")
    assert disk.attempts()[-1].outcome == DONE
    numbers = [e["attempt"] for e in disk.entries if e["step"] == "settle"]
    assert numbers == [1, 2, 2]


def test_a_turned_nut_makes_what_stands_behind_it_due_again():
    disk = Disk()
    press_through(disk, "end-play")
    run = disk.run
    ids = [step.id for step in PROCEDURE.steps]
    while run.step.id != "final-back-off":
        run.press(k.BACK)
    assert "Last time: done" in "\n".join(lines_of(screen_of(run)))
    run.press("2")
    disk.settle()
    assert run.step.id == "washer"
    linings = ids.index("linings")
    assert not run.history.is_due(linings)  # looking at the linings need not be done again
    press_through(disk, "end-play")
    assert [a.number for a in disk.attempts() if a.step == "jam-nut"] == [1, 2]


def measured(disk, end_play_mm, seed, misfortunes=(), waits=0):
    """Rock and hold in front of the run, then press."""
    parts = replace(SCENARIO.wheel_end, end_play_mm=end_play_mm)
    trace, truth = simulate(replace(SCENARIO, wheel_end=parts, misfortunes=misfortunes), seed)
    later_us = disk.run.board_us + 1_000_000
    disk.run.press(k.GO)
    if waits:  # nobody lets go of the tyre and moves it
        n = int(np.searchsorted(trace.t_us, truth.holds[-1].end_s * 1e6 - 150_000))
        trace = replace(trace, t_us=trace.t_us[:n], count=trace.count[:n])
    messages = list(readings(trace, later_us))
    last = messages[-1]
    messages += [last._replace(t_us=(last.t_us[0] + 72_000 * n,)) for n in range(1, waits)]
    told = ""
    for message in messages:
        disk.run.feed(message)
        following = disk.run.measuring.following
        if following.holds != told:  # the board follows, too, and says so
            told = following.holds
            disk.run.feed(m.Event(m.HOLD_TOLD, m.ALL_SOURCES, message.t_us[0], 0))
    assert disk.run.ready
    disk.run.press(k.GO)
    disk.settle()


def test_the_wheel_may_stand_where_it_was_held_last_until_somebody_presses_the_key():
    disk = Disk()
    press_through(disk, "end-play")
    measured(disk, 0.003 * 25.4, 8, waits=400)  # nearly half a minute
    attempt = next(a for a in reversed(disk.attempts()) if a.step == "end-play")
    assert (attempt.outcome, attempt.values["findings"]) == ("done", [])


def test_a_knocked_base_sends_nobody_to_the_nut():
    disk = Disk()
    press_through(disk, "end-play")
    measured(disk, 0.003 * 25.4, 8, (Misfortune("base_moved", 0.55, 0.2),))
    run = disk.run
    assert run.phase == c.FAILED_
    values = disk.entries[-1]["values"]
    assert (values["verdict"], values["inside_limits"]) == ("undecided", True)
    assert "advice" not in values
    shown = " ".join(lines_of(screen_of(run)))
    assert "Found: The base was knocked; set it up anew" in shown
    assert "nothing of the nut" in shown
    assert "the nut by" not in shown
    run.press(k.GO)
    assert run.step.id == "end-play"  # and not the step that turns the nut


def test_a_loose_end_play_leads_to_the_turn_and_a_new_attempt():
    disk = Disk()
    press_through(disk, "end-play")
    measured(disk, 0.009 * 25.4, 7)
    run = disk.run
    assert run.phase == c.FAILED_
    # Turn divided by threads per inch (arithmetic): 0.006 in at 12 threads is 25.9 degrees.
    advice = disk.entries[-1]["values"]["advice"]
    assert advice["direction"] == "tighten"
    assert abs(advice["turn_rev"] * 360 - 0.006 * 12 * 360) < 2
    assert "TIGHTEN the nut by 2" in "\n".join(lines_of(screen_of(run)))
    run.press(k.GO)
    assert run.step.id == "adjust"
    press_through(disk, "end-play")
    measured(disk, 0.003 * 25.4, 8)
    assert run.step.id == "spin"
    sequence = [(a.step, a.number, a.outcome) for a in disk.attempts()]
    assert [row for row in sequence if row[0] in ("end-play", "adjust", "jam-nut")] == [
        ("jam-nut", 1, "done"),
        ("end-play", 1, "failed"),
        ("adjust", 1, "done"),
        ("jam-nut", 2, "done"),
        ("end-play", 2, "done"),
    ]
    windows = [a.values for a in disk.attempts() if a.step == "end-play"]
    assert windows[0]["to_us"] <= windows[1]["from_us"]


def test_too_much_torque_fails_the_step():
    disk = Disk(load_procedure("hub-cap"))
    disk.run.press(k.GO)
    disk.run.press(k.GO)
    for at in range(400):
        torque = 0 if at < 60 or at > 100 else min(5000, (at - 60) * 400)
        disk.run.feed(m.Readings(1, Scale(POUND_FOOT, 1, -2), (at * 50_000,), (torque,)))
    disk.settle()
    last = disk.entries[-1]
    assert (last["step"], last["outcome"]) == ("cap-screws", "failed")
    assert "TOO MUCH" in last["because"]
    assert json.dumps(last)


def test_every_screen_fits_a_terminal_of_80_by_24():
    disk = Disk()
    run = disk.run
    for _ in range(60):
        rows = painted(screen_of(run), 80, 24, "█", True)
        assert len(rows) <= 23
        plain = [re.sub(r"\x1b\[[0-9;]*m", "", row) for row in rows]
        assert max(map(len, plain)) <= 80
        keys = [key for key in screen_of(run).keys.split("   ") if key.startswith("[")]
        assert all(any(key in row for row in plain) for key in keys)  # none is torn in two
        if run.phase == c.REVIEW:
            return
        run.press("1" if run.step.turn is not None and run.step.turn.by_thread else k.GO)


def spun(disk, how):
    """Let the sensor on the hub see a spin, as the board's motion source sends it."""
    motion = spin(how, 1.0, 16.0, seed=3)
    begin_us = disk.run.board_us
    for at in range(0, len(motion.t_us) - 10, 10):
        times = tuple(begin_us + int(t) for t in motion.t_us[at : at + 10])
        rates = tuple(round(1000 * float(one)) for one in motion.turn_deg_s[at : at + 10])
        disk.run.feed(m.Readings(2, Scale(MILLIDEGREE_PER_SECOND, 1, 0), times, rates))
        jumps = abs(motion.shock_mg[at + 1 : at + 11] - motion.shock_mg[at : at + 10])
        knock = round(float(jumps.max()))
        disk.run.feed(m.Readings(3, Scale(MILLI_G, 1, 0), times[-1:], (knock,)))


def at_spin():
    disk = Disk(load_procedure("end-play-and-spin"))
    press_through(disk, "end-play")
    measured(disk, 0.003 * 25.4, 8)
    assert disk.run.step.id == "spin"
    return disk


def test_a_good_spin_is_measured_beside_the_answers():
    disk = at_spin()
    spun(disk, Spin())
    for _ in range(3):
        disk.run.press(k.GO)
    disk.settle()
    values = disk.entries[-1]["values"]
    assert values["smooth"] is values["quiet"] is values["free"] is True
    assert values["measured"]["findings"] == []
    assert values["measured"]["turned_rev"] > 3


def test_a_catch_that_nobody_felt_is_told_before_the_last_answer_counts():
    disk = at_spin()
    spun(disk, Spin(catch_deg=400.0))
    for _ in range(3):
        disk.run.press(k.GO)
    assert disk.run.phase == c.ASK
    assert "caught" in disk.run.said
    assert "caught" in "\n".join(lines_of(screen_of(disk.run)))
    disk.run.press(k.NO)
    disk.run.write("a rough bearing")
    disk.settle()
    last = disk.entries[-1]
    assert (last["outcome"], last["because"]) == ("failed", "a rough bearing")
    codes = {row["code"] for row in last["values"]["measured"]["findings"]}
    assert "spin_caught" in codes


def test_without_a_sensor_the_person_alone_answers():
    disk = at_spin()
    for _ in range(3):
        disk.run.press(k.GO)
    disk.settle()
    assert disk.entries[-1]["values"]["measured"] is None


def test_a_number_is_a_reason_for_a_skip_only():
    disk = Disk(load_procedure("end-play-and-spin"))
    disk.run.press(k.SKIP)
    disk.run.write("2")
    disk.settle()
    assert disk.entries[-1]["because"] == REASONS[1]
    disk.run.press(k.BACK)
    disk.run.press(k.NO)
    disk.run.write("2")
    disk.settle()
    assert disk.entries[-1]["because"] == "2"


def test_screws_in_turn_and_out_of_turn():
    disk = Disk(load_procedure("hub-cap"))
    run = disk.run
    run.press(k.GO)
    run.press(k.GO)
    assert "SCREW 1" in screen_of(run).todo  # common practice, no source: 1-4-2-5-3-6
    run.press(k.GO)
    assert "SCREW 4" in screen_of(run).todo
    run.press(k.GO)
    run.press("2")  # it was the neighbour
    assert "OUT OF TURN" in run.said
    due = []
    while run.phase == c.ACTIVE:
        due.append(run.pulling.due_screw)
        run.press(k.GO)
    assert due == [4, 5, 3, 6]
    disk.settle()
    values = next(e for e in disk.entries if e["step"] == "cap-screws" and e["outcome"] == DONE)
    assert values["values"]["bolts_tightened"] == [1, 2, 4, 5, 3, 6]
    assert values["values"]["out_of_turn"] == [{"place": 2, "screw": 2, "due": 4}]


def test_an_early_space_bar_asks_again_and_measures_nothing_of_the_nut():
    disk = Disk()
    press_through(disk, "end-play")
    run = disk.run
    run.press(k.GO)
    run.press(k.GO)
    assert run.phase == c.ACTIVE
    assert "0 of 6 holds only" in run.said
    run.press(k.GO)
    disk.settle()
    assert run.phase == c.FAILED_
    text = "\n".join(lines_of(screen_of(run)))
    assert "nothing of the nut" in text
    assert "Turn the nut" not in text
    run.press(k.GO)
    assert (run.step.id, run.phase) == ("end-play", c.ASK)


def test_a_good_end_play_is_told_on_the_next_screen():
    disk = Disk()
    press_through(disk, "end-play")
    measured(disk, 0.003 * 25.4, 8)
    assert disk.run.step.id == "spin"
    assert "End play: done. End play 0." in "\n".join(lines_of(screen_of(disk.run)))


def test_stopped_for_today_it_asks_for_the_same_step_tomorrow():
    disk = Disk()
    press_through(disk, "seat")
    disk.run.press(k.GO)
    disk.run.press(k.STOP)
    disk.settle()
    words = {step.id: text for step, text in disk.run.history.open_points()}
    assert words["seat"] == "broken off"
    disk.kill()
    assert (disk.run.step.id, disk.run.phase) == ("seat", c.ASK)


def test_an_adapter_near_zero_shows_no_minus_and_a_screw_that_is_not_there_is_said():
    disk = Disk(load_procedure("hub-cap"))
    run = disk.run
    run.press(k.GO)
    run.press(k.GO)
    run.feed(m.Readings(1, Scale(POUND_FOOT, 1, -2), (50_000,), (-20,)))
    screen = screen_of(run)
    assert screen.big == "0"
    assert "wheel turned" not in screen.keys  # nobody turns a wheel at its hub cap
    assert "[1-6]" in screen.keys
    run.press("9")
    assert "no screw 9" in run.said
