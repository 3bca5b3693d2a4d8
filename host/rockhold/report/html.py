"""Write a report as one HTML page that needs nothing else: no script, no network.

Names and texts come from a file that a stranger may have made. The template escapes all of them;
the page's own policy forbids every script and every request, so that nothing could run even if
one slipped through.
"""

import base64
import hashlib
from importlib import resources

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from rockhold.report.content import Report
from rockhold.report.pictures.svg import style_rules


def html_of(report: Report) -> str:
    """Return the page."""
    folder = resources.files("rockhold.report").joinpath("templates")
    style = folder.joinpath("report.css").read_text("utf-8")
    style += f"@media screen and (prefers-color-scheme: dark) {{{style_rules()}}}\n"
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    policy = f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    template = environment.from_string(folder.joinpath("report.html").read_text("utf-8"))
    # The style and the pictures are our own; pictures/svg.py escapes what they hold.
    return template.render(report=report, style=Markup(style), policy=policy, drawn=Markup)
