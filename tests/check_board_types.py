"""Check what the board's code asks of its chip against MicroPython's stubs; part of `make types`.

mypy takes no stubs that lie loose among the installed packages, so they are laid out in a folder.
What counts are names that a module does not have and arguments that a call does not take; the stubs
themselves have gaps (attributes of DMA, the block device of littlefs).
"""

import shutil
import subprocess
import sys
import tempfile
from importlib.metadata import files
from pathlib import Path

from rockhold.upkeep.machines import BOARDS, CHIPS

STDLIB = "micropython-stdlib-stubs"
FOLDER = Path("firmware/rockboard/boards")
COUNTS = ("Module has no attribute", "[call-arg]", "[import-not-found]")


def checked() -> dict[str, set[str]]:
    """Return the stubs of each chip → the files of its boards."""
    out: dict[str, set[str]] = {}
    for board in CHIPS:
        files = {board, *BOARDS[board].files}
        stubs = "micropython-rp2-stubs" if "rp2" in files else "micropython-esp32-stubs"
        out.setdefault(stubs, set()).update(f"{name}.py" for name in files)
    return out


def main() -> int:
    """Print what counts; return 1 if there is any."""
    return max(check(stubs, sorted(names)) for stubs, names in checked().items())


def check(stubs: str, names: list[str]) -> int:
    """Check board files against the stubs of their chip."""
    with tempfile.TemporaryDirectory(prefix="rockhold-typings-") as name:
        folder = Path(name)
        for package in (stubs, STDLIB):
            for file in files(package) or ():
                if file.suffix == ".pyi" or file.name == "VERSIONS":
                    target = folder / str(file)
                    target.parent.mkdir(parents=True, exist_ok=True)
                    shutil.copyfile(file.locate(), target)
        config = folder / "mypy.ini"
        config.write_text(
            "[mypy]\ncheck_untyped_defs = True\nfollow_imports = silent\n"
            f"mypy_path = {folder}:protocol:firmware\n",
            encoding="utf-8",
        )
        done = subprocess.run(
            [sys.executable, "-m", "mypy", "--config-file", str(config),
             "--custom-typeshed-dir", str(folder), "--cache-dir", str(folder / "cache"),
             *[str(FOLDER / file) for file in names]],
            capture_output=True, text=True, check=False,
        )  # fmt: skip
    if "checked" not in done.stdout and "no issues" not in done.stdout:
        print(done.stdout + done.stderr)
        return 1
    counting = [
        row
        for row in done.stdout.splitlines()
        if row.startswith(str(FOLDER)) and any(word in row for word in COUNTS)
    ]
    print("\n".join(counting) or f"{', '.join(names)}: agree with {stubs}")
    return bool(counting)


if __name__ == "__main__":
    sys.exit(main())
