"""Exported tables: read back by DuckDB, which shares no code with the library that wrote them."""

import csv
import io
import json

import duckdb
import numpy as np
import pytest

from rockhold.capture.channels import TORQUE, channel_of
from rockhold.capture.csvtrace import read_csv
from rockhold.capture.reader import read_capture
from rockhold.evidence.keys import stored_keys
from rockhold.evidence.trust import trust_of
from rockhold.export.columns import READINGS, RESULTS
from rockhold.export.rows import result_rows
from rockhold.export.tables import csv_of_rows, parquet_of_readings, parquet_of_rows
from support import ROOT
from support_board import Rockhold
from support_report import FLEET, hostile_capture
from support_torque import torque_capture
from support_trace import load_trace

KEYS = ROOT / "demo_captures" / "keys"


@pytest.fixture
def rockhold():
    return Rockhold(KEYS)


@pytest.fixture
def duck():
    with duckdb.connect() as connection:
        yield connection


def test_readings_in_parquet_are_the_readings(duck, tmp_path):
    for name in ("good", "unit-changed"):
        path = ROOT / "demo_captures" / f"{name}.capture"
        trace = load_trace(path)
        target = tmp_path / f"{name}.parquet"
        target.write_bytes(parquet_of_readings(trace))
        read = duck.sql(f"select * from '{target}'").fetchnumpy()
        assert list(read) == [column.name for column in READINGS]
        np.testing.assert_array_equal(read["board_us"], trace.t_us)
        np.testing.assert_array_equal(read["count"], trace.count)
        np.testing.assert_array_equal(read["travel_mm"], trace.travel_mm)
        # Another way to the same number: counts times step, by DuckDB.
        off = duck.sql(f"select max(abs(count * step_mm - travel_mm)) from '{target}'").fetchall()
        assert off == [(0,)]
    units = duck.sql(f"select distinct shown_unit from '{target}' order by 1").fetchall()
    assert units == [("in",), ("mm",)]


def test_results_of_the_fleet_are_what_measure_and_verify_say(rockhold, duck, tmp_path):
    target = tmp_path / "fleet.parquet"
    done = rockhold("export", "--results", ROOT / "demo_captures", "-o", target)
    assert done.returncode == 0, done.stderr
    rows = duck.sql(f"select file, state, end_play_mm, verdict, finding_codes from '{target}'")
    found = {file: rest for file, *rest in rows.fetchall()}
    assert sorted(found) == sorted(map(str, FLEET))
    verified = rockhold("verify", ROOT / "demo_captures", "--json").stdout.splitlines()
    states = {row["file"]: row["state"] for row in map(json.loads, verified)}
    measured = rockhold("measure", *FLEET, "--json").stdout.splitlines()
    for row in map(json.loads, measured):
        state, end_play_mm, verdict, codes = found[row["file"]]
        assert state == states[row["file"]]
        assert verdict == row["verdict"]
        assert codes == [finding["code"] for finding in row["findings"]]
        if row["end_play_mm"] is not None:
            assert end_play_mm == pytest.approx(row["end_play_mm"], abs=1e-6)
    query = (
        f"select count(*) from '{target}' where end_play_mm between band_low_mm and band_high_mm"
    )
    assert 0 < duck.sql(query).fetchall()[0][0] < len(found)


def test_csv_and_parquet_hold_the_same(duck, tmp_path, monkeypatch):
    monkeypatch.setenv("ROCKHOLD_HOME", str(KEYS))
    rows = list(result_rows(FLEET[:6], trust_of(stored_keys())))
    (tmp_path / "a.parquet").write_bytes(parquet_of_rows(rows, RESULTS))
    (tmp_path / "a.csv").write_text(csv_of_rows(rows, RESULTS), encoding="utf-8")
    columns = [c.name for c in RESULTS if c.kind != "texts"]
    both = [
        duck.sql(f"select {', '.join(columns)} from {table}").fetchall()
        for table in (
            f"'{tmp_path}/a.parquet'",
            f"read_csv('{tmp_path}/a.csv', types={{'opened_utc': 'VARCHAR'}})",
        )
    ]
    for one, other in zip(*both, strict=True):
        for name, a, b in zip(columns, one, other, strict=True):
            same = a == pytest.approx(b, rel=1e-8) if isinstance(a, float) else str(a) == str(b)
            assert same, (name, a, b)


def test_units_are_in_the_names():
    lengths = {"mm"}
    for column in (*READINGS, *RESULTS):
        if column.kind == "number" and column.name not in ("coverage_factor", "dof"):
            assert column.name.rsplit("_", 1)[1] in {*lengths, "s", "probability"}


def test_bad_files_are_rows_and_hostile_names_are_no_formulas(tmp_path, rockhold):
    (tmp_path / "a.capture").write_bytes(b"hello")
    hostile_capture(tmp_path / "b.capture")
    named = tmp_path / "c.capture"
    named.write_bytes(
        (ROOT / "demo_captures/good.capture").read_bytes().replace(b"R-101", b"=1+1", 1)
    )
    done = rockhold("export", "--results", tmp_path)
    assert done.returncode == 0
    assert "1 of 3 captures give no end play" in done.stderr
    rows = list(csv.DictReader(io.StringIO(done.stdout)))
    assert [row["state"] for row in rows] == ["unreadable", "unknown_key", "damaged"]
    assert "not a capture" in rows[0]["trouble"]
    assert rows[2]["vehicle"].startswith("'=1+1")


def test_readings_in_csv_are_measured_again_to_the_same(tmp_path, rockhold):
    target = tmp_path / "good.csv"
    path = ROOT / "demo_captures" / "good.capture"
    assert rockhold("export", path, "-o", target).returncode == 0
    again = read_csv(target, 0.0127)
    np.testing.assert_allclose(again.travel_mm, load_trace(path).travel_mm, atol=1e-4)


def test_torque_in_parquet_is_the_torque(rockhold, duck, tmp_path):
    (path, _), target = torque_capture(tmp_path / "a.capture"), tmp_path / "a.parquet"
    done = rockhold("export", path, "--what", "torque", "-o", target)
    assert done.returncode == 0, done.stderr
    read = duck.sql(f"select * from '{target}'").fetchnumpy()
    channel = channel_of(read_capture(path), TORQUE)
    assert list(read) == ["board_us", "t_s", "torque_nm"]
    np.testing.assert_array_equal(read["torque_nm"], channel.value)
    np.testing.assert_array_equal(read["board_us"], channel.t_us)
    assert rockhold("export", path, "--what", "knock").returncode == 5


def test_what_does_not_fit_is_said(tmp_path, rockhold):
    done = rockhold("export", FLEET[0], FLEET[1])
    assert done.returncode == 2
    assert "--results" in done.stderr
    assert rockhold("export", "--results", tmp_path).returncode == 2
    target = tmp_path / "x.parquet"
    assert rockhold("export", FLEET[0], "-o", target).returncode == 0
    assert rockhold("export", FLEET[0], "-o", target).returncode == 8
    told = rockhold("export", "--columns").stdout
    assert all(column.name in told for column in (*READINGS, *RESULTS))
