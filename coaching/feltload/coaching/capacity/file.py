"""A capacity curve on disk."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
from pydantic import BaseModel, ConfigDict, ValidationError

from feltload.coaching.capacity.curve import CapacityCurve, CapacitySource
from feltload.coaching.capacity.holds import Hold
from feltload.coaching.errors import CapacityError
from feltload.core import Fact


class _HoldRecord(BaseModel):
    model_config = ConfigDict(extra="forbid")

    angle_deg: float
    force_n: float
    u_n: float
    start_s: float
    order: int
    movement_deg: float


class _CapacityRecord(BaseModel):
    model_config = ConfigDict(extra="forbid")

    machine: str
    source: CapacitySource
    side: str | None
    angle_deg: list[float]
    force_n: list[float]
    u_n: list[float]
    covariance_n2: list[list[float]]
    holds: list[_HoldRecord]
    warnings: list[str | dict[str, Any]]
    """Facts; sentences in files of older formats."""
    invented: bool = False


def capacity_to_json(curve: CapacityCurve, *, machine: str) -> str:
    """The curve as JSON, with the name of the machine it was measured on."""
    record = _CapacityRecord(
        machine=machine,
        source=curve.source,
        side=curve.side,
        angle_deg=np.rad2deg(curve.angle_rad).round(6).tolist(),
        force_n=curve.force_n.round(6).tolist(),
        u_n=curve.u_n.round(6).tolist(),
        covariance_n2=curve.covariance_n2.round(6).tolist(),
        holds=[
            _HoldRecord(
                angle_deg=float(np.rad2deg(hold.angle_rad)),
                force_n=hold.force_n,
                u_n=hold.u_n,
                start_s=hold.start_s,
                order=hold.order,
                movement_deg=float(np.rad2deg(hold.movement_rad)),
            )
            for hold in curve.holds
        ],
        warnings=[fact.to_dict() for fact in curve.warnings],
        invented=curve.invented,
    )
    return record.model_dump_json(indent=1)


def capacity_from_json(path: Path) -> tuple[CapacityCurve, str]:
    """Read a curve and the name of its machine.

    Raises
    ------
    CapacityError
        Naming the file and the key that cannot be read.
    """
    where = str(path)
    try:
        record = _CapacityRecord.model_validate_json(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise CapacityError(
            f"cannot be read ({error.strerror})",
            where=where,
            remedy="create one with: feltload client capacity",
        ) from None
    except (ValidationError, UnicodeDecodeError) as error:
        detail = "it is not text"
        if isinstance(error, ValidationError):
            first = error.errors()[0]
            detail = f"{'.'.join(str(p) for p in first['loc']) or 'the file'}: {first['msg']}"
        raise CapacityError(
            f"not a capacity file ({detail})", where=where, remedy="create one with: feltload client capacity"
        ) from None
    n = len(record.angle_deg)
    if n < 2 or len(record.force_n) != n or np.shape(record.covariance_n2) != (n, n):
        raise CapacityError("its curves differ in length", where=where, remedy="recreate it")
    try:
        warnings = tuple(Fact.from_dict(fact) for fact in record.warnings)
    except (KeyError, TypeError, ValueError) as error:
        raise CapacityError(
            f"warnings: one is no fact ({error})", where=where, remedy="recreate it"
        ) from None
    curve = CapacityCurve(
        angle_rad=np.deg2rad(record.angle_deg),
        force_n=np.array(record.force_n),
        covariance_n2=np.array(record.covariance_n2),
        source=record.source,
        holds=tuple(_hold_of(hold) for hold in record.holds),
        side=record.side,
        warnings=warnings,
        invented=record.invented,
    )
    return curve, record.machine


def _hold_of(record: _HoldRecord) -> Hold:
    return Hold(
        angle_rad=float(np.deg2rad(record.angle_deg)),
        force_n=record.force_n,
        u_n=record.u_n,
        start_s=record.start_s,
        order=record.order,
        movement_rad=float(np.deg2rad(record.movement_deg)),
    )
