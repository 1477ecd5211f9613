"""What a figure of a comparison shows: force, force as a part of its own size, or friction."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from feltload.app.pages.axes import force_scale
from feltload.app.text.numbers import force_figure, force_unit, number, short_force
from feltload.coaching import ScaledBy


@dataclass(frozen=True)
class Quantity:
    """A quantity as its figures and tables name it.

    Attributes
    ----------
    key, noun, label, unit, caption : str
        Prefix of ids, what it is, the axis, its unit, the caption's first words.
    more, less : str
        What above and below zero mean in a difference.
    in_newtons : bool
        Whether values are in N, and written in the unit of forces; otherwise in percent.
    """

    key: str
    noun: str
    label: str
    more: str
    less: str
    unit: str
    caption: str
    in_newtons: bool = True

    def gap_label(self, first: str) -> str:
        """What the axis of a difference is."""
        return f"{self.more} (above 0) or {self.less} than {first}, {self.unit}"

    def figure(self, value: float) -> str:
        """A value for a table that has the unit at its head."""
        return force_figure(value) if self.in_newtons else number(value, ".1f")

    def said(self, value: float) -> str:
        """A value with its unit."""
        return short_force(value) if self.in_newtons else f"{number(value, '.0f')} %"

    @property
    def scale(self) -> Callable[..., None]:
        """Numbers an axis."""
        return force_scale if self.in_newtons else _percent_scale


def force_quantity(scaled_by: ScaledBy | None) -> Quantity:
    """The static force, or what it is a part of."""
    if scaled_by is None:
        unit = str(force_unit())
        return Quantity(
            "compared", "Force at the handle", f"force at the handle, {unit}", "heavier", "lighter", unit,
            "The force to hold the handle still.",
        )  # fmt: skip
    return Quantity(
        "scaled", "Force as a part of its own size", f"force, % of its own {scaled_by} over the shared travel",
        "heavier for its size", "lighter", "%", f"Force to hold the handle still, as a part of its own {scaled_by}.",
        in_newtons=False,
    )  # fmt: skip


def friction_quantity() -> Quantity:
    """The friction."""
    unit = str(force_unit())
    return Quantity(
        "friction-compared", "Friction at the handle", f"friction at the handle, {unit}", "more", "less", unit,
        "Friction: half of the gap between raising and lowering slowly.",
    )  # fmt: skip


def _percent_scale(axes: Axes, *, steps: int = 6) -> None:
    axes.yaxis.set_major_locator(MaxNLocator(steps))
    axes.yaxis.set_major_formatter(lambda value, _: number(value, ".0f"))
