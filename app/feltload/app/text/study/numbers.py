"""Numbers of a study as a paper prints them: no more digits than their limits allow."""

from __future__ import annotations

import math

from feltload.app.text.numbers import MISSING, ForceUnit, force_unit, number
from feltload.coaching import Estimate, IntraclassCorrelation

OPEN = 3.0
"""An upper limit more than this many times the value leaves it open."""


def places_for(size: float) -> int:
    """Decimals that show two figures of a size, none to four."""
    if not math.isfinite(size) or size <= 0.0:
        return 2
    return max(0, min(4, 1 - math.floor(math.log10(size))))


def with_limits(of: Estimate | None, unit: str, *, head: str = "", bare: bool = False) -> str:
    """``2.1 N (1.5 to 3.6)``, `bare` without the unit; a dash where there is none."""
    if of is None:
        return MISSING
    scale, shown = in_unit(unit)
    value, lower, upper = (scale * each for each in (of.value, of.lower, of.upper))
    places = places_for(abs(value))
    top = number(upper, f".{places}f") if math.isfinite(upper) else "open"
    inside = f"{head}{number(lower, f'.{places}f')} to {top}"
    return f"{_with_unit(number(value, f'.{places}f'), '' if bare else shown)} ({inside})"


def correlation_text(of: IntraclassCorrelation, *, head: str = "") -> str:
    """``0.98 (0.93 to 0.99)``: two decimals, and more where it or its limit is nearly one."""
    places = max(2, places_for(1.0 - of.value) - 1, places_for(1.0 - of.upper) - 1)
    value, lower, upper = (number(each, f".{places}f") for each in (of.value, of.lower, of.upper))
    return f"{value} ({head}{lower} to {upper})"


def is_open(of: Estimate) -> bool:
    """Whether the upper limit is so far off that the value alone would mislead."""
    return of.upper > OPEN * of.value


def plain(value: float, unit: str, *, like: float | None = None, bare: bool = False) -> str:
    """``254.1 N``: as many decimals as two figures of `like` need; `bare` without the unit."""
    scale, shown = in_unit(unit)
    size = abs(scale * (value if like is None else like))
    return _with_unit(number(scale * value, f".{places_for(size)}f"), "" if bare else shown)


def _with_unit(text: str, unit: str) -> str:
    return f"{text} {unit}" if unit else text


def in_unit(unit: str) -> tuple[float, str]:
    """Factor and name of the unit that people read."""
    if unit != "N":
        return 1.0, "" if unit == "1" else unit
    chosen: ForceUnit = force_unit()
    return 1.0 / chosen.newtons, str(chosen)
