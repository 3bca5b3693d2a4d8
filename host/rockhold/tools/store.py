"""The tools of this computer: one file a tool in the folder `tools` beside the keys.

Damage to one file takes no other tool away. A file is replaced whole or not at all; what it said
before a new calibration is kept in `tools/before`.
"""

import dataclasses
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from rockhold.errors import ToolError
from rockhold.evidence.keys import home
from rockhold.files import write_whole
from rockhold.tools.record import ID_FORM, ToolRecord, from_text, to_text

_LARGEST = 1 << 14  # bytes of a tool's file


@dataclass(frozen=True, slots=True)
class ToolStore:
    """All tools of the folder, and what is wrong with the files that hold none any more."""

    tools: tuple[ToolRecord, ...]
    damaged: tuple[str, ...]


def folder() -> Path:
    """Return the folder where the records lie."""
    return home() / "tools"


def stored_tools() -> ToolStore:
    """Return every tool of the folder, by id."""
    tools: list[ToolRecord] = []
    damaged: list[str] = []
    for path in sorted(folder().glob("*.toml")):
        try:
            tools.append(_read(path))
        except ToolError as error:
            damaged.append(str(error))
    return ToolStore(tuple(tools), tuple(damaged))


def tool(tool_id: str) -> ToolRecord:
    """Return one tool.

    Raises:
        ToolError: When there is none of that id, or its file cannot be used.
    """
    path = _path(tool_id)
    if not path.exists():
        raise ToolError(f'there is no tool "{tool_id}"; `rockhold tools list` shows them')
    return _read(path)


def tool_for_job(tool_id: str) -> ToolRecord:
    """Return a tool that is about to be used.

    Raises:
        ToolError: When there is none of that id, or it is retired.
    """
    found = tool(tool_id)
    if found.retired_on is not None:
        raise ToolError(
            f"{tool_id} was retired on {found.retired_on.isoformat()} ({found.retired_because}). "
            "Take another tool"
        )
    return found


def add_tool(record: ToolRecord, again: bool = False) -> Path:
    """Keep a new tool, or what a new calibration says of one, and return its file.

    Args:
        record: The tool.
        again: Whether it takes the place of what was known before.

    Raises:
        ToolError: When there is one of that id and `again` is not set, or the disk refuses.
    """
    path = _path(record.id)
    if path.exists():
        if not again:
            raise ToolError(
                f'there is a tool "{record.id}" already. After a new calibration add --again; what '
                "was known before is kept"
            )
        _keep_before(path)
    elif again:
        raise ToolError(f'there is no tool "{record.id}" yet; leave --again out')
    _write(path, to_text(record).encode())
    return path


def retire_tool(tool_id: str, day: date, because: str) -> ToolRecord:
    """Take a tool out of use; its record stays.

    Raises:
        ToolError: When there is none of that id, or the disk refuses.
    """
    found = tool(tool_id)
    record = dataclasses.replace(found, retired_on=found.retired_on or day, retired_because=because)
    _write(_path(tool_id), to_text(record).encode())
    return record


def _path(tool_id: str) -> Path:
    if not ID_FORM.fullmatch(tool_id):
        raise ToolError(f"a tool's id has 1 to 32 letters, digits, - or _, not {tool_id!r}")
    return folder() / f"{tool_id}.toml"


def _read(path: Path) -> ToolRecord:
    try:
        with path.open("rb") as file:
            data = file.read(_LARGEST + 1)
        if len(data) > _LARGEST:
            raise ToolError(f"{path}: far too long for a tool's record")
        return from_text(data.decode(), path.stem, str(path))
    except OSError as error:
        raise ToolError(f"{path}: cannot be read: {error.strerror}") from error
    except UnicodeDecodeError as error:
        raise ToolError(f"{path}: is not UTF-8 text (byte {error.start})") from error


def _keep_before(path: Path) -> None:
    try:
        data = path.read_bytes()
        for number in range(1, 1000):
            kept = path.parent / "before" / f"{path.stem}-{number}.toml"
            if not kept.exists():
                _write(kept, data)
                return
    except OSError as error:
        raise ToolError(f"{path}: cannot be read: {error.strerror}") from error
    raise ToolError(f"{path.parent / 'before'} is full; move old records away")


def _write(path: Path, data: bytes) -> None:
    try:
        write_whole(path, data)
    except OSError as error:
        raise ToolError(f"cannot keep the tool in {path}: {error.strerror}") from error
