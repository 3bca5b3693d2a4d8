"""Procedures as files: what ships, what was published, and errors that point at the line."""

from pathlib import Path

import pytest

from rockhold.errors import ProcedureError
from rockhold.procedure.load import load_procedure, procedure_from_text, shipped_names
from rockhold.procedure.words import sheet

PUBLISHED = Path(__file__).parent / "published"
GUIDED = [name for name in shipped_names() if name != "end-play"]
LBFFT = 1.3558179483314004  # NIST SP 811, B.8


@pytest.mark.parametrize("name", GUIDED)
def test_a_shipped_procedure_is_whole_in_the_text_that_goes_into_a_capture(name):
    one = load_procedure(name)
    again = procedure_from_text(one.text, "a capture")
    assert again == one
    assert all(step.source for step in one.steps)
    assert len(sheet(one)) > 4 * len(one.steps)


@pytest.mark.parametrize("axle", ["steer", "drive", "trailer"])
@pytest.mark.parametrize(("nut", "second"), [("double", 50), ("single", 100)])
def test_the_torques_of_the_trade(nut, axle, second):
    # Double nut: TMC RP 618A. Single nut: common practice, no source.
    one = load_procedure(f"{nut}-nut-{axle}")
    assert one.axle == axle
    assert one.step("seat").torque.target_nm == pytest.approx(200 * LBFFT)
    assert one.step("settle").torque.target_nm == pytest.approx(second * LBFFT)
    assert one.step("seat").torque.pulls == 3
    ids = [step.id for step in one.steps]
    assert ids.index("seat") < ids.index("loosen") < ids.index("settle")
    assert ids.index("final-back-off") < ids.index("end-play") < ids.index("spin")
    assert ids.index("cap-screws") < ids.index("oil")
    assert ("breather" in ids) == (axle == "drive")


def test_the_final_back_off_by_axle_and_thread():
    # TMC RP 618A; which row is for which axle from memory.
    steer = dict(load_procedure("double-nut-steer").step("final-back-off").turn.by_thread)
    assert steer == {12: pytest.approx(1 / 3), 14: 0.5, 18: 0.5}
    drive = load_procedure("double-nut-drive").step("final-back-off").turn
    assert (drive.low_rev, drive.high_rev) == (0.25, 0.25)


@pytest.mark.parametrize(
    ("axle", "low", "high"), [("steer", 200, 300), ("trailer", 200, 300), ("drive", 300, 400)]
)
def test_the_jam_nuts_torque(axle, low, high):
    # TMC RP 618A: 200 to 300 lbf·ft, with a dowel washer 300 to 400; which row is for which axle
    # from memory.
    jam = load_procedure(f"double-nut-{axle}").step("jam-nut").torque
    assert (jam.low_nm, jam.high_nm) == (pytest.approx(low * LBFFT), pytest.approx(high * LBFFT))


def test_leaks_are_looked_for_as_the_law_wants():
    # 49 CFR 396.5: vehicles are free of oil and grease leaks.
    asked = [step for step in load_procedure("inspection").steps if "396.5" in step.source]
    assert asked


def test_the_screws_of_the_hub_cap_go_crosswise():
    # Common practice, no source: 12 to 16 lbf·ft, six screws 1-4-2-5-3-6.
    screws = load_procedure("hub-cap").step("cap-screws").torque
    assert (screws.low_nm, screws.high_nm) == (
        pytest.approx(16.3, abs=0.05),
        pytest.approx(21.7, abs=0.05),
    )
    assert screws.order == (1, 4, 2, 5, 3, 6)


@pytest.mark.parametrize(
    ("name", "torques", "turns"),
    [
        # US Army TM 9-2320-272-24-2, 3-225: 50 lb-ft; 1/6 to 1/4; 250 to 400.
        ("truck-front-5-ton", [(48, 55), (250, 400)], [(1 / 6, 1 / 4)]),
        # US Army TM 9-2320-273-20, 10-16: 50, or 100, back to 0, 50; at most 1/4; 250 to 300.
        ("used-bearings", [(48, 55), (250, 300)], [(1 / 16, 1 / 4)]),
        ("new-bearings", [(96, 110), (48, 55), (250, 300)], [(1 / 8, 1), (1 / 16, 1 / 4)]),
        # US Army TM 9-2330-202-13&P, WP 0054: 30 lb-ft, 1/16.
        ("light-trailer", [(28.8, 33)], [(1 / 16, 1 / 16)]),
    ],
)
def test_published_sequences(name, torques, turns):
    one = load_procedure(str(PUBLISHED / f"{name}.toml"))
    found = [(s.torque.low_nm / LBFFT, s.torque.high_nm / LBFFT) for s in one.steps if s.torque]
    assert found == [pytest.approx(pair) for pair in torques]
    backs = [(s.turn.low_rev, s.turn.high_rev) for s in one.steps if s.turn]
    assert backs == [pytest.approx(pair) for pair in turns]
    assert one.steps[-1].id == "spin"


FLEET = """format = 2
name = "ours"
title = "Ours"
based_on = "double-nut-trailer"

[[step]]
id = "jam-nut"
torque_lbfft = [300, 400]

[[step]]
id = "speed-sensor"
omit = true
because = "none fitted"

[[step]]
id = "our-check"
after = "jam-nut"
kind = "check"
title = "Mark"
text = '''
Paint mark across
nut and spindle?'''
source = "fleet rule: 12"
"""


def test_a_fleet_changes_numbers_without_copying_the_rest():
    base, ours = load_procedure("double-nut-trailer"), procedure_from_text(FLEET, "x", Path())
    ids = [step.id for step in ours.steps]
    assert "speed-sensor" not in ids
    assert ids[ids.index("jam-nut") + 1] == "our-check"
    assert ours.step("jam-nut").torque.low_nm == pytest.approx(300 * LBFFT)
    assert ours.step("jam-nut").text == base.step("jam-nut").text
    assert ours.step("seat") == base.step("seat")


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("[300, 400]", "[400, 300]", "ours.toml, line 8: step jam-nut: torque_lbfft: the first"),
        ("[300, 400]", '"much"', "ours.toml, line 8: step jam-nut: torque_lbfft: must be a number"),
        ('because = "none fitted"', "", "line 10: omit: needs"),
        ('after = "jam-nut"', 'after = "nut"', "line 17: after: there is no step 'nut'"),
        ('source = "fleet rule: 12"', 'source = "a friend"', "line 23: step our-check: source: be"),
        ('source = "fleet rule: 12"', "", "line 15: step our-check: source: is missing"),
        ('source = "fleet rule: 12"', "turn = 1", "line 23: step our-check: turn: unknown key"),
        ('kind = "check"', 'kind = "pray"', "line 18: step our-check: kind: write one of"),
        ('id = "our-check"', 'id = "Our"', "line 16: step Our: id: small letters"),
        ('title = "Mark"', 'title = "Mark"\nshows = 1', "line 20: step our-check: shows: write"),
        ('title = "Ours"', "tite = 3", "line 3: tite: unknown key"),
        ("double-nut-trailer", "treble-nut", "line 4: based_on: no procedure is called"),
        ("[[step]]", "[[step]", "not valid TOML"),
        ('id = "speed-sensor"', 'id = "jam-nut"', "line 11: id: 'jam-nut' stands twice"),
    ],
)
def test_errors_point_at_file_and_line(old, new, words):
    with pytest.raises(ProcedureError) as error:
        procedure_from_text(FLEET.replace(old, new, 1), "ours.toml", Path())
    assert words in str(error.value)


def test_a_fault_of_the_base_names_the_base(tmp_path):
    (tmp_path / "base.toml").write_text(FLEET.replace("[300, 400]", "0"))
    own = 'format = 2\nname = "o"\ntitle = "O"\nbased_on = "base.toml"\n'
    (tmp_path / "own.toml").write_text(own)
    with pytest.raises(ProcedureError, match=r"base\.toml, line 8: step jam-nut: torque_lbfft"):
        load_procedure(str(tmp_path / "own.toml"))


def test_files_in_a_circle(tmp_path):
    (tmp_path / "a.toml").write_text('format = 2\nname = "a"\ntitle = "A"\nbased_on = "a.toml"\n')
    with pytest.raises(ProcedureError, match="circle"):
        load_procedure(str(tmp_path / "a.toml"))


def test_a_text_in_a_capture_names_no_other_file():
    with pytest.raises(ProcedureError, match="whole"):
        procedure_from_text(FLEET, "line 1")
