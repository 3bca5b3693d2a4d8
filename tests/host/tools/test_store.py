"""The folder of tools: nothing is lost, and damage to one file leaves the others."""

from datetime import date

import pytest

from rockhold.errors import ToolError
from rockhold.tools.record import checked
from rockhold.tools.store import add_tool, folder, retire_tool, stored_tools, tool, tool_for_job


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("ROCKHOLD_HOME", str(tmp_path))


def gauge(tool_id, **values):
    return checked({"kind": "indicator", "mpe_mm": 0.02, **values}, tool_id)


def test_a_tool_is_kept_and_never_overwritten_by_chance():
    add_tool(gauge("D3"))
    with pytest.raises(ToolError, match="add --again"):
        add_tool(gauge("D3", mpe_mm=0.01))
    add_tool(gauge("D3", mpe_mm=0.01), again=True)
    assert tool("D3").mpe_mm == 0.01
    kept = list((folder() / "before").iterdir())
    assert [path.name for path in kept] == ["D3-1.toml"]
    assert "mpe_mm = 0.02" in kept[0].read_text()
    with pytest.raises(ToolError, match="leave --again out"):
        add_tool(gauge("D4"), again=True)


def test_damage_to_one_leaves_the_others():
    add_tool(gauge("D3"))
    add_tool(gauge("D5"))
    (folder() / "D4.toml").write_bytes(b'kind = "\xff"')
    (folder() / "D6.toml").write_bytes(b"x" * 20_000)
    (folder() / "D7.toml").mkdir()
    store = stored_tools()
    assert [record.id for record in store.tools] == ["D3", "D5"]
    assert len(store.damaged) == 3
    with pytest.raises(ToolError, match="not UTF-8"):
        tool("D4")
    add_tool(gauge("D4"), again=True)
    assert b"\xff" in (folder() / "before" / "D4-1.toml").read_bytes()


def test_a_retired_tool_stays_on_record_and_is_not_used():
    add_tool(gauge("D3"))
    retire_tool("D3", date(2026, 9, 1), "plunger bent")
    assert tool("D3").retired_on == date(2026, 9, 1)
    with pytest.raises(ToolError, match=r"retired on 2026-09-01 \(plunger bent\)"):
        tool_for_job("D3")
    with pytest.raises(ToolError, match="no tool"):
        tool_for_job("D9")
    with pytest.raises(ToolError, match="id has"):
        tool("../keys")


def test_a_disk_that_refuses_is_said(tmp_path):
    (tmp_path / "tools").write_text("in the way")
    with pytest.raises(ToolError, match="cannot keep the tool"):
        add_tool(gauge("D3"))
