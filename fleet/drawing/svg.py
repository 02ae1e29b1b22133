"""A drawing as SVG for paper: hatches as patterns, so that it prints in black and white.

Lengths in the file are millimetres on the paper. Text is escaped and set in B612; whoever lays the
file out has that font, and any other does no harm but to looks.
"""

from xml.sax.saxutils import escape, quoteattr

from fleet.drawing.palette import PRINT, Palette, colour_of
from fleet.drawing.primitives import (
    Anchor,
    Circle,
    Drawing,
    Fill,
    Polygon,
    Polyline,
    Role,
    Shape,
    Size,
    Spot,
    Stroke,
    Text,
)

FAMILY = "B612"
WIDTH_MM = 170.0
"""Between the margins of an A4 page."""
TALLEST_MM = 165.0
"""So that a long narrow room leaves room for words on its page."""
LETTER_SHARE = 0.56
"""Mean width of a letter against the size of the text, for the paper behind words."""

_TEXT_MM = {Size.TITLE: 4.2, Size.LABEL: 3.0, Size.SMALL: 2.3}
_STROKES = {
    Stroke.WALL: (0.6, ""),
    Stroke.EDGE: (0.45, ""),
    Stroke.THIN: (0.25, ""),
    Stroke.DASHED: (0.25, "1.6 0.9"),
    Stroke.DOTTED: (0.45, "0.1 1.0"),
    Stroke.DIMENSION: (0.15, ""),
}


class _Paper:
    """Where plan mm come to lie on the paper."""

    def __init__(self, drawing: Drawing, width_mm: float, palette: Palette) -> None:
        x0, y0, x1, y1 = drawing.box_mm
        self.palette = palette
        self.scale = min(width_mm / (x1 - x0), TALLEST_MM / (y1 - y0))
        self.left_mm, self.top_mm = x0, y1
        self.width_mm, self.height_mm = (x1 - x0) * self.scale, (y1 - y0) * self.scale

    def spot(self, at: Spot) -> Spot:
        return ((at[0] - self.left_mm) * self.scale, (self.top_mm - at[1]) * self.scale)

    def path(self, points: tuple[Spot, ...]) -> str:
        return "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in map(self.spot, points))

    def colour(self, role: Role) -> str:
        return colour_of(role, self.palette)


def to_svg(
    drawing: Drawing, *, width_mm_on_paper: float = WIDTH_MM, palette: Palette = PRINT
) -> str:
    """Return a drawing as an SVG document.

    Args:
        drawing: what to draw.
        width_mm_on_paper: how wide at most; a tall drawing becomes narrower.
        palette: colours; the print one holds on a black and white printer too.
    """
    paper = _Paper(drawing, width_mm_on_paper, palette)
    width, height = f"{paper.width_mm:.2f}", f"{paper.height_mm:.2f}"
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}" role="img" aria-label={quoteattr(drawing.title)}>'
    )
    body = "\n".join(_shape(shape, paper) for shape in drawing.shapes)
    title = f"<title>{escape(drawing.title)}</title>"
    return "\n".join((head, title, _patterns(palette), body, "</svg>\n"))


def _patterns(palette: Palette) -> str:
    """Return the hatches: watch diagonal, ignore crossed."""
    green, vermilion = colour_of(Role.WATCH, palette), colour_of(Role.IGNORE, palette)
    start = '<pattern id="{}" width="1.8" height="1.8" patternUnits="userSpaceOnUse">'
    rising = '<path d="M-0.45 0.45L0.45 -0.45M0 1.8L1.8 0M1.35 2.25L2.25 1.35" {}/>'
    falling = '<path d="M-0.45 1.35L0.45 2.25M0 0L1.8 1.8M1.35 -0.45L2.25 0.45" {}/>'
    pen = 'stroke="{}" stroke-width="0.16" stroke-opacity="0.75" fill="none"'
    watch = start.format("watch") + rising.format(pen.format(green)) + "</pattern>"
    crossed = rising.format(pen.format(vermilion)) + falling.format(pen.format(vermilion))
    return f"<defs>{watch}{start.format('ignore')}{crossed}</pattern></defs>"


def _shape(shape: Shape, paper: _Paper) -> str:
    match shape:
        case Polyline():
            return f'<path d="{paper.path(shape.points_mm)}" fill="none" {_pen(shape, paper)}/>'
        case Polygon():
            path = "".join(paper.path(p) + "Z" for p in (shape.points_mm, *shape.holes_mm))
            inside = _inside(shape, paper)
            return f'<path d="{path}" fill-rule="evenodd" {inside} {_pen(shape, paper)}/>'
        case Circle():
            x, y = paper.spot(shape.at_mm)
            place = f'cx="{x:.2f}" cy="{y:.2f}" r="{shape.radius_mm * paper.scale:.2f}"'
            return f"<circle {place} {_inside(shape, paper)} {_pen(shape, paper)}/>"
        case Text():
            return _text(shape, paper)


def _pen(shape: Polyline | Polygon | Circle, paper: _Paper) -> str:
    if shape.stroke is Stroke.NONE:
        return 'stroke="none"'
    width, dashes = _STROKES[shape.stroke]
    dashed = f' stroke-dasharray="{dashes}" stroke-linecap="round"' if dashes else ""
    return f'stroke="{paper.colour(shape.role)}" stroke-width="{width}"{dashed}'


def _inside(shape: Polygon | Circle, paper: _Paper) -> str:
    match shape.fill:
        case Fill.SOLID:
            return f'fill="{paper.colour(shape.role)}"'
        case Fill.PAPER:
            return f'fill="{paper.palette.paper}"'
        case Fill.WATCH | Fill.IGNORE:
            return f'fill="url(#{shape.fill.value})"'
        case Fill.VIEW | Fill.DOORWAY:
            return f'fill="{paper.colour(shape.role)}" fill-opacity="0.06"'
        case _:
            return 'fill="none"'


def _text(text: Text, paper: _Paper) -> str:
    size = _TEXT_MM[text.size]
    x, y = paper.spot(text.at_mm)
    turn = f' transform="rotate(-90 {x:.2f} {y:.2f})"' if text.turned else ""
    x += text.inset * size * (-1 if text.anchor is Anchor.END else 1)
    y += text.line * size * 1.05
    weight = ' font-weight="bold"' if text.strong else ""
    words = (
        f'<text x="{x:.2f}" y="{y + size * 0.35:.2f}" font-family="{FAMILY}" font-size="{size}" '
        f'text-anchor="{text.anchor.value}" fill="{paper.colour(text.role)}"{weight}>'
        f"{escape(text.words)}</text>"
    )
    return f"<g{turn}>{_backing(text, (x, y), size, paper) if text.boxed else ''}{words}</g>"


def _backing(text: Text, at: Spot, size: float, paper: _Paper) -> str:
    bare, edge = len(text.words) * size * LETTER_SHARE, size * 0.25
    share = {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}[text.anchor]
    place = f'x="{at[0] - bare * share - edge:.2f}" y="{at[1] - size * 0.62:.2f}"'
    box = f'width="{bare + 2 * edge:.2f}" height="{size * 1.24:.2f}"'
    return f'<rect {place} {box} fill="{paper.palette.paper}"/>'
