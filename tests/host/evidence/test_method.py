"""The same records give the same result, as long as METHOD says that it is the same method.

Results are sealed, and whoever verifies a capture computes them again; so a change of the
measurement that is not told by METHOD would call honest captures wrong. These are not results
that are right, they are the ones that METHOD 5 gives: of good jobs and of every misfortune, with
every gauge. Where a change is meant, raise METHOD and run make_known_results.py.
"""

import json
from pathlib import Path

import pytest

from host.evidence.make_known_results import JOBS, JOBS_SEEN, RESULTS, result_of, traces
from rockhold.capture.reader import Capture
from rockhold.evidence.compare import compare_results
from rockhold.evidence.method import METHOD

TRACES = traces()
KNOWN = json.loads(RESULTS.read_text(encoding="utf-8"))


def test_every_kind_of_job_is_known():
    assert set(KNOWN) == set(TRACES) >= {name for name, *_ in JOBS + JOBS_SEEN}
    assert {row["verdict"] for row in KNOWN.values()} == {"accept", "reject", "undecided", None}
    assert METHOD == 5, "raised? Then run make_known_results.py and put the new number here"


@pytest.mark.parametrize("name", sorted(TRACES))
def test_the_result_is_the_known_one(name):
    line = {"result": KNOWN[name], "method": METHOD}
    capture = Capture(Path("x"), {}, (), ((1, line),), (), False, 0)
    found = compare_results(capture, lambda capture: result_of(*TRACES[name]))
    assert found.reproduced, found.difference
