"""Targets as they are named on a command line, and as they are kept beside a result."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from pydantic import TypeAdapter, ValidationError

from feltload.app.errors import AppError
from feltload.app.jobs.quantities import read_percent
from feltload.calibration import (
    Judgement,
    Target,
    TargetAxis,
    TargetError,
    TargetRecord,
    is_by_joint,
    judgement_record,
    parse_target,
    proportional_target,
    target_by_joint,
    target_from_table,
)
from feltload.coaching import CapacityCurve, capacity_from_json, capacity_from_table
from feltload.core import read_text, write_file
from feltload.signal import AngleKind, Travel

FILE_NAME = "targets.json"
_PROPORTIONAL = re.compile(
    r"proportional\s+to\s+(?P<file>.+?)(?:\s+with\s+(?P<joint>\S+\.csv))?\s+within\s+(?P<within>[^%]+%)"
)


def read_targets(written: Sequence[str]) -> tuple[Target, ...]:
    """Targets of `--target`: phrases, tables (.csv), "proportional to FILE within 5 %", also "FILE with JOINT.csv".

    Raises
    ------
    TargetError, CapacityError
        Names what cannot be read.
    """
    return tuple(target for text in written for target in _read(text.strip()))


def _read(text: str) -> tuple[Target, ...]:
    if found := _PROPORTIONAL.fullmatch(text):
        within = 0.01 * read_percent(found["within"], "--target")
        strength = Path(found["file"])
        if found["joint"] is not None:
            return (target_by_joint(text, strength, Path(found["joint"]), within),)
        return (_proportional(text, strength, within),)
    if text.lower().endswith(".csv"):
        return (target_from_table(Path(text)),)
    return parse_target(text)


def _proportional(text: str, path: Path, within: float) -> Target:
    """A target in proportion to a strength: a capacity file of a client, or a table by lever angle."""
    if path.suffix.lower() == ".csv" and is_by_joint(path):
        raise TargetError(
            "is by joint angle",
            where=str(path),
            remedy=f'say how the machine moves the joint: "proportional to {path.name} with joint.csv within 10 %"',
        )
    curve = capacity_from_table(path) if path.suffix.lower() == ".csv" else capacity_from_json(path)[0]
    axis, at = _positions(curve)
    return proportional_target(text, axis, at, curve.force_n, within)


def _positions(curve: CapacityCurve) -> tuple[TargetAxis, np.ndarray[tuple[int, ...], np.dtype[np.float64]]]:
    if curve.angle in (None, AngleKind.LEVER):
        return TargetAxis.ANGLE, curve.angle_rad
    if curve.path_m is not None:
        return TargetAxis.HANDLE, curve.path_m
    raise TargetError(
        "its positions are rotations of a part, which name no place on another machine",
        where="--target",
        remedy="measure the capacity with a machine file that gives the handle's way",
    )


def targets_text(judgements: Sequence[Judgement], travel: Travel) -> str:
    """Content of `targets.json`: every target as it was, and what became of it."""
    targets = list({id(each.placed.target): each.placed.target for each in judgements}.values())
    record = {
        "targets": [TargetRecord.of(target).model_dump(mode="json") for target in targets],
        "judgements": [judgement_record(each, travel) for each in judgements],
    }
    return json.dumps(record, indent=1, allow_nan=False) + "\n"


def write_targets(directory: Path, judgements: Sequence[Judgement], travel: Travel) -> None:
    """Keep targets and judgements beside a result."""
    write_file(directory / FILE_NAME, targets_text(judgements, travel))


def load_targets(directory: Path) -> tuple[Target, ...]:
    """Targets kept beside a result; none where there are none.

    Raises
    ------
    AppError
        They cannot be read.
    """
    path = directory / FILE_NAME
    if not path.exists():
        return ()
    try:
        stored = json.loads(read_text(path, AppError))["targets"]
        records = TypeAdapter(list[TargetRecord]).validate_python(stored)
    except (json.JSONDecodeError, KeyError, TypeError, RecursionError, ValidationError) as error:
        raise AppError(
            "cannot be read", where=str(path), remedy="remove it, or name the targets again with --target"
        ) from error
    return tuple(record.target for record in records)
