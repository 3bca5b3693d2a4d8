"""A tool that was overdue on the day of the job: found then, and by every later reviewer."""

import dataclasses
import json

import pytest

from rockhold.evidence.verify import verify_file
from rockhold.record import header
from support_evidence import JOB, TRUST, make_capture

WRENCH = {"id": "W7", "kind": "torque tool", "serial": "44", "due_on": "2026-03-02"}
GAUGE = {"id": "D3", "kind": "indicator", "mpe_mm": 0.002, "due_on": "2027-03-02"}


def captured(tmp_path, monkeypatch, opened_utc):
    monkeypatch.setattr(header, "now_utc", lambda: opened_utc)
    job = dataclasses.replace(JOB, tools=(WRENCH, GAUGE))
    path = make_capture(tmp_path / "job.capture", job=job)
    lines = path.read_text().splitlines()
    (result,) = [json.loads(line)["result"] for line in lines if line.startswith('{"result"')]
    return path, result


@pytest.mark.parametrize(
    ("opened_utc", "overdue"),
    [("2026-03-02T20:00:00Z", False), ("2026-03-03T01:00:00Z", True)],
)
def test_the_finding_is_the_same_today_as_on_the_day_of_the_job(
    tmp_path, monkeypatch, opened_utc, overdue
):
    path, result = captured(tmp_path, monkeypatch, opened_utc)
    said = [one["text"] for one in result["findings"] if one["code"] == "tool_overdue"]
    assert len(said) == overdue
    assert all("W7 (serial 44)" in text for text in said)
    # The certificate of the indicator is in the budget: 0.002/√3 mm at each of two levels.
    assert any("0.002" in str(row) or row["value_mm"] > 0.001 for row in result["budget"])
    # Verified on the day of this test, long before or after that date.
    found = verify_file(path, TRUST)
    assert found.result.reproduced is True
    assert found.state == "good"
