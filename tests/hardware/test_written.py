"""What is made from the circuit says what the circuit says."""

import csv
import io
import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from rockcircuit import parts_list, wiring, written
from rockcircuit.build import circuit_of
from rockcircuit.errors import PictureError
from rockcircuit.pictures import gauge, lines, processor
from rockcircuit.pictures.all import pictures
from rockcircuit.pictures.sheet import Sheet
from rockcircuit.processors import BOARDS
from support_hardware import rewired, without


def words_in(svg: bytes) -> set[str]:
    return {text for text in ET.fromstring(svg).itertext() if text.strip()}


def test_files_are_up_to_date():
    assert list(written.faults()) == []


def test_a_stale_file_is_found(monkeypatch, tmp_path):
    monkeypatch.setattr(written, "HARDWARE", tmp_path)
    assert len(list(written.faults())) == len(written.files())
    written.write()
    assert list(written.faults()) == []
    (tmp_path / "parts.csv").write_text("number,part\n")
    assert [fault for fault in written.faults() if "parts.csv: not what" in fault]


def test_every_part_and_value_is_in_a_picture():
    circuit = circuit_of("pico_w")
    drawn = pictures()
    for block in circuit.blocks():
        name = "processor_pico_w" if block == "processor" else block.replace(" ", "_")
        words = " ".join(words_in(drawn[f"{name}.svg"])) + " "
        for part in circuit.block(block):
            assert re.search(rf"\b{part.ref}\b", words), part.ref
            assert part.value.replace("u", "µ") in words


@pytest.mark.parametrize("board", BOARDS)
def test_the_processors_picture_names_every_net(board):
    circuit = circuit_of(board)
    words = words_in(pictures()[f"processor_{board}.svg"])
    assert set(circuit.part("U1").wires.values()) - {"GND"} <= words


def test_a_picture_follows_the_circuit_or_refuses():
    circuit = circuit_of("pico_w")
    for damaged in (
        rewired(circuit, "Q1", B="GAUGE_DATA", C="GAUGE_DATA_BASE"),
        rewired(circuit, "R2", _1="GAUGE_CLOCK_LINE"),
        rewired(circuit, "D3", K="GAUGE_REQUEST_OUT"),
    ):
        with pytest.raises(PictureError):
            gauge.draw(damaged)
    with pytest.raises(KeyError):
        gauge.draw(without(circuit, "R13"))
    other = tuple(
        replace(part, value="33k") if part.ref == "R4" else part for part in circuit.parts
    )
    assert "33k" in words_in(gauge.draw(replace(circuit, parts=other)))


def test_a_part_that_was_added_must_be_drawn():
    circuit = circuit_of("pico_w")
    added = replace(circuit.part("R1"), ref="R99")
    with pytest.raises(PictureError, match="R99"):
        gauge.draw(replace(circuit, parts=(*circuit.parts, added)))


def test_a_moved_pin_moves_in_the_picture():
    circuit = circuit_of("pico_w")
    moved = rewired(circuit, "U1", GP2=None, GP7="GAUGE_DATA")
    moved_parts = tuple(
        replace(part, unused=part.unused - {"GP7"} | {"GP2"}) if part.ref == "U1" else part
        for part in moved.parts
    )
    assert processor.draw(replace(moved, parts=moved_parts)) != processor.draw(circuit)


def test_the_sheet_joins_only_what_the_circuit_joins():
    sheet = Sheet(circuit_of("pico_w"), "gauge")
    sheet.legs("R1", (0, 0))
    sheet.legs("R2", (3, 0))
    sheet.wire("R1.2", "R2.1")
    sheet.legs("R3", (6, 0))
    with pytest.raises(PictureError, match=r"joins R1\.1"):
        sheet.wire("R1.1", "R3.1")
    with pytest.raises(PictureError, match="not drawn yet"):
        sheet.wire("R1.1", "R4.1")
    with pytest.raises(PictureError, match="belongs to"):
        sheet.legs("R14", (0, 0))


def test_lines_that_seem_to_meet_are_found():
    wires = [("A", ((0.0, 0.0), (4.0, 0.0))), ("B", ((2.0, 0.0), (6.0, 0.0)))]
    assert list(lines.faults(wires, [])) == ["the wires of A and B run over each other"]
    crossing = [wires[0], ("B", ((2.0, -1.0), (2.0, 1.0)))]
    assert list(lines.faults(crossing, [])) == []
    assert list(lines.faults(wires[:1], [("R1.1", "B", (2.0, 0.0))])) == [
        "the wire of A runs over R1.1"
    ]
    with pytest.raises(ValueError, match="slanted"):
        lines.stretches((0.0, 0.0), (1.0, 1.0), "-")


def test_the_parts_list_counts_every_part_once():
    circuit = circuit_of("pico_w")
    rows = list(csv.DictReader(io.StringIO(parts_list.as_csv(circuit))))
    named = [ref for row in rows for ref in row["names"].split()]
    assert sorted(named) == sorted(part.ref for part in circuit.parts)
    for row in rows:
        if row["names"]:
            assert int(row["number"]) == len(row["names"].split())
            assert {circuit.part(ref).value for ref in row["names"].split()} == {row["value"]}


@pytest.mark.parametrize("board", BOARDS)
def test_the_wiring_table_has_every_wire_of_the_processor(board):
    circuit = circuit_of(board)
    table = wiring.as_table(board)
    for pin, net in circuit.part("U1").wires.items():
        number = circuit.part("U1").kind.pin(pin).number
        assert re.search(rf"^\| (\d+, )*{number}(, \d+)* \| .*{re.escape(net)}", table, re.M), pin
