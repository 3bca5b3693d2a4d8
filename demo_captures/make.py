"""Make the captures of the invented fleet, through the real board program in MicroPython.

    .venv/bin/python demo_captures/make.py [NAME…]

Reads fleet.toml and leaves one capture for each entry, and the demo keys. Files that are there are
left alone: a released capture is never made again, because newer code must still verify it.
"""

import sys
import tempfile
import tomllib
from pathlib import Path

from deeds import DEEDS
from people import BOARD_SECRET, write_keys
from recording import record_job, record_one

from rockhold.capture.lines import SUFFIX

FOLDER = Path(__file__).parent


def main() -> None:
    """Make what is missing."""
    wanted = sys.argv[1:]
    write_keys()
    fleet = tomllib.loads((FOLDER / "fleet.toml").read_text(encoding="utf-8"))["capture"]
    with tempfile.TemporaryDirectory() as folder:
        secret = Path(folder) / "board-secret"
        secret.write_bytes(BOARD_SECRET)
        for entry in fleet:
            path = FOLDER / f"{entry['name']}{SUFFIX}"
            if path.exists() or (wanted and entry["name"] not in wanted):
                continue
            part = Path(folder) / path.name
            (record_job if entry.get("guided") else record_one)(entry, part, secret)
            DEEDS[entry.get("deed", "")](part)
            path.write_bytes(part.read_bytes())
            print(f"{path.name}: {path.stat().st_size} bytes", flush=True)


if __name__ == "__main__":
    main()
