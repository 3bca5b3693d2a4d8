"""The files that are made from the circuit and kept beside it, and whether they are up to date."""

from collections.abc import Iterator
from pathlib import Path

from rockcircuit import battery, parts_list, wiring
from rockcircuit.build import circuit_of
from rockcircuit.perfboard import page as perfboard_page
from rockcircuit.perfboard import picture, place, wires
from rockcircuit.pictures.all import pictures

HARDWARE = Path(__file__).parents[1]


def files() -> dict[Path, bytes]:
    """Return every file with what must stand in it."""
    circuit = circuit_of("pico_w")
    page = (
        "# Parts\n\nMade by `make hardware` from the circuit. Prices are estimates for small\n"
        "numbers; nobody asked a shop.\n\n" + parts_list.as_table(circuit)
    )
    out = {
        HARDWARE / "parts.csv": parts_list.as_csv(circuit).encode(),
        HARDWARE / "parts.md": page.encode(),
        HARDWARE / "wiring.md": wiring.as_page().encode(),
        HARDWARE / "battery.md": battery.page(circuit).encode(),
    }
    placed = place.place(circuit)
    joined = wires.join(placed)
    out[HARDWARE / "perfboard.md"] = perfboard_page.page(circuit, placed, joined).encode()
    drawn = {
        **pictures(),
        "perfboard_parts.svg": picture.parts_from_above(placed),
        "perfboard_wires.svg": picture.wires_from_below(placed, joined),
    }
    for name, data in drawn.items():
        out[HARDWARE / "pictures" / name] = data
    return out


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
