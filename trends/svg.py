"""Small parts of server-drawn pictures: shapes with class names, never with styles of their own."""

from collections.abc import Iterable

from django.utils.html import escape

KM_PER_DEGREE = 111.32
# Words of a picture that had to shrink for a slide are made larger again by at most so much (picture-sheet.js).
GROWN = 1.45

Box = tuple[float, float, float, float]  # left, top, right, bottom


def open_picture(width: float, height: float, title: str, *, css: str = "spark") -> str:
    """A picture that shrinks with its column; without a height of its own it keeps its shape."""
    return (
        f'<svg class="{css}" viewBox="0 0 {width:g} {height:g}" width="{width:g}" role="img">'
        f"<title>{escape(title)}</title>"
    )


def line(css: str, x1: float, y1: float, x2: float, y2: float) -> str:
    return f'<line class="{css}" x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"/>'


def polyline(css: str, points: list[tuple[float, float]]) -> str:
    return f'<polyline class="{css}" fill="none" points="{" ".join(f"{x:.1f},{y:.1f}" for x, y in points)}"/>'


def text(css: str, x: float, y: float, words: str, anchor: str = "start") -> str:
    name = f' class="{css}"' if css else ""
    return f'<text{name} x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(words)}</text>'


def shape(kind: str, css: str, x: float, y: float, size: float, title: str = "") -> str:
    """A mark told by its form: circle, square, up, down, diamond or bar."""
    told = f"<title>{escape(title)}</title>" if title else ""
    r = size
    corners = {
        "square": [(-r, -r), (r, -r), (r, r), (-r, r)],
        "up": [(0, -1.25 * r), (1.15 * r, 0.85 * r), (-1.15 * r, 0.85 * r)],
        "down": [(0, 1.25 * r), (1.15 * r, -0.85 * r), (-1.15 * r, -0.85 * r)],
        "diamond": [(0, -1.3 * r), (1.3 * r, 0), (0, 1.3 * r), (-1.3 * r, 0)],
        "bar": [(-1.3 * r, -0.5 * r), (1.3 * r, -0.5 * r), (1.3 * r, 0.5 * r), (-1.3 * r, 0.5 * r)],
    }.get(kind)
    if corners is None:
        return f'<circle class="{css}" cx="{x:.1f}" cy="{y:.1f}" r="{r:g}">{told}</circle>'
    points = " ".join(f"{x + a:.1f},{y + b:.1f}" for a, b in corners)
    return f'<polygon class="{css}" points="{points}">{told}</polygon>'


def ends(at: float, width: float, anchor: str) -> tuple[float, float]:
    """Left and right end of words that are so wide and begin, end or have their middle at ``at``."""
    left = at - {"start": 0.0, "middle": width / 2, "end": width}[anchor]
    return left, left + width


def stays_inside(at: float, width: float, anchor: str, picture: float, *, edge: float = 3.0) -> bool:
    """Whether words stay within a picture of that width, on a slide too, where they are larger."""
    left, right = ends(at, GROWN * width, anchor)
    return left >= edge and right <= picture - edge


def meets(box: Box, taken: Iterable[Box]) -> bool:
    """Whether a box lies over one that is taken."""
    return any(box[0] < b[2] and b[0] < box[2] and box[1] < b[3] and b[1] < box[3] for b in taken)
