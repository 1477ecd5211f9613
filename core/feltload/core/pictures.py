"""Figures of results: curves along positions with their bands, or values with their intervals."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from feltload.core.arrays import Floats
from feltload.core.errors import InputError

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes
    from matplotlib.typing import ColorType

Spans = tuple[tuple[float, float], ...]

_BAND_OPACITY: Final = 0.25
_DASHES: Final = ("--", ":")
_MARKS: Final = ("^", "v")
_SMALL_PT: Final = 8.5
_UNDER_AXES: Final = 4.6
"""Distance of the legend from the axes in sizes of its letters: below the label of the axis."""


@dataclass(frozen=True)
class Scale:
    """What positions are drawn as.

    Attributes
    ----------
    name : {"travel", "handle", "angle"}
    label : str
        Of the axis, with the unit.
    of : callable
        Takes a result's own positions, shape (n,), to those drawn, shape (n,).
    """

    name: str
    label: str
    of: Callable[[Floats], Floats]


BY_ANGLE: Final = Scale("angle", "start angle plus rotation, °", np.rad2deg)
"""Positions in rad of which nothing else is known."""


@dataclass(frozen=True)
class Curve:
    """One line of a figure.

    Attributes
    ----------
    name : str
        Written at its end.
    x, y : ndarray, shape (n,)
    band : tuple of ndarray, shape (n,), optional
        Lower and upper edge of what its uncertainty leaves.
    beside : tuple of (str, ndarray)
        Up to two further lines of the same colour: what they are, and their values.
    between : bool
        Whether anything is known between the positions; points are drawn where it is not.
    """

    name: str
    x: Floats
    y: Floats
    band: tuple[Floats, Floats] | None = None
    beside: tuple[tuple[str, Floats], ...] = ()
    between: bool = True

    @classmethod
    def within(
        cls, name: str, x: Floats, y: Floats, u95: Floats, beside: tuple[tuple[str, Floats], ...] = ()
    ) -> Curve:
        """With the half-width `u95` of its band, shape (n,)."""
        return cls(name, x, y, (y - u95, y + u95), beside)


@dataclass(frozen=True)
class Picture:
    """Curves along positions.

    Attributes
    ----------
    title, y_label : str
        The label carries the unit.
    curves : tuple of Curve
    scales : tuple of Scale
        What positions can be drawn as, the usual one first.
    line_name, band_name : str
        What lines and bands are, in the legend.
    level : tuple of (str, float), optional
        A horizontal line with its name.
    spans : tuple of (float, float)
        Ranges of positions that are shaded.
    spans_name : str
        What these ranges are.
    """

    title: str
    y_label: str
    curves: tuple[Curve, ...]
    scales: tuple[Scale, ...] = (BY_ANGLE,)
    line_name: str = ""
    band_name: str = "95 % band"
    level: tuple[str, float] | None = None
    spans: Spans = ()
    spans_name: str = "marked painful"

    def at(self, positions: str) -> Picture:
        """The same along other positions.

        Raises
        ------
        InputError
            They are not known.
        """
        known = {scale.name: scale for scale in self.scales}
        if positions not in known:
            raise InputError(
                f'positions cannot be drawn as "{positions}"',
                where=self.title,
                remedy="use " + " or ".join(f'"{name}"' for name in known),
            )
        return replace(self, scales=(known[positions],))

    def draw(self, ax: Axes | None = None) -> Axes:
        """Draw it on `ax`, or on a new figure, and return the axes."""
        ax = _axes(ax)
        scale = self.scales[0]
        key: dict[str, Artist] = {}
        for low, high in self.spans:
            ends = scale.of(np.array([low, high]))
            key[self.spans_name] = ax.axvspan(float(ends[0]), float(ends[1]), color="0.85", lw=0)
        ends_of_curves: list[tuple[float, float, str, ColorType]] = []
        for curve in self.curves:
            x = scale.of(curve.x)
            joined = curve.between and x.size > 1
            (line,) = ax.plot(x, curve.y, "-" if joined else "o")
            colour = line.get_color()
            key.setdefault(self.line_name, line)
            if curve.band is not None and joined:
                band: Artist = ax.fill_between(x, *curve.band, color=colour, alpha=_BAND_OPACITY, lw=0)
                key.setdefault(self.band_name, band)
            elif curve.band is not None:
                key.setdefault(self.band_name, ax.vlines(x, *curve.band, color=colour, lw=2.0))
            styles = _DASHES if joined else _MARKS
            for (name, values), style in zip(curve.beside, styles, strict=False):
                key.setdefault(name, ax.plot(x, values, style, color=colour, lw=1.0)[0])
            known = np.flatnonzero(np.isfinite(curve.y))
            if curve.name and known.size:
                last = known[np.argmax(x[known])]
                ends_of_curves.append((float(x[last]), float(curve.y[last]), curve.name, colour))
        if self.level is not None:
            key[self.level[0]] = ax.axhline(self.level[1], color="0.4", lw=1.0, ls="-.")
        ax.set(title=self.title, xlabel=scale.label, ylabel=self.y_label)
        ax.title.set_wrap(True)
        _name_ends(ax, ends_of_curves)
        _explain(ax, {name: artist for name, artist in key.items() if name})
        return ax


@dataclass(frozen=True)
class Intervals:
    """Values by name, each with its interval.

    Attributes
    ----------
    title, label : str
        The label carries the unit.
    names : tuple of str
        From the top down.
    values : ndarray, shape (n,)
    limits : tuple of ndarray, shape (n,)
        Lower and upper; not finite where they are open.
    limits_name : str
        What they are.
    """

    title: str
    label: str
    names: tuple[str, ...]
    values: Floats
    limits: tuple[Floats, Floats]
    limits_name: str = "95 % interval"

    def at(self, positions: str) -> Intervals:
        """Refused: its values have no positions."""
        raise InputError(
            f'has no positions to draw as "{positions}"', where=self.title, remedy="leave positions out"
        )

    def draw(self, ax: Axes | None = None) -> Axes:
        """Draw it on `ax`, or on a new figure, and return the axes."""
        ax = _axes(ax)
        rows = np.arange(len(self.names))
        low, high = self.limits
        known = np.isfinite(low) & np.isfinite(high)
        (dots,) = ax.plot(self.values, rows, "o", zorder=3)
        bars = ax.hlines(rows[known], low[known], high[known], color=dots.get_color(), lw=2.0)
        ax.set(title=self.title, xlabel=self.label, yticks=rows, yticklabels=self.names)
        ax.set_ylim(max(len(rows), 1) - 0.5, -0.5)
        ax.margins(x=0.1)
        ax.title.set_wrap(True)
        _explain(ax, {"value": dots, self.limits_name: bars})
        return ax


def _axes(ax: Axes | None) -> Axes:
    if ax is not None:
        return ax
    from matplotlib import pyplot

    return pyplot.subplots(layout="constrained")[1]


def _name_ends(ax: Axes, ends: list[tuple[float, float, str, ColorType]]) -> None:
    """The names of curves at their right ends, far enough apart to be read."""
    ax.spines[["top", "right"]].set_visible(False)
    height_pt = ax.bbox.height * 72.0 / ax.figure.dpi
    low, high = ax.get_ylim()
    per_n = height_pt / (high - low)
    lowest = -np.inf
    for x, y, name, colour in sorted(ends, key=lambda end: end[1]):
        at_pt = max(y * per_n, lowest + 1.2 * _SMALL_PT)
        lowest = at_pt
        ax.annotate(
            name,
            (x, y),
            (5.0, at_pt - y * per_n),
            textcoords="offset points",
            va="center",
            color=colour,
            fontsize=_SMALL_PT,
            annotation_clip=False,
        )


def _explain(ax: Axes, key: dict[str, Artist]) -> None:
    """What lines, bands and shades are, below the axes, where no curve is covered."""
    ax.legend(
        list(key.values()),
        list(key),
        loc="upper center",
        bbox_to_anchor=(0.5, 0.0),
        borderaxespad=_UNDER_AXES,
        ncols=min(len(key), 3) or 1,
        fontsize=_SMALL_PT,
        frameon=False,
    )
