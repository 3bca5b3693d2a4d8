"""Answers from a file press the keys when a person would."""

from host.guided.test_run import Disk, press_through, readings
from rockhold.guided import course as c
from rockhold.guided.script import Answer, Script
from rockhold.simulator.jobbench import SCENARIO
from rockhold.simulator.simulate import simulate
from support_board import wait_until


def test_the_key_is_pressed_although_the_boards_time_stands_still():
    # Simulated hands may have done all before a busy host looks: no reading comes any more.
    disk = Disk()
    press_through(disk, "end-play")
    run, script = disk.run, Script([Answer(1, "end-play", "measure", "")], "answers")
    wait_until(lambda: script.poll(run), 2)
    trace, _ = simulate(SCENARIO, 8)
    for message in readings(trace, run.board_us + 1_000_000):
        run.feed(message)
    assert run.ready
    assert not script.poll(run)  # a hand takes its time
    wait_until(lambda: script.poll(run), 2)
    assert run.phase != c.ACTIVE
