"""Targets in proportion to a strength by joint angle, where it is stated how the machine moves the joint."""

from __future__ import annotations

import itertools
from pathlib import Path
from typing import Final

import numpy as np

from feltload.calibration.errors import TargetError
from feltload.calibration.target.table import (
    POSITIONS,
    number_in,
    one_of,
    proportional_target,
    read_rows,
    sorted_by_position,
)
from feltload.calibration.target.target import Target
from feltload.core import Floats

JOINT: Final = "joint_angle_deg"
STRENGTHS: Final = (
    "torque_nm",
    "torque_percent",
    "force_n",
    "force_kgf",
    "force_lbf",
    "force_percent",
)
_REMEDY: Final = "head it joint_angle_deg,torque_nm"
_JOINT_REMEDY: Final = (
    "head it joint_angle_deg,angle_deg and give the joint's angle at two positions at least"
)
_SLACK_DEG: Final = 0.5
"""A joint angle so little beyond a table is its end."""


def is_by_joint(path: Path) -> bool:
    """Whether a table of strength is by joint angle."""
    return JOINT in read_rows(path, _REMEDY)[0]


def target_by_joint(text: str, strength: Path, joint: Path, within: float) -> Target:
    """A target in proportion to a strength by joint angle.

    Parameters
    ----------
    text : str
        As it was written.
    strength : Path
        CSV of `joint_angle_deg` and the strength there (`torque_nm`, `force_n`, or percent): its shape alone counts.
    joint : Path
        CSV of `joint_angle_deg` at positions of the machine (`angle_deg`, `handle_travel_mm` or `travel_percent`);
        straight lines between them, so that two rows state a linear relation.
    within : float
        Tolerance as a part of the force at each position.

    Raises
    ------
    TargetError
        A table cannot be read, or the joint goes where the strength is not known.
    """
    angles, values = _strength(strength)
    names, rows = read_rows(joint, _JOINT_REMEDY)
    position = one_of(names, tuple(POSITIONS), str(joint))
    columns = (position, one_of(names, (JOINT,), str(joint)))
    where = sorted_by_position(_table(rows, columns, str(joint)), str(joint))
    if where.shape[0] < 2:
        raise TargetError("has one row", where=str(joint), remedy=_JOINT_REMEDY)
    beyond = where[(where[:, 1] < angles[0] - _SLACK_DEG) | (where[:, 1] > angles[-1] + _SLACK_DEG), 1]
    if beyond.size:
        raise TargetError(
            f"moves the joint to {beyond[0]:g}°, and {strength.name} knows the strength from {angles[0]:g}° to "
            f"{angles[-1]:g}°",
            where=str(joint),
            remedy="give the strength there, or leave these positions out: the rest of the travel is then not asked",
        )
    at = _places(where, angles)
    wanted = np.interp(np.interp(at, where[:, 0], where[:, 1]), angles, values)
    axis, per_unit = POSITIONS[position]
    return proportional_target(text, axis, at * per_unit, wanted, within)


def _strength(path: Path) -> tuple[Floats, Floats]:
    names, rows = read_rows(path, _REMEDY)
    columns = (one_of(names, (JOINT,), str(path)), one_of(names, STRENGTHS, str(path)))
    table = sorted_by_position(_table(rows, columns, str(path)), str(path))
    return table[:, 0], table[:, 1]


def _table(rows: list[dict[str, str]], columns: tuple[str, str], where: str) -> Floats:
    return np.array(
        [
            [number_in(row, name, number, where) for name in columns]
            for number, row in enumerate(rows, start=2)
        ]
    )


def _places(where: Floats, angles: Floats) -> Floats:
    """Positions of both tables' rows, so that the straight lines of both are kept."""
    found = [where[:, 0]]
    for (low, begin), (high, end) in itertools.pairwise(where):
        if begin != end:
            parts = (angles - begin) / (end - begin)
            found.append(low + (high - low) * parts[(parts > 0.0) & (parts < 1.0)])
    return np.unique(np.round(np.concatenate(found), 9))
