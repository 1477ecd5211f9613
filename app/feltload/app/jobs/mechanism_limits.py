"""Whether a machine can do what a profile says it did."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from feltload.app.errors import UsageError
from feltload.app.files.provenance import FILE_NAME, load_provenance
from feltload.calibration import GeometryError, Machine, parse_machine, reference_of
from feltload.core import Floats, parse_quantity
from feltload.signal import ProfileError, ProfileEstimate, load_results, with_positions

FULL_TURN_DEG = 360.0
ONE_TURN_KINDS = ("lever", "four-bar")
"""Mechanisms of which no part goes round: a drum may turn several times."""

FARTHEST_HANDLE_M = 3.0
"""No person moves a handle further than from the floor to above the head (common practice, no source)."""

SMALLEST_TRAVEL_RAD = float(np.radians(0.5))

REMEDY = "check the machine file, and the recordings for holes; record again"


def load_possible(directory: Path) -> ProfileEstimate:
    """A result of ``feltload profile``, refused where the machine it was made with cannot do what it says.

    Raises
    ------
    ProfileError
        Says what is impossible.
    """
    estimate = load_results(directory)
    if (directory / FILE_NAME).exists():
        text = load_provenance(directory).machine_toml
        if text is None:
            return estimate
        machine = parse_machine(text, f"{directory}: machine.toml")
        require_possible(estimate, machine, where=str(directory))
        return with_positions(estimate, reference_of(machine))
    return estimate


def require_possible(estimate: ProfileEstimate, machine: Machine, *, where: str) -> None:
    """Refuse a profile over a travel that the machine does not have.

    Raises
    ------
    ProfileError
        Says what is impossible.
    """
    q = np.linspace(estimate.angle_rad[0], estimate.angle_rad[-1], 61) - estimate.start_angle_rad
    if (reason := impossible_travel(machine, q)) is not None:
        raise ProfileError(f"the profile {reason}", where=where, remedy=REMEDY)


def impossible_travel(machine: Machine, q_rad: Floats) -> str | None:
    """Why a machine cannot turn through `q_rad` (n,), from the start stop, or None where it can."""
    span_deg = float(np.degrees(abs(q_rad[-1] - q_rad[0])))
    if machine.mechanism.kind in ONE_TURN_KINDS and span_deg >= FULL_TURN_DEG:
        return f"spans {span_deg:.0f}°, and no part of {machine.name} goes round"
    try:
        travel = machine.terms(q_rad, 0.0).handle.travel
    except GeometryError as error:
        return f"spans {span_deg:.0f}°, which {machine.name} cannot do ({error.what})"
    moved_m = abs(float(np.trapezoid(np.abs(travel), q_rad)))
    if moved_m > FARTHEST_HANDLE_M:
        return f"moves the handle of {machine.name} by {moved_m:.1f} m, further than a person reaches"
    return None


def read_travel(text: str, machine: Machine) -> float:
    """A travel (rad) from the start stop as a person writes it, either way round, that the machine can do.

    Raises
    ------
    QuantityError, UsageError
        It is no angle, no travel, or further than the machine turns.
    """
    travel_rad = parse_quantity(text, "angle", where="--travel").value
    if abs(travel_rad) < SMALLEST_TRAVEL_RAD:
        raise UsageError(f'"{text}" is no travel', where="--travel", remedy='such as "80 deg"')
    if (reason := impossible_travel(machine, np.linspace(0.0, travel_rad, 61))) is not None:
        raise UsageError(f'"{text}" {reason}', where="--travel", remedy="give what the machine travels")
    return travel_rad
