"""Small parts of server-drawn pictures: shapes with class names, never with styles of their own."""

from django.utils.html import escape

KM_PER_DEGREE = 111.32


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
