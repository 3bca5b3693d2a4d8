"""Write SVG: shapes and texts whose colours a page may change to dark ones.

Every element has its light colour as an attribute, so that a picture that stands alone, or on
paper, is complete; and a class, for which style_rules() gives a page the colours of the dark.
"""

from dataclasses import dataclass
from xml.etree import ElementTree as Xml

from rockhold.plain import plain

# class → (attribute, light, dark). Blue and orange are of Okabe and Ito's palette, which stays
# apart for the common colour blindnesses; the light ones are darkened for contrast with white.
COLOURS = {
    "ink": ("fill", "#1c2733", "#e6ebf0"),
    "quiet": ("fill", "#4d5965", "#b3bec9"),
    "axis": ("stroke", "#4d5965", "#8b98a5"),
    "grid": ("stroke", "#d5dbe1", "#39444f"),
    "trace": ("stroke", "#3d4650", "#c3ccd5"),
    "dot": ("fill", "#3d4650", "#c3ccd5"),
    "out": ("fill", "#0067a3", "#6db9ec"),
    "in": ("fill", "#b34a00", "#f0a35e"),
    "out-line": ("stroke", "#0067a3", "#6db9ec"),
    "in-line": ("stroke", "#b34a00", "#f0a35e"),
    "out-area": ("fill", "#e2eff8", "#14344a"),
    "in-area": ("fill", "#fbeadd", "#46280f"),
    "mark": ("fill", "#8b1a62", "#e98bc5"),
    "mark-line": ("stroke", "#8b1a62", "#e98bc5"),
    "mark-text": ("fill", "#ffffff", "#1c2733"),
    "band": ("fill", "#d3ede3", "#123d2f"),
    "band-line": ("stroke", "#00664b", "#5cc9a3"),
    "accept": ("fill", "#00664b", "#5cc9a3"),
    "reject": ("fill", "#9c2a00", "#ff9d7a"),
    "undecided": ("fill", "#6f5200", "#e3c05e"),
    "accept-line": ("stroke", "#00664b", "#5cc9a3"),
    "reject-line": ("stroke", "#9c2a00", "#ff9d7a"),
    "undecided-line": ("stroke", "#6f5200", "#e3c05e"),
}
PAPER = ("#ffffff", "#12181e")  # what the pictures stand on, light and dark
FONT = "DejaVu Sans, Verdana, sans-serif"


def style_rules() -> str:
    """Return the CSS that gives pictures their dark colours."""
    return "".join(
        f".p-{name}{{{attribute}:{dark}}}" for name, (attribute, _, dark) in COLOURS.items()
    )


@dataclass(frozen=True, slots=True)
class Canvas:
    """A part of a picture to draw on; lengths in its own pixels.

    Attributes:
        node: The element to add to.
        width: How wide it is.
        height: How high.
    """

    node: Xml.Element
    width: float
    height: float

    def add(self, tag: str, colour: str, **attributes: float | str) -> Xml.Element:
        """Add an element; an underscore in a name stands for a hyphen."""
        attribute, light, _ = COLOURS[colour]
        named = {name.replace("_", "-"): _text(value) for name, value in attributes.items()}
        return Xml.SubElement(self.node, tag, {"class": f"p-{colour}", attribute: light, **named})

    def line(
        self, colour: str, ends: tuple[float, float, float, float], width: float = 1, dash: str = ""
    ) -> None:
        """Add a straight line from x1, y1 to x2, y2."""
        x1, y1, x2, y2 = ends
        more = {"stroke_dasharray": dash} if dash else {}
        self.add("line", colour, x1=x1, y1=y1, x2=x2, y2=y2, stroke_width=width, **more)

    def text(
        self, colour: str, at: tuple[float, float], words: str, *,
        anchor: str = "start", size: float = 12, bold: bool = False,
    ) -> None:  # fmt: skip
        """Add a line of text at x, y."""
        node = self.add(
            "text", colour, x=at[0], y=at[1], text_anchor=anchor, font_size=size,
            **({"font_weight": "bold"} if bold else {}),
        )  # fmt: skip
        node.text = plain(words)

    def part(self, x: float, y: float, width: float, height: float) -> "Canvas":
        """Return a part of this canvas with its own zero."""
        group = Xml.SubElement(self.node, "g", {"transform": f"translate({_text(x)} {_text(y)})"})
        return Canvas(group, width, height)


def new_picture(width: float, height: float, name: str) -> Canvas:
    """Return an empty picture; `name` makes its ids differ from those of others on a page."""
    node = Xml.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {_text(width)} {_text(height)}",
            "width": _text(width),
            "height": _text(height),
            "font-family": FONT,
            "role": "img",
            "aria-labelledby": f"{name}-title {name}-desc",
        },
    )
    return Canvas(node, width, height)


def describe(canvas: Canvas, name: str, title: str, description: str) -> None:
    """Say in words what a picture shows, for who cannot see it."""
    for at, (tag, words) in enumerate((("title", title), ("desc", description))):
        node = Xml.Element(tag, {"id": f"{name}-{tag}"})
        node.text = plain(words)
        canvas.node.insert(at, node)


def text_of(canvas: Canvas) -> str:
    """Return a picture as the text of an SVG file, without XML declaration."""
    return Xml.tostring(canvas.node, encoding="unicode")


def _text(value: float | str) -> str:
    return value if isinstance(value, str) else f"{value:.2f}".rstrip("0").rstrip(".")
