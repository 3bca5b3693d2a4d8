"""The perfboard's plan, pin by pin against the circuit, and hole by hole against itself."""

import re
import xml.etree.ElementTree as ET
from itertools import combinations, pairwise
from math import hypot

import pytest

from rockcircuit import solids
from rockcircuit.build import circuit_of
from rockcircuit.errors import LayoutError
from rockcircuit.parts_list import option_of
from rockcircuit.perfboard import page, picture, place, shapes, wires
from support_hardware import rewired

CIRCUIT = circuit_of("pico_w")
PLACED = place.place(CIRCUIT)
WIRES = wires.join(PLACED)
LEADS = wires.leads(CIRCUIT, PLACED)
BELOW = ET.fromstring(picture.wires_from_below(PLACED, WIRES))


def test_every_leg_has_a_hole_of_its_own_on_the_board():
    holes = [hole for one in PLACED for hole in one.legs.values()]
    assert len(set(holes)) == len(holes)
    for column, row in holes:
        assert 0 <= column < 27
        assert 0 <= row < 19
        assert (column, row) not in [(0, 0), (26, 0), (0, 18), (26, 18)]  # the board's screws


def test_no_two_bodies_want_the_same_room():
    for one, other in combinations(PLACED, 2):
        shared = one.body & other.body
        if not shared:
            continue
        assert "U1" in (one.part.ref, other.part.ref)
        below = one if other.part.ref == "U1" else other
        # sockets of 8.5 mm: what lies flat fits under the processor, what stands does not
        assert below.part.kind.symbol in ("resistor", "diode", "zener", "schottky")
        rows = {row for _, row in shared}
        assert rows <= set(range(7, 13))


def test_legs_are_as_far_apart_as_the_part_needs():
    for one in PLACED:
        (x1, y1), (x2, y2), *_ = one.legs.values()
        apart = abs(x1 - x2) + abs(y1 - y2)
        expected = {"resistor": 3, "zener": 3, "diode": 3, "capacitor": 2, "beeper": 3}
        if one.part.ref == "D15":
            assert apart == 4  # 10 mm for a DO-41
        else:
            assert apart == expected.get(one.part.kind.symbol, apart)


def test_the_processor_lies_as_it_is_drawn():
    legs = next(one.legs for one in PLACED if one.part.ref == "U1")
    numbers = {pin.name: int(pin.number) for pin in CIRCUIT.part("U1").kind.pins}
    for name, (column, row) in legs.items():
        number = numbers[name]
        # seen from above, USB to the right: 1 to 20 run left along the top, 21 to 40 right below
        assert (column, row) == ((27 - number, 6) if number <= 20 else (number - 14, 13))


def test_a_transistors_flat_face_shows_c_b_e_from_its_left():
    for one in PLACED:
        if one.part.kind.symbol != "npn":
            continue
        (cx, cy), (ex, ey) = one.legs["C"], one.legs["E"]
        # from C to E along the face, the round side is on the left hand
        along = ((ex - cx) // 2, (ey - cy) // 2)
        round_side = (along[1], -along[0])
        base_x, base_y = one.legs["B"]
        assert (base_x + round_side[0], base_y + round_side[1]) in one.body


def test_wires_and_leads_are_the_circuit_pin_by_pin():
    ends = {}
    for one in PLACED:
        for pin, hole in one.legs.items():
            ends.setdefault(hole, f"{one.part.ref}.{pin}")
    group = {str(end): str(end) for net in CIRCUIT.nets().values() for end in net}

    def root(end):
        while group[end] != end:
            end = group[end]
        return end

    for wire in WIRES:
        group[root(ends[wire.start])] = root(ends[wire.end])
    for end, _, leg, _ in LEADS:
        for other in leg.split(", "):
            group[root(end)] = root(other)
    built = {}
    for end in group:
        built.setdefault(root(end), set()).add(end)
    drawn = [{str(end) for end in net} for net in CIRCUIT.nets().values()]
    assert sorted(map(sorted, built.values())) == sorted(map(sorted, drawn))


def test_what_is_not_on_the_board_is_on_a_lead():
    away = {part.ref for part in CIRCUIT.parts} - {one.part.ref for one in PLACED}
    assert {end.partition(".")[0] for end, *_ in LEADS} == away
    assert {"S1", "S2", "BT1", "F1", "U5", "D12", "D13"} <= away
    for one in PLACED:
        assert option_of(one.part) == ""


def test_a_changed_wire_changes_the_plan():
    changed = rewired(CIRCUIT, "R11", _1="LAMP_RED")
    assert wires.join(place.place(changed)) != WIRES


def test_a_board_too_small_is_said_plainly(monkeypatch):
    monkeypatch.setattr(place, "ROWS", 6)
    with pytest.raises(LayoutError, match="finds no room"):
        place.place(CIRCUIT)


def test_the_picture_of_the_wires_tells_joined_from_crossing():
    paths = [one for one in BELOW.iter() if one.tag.endswith("path")]
    assert len(paths) == 2 * len(WIRES)  # each above a light rim of its own
    for rim, line in zip(paths[::2], paths[1::2], strict=True):
        assert rim.get("d") == line.get("d")
        assert int(rim.get("stroke-width")) > int(line.get("stroke-width"))
    spots = [one for one in BELOW.iter() if one.tag.endswith("circle") and one.get("r") == "7"]
    legs = {(int(one.get("cx")), int(one.get("cy"))) for one in spots}
    assert len(legs) == sum(len(one.legs) for one in PLACED)
    for line in paths[1::2]:
        way = [tuple(map(int, one.split())) for one in line.get("d")[1:].split("L")]
        for x, y in legs - {way[0], way[-1]}:
            for (x1, y1), (x2, y2) in pairwise(way):
                # Over a foreign leg (radius 7) no line (4 wide) may run.
                if not min(x1, x2) - 9 <= x <= max(x1, x2) + 9:
                    continue
                shares = (step / 50 for step in range(51))
                far = min(hypot(x1 + t * (x2 - x1) - x, y1 + t * (y2 - y1) - y) for t in shares)
                assert far > 9, (line.get("d"), x, y)


def test_page_and_pictures_name_every_part():
    text = page.page(CIRCUIT, PLACED, WIRES)
    drawn = " ".join(ET.fromstring(picture.parts_from_above(PLACED)).itertext())
    for one in PLACED:
        assert f"| {one.part.ref} |" in text
        assert re.search(rf"\b{one.part.ref}\b", drawn)
    below = " ".join(BELOW.itertext())
    assert all(re.search(rf"\b{one.part.ref}\b", below) for one in PLACED)


def test_shapes_turn():
    shape = shapes.shape_of(CIRCUIT.part("Q1"))
    assert shape.turned(1).legs == {"C": (0, 0), "B": (0, 1), "E": (0, 2)}
    assert shape.turned(4).legs == shape.legs


def test_the_box_fits_the_plan():
    text = (solids.SCAD).read_text(encoding="utf-8")

    def number(pattern):
        return [float(value) for value in re.search(pattern, text).groups()]

    def millimetres(column, row):
        return (column - 13) * 2.54, (9 - row) * 2.54

    legs = {one.part.ref: one.legs for one in PLACED}
    rows = {row for _, row in legs["U1"].values()}
    _, middle = millimetres(0, sum(rows) / 2)
    assert number(r"processor_y = (-?[\d.]+);") == [pytest.approx(middle)]
    (x1, y1), (x2, y2) = legs["LS1"].values()
    beeper = millimetres((x1 + x2) / 2, (y1 + y2) / 2)
    # a beeper of 12 mm speaks through holes within 1.5 mm of its middle
    at = number(r"beeper_at = \[([\d.]+), ([\d.]+)\];")
    assert max(abs(a - b) for a, b in zip(at, beeper, strict=True)) < 1.5
    holes = number(r"board_holes = \[([\d.]+), ([\d.]+)\];")
    corner = millimetres(26, 0)
    assert [2 * corner[0], 2 * corner[1]] == pytest.approx(holes, abs=0.3)
