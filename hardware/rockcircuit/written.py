"""The files that are made from the circuit and kept beside it, and whether they are up to date."""

from collections.abc import Iterator
from functools import cache
from pathlib import Path

from rockcircuit import battery, parts_list, wiring
from rockcircuit.build import circuit_of
from rockcircuit.perfboard import page as perfboard_page
from rockcircuit.perfboard import picture, place, wires
from rockcircuit.pictures.all import pictures

HARDWARE = Path(__file__).parents[1]


def files() -> dict[Path, bytes]:
    """Return every file with what must stand in it."""
    return {HARDWARE / name: data for name, data in _made().items()}


@cache
def _made() -> dict[str, bytes]:
    circuit = circuit_of("pico_w")
    page = (
        "# Parts\n\nMade by `make hardware` from the circuit. Prices are estimates for small\n"
        "numbers; nobody asked a shop.\n\n" + parts_list.as_table(circuit)
    )
    placed = place.place(circuit)
    joined = wires.join(placed)
    pages = {
        "parts.csv": parts_list.as_csv(circuit),
        "parts.md": page,
        "wiring.md": wiring.as_page(),
        "battery.md": battery.page(circuit),
        "perfboard.md": perfboard_page.page(circuit, placed, joined),
    }
    drawn = {
        **pictures(),
        "perfboard_parts.svg": picture.parts_from_above(placed),
        "perfboard_wires.svg": picture.wires_from_below(placed, joined),
    }
    out = {name: text.encode() for name, text in pages.items()}
    return out | {f"pictures/{name}": data for name, data in drawn.items()}


def write() -> list[Path]:
    """Write what changed and return it."""
    changed = []
    for path, data in files().items():
        if not path.exists() or path.read_bytes() != data:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
            changed.append(path)
    return changed


def faults() -> Iterator[str]:
    """Yield a sentence for each file that does not say what the circuit says."""
    for path, data in files().items():
        if not path.exists():
            yield f"{path}: missing. Make it: make hardware-files"
        elif path.read_bytes() != data:
            yield f"{path}: not what the circuit says. Make it anew: make hardware-files"
