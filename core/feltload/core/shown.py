"""How a result shows itself in a notebook: one line, a small table, a figure with its band."""

from __future__ import annotations

import html
import math
from abc import ABC, abstractmethod
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from feltload.core.arrays import Floats

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_BAND_OPACITY = 0.25
_ANGLE = "position: start angle plus rotation, °"

Spans = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Summary:
    """What a result is, with its figures.

    Attributes
    ----------
    title : str
        What it is, without figures.
    columns : tuple of str
        Names of the figures.
    rows : tuple of tuple of str
        The figures with their units and uncertainties, as many in a row as there are columns.
    """

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    def line(self) -> str:
        """All of it in one line."""
        rows = (", ".join(f"{n} {v}" for n, v in zip(self.columns, row, strict=True)) for row in self.rows)
        return f"<{self.title}: {'; '.join(rows)}>"

    def table(self) -> str:
        """All of it as an HTML table."""

        def cells(tag: str, texts: tuple[str, ...]) -> str:
            return "<tr>" + "".join(f"<{tag}>{html.escape(text)}</{tag}>" for text in texts) + "</tr>"

        head, body = cells("th", self.columns), "".join(cells("td", row) for row in self.rows)
        title = html.escape(self.title)
        return f"<table><caption>{title}</caption><thead>{head}</thead><tbody>{body}</tbody></table>"


@dataclass(frozen=True)
class Curve:
    """One line of a figure.

    Attributes
    ----------
    name : str
        In the legend.
    x, y : ndarray, shape (n,)
    u95 : ndarray, shape (n,), optional
        Half-width of the 95 % band around `y`.
    beside : tuple of (str, ndarray)
        Further lines of the same colour without a band: their names and values.
    """

    name: str
    x: Floats
    y: Floats
    u95: Floats | None = None
    beside: tuple[tuple[str, Floats], ...] = ()


@dataclass(frozen=True)
class Picture:
    """What a figure holds.

    Attributes
    ----------
    title, x_label, y_label : str
        Labels carry the units.
    curves : tuple of Curve
    level : tuple of (str, float), optional
        A horizontal line with its name.
    spans : tuple of (float, float)
        Ranges of `x` that are shaded.
    spans_name : str
        What these ranges are.
    """

    title: str
    x_label: str
    y_label: str
    curves: tuple[Curve, ...]
    level: tuple[str, float] | None = None
    spans: Spans = ()
    spans_name: str = ""

    @classmethod
    def by_angle(
        cls,
        title: str,
        y_label: str,
        curves: tuple[Curve, ...],
        *,
        level: tuple[str, float] | None = None,
        painful_rad: Spans = (),
    ) -> Picture:
        """Curves whose `x` is start angle plus rotation in rad; ranges marked painful are shaded."""
        degrees = tuple(replace(curve, x=np.rad2deg(curve.x)) for curve in curves)
        spans = tuple((math.degrees(low), math.degrees(high)) for low, high in painful_rad)
        return cls(title, _ANGLE, y_label, degrees, level, spans, "marked painful")

    def draw(self, ax: Axes | None = None) -> Axes:
        """Draw it on `ax`, or on a new figure, and return the axes."""
        if ax is None:
            from matplotlib import pyplot

            _, ax = pyplot.subplots(layout="constrained")
        for k, (low, high) in enumerate(self.spans):
            ax.axvspan(low, high, color="0.85", label=self.spans_name if k == 0 else None)
        for curve in self.curves:
            (line,) = ax.plot(curve.x, curve.y, label=curve.name)
            colour = line.get_color()
            if curve.u95 is not None:
                edges = (curve.y - curve.u95, curve.y + curve.u95)
                label = f"{curve.name}, 95 % band"
                ax.fill_between(curve.x, *edges, color=colour, alpha=_BAND_OPACITY, lw=0, label=label)
            for (name, values), dash in zip(curve.beside, ("--", ":"), strict=False):
                ax.plot(curve.x, values, color=colour, ls=dash, lw=1.0, label=name)
        if self.level is not None:
            ax.axhline(self.level[1], color="0.3", lw=1.0, ls="-.", label=self.level[0])
        ax.set(title=self.title, xlabel=self.x_label, ylabel=self.y_label)
        ax.legend(fontsize="small")
        return ax


class Shown(ABC):
    """A result that shows itself in a notebook."""

    @abstractmethod
    def summary(self) -> Summary:
        """What it is, with its figures."""

    @abstractmethod
    def picture(self) -> Picture:
        """What its figure holds."""

    def plot(self, ax: Axes | None = None) -> Axes:
        """Draw it with its 95 % band.

        Parameters
        ----------
        ax : Axes, optional
            Where; a new figure when left out.

        Returns
        -------
        Axes
            Those drawn on.
        """
        return self.picture().draw(ax)

    def __repr__(self) -> str:
        return self.summary().line()

    def _repr_html_(self) -> str:
        return self.summary().table()


def with_u95(value: float, u95: float, unit: str) -> str:
    """``236.1 ± 2.2 N``: the half-width of the 95 % band to two digits, the value to the same place."""
    if not math.isfinite(value):
        return "not known"
    if not math.isfinite(u95) or u95 <= 0.0:
        return f"{value:.3g} {unit} (uncertainty not known)".replace("-", "−")
    # 9.96 to two digits is 10, which needs one decimal less.
    decimals = max(0, 1 - math.floor(math.log10(float(f"{u95:.1e}"))))
    return f"{value:z.{decimals}f} ± {u95:.{decimals}f} {unit}".replace("-", "−")


def angle_text(angle_rad: float) -> str:
    """``−25°``."""
    return f"{math.degrees(angle_rad):z.0f}°".replace("-", "−")


def greatest(values: Floats) -> int | None:
    """Index of the greatest finite value; None where there is none."""
    return int(np.nanargmax(values)) if np.any(np.isfinite(values)) else None
