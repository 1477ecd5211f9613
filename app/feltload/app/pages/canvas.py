"""Shared look of the report's figures, and their way into the page as inline SVG."""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from html import escape
from typing import Any

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

INK = "#1c2733"
QUIET = "#5b6773"
GRID = "#dfe3e8"
MEASURED = "#14507e"
MODEL = "#a3430a"
BAND = "#b9d0e4"
MODEL_BAND = "#a3430a"

_STYLE: Any = {
    "svg.fonttype": "none",
    "svg.hashsalt": "feltload",
    "figure.facecolor": "none",
    "axes.facecolor": "none",
    "font.family": "sans-serif",
    "text.color": INK,
    "axes.edgecolor": QUIET,
    "axes.labelcolor": INK,
    "axes.linewidth": 0.7,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": True,
    "axes.axisbelow": True,
    "grid.color": GRID,
    "grid.linewidth": 0.6,
    "xtick.color": QUIET,
    "ytick.color": QUIET,
    "xtick.labelcolor": INK,
    "ytick.labelcolor": INK,
    "legend.frameon": False,
}


@dataclass(frozen=True)
class Sheet:
    """Size of one rendering of a figure.

    Attributes
    ----------
    name : str
        Also the CSS class that shows it on the medium it is meant for.
    width_in, height_in : float
        Size in inches; the browser shows 72 points of it as 96 pixels.
    font_pt : float
        Size of the text, so that it stays readable at the width it is shown.
    wide : bool
        Whether there is room for labels beside the curves.
    """

    name: str
    width_in: float
    height_in: float
    font_pt: float
    wide: bool


WIDE = Sheet("wide", 7.4, 4.3, 9.0, True)
NARROW = Sheet("narrow", 3.75, 3.9, 8.2, False)


@dataclass(frozen=True)
class FigureTable:
    """The numbers behind a figure, as they are shown.

    Attributes
    ----------
    heads : tuple of str
        Of the columns; the first names the rows.
    rows : tuple of tuple of str
    """

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Drawing:
    """A figure ready for the page: two renderings of the same thing.

    Attributes
    ----------
    wide_svg, narrow_svg : str
        Inline SVG for a desk or paper, and for a phone.
    caption : str
        What it shows, in words.
    table : FigureTable, optional
        Its numbers.
    """

    wide_svg: str
    narrow_svg: str
    caption: str
    table: FigureTable | None = None


def draw(
    key: str,
    description: str,
    caption: str,
    plot: Callable[[Figure, Sheet], None],
    *,
    height_factor: float = 1.0,
    narrow_height_factor: float | None = None,
    table: FigureTable | None = None,
) -> Drawing:
    """Render `plot` for desk and phone.

    Parameters
    ----------
    key : str
        Prefix of the ids inside the SVG, unique on the page.
    description : str
        Text for those who cannot see the figure.
    caption : str
        Text below it.
    plot : callable
        Draws on ``(figure, sheet)``.
    height_factor, narrow_height_factor : float
        Height relative to the sheet's usual one; the second for a phone, where it differs.
    table : FigureTable, optional
        The numbers behind it.
    """
    narrow = height_factor if narrow_height_factor is None else narrow_height_factor
    svgs = [
        _render(f"{key}-{sheet.name}", description, plot, sheet, factor)
        for sheet, factor in ((WIDE, height_factor), (NARROW, narrow))
    ]
    return Drawing(wide_svg=svgs[0], narrow_svg=svgs[1], caption=caption, table=table)


MM_PER_IN = 25.4


def printed(
    plot: Callable[[Figure, Sheet], None], form: str, *, width_mm: float, height_mm: float, font_pt: float
) -> bytes:
    """A figure at the size of a journal's column, as a file of the form ``"pdf"``, ``"svg"`` or ``"png"``.

    Text stays text, in fonts that a publisher can edit.
    """
    sheet = Sheet("print", width_mm / MM_PER_IN, height_mm / MM_PER_IN, font_pt, width_mm > 120.0)
    with _style(sheet), mpl.rc_context({"pdf.fonttype": 42}):
        figure = Figure(figsize=(sheet.width_in, sheet.height_in), layout="constrained")
        plot(figure, sheet)
        buffer = io.BytesIO()
        metadata = {"pdf": {"CreationDate": None}, "svg": {"Date": None}}.get(form)
        figure.savefig(buffer, format=form, dpi=600, metadata=metadata)
    return buffer.getvalue()


def frame(axes: Axes, sheet: Sheet, *, x_label: str | None, y_label: str) -> None:
    """Label an axes the way every figure of the report does: the y label lies flat above the axis."""
    if x_label is not None:
        axes.set_xlabel(x_label)
    # At a stated height, it is not looked for at each draw.
    axes.set_title(y_label, loc="left", fontsize=sheet.font_pt, color=QUIET, y=1.0, pad=7)
    axes.tick_params(length=2.5, width=0.6)
    axes.margins(x=0.0)


@contextmanager
def _style(sheet: Sheet) -> Iterator[None]:
    with mpl.rc_context(_STYLE | {"font.size": sheet.font_pt}):
        yield


def _render(
    key: str, description: str, plot: Callable[[Figure, Sheet], None], sheet: Sheet, height_factor: float
) -> str:
    with _style(sheet):
        figure = Figure(figsize=(sheet.width_in, sheet.height_in * height_factor), layout="constrained")
        plot(figure, sheet)
        buffer = io.StringIO()
        # `savefig` would draw it a second time, for layouts that settle only then.
        canvas: Any = FigureCanvasSVG(figure)
        canvas.print_svg(buffer, metadata={"Date": None, "Creator": None})
    return _inline(buffer.getvalue(), key, description)


def _inline(svg: str, key: str, description: str) -> str:
    """Cut an SVG file down to an element that can stand in HTML beside others."""
    svg = svg[svg.index("<svg") :]
    svg = re.sub(r"<metadata>.*?</metadata>", "", svg, flags=re.DOTALL)
    # Several drawings on one page must not share ids: clip paths would cross over.
    svg = re.sub(r'\bid="([^"]+)"', rf'id="{key}-\1"', svg)
    svg = svg.replace("url(#", f"url(#{key}-").replace('href="#', f'href="#{key}-')
    svg = re.sub(r"font: ([^;\"]*?)px [^;\"]*", r"font-size: \1px; font-family: var(--sans)", svg)
    head = f'<svg role="img" aria-label="{escape(description, quote=True)}"'
    return svg.replace("<svg", head, 1).strip()
