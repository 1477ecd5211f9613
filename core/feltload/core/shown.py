"""How a result shows itself in a notebook: one line, a small table, a figure with its uncertainty."""

from __future__ import annotations

import html
import math
from abc import ABC, abstractmethod
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from feltload.core.arrays import Floats
from feltload.core.pictures import Intervals, Picture

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_CELL: Final = "text-align: left; padding: 0.2em 1.2em 0.2em 0"
"""Style of a cell; colours are those of the page around it, dark or light."""


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
    main : str
        What one line says where all the rows are too many for it.
    """

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    main: str = ""

    def line(self) -> str:
        """What it is with its main figures, in one line."""
        if self.main:
            return f"<{self.title}: {self.main}>"
        rows = (
            ", ".join(f"{n} {v}".strip() for n, v in zip(self.columns, row, strict=True)) for row in self.rows
        )
        return f"<{self.title}: {'; '.join(rows)}>"

    def table(self) -> str:
        """All of it as an HTML table."""

        def cells(tag: str, texts: tuple[str, ...]) -> str:
            row = "".join(f'<{tag} style="{_CELL}">{html.escape(text)}</{tag}>' for text in texts)
            return f"<tr>{row}</tr>"

        head, body = cells("th", self.columns), "".join(cells("td", row) for row in self.rows)
        title = html.escape(f"{self.title}: {self.main}" if self.main else self.title)
        return f"<table><caption>{title}</caption><thead>{head}</thead><tbody>{body}</tbody></table>"


class Shown(ABC):
    """A result that shows itself in a notebook."""

    @abstractmethod
    def summary(self) -> Summary:
        """What it is, with its figures."""

    @abstractmethod
    def picture(self) -> Picture | Intervals:
        """What its figure holds."""

    def plot(self, ax: Axes | None = None, *, positions: str | None = None) -> Axes:
        """Draw it with its uncertainty.

        Parameters
        ----------
        ax : Axes, optional
            Where; a new figure when left out.
        positions : {"travel", "handle", "angle"}, optional
            What a position is drawn as: the part of the travel, the way of the handle, or the angle, as far as this
            result knows them; the first that it knows when left out.

        Returns
        -------
        Axes
            Those drawn on.

        Raises
        ------
        InputError
            It does not know its positions so.
        """
        picture = self.picture()
        return (picture if positions is None else picture.at(positions)).draw(ax)

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
