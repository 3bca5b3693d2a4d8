"""host/JSON.md names what `--json` prints."""

from rockhold.cli.measure import measure_file
from rockhold.cli.traces import Given
from rockhold.evidence.verify import verify_file
from rockhold.library.tables import CAPTURES
from rockhold.measure.findings import TEXTS
from support import ROOT

PAGE = (ROOT / "host" / "JSON.md").read_text("utf-8")
PATH = ROOT / "demo_captures" / "good.capture"
HIDDEN = {"id", "vehicle_key", "wheel_end_key", "content"}


def named(names, title):
    part = PAGE.split(f"\n## {title}\n")[1].split("\n## ")[0]
    return [name for name in names if f"`{name}`" not in part]


def test_the_page_names_every_name_of_verify_measure_and_find():
    assert named(verify_file(PATH, {}).to_json(), "verify") == []
    _, row, _ = measure_file(PATH, Given())
    assert named({"file", *row}, "measure") == []
    assert named({c.name for c in CAPTURES.columns} - HIDDEN, "library find") == []


def test_the_page_has_every_finding_with_its_sentence():
    for code, text in TEXTS.items():
        assert f"| `{code}` | {text} |" in PAGE
