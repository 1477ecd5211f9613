"""A machine's state in words: figures with their uncertainty, and changes. Never which part is to blame."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from feltload.app.text.machine.friction import describe_tight_spots
from feltload.app.text.numbers import force_with_band, load_text, number_with_u

if TYPE_CHECKING:
    from feltload.app.jobs.upkeep.health import HealthChange, KeptValue, MachineHealth

DEFER: Final = (
    "These figures say that something changed, not which part, nor whether the machine is safe. Inspection and repair "
    "follow the maker's instructions, and belong to whoever is qualified for them."
)


def describe_health(health: MachineHealth) -> list[str]:
    """Every figure and its change since the last measurement, then what they do not say."""
    top = int(np.argmax(health.estimate.loads_kg))
    lines = [_line(change, health) for change in health.changes]
    if not lines:
        lines = ["Nothing is known of friction: the result does not hold its band."]
    if health.before is None:
        lines.append("This is the first measurement in the log: there is nothing to compare it with yet.")
    elif health.before.machine_sha256 != health.entry.machine_sha256:
        lines.append(
            "The machine file changed since the last measurement; friction and play do not rest on it."
        )
    return [*lines, *describe_tight_spots(health.estimate, top), DEFER]


def _line(change: HealthChange, health: MachineHealth) -> str:
    now = f"{_name(change.now)}: {_value(change.now.value, change.now.u95, change.now.kind)}"
    if health.before is None or change.before is None:
        return f"{now}."
    day = health.before.measured[:10]
    gap = _value(abs(change.difference), change.u95, change.now.kind)
    if not change.established:
        return f"{now}; since {day} no change that the measurements can show ({gap})."
    way = "more" if change.difference > 0.0 else "less"
    return f"{now}; {gap} {way} than on {day}, which is more than both measurements' uncertainty."


def _name(value: KeptValue) -> str:
    if value.load_kg is not None:
        return f"Friction with {load_text(value.load_kg)}, on average"
    return "Play" if value.kind == "play" else "Frequency at which it rings"


def _value(value: float, u95: float, kind: str) -> str:
    if kind == "friction":
        return force_with_band(value, u95)
    if kind == "play":
        return f"{number_with_u(float(np.degrees(value)), float(np.degrees(u95)))}°"
    return f"{number_with_u(value, u95)} Hz"
