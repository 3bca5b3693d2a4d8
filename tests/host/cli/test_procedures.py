"""`rockhold procedures` as a person meets it."""

import json

from click.testing import CliRunner

from rockhold.cli.procedures import command


def run(*arguments):
    done = CliRunner().invoke(command, [str(a) for a in arguments], standalone_mode=False)
    return done.return_value, done.output, done.exception


def test_list_and_show():
    code, out, _ = run("list", "--json")
    names = [json.loads(line)["name"] for line in out.splitlines()]
    assert code == 0
    assert {"double-nut-drive", "single-nut-steer", "hub-cap"} < set(names)
    _, out, _ = run("show", "single-nut-drive")
    assert "192 lbf·ft (260.3 N·m) to 220 lbf·ft (298.3 N·m), 3 pulls" in out.replace(
        "\n     ", " "
    )
    assert "No impact wrench" in out
    assert max(len(line) for line in out.splitlines()) <= 100
    _, out, _ = run("show", "hub-cap", "--json")
    assert json.loads(out)["steps"][1]["id"] == "cap-screws"


def test_a_new_file_is_in_order_and_never_overwritten(tmp_path):
    path = tmp_path / "ours.toml"
    assert run("new", path, "--based-on", "double-nut-drive")[0] == 0
    assert run("check", path)[:2] == (0, f"{path}: in order, 20 steps\n")
    text = path.read_text()
    _, _, error = run("new", path, "--based-on", "double-nut-drive")
    assert "exists already" in str(error)
    assert path.read_text() == text
    _, _, error = run("new", tmp_path / "b.toml", "--based-on", "end-play")
    assert "write one of" in str(error)


def test_check_names_the_line_and_goes_on(tmp_path):
    path = tmp_path / "bad.toml"
    path.write_text('format = 2\nname = "x"\ntitle = "X"\nbased_on = "hub-cap"\naxle = "moon"\n')
    code, out, _ = run("check", path, "hub-cap")
    assert code == 2
    assert "bad.toml, line 5: axle: write one of" in out
    assert "hub-cap: in order" in out


def test_check_says_when_an_order_goes_around_the_circle(tmp_path):
    path = tmp_path / "ours.toml"
    path.write_text(
        'format = 2\nname = "x"\ntitle = "X"\nbased_on = "hub-cap"\n'
        '[[step]]\nid = "cap-screws"\norder = [1, 2, 3, 4, 5, 6]\n'
    )
    code, out, _ = run("check", path)
    assert code == 0
    assert "step cap-screws: this order goes around the circle" in out
    assert "crosswise is 1, 4, 2, 5, 3, 6" in out
