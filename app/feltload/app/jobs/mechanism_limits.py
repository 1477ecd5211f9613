"""Whether a machine can do what a profile says it did."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from feltload.app.files.provenance import FILE_NAME, load_provenance
from feltload.calibration import GeometryError, Machine, parse_machine
from feltload.signal import ProfileError, ProfileEstimate, load_results

FULL_TURN_DEG = 360.0
ONE_TURN_KINDS = ("lever", "four-bar")
"""Mechanisms of which no part goes round: a drum may turn several times."""

FARTHEST_HANDLE_M = 3.0
"""No person moves a handle further than from the floor to above the head (common practice, no source)."""

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
        require_possible(estimate, parse_machine(text, f"{directory}: machine.toml"), where=str(directory))
    return estimate


def require_possible(estimate: ProfileEstimate, machine: Machine, *, where: str) -> None:
    """Refuse a profile over a travel that the machine does not have.

    Raises
    ------
    ProfileError
        Says what is impossible.
    """
    q = np.linspace(estimate.angle_rad[0], estimate.angle_rad[-1], 61) - estimate.start_angle_rad
    span_deg = float(np.degrees(q[-1] - q[0]))
    if machine.mechanism.kind in ONE_TURN_KINDS and span_deg >= FULL_TURN_DEG:
        raise ProfileError(
            f"the profile spans {span_deg:.0f}°, and no part of {machine.name} goes round",
            where=where,
            remedy=REMEDY,
        )
    try:
        travel = machine.terms(q, 0.0).handle.travel
    except GeometryError as error:
        raise ProfileError(
            f"the profile spans {span_deg:.0f}°, which {machine.name} cannot do ({error.what})",
            where=where,
            remedy=REMEDY,
        ) from error
    moved_m = float(np.trapezoid(np.abs(travel), q))
    if moved_m > FARTHEST_HANDLE_M:
        raise ProfileError(
            f"the handle of {machine.name} would have moved by {moved_m:.1f} m", where=where, remedy=REMEDY
        )
