"""Reports in a real browser: no script, no request, readable on a phone, in the dark, on paper."""

import io
import shutil

import pypdf
import pytest

from rockhold.report.html import html_of
from rockhold.report.units import METRIC
from support_report import FLEET, fleet_trust, hostile_capture, report_of

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
pytestmark = pytest.mark.skipif(
    CHROMIUM is None, reason="no chromium here; `make packages` installs it"
)
PAGES = ("good", "tampered", "drifting", "hostile")
# Rules of the WCAG for which axe-core has a check that it is sure of.
RULES = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa"]}}


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    """Reports as files: name → path."""
    folder = tmp_path_factory.mktemp("pages")
    with pytest.MonkeyPatch.context() as patch:
        trust = fleet_trust(patch)
        reports = {path.stem: report_of(path, trust) for path in FLEET if path.stem in PAGES}
        reports["drifting"] = report_of(
            next(p for p in FLEET if p.stem == "drifting"), trust, METRIC
        )
    reports["hostile"] = report_of(hostile_capture(folder / "hostile.capture"))
    for name, report in reports.items():
        (folder / f"{name}.html").write_text(html_of(report), encoding="utf-8")
    return {name: folder / f"{name}.html" for name in reports}


@pytest.fixture(scope="module")
def browser():
    sync_api = pytest.importorskip("playwright.sync_api")
    with sync_api.sync_playwright() as playwright:
        running = playwright.chromium.launch(
            executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"]
        )
        yield running
        running.close()


@pytest.fixture
def visit(browser, pages):
    """Open a report and gather what the browser says and asks for."""
    contexts = []

    def opened(name, width=1100, scheme="light"):
        context = browser.new_context(viewport={"width": width, "height": 800}, color_scheme=scheme)
        contexts.append(context)
        page = context.new_page()
        page.said, page.asked = [], []
        page.on("console", lambda message: page.said.append(message.text))
        page.on("pageerror", lambda error: page.said.append(str(error)))
        page.on("dialog", lambda dialog: (page.said.append(dialog.message), dialog.dismiss()))
        page.on("request", lambda request: page.asked.append(request.url))
        page.goto(pages[name].as_uri())
        return page

    yield opened
    for context in contexts:
        context.close()


@pytest.mark.parametrize("name", PAGES)
def test_nothing_runs_and_nothing_is_asked_for(visit, pages, name):
    page = visit(name)
    page.wait_for_timeout(100)
    assert page.said == []
    assert page.asked == [pages[name].as_uri()]
    assert page.evaluate("document.scripts.length") == 0


def test_the_pages_policy_stops_what_slips_through(visit):
    page = visit("good")
    page.evaluate(
        """() => { const add = html => { const t = document.createElement('div');
        t.innerHTML = html; document.body.append(t); };
        add('<img src="https://example.org/x.png" onerror="window.ran = 1">');
        const s = document.createElement('script'); s.textContent = 'window.ran = 1';
        document.body.append(s); }"""
    )
    page.wait_for_timeout(100)
    assert page.evaluate("window.ran") is None
    assert any("Content Security Policy" in said for said in page.said)


@pytest.mark.parametrize(("width", "scheme"), [(1100, "light"), (375, "dark")])
@pytest.mark.parametrize("name", PAGES)
def test_everybody_can_read_it(visit, name, width, scheme):
    from axe_playwright_python.sync_playwright import Axe

    page = visit(name, width, scheme)
    found = Axe().run(page, options=RULES)
    assert [(v["id"], v["nodes"][0]["html"]) for v in found.response["violations"]] == []
    for landmark in ("banner", "main", "contentinfo"):
        assert page.get_by_role(landmark).count() == 1
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    shown = page.locator("svg:visible")
    assert shown.count() == page.locator("figure").count()
    for picture in shown.all():
        assert picture.bounding_box()["width"] <= width
    paper = page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
    assert paper == ("rgb(18, 24, 30)" if scheme == "dark" else "rgb(255, 255, 255)")


def test_pictures_say_what_they_show(visit):
    page = visit("good")
    for name in ("The readings over time", "The end play against the band"):
        picture = page.get_by_role("img", name=name)
        assert picture.count() == 1  # the one for phones is hidden from readers, too


@pytest.mark.parametrize(("paper", "most"), [("Letter", 4), ("A4", 4)])
def test_it_prints_on_so_many_pages(visit, paper, most):
    reader = pypdf.PdfReader(io.BytesIO(visit("good", scheme="dark").pdf(format=paper)))
    assert 3 <= len(reader.pages) <= most
    text = "".join(page.extract_text() for page in reader.pages)
    for words in ("In short", "Cautions", "How to check this", "±"):
        assert words in text
