"""The parts list: what to buy, how many, and what it may cost."""

import csv
import io
from collections import defaultdict

from rockcircuit.model import Circuit, Part
from rockcircuit.values import number_of, printed

# What no net is on.
_BESIDES = (
    (1, "the gauge's data cable: its plug at one end, bare wires at the other, up to 2 m", 8.00),
    (1, "perfboard, 2.54 mm, 70 x 50 mm with 27 x 19 holes: count them", 1.50),
    (2, "row of sockets, 20 contacts, for the processor board", 1.00),
    (1, "thin wire in three colours, shrink tube", 3.00),
    (4, "screw M2 x 6 mm, for the perfboard", 0.40),
    (4, "screw M3 x 10 mm, for the lid", 0.40),
    (3, "cable tie; and foam for the cell", 0.30),
    (1, "box, lid and clip, printed", 2.00),
)
_OPTIONAL = {"U2": "RS-232", "J3": "RS-232", "U4": "motion", "R21": "motion", "R22": "motion"}


def option_of(part: Part) -> str:
    """Return for what a part is needed: "" for always."""
    if part.block == "bridge":
        return "bridge"
    return _OPTIONAL.get(part.ref, "")


def rows(circuit: Circuit) -> list[tuple[int, str, str, str, str, float]]:
    """Return (number, part, value, names, option, estimate of the whole price in €)."""
    groups: dict[tuple[str, str, str], list[Part]] = defaultdict(list)
    for part in circuit.parts:
        groups[part.kind.name, part.value, option_of(part)].append(part)
    out = []
    for (name, value, option), parts in groups.items():
        refs = " ".join(part.ref for part in parts)
        price = len(parts) * parts[0].kind.price_eur
        out.append((len(parts), name, value, refs, option, price))
    return sorted(out, key=_order)


def _order(row: tuple[int, str, str, str, str, float]) -> tuple[bool, str, float]:
    _, name, value, _, option, _ = row
    return bool(option), name, number_of(value) if value else 0.0


def as_csv(circuit: Circuit) -> str:
    """Return the list for a spreadsheet."""
    file = io.StringIO()
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(["number", "part", "value", "names", "only for", "estimate_eur", "remark"])
    remarks = {part.kind.name: part.kind.remark for part in circuit.parts}
    for number, name, value, refs, option, price in rows(circuit):
        writer.writerow([number, name, value, refs, option, f"{price:.2f}", remarks[name]])
    for number, name, price in _BESIDES:
        writer.writerow([number, name, "", "", "", f"{price:.2f}", ""])
    return file.getvalue()


def as_table(circuit: Circuit) -> str:
    """Return the list as a table of Markdown, with its sums."""
    lines = ["| number | part | value | names | only for | about € |", "|---|---|---|---|---|---|"]
    sums: dict[str, float] = defaultdict(float)
    for number, name, value, refs, option, price in rows(circuit):
        sums[option] += price
        value = printed(value)
        lines.append(f"| {number} | {name} | {value} | {refs} | {option} | {price:.2f} |")
    for number, name, price in _BESIDES:
        sums[""] += price
        lines.append(f"| {number} | {name} | | | | {price:.2f} |")
    base = sums.pop("")
    extra = "; ".join(f"{option} {price:.0f} €" for option, price in sums.items())
    return "\n".join(lines) + f"\n\nAbout {base:.0f} € without options; with {extra} more.\n"
