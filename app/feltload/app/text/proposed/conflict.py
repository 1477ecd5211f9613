"""Targets that are in each other's way, in words."""

from __future__ import annotations

import numpy as np

from feltload.app.text.numbers import load_text, number
from feltload.calibration import Conflict, Demand, TargetScale, TradeOff, Yielding

FRONT_HEADER = ("from the first", "from the second", "from the others")


def demand_text(demand: Demand) -> str:
    """``"150(5) N at start" with 40 kg``."""
    text = demand.placed.target.text
    own = demand.placed.target.load_kg is not None and " with " in text
    return f"“{text}”" if own else f"“{text}” with {load_text(demand.load_kg)}"


def front_text(front: TradeOff) -> str:
    """Which two are in each other's way."""
    return (
        f"{demand_text(front.first)} and {demand_text(front.second)} are in each other's way. These distances can be "
        "had together, in tolerances; 1 is allowed."
    )


def front_rows(front: TradeOff) -> list[tuple[str, ...]]:
    """Points of the front: distance from the first, from the second, and from the others where there are any."""
    shown = 3 if any(front.others) else 2
    points = [(*pair, others) for pair, others in zip(front.misses, front.others, strict=True)]
    # Where the front ends early, its last point comes more than once.
    return list(dict.fromkeys(tuple(number(each, ".2g") for each in point)[:shown] for point in points))


def yielding_row(each: Yielding) -> tuple[str, str]:
    """A target, and what it would have to yield for the others to be met."""
    if each.times is None:
        others = f"the others still miss by {number(each.others, '.2g')} times the tolerance"
        return demand_text(each.demand), f"leaving it out is not enough: {others}"
    if each.times <= 1.0:
        return demand_text(each.demand), "nothing: it is met with the others, before dimensions are rounded"
    return demand_text(each.demand), f"{number(each.times, '.2g')} times its tolerance{_as_written(each)}"


def _as_written(each: Yielding) -> str:
    """The tolerance as it would have to be typed, where it is one figure."""
    target = each.demand.placed.target
    if each.times is None or np.ptp(target.tolerance) > 0.0:
        return ""
    wider = each.times * float(target.tolerance[0])
    if target.scale is TargetScale.NEWTONS:
        return f", ± {number(wider, '.3g')} N"
    return f", ± {number(100.0 * wider, '.3g')} %"


def conflict_lines(conflict: Conflict) -> list[str]:
    """The same for a terminal."""
    lines = []
    for front in conflict.trade_offs:
        lines.append(front_text(front))
        lines += ["- " + " and ".join(row[:2]) + _beside(row) for row in front_rows(front)]
    if conflict.yielding:
        lines.append("What each target would have to yield for the others to be met:")
        lines += [f"- {name}: {needs}" for name, needs in map(yielding_row, conflict.yielding)]
    return lines


def _beside(row: tuple[str, ...]) -> str:
    return f", the others {row[2]}" if len(row) > 2 else ""
