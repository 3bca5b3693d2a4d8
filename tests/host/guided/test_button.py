"""The board's own button as the space bar of a guided job, on the board's own program."""

import io
import threading

from rockhold.capture.reader import read_capture
from rockhold.capture.steps import attempts_of
from rockhold.demo.job import demo_job
from rockhold.guided.means import means_of
from rockhold.guided.run import JobRun
from rockhold.guided.shell import Shell
from rockhold.links.serial_port import SerialLink
from rockhold.procedure.load import load_procedure
from rockhold.record.job import record
from rockhold.record.ways import Onlooker, Ways
from rockhold.simulator.unix_board import UnixBoard
from support import needs_micropython
from support_board import wait_until

pytestmark = needs_micropython


class Nobody:
    """A keyboard that no one touches."""

    def hears_go(self):
        return True

    def poll(self, run):
        return False


def test_short_presses_lead_on_and_a_long_one_ends_it(tmp_path):
    path = tmp_path / "a.capture"
    procedure = load_procedure("inspection")
    job = demo_job(procedure.name, procedure.text)
    run = JobRun(procedure, means_of(job))
    out = io.StringIO()
    shell = Shell(run, Nobody(), out)
    outcome = []
    with UnixBoard("bench board", tmp_path / "secret") as board:
        ways = Ways(lambda: SerialLink(board.device), button_tells=True)
        onlooker = Onlooker(shell.stored, shell.stop, shell.say, shell.linked, shell.opened)
        recording = threading.Thread(
            target=lambda: outcome.append(record(ways, job, path, onlooker)), daemon=True
        )
        recording.start()
        wait_until(lambda: path.exists() and b"record" in path.read_bytes().split(b"\n", 1)[1])
        for at in (1, 2):
            board.press_button(at * 1_000_000)
            board.pass_time(at * 1_000_000 + 500_000)
            wait_until(lambda at=at: run.index == at)
        board.press_button(4_000_000, held_ms=2_500)
        board.pass_time(5_000_000)
        recording.join(10)
    assert outcome[0].reason == "button"
    done = [a.step for a in attempts_of(read_capture(path)) if a.outcome == "done"]
    assert done[:2] == [step.id for step in procedure.steps[:2]]
