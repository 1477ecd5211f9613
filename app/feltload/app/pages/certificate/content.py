"""What a certificate's page is filled with, and how it is drawn."""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

import matplotlib as mpl
from matplotlib.figure import Figure


@dataclass(frozen=True)
class Table:
    """A table of a page.

    Attributes
    ----------
    title : str
    heads : list of str
    rows : list of list of str
    words : bool
        The last column holds words instead of numbers.
    ends_in_sum : bool
        The last row sums up the others.
    below : str
        What its symbols mean.
    """

    title: str
    heads: list[str]
    rows: list[list[str]]
    words: bool = False
    ends_in_sum: bool = False
    below: str = ""


@dataclass(frozen=True)
class Content:
    """Everything of a page that depends on the kind of sensor.

    Attributes
    ----------
    title, result : str
        Kind of sensor; in one sentence, how well it measures.
    tables : list of Table
    figures : list of str
        SVG.
    figure_label : str
        What they show, for someone who cannot see them.
    lines : list of str
        Remarks below.
    """

    title: str
    result: str
    tables: list[Table]
    figures: list[str] = field(default_factory=list)
    figure_label: str = ""
    lines: list[str] = field(default_factory=list)


def svg(figure: Figure) -> str:
    """A figure as an SVG element whose text stays text."""
    out = io.StringIO()
    with mpl.rc_context({"svg.fonttype": "none", "svg.hashsalt": "certificate"}):
        figure.savefig(out, format="svg", transparent=True, metadata={"Date": None})
    text = out.getvalue()
    return text[text.index("<svg") :]


@contextmanager
def drawing_style() -> Iterator[None]:
    """Drawing style of the page's figures."""
    style = {
        "font.family": "sans-serif",
        "font.sans-serif": ["Liberation Sans", "Arial", "DejaVu Sans"],
        "font.size": 9.0,
        "axes.spines.top": False,
        "axes.spines.right": False,
        "axes.edgecolor": "#566070",
        "axes.linewidth": 0.8,
        "xtick.color": "#566070",
        "ytick.color": "#566070",
        "axes.labelcolor": "#1c2430",
        "legend.frameon": False,
    }
    with mpl.rc_context(style):  # type: ignore[arg-type]
        yield
