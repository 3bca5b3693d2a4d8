"""Reports: of every capture of the fleet, of guided ones, and of a stranger's."""

import dataclasses
import json
import re
import shutil
import subprocess
from html.parser import HTMLParser

import html5lib
import pypdf
import pytest

from rockhold.capture.reader import read_capture
from rockhold.capture.steps import attempts_of
from rockhold.evidence.method import METHOD
from rockhold.evidence.words import HEADLINES
from rockhold.procedure.load import load_procedure
from rockhold.report.content import Table
from rockhold.report.html import html_of
from rockhold.report.part_job import in_date
from rockhold.report.pdf import pdf_of
from rockhold.report.units import METRIC, US
from support import ROOT
from support_evidence import JOB, make_capture, without_seals
from support_report import FLEET, HOSTILE, STEPS, fleet_trust, hostile_capture, report_of
from support_torque import torque_capture

WRONG_BY = read_capture(ROOT / "demo_captures" / "wrong-result.capture").of_kind("result")[-1][
    "method"
]


class Page(HTMLParser):
    """Tags with their attributes in order, and the text that a reader meets."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.text, self._style = [], "", False
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        self._style = tag == "style"

    def handle_endtag(self, tag):
        self._style = False

    def handle_data(self, data):
        self.text += "" if self._style else data + " "


@pytest.mark.parametrize("path", FLEET, ids=lambda path: path.stem)
def test_every_capture_of_the_fleet_gets_a_whole_page_in_one_unit(path, monkeypatch):
    trust = fleet_trust(monkeypatch)
    for units, alien in ((US, r"\d (mm|N·m)\b"), (METRIC, r"thousandths|(?<!per )inch|lbf")):
        report = report_of(path, trust, units)
        text = html_of(report)
        page = Page(text)
        assert page.text.index(report.headline) < page.text.index("In short")
        assert not re.search(alien, page.text), re.search(alien, page.text)
        for finding_code in ("coarse_gauge", "base_moved", "few_cycles"):
            assert finding_code not in page.text
        levels = [int(tag[1]) for tag, _ in page.tags if re.fullmatch("h[1-6]", tag)]
        assert levels[0] == 1
        assert set(levels[1:]) == {2}
        for tag in ("header", "main", "footer"):
            assert [t for t, _ in page.tags].count(tag) == 1
    html5lib.HTMLParser(strict=True).parse(text)  # raises at the first fault of the HTML


@pytest.mark.parametrize(
    ("name", "state", "verdict"),
    [
        ("good", "good", "accept"),
        ("too-loose", "good", "reject"),
        ("unsealed", "doubt", "undecided"),
        ("unknown-technician", "doubt", "accept"),
        ("tampered", "bad", "no verdict"),
        # Of an older method's result nobody can say that it was forged.
        ("wrong-result", "bad" if WRONG_BY == METHOD else "doubt", "no verdict"),
        ("no-hold", "good", "not measured"),
    ],
)
def test_a_page_says_first_what_it_is_worth(name, state, verdict, monkeypatch):
    path = next(path for path in FLEET if path.stem == name)
    report = report_of(path, fleet_trust(monkeypatch))
    assert (report.state, report.verdict) == (state, verdict)
    assert ("Do not rely on this file" in report.answer) == (state == "bad")


@pytest.mark.parametrize("data", [b"", b"hello", b"{", b'{"rockhold":"capture","version":99}\n'])
def test_what_is_no_capture_gets_a_page_that_says_so(tmp_path, data):
    path = tmp_path / "x.capture"
    path.write_bytes(data)
    report = report_of(path)
    assert report.state == "bad"
    assert report.problems
    assert "Cautions" in html_of(report)
    assert pdf_of(report).startswith(b"%PDF")


def test_any_torn_or_scrambled_capture_gets_a_page(tmp_path):
    data = make_capture(tmp_path / "a.capture").read_bytes()
    path = tmp_path / "b.capture"
    for cut in range(1, len(data), len(data) // 12):
        for changed in (data[:cut], data[:cut] + b"\x00" + data[cut + 1 :]):
            path.write_bytes(changed)
            assert report_of(path).state in ("doubt", "bad")


def test_hostile_names_stay_text(tmp_path):
    report = report_of(hostile_capture(tmp_path / "evil.capture"))
    page = Page(html_of(report))
    html5lib.HTMLParser(strict=True).parse(html_of(report))
    tags = {tag for tag, _ in page.tags}
    assert not tags & {"script", "img", "iframe", "object", "link", "base", "form"}
    assert all(not name.startswith("on") for _, attrs in page.tags for name in attrs)
    assert HOSTILE[:40] in page.text  # shown as it is, for everybody to see
    policy = next(a["content"] for _, a in page.tags if a.get("http-equiv"))
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    text = pypdf_text(pdf_of(report))
    assert "#panic(1)" in text
    assert "<script>" in text


def pypdf_text(data):
    import io

    return "".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages)


def test_a_pdf_says_the_same_and_is_tagged(monkeypatch):
    import io

    path = next(path for path in FLEET if path.stem == "good")
    report = report_of(path, fleet_trust(monkeypatch))
    data = pdf_of(report)
    reader = pypdf.PdfReader(io.BytesIO(data))
    root = reader.trailer["/Root"]
    # ISO 14289-1 (PDF/UA-1), 7.1 and 7.2: marked, a structure tree, a language, a title shown.
    assert root["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in root
    assert root["/Lang"].startswith("en")
    assert reader.metadata.title.startswith(report.title)
    assert len(reader.pages) == 3
    flat = "".join(pypdf_text(data).split())
    for section in report.sections:
        assert "".join(section.title.split()) in flat
    assert "".join(report.answer.split()) in flat
    assert HEADLINES["good"].replace(" ", "") in flat


def test_a_long_word_in_a_pdf_stays_in_its_column(monkeypatch):
    path = next(path for path in FLEET if path.stem == "good")
    report = report_of(path, fleet_trust(monkeypatch))
    at, tools = next((at, s) for at, s in enumerate(report.sections) if s.title == "Tools")
    table = next(block for block in tools.blocks if isinstance(block, Table))
    row = ("indicator", "X" * 70, *table.rows[0][2:])
    sections = list(report.sections)
    sections[at] = dataclasses.replace(tools, blocks=(dataclasses.replace(table, rows=(row,)),))
    runs = re.findall(
        "X+", pypdf_text(pdf_of(dataclasses.replace(report, sections=tuple(sections))))
    )
    assert sum(map(len, runs)) == 70
    assert max(map(len, runs)) <= 20  # what fits between its neighbours


@pytest.fixture
def guided(tmp_path):
    """A capture with steps in it; its seals do not cover them."""
    path = make_capture(tmp_path / "guided.capture")
    lines = [
        json.dumps({"entry": "step", **step, "by": "A. Miller", "board_us": None,
                    "host_utc_us": 1_790_000_000_000_000 + at}, ensure_ascii=False)
        for at, step in enumerate(STEPS)
    ]  # fmt: skip
    path.write_bytes(without_seals(path.read_bytes()) + "\n".join(lines).encode() + b"\n")
    return path


def table_of(report, section):
    blocks = next(s for s in report.sections if s.ident == section).blocks
    return next(block for block in blocks if block.kind == "table")


def test_every_step_is_there_with_its_outcome(guided):
    report = report_of(guided)
    rows = table_of(report, "steps").rows
    assert [row[0] for row in rows] == [step["title"] for step in STEPS]
    assert [row[3] for row in rows] == [
        "done", "done", "done", "FAILED", "done", "SKIPPED", "begun, never closed",
    ]  # fmt: skip
    assert all(re.fullmatch(r"2026-09-21 \d\d:\d\d:\d\d UTC", row[6]) for row in rows[:-1])
    text = Page(html_of(report)).text
    assert "Skipped: Fill with oil (no oil at hand)." in text
    assert "Failed:" not in text  # the second attempt was done
    assert "loosen by 0.25 of a turn (90°)" in text


def test_a_step_of_the_procedure_that_was_never_begun_is_named(tmp_path):
    procedure = load_procedure("single-nut-steer")
    job = dataclasses.replace(JOB, procedure_name=procedure.name, procedure_text=procedure.text)
    path = make_capture(tmp_path / "half.capture", job=job, stop=False)
    always = [step for step in procedure.steps if not step.after_failed]
    told = f"Its procedure has {len(always)} steps."
    assert told in html_of(report_of(path))
    with path.open("ab") as file:
        for step in always[:-2]:
            line = {"entry": "step", "step": step.id, "kind": step.kind, "title": step.title,
                    "outcome": "done", "attempt": 1, "values": {}}  # fmt: skip
            file.write(json.dumps(line).encode() + b"\n")
    report = report_of(path)
    rows = {row[0]: row[3] for row in table_of(report, "steps").rows}
    assert rows == {s.title: "done" for s in always[:-2]} | {
        s.title: "NEVER BEGUN" for s in always[-2:]
    }
    assert f"Never begun: {always[-2].title}; {always[-1].title}." in Page(html_of(report)).text


def test_pulls_are_shown_in_the_readers_unit(guided):
    # 271.16 N·m are 200 lbf·ft (1 lbf·ft = 1.355 818 N·m, NIST SP 811, appendix B.8).
    for units, peaks, target in (
        (US, ["199.1", "221.3"], "200 lbf·ft"), (METRIC, ["270.0", "300.0"], "271 N·m"),
    ):  # fmt: skip
        table = table_of(report_of(guided, units=units), "torque")
        assert [row[1] for row in table.rows] == peaks
        assert [row[3] for row in table.rows] == ["yes", "NO: too much"]
        assert f"target {target}" in table.caption


JAR = ROOT / ".venv/checker/node_modules/vnu-jar/build/dist/vnu.jar"


@pytest.mark.skipif(
    shutil.which("java") is None or not JAR.exists(),
    reason="no HTML checker here; `make packages` installs it",
)
def test_the_html_checker_of_the_w3c_finds_no_error(tmp_path, guided, monkeypatch):
    (tmp_path / "guided.html").write_text(html_of(report_of(guided)), encoding="utf-8")
    trust = fleet_trust(monkeypatch)
    for path in FLEET:
        if path.stem in ("good", "tampered", "no-hold"):
            page = html_of(report_of(path, trust))
            (tmp_path / f"{path.stem}.html").write_text(page, encoding="utf-8")
    (tmp_path / "wrong.html").write_text("<!DOCTYPE html><title>x</title><p><div></p>")
    check = ["java", "-jar", str(JAR), "--errors-only", "--stdout"]
    pages = sorted(map(str, tmp_path.glob("*.html")))
    done = subprocess.run([*check, *pages], capture_output=True, text=True, timeout=100)
    told = done.stdout.splitlines()
    assert told  # the checker looked: the page that is wrong was found
    assert [line for line in told if "wrong.html" not in line] == []


def test_what_could_not_be_measured_says_all_of_why(monkeypatch):
    path = next(path for path in FLEET if path.stem == "no-hold")
    assert "not held still long enough" in report_of(path, fleet_trust(monkeypatch)).answer


def test_torque_without_steps_is_drawn_and_listed(tmp_path):
    path, stream = torque_capture(tmp_path / "torque.capture")
    report = report_of(path, units=METRIC)
    table = table_of(report, "torque")
    for row, true in zip(table.rows, stream.truth, strict=True):
        assert float(row[1]) == pytest.approx(true.peak_nm, rel=0.02)  # the adapter's own error
    text = html_of(report)
    html5lib.HTMLParser(strict=True).parse(text)
    assert "The torque over time" in text
    assert pdf_of(report).startswith(b"%PDF")


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        ({"due_on": "2026-11-25"}, "yes"),  # the last day on which the calibration counts
        ({"due_on": "2026-11-24"}, "NO: overdue"),
        ({"overdue": True}, "NO: overdue"),
        ({}, "not known, no due date is recorded"),
        ({"due_on": "soon"}, "not known, the due date is no date"),
    ],
)
def test_a_tool_was_in_date_or_not_on_the_day_of_the_job(facts, words):
    assert in_date({"kind": "indicator", **facts}, "2026-11-25") == words


def test_a_plain_capture_says_that_no_procedure_guided_it(tmp_path):
    text = html_of(report_of(make_capture(tmp_path / "a.capture")))
    assert "Recorded without a guided procedure" in text
    assert "torque pulls" not in text


@pytest.mark.parametrize("value", [None, 5, "x", [], {}, [1, {"peak_nm": "x"}], 1e300, True])
def test_steps_of_any_shape_are_shown(guided, value):
    names = ("step", "kind", "title", "outcome", "attempt", "because", "values", "host_utc_us")
    base = {"step": "s", "kind": "torque", "outcome": "done", "values": {"pulls": [{}]}}
    with guided.open("ab") as file:
        for name in names:
            line = {"entry": "step", **base, name: value}
            file.write(json.dumps(line).encode() + b"\n")
        line = {"entry": "step", **base, "values": dict.fromkeys(STEPS[1]["values"], value)}
        file.write(json.dumps(line).encode() + b"\n")
    assert html_of(report_of(guided))


def test_an_attempt_that_was_begun_and_closed_is_one(tmp_path):
    from rockhold.capture.reader import parse_capture

    lines = [{"rockhold": "capture", "version": 1}]
    for attempt, outcome in ((1, "begun"), (1, "failed"), (2, "begun"), (2, "done")):
        lines.append({"entry": "step", "step": "a", "outcome": outcome, "attempt": attempt,
                      "host_utc_us": 10 * attempt + (outcome != "begun")})  # fmt: skip
    capture = parse_capture(tmp_path, "".join(json.dumps(x) + "\n" for x in lines).encode())
    found = [(a.number, a.outcome, a.begun_utc_us, a.ended_utc_us) for a in attempts_of(capture)]
    assert found == [(1, "failed", 10, 11), (2, "done", 20, 21)]
