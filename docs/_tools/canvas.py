"""A small canvas for line drawings as SVG: legible in grey, on a light and on a dark page."""

from __future__ import annotations

from html import escape

INK, QUIET, CELL, SENSOR, LOAD, WRONG = "#1b2733", "#6b7785", "#0b5394", "#7a3e9d", "#b0521f", "#9b1c31"


class Canvas:
    """Shapes in the order in which they are drawn.

    Parameters
    ----------
    width, height : int
        Of the picture, in units of its own.
    title : str
        What it shows, for those who cannot see it.
    """

    def __init__(self, width: int, height: int, title: str) -> None:
        self.width, self.height, self.title = width, height, title
        self._shapes: list[str] = []

    def line(
        self, points: list[tuple[float, float]], color: str = INK, width: float = 2.0, dash: str = ""
    ) -> None:
        """A line through points."""
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        self._shapes.append(
            f'<polyline points="{path}" fill="none" stroke="{color}" stroke-width="{width}" '
            f'stroke-linecap="round" stroke-linejoin="round"{dashed}/>'
        )

    def arrow(self, start: tuple[float, float], end: tuple[float, float], color: str = INK) -> None:
        """A line with a head at its end."""
        (x0, y0), (x1, y1) = start, end
        length = max(((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5, 1e-9)
        u, v = (x1 - x0) / length, (y1 - y0) / length
        self.line([start, end], color)
        self.line(
            [(x1 - 9 * u - 5 * v, y1 - 9 * v + 5 * u), end, (x1 - 9 * u + 5 * v, y1 - 9 * v - 5 * u)], color
        )

    def circle(self, x: float, y: float, radius: float, fill: str = "none", color: str = INK) -> None:
        """A circle."""
        self._shapes.append(
            f'<circle cx="{x}" cy="{y}" r="{radius}" fill="{fill}" stroke="{color}" stroke-width="2"/>'
        )

    def box(
        self,
        x: float,
        y: float,
        width: float,
        height: float,
        fill: str = "none",
        color: str = INK,
        turned: float = 0.0,
    ) -> None:
        """A box about its middle, turned clockwise by degrees."""
        self._shapes.append(
            f'<rect x="{x - width / 2}" y="{y - height / 2}" width="{width}" height="{height}" rx="3" fill="{fill}" '
            f'stroke="{color}" stroke-width="2" transform="rotate({turned} {x} {y})"/>'
        )

    def text(
        self,
        x: float,
        y: float,
        words: str,
        *,
        color: str = INK,
        anchor: str = "start",
        size: int = 15,
        bold: bool = False,
    ) -> None:
        """Words; a line break begins the next line."""
        weight = ' font-weight="bold"' if bold else ""
        for number, line in enumerate(words.split("\n")):
            self._shapes.append(
                f'<text x="{x}" y="{y + 1.25 * size * number:.1f}" fill="{color}" text-anchor="{anchor}" '
                f'font-size="{size}"{weight}>{escape(line)}</text>'
            )

    def cross(self, x: float, y: float, size: float = 12.0) -> None:
        """The mark of what never to do."""
        self.line([(x - size, y - size), (x + size, y + size)], WRONG, 5)
        self.line([(x - size, y + size), (x + size, y - size)], WRONG, 5)

    def tick(self, x: float, y: float) -> None:
        """The mark of what to do."""
        self.line([(x - 11, y), (x - 3, y + 9), (x + 12, y - 11)], CELL, 5)

    def svg(self) -> str:
        """The picture as text."""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {self.width} {self.height}" role="img" '
            f'font-family="DejaVu Sans, Verdana, sans-serif"><title>{escape(self.title)}</title>'
            f'<rect width="{self.width}" height="{self.height}" rx="8" fill="#ffffff"/>{"".join(self._shapes)}</svg>\n'
        )
