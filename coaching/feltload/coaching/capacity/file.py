"""A capacity curve on disk."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Self

import numpy as np
from pydantic import BaseModel, ConfigDict, ValidationError, model_validator

from feltload.coaching.capacity.curve import STRONGEST_N, CapacityCurve, CapacitySource
from feltload.coaching.capacity.holds import Hold
from feltload.coaching.errors import CapacityError
from feltload.coaching.pain.marks import PainMark
from feltload.core import Fact, Floats, read_text
from feltload.signal import AngleKind

_WHOLE_TURN_DEG = 360.0


class _HoldRecord(BaseModel):
    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)

    angle_deg: float
    force_n: float
    u_n: float
    start_s: float
    order: int
    movement_deg: float


class PainRecord(BaseModel):
    """A mark on disk."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)

    low_deg: float
    high_deg: float
    added: str = ""
    removed: str | None = None
    angle_is: AngleKind | None = None
    low_mm: float | None = None
    high_mm: float | None = None

    @model_validator(mode="after")
    def _rises(self) -> Self:
        if not self.low_deg < self.high_deg:
            raise ValueError("low_deg must be below high_deg")
        return self

    @property
    def mark(self) -> PainMark:
        """The same in SI."""
        return PainMark(
            float(np.deg2rad(self.low_deg)),
            float(np.deg2rad(self.high_deg)),
            self.added,
            self.removed,
            self.angle_is,
            *(None if way is None else 1e-3 * way for way in (self.low_mm, self.high_mm)),
        )


class _CurveRecord(BaseModel):
    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)

    angle_deg: list[float]
    force_n: list[float]
    covariance_n2: list[list[float]]
    lowest_n: list[float] | None = None


class _CapacityRecord(BaseModel):
    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)

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
    painful: list[PainRecord] = []
    angle_is: AngleKind | None = None
    handle_travel_mm: list[float] | None = None
    all_holds: _CurveRecord | None = None


def pain_record(mark: PainMark) -> dict[str, Any]:
    """Keys of a mark in a file."""
    return {
        "low_deg": round(float(np.rad2deg(mark.low_rad)), 6),
        "high_deg": round(float(np.rad2deg(mark.high_rad)), 6),
        "added": mark.added,
        "removed": mark.removed,
        **({} if mark.angle is None else {"angle_is": mark.angle}),
        **{
            name: round(1e3 * way, 4)
            for name, way in (("low_mm", mark.low_m), ("high_mm", mark.high_m))
            if way is not None
        },
    }


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
        painful=[PainRecord(**pain_record(mark)) for mark in curve.painful],
        angle_is=curve.angle,
        handle_travel_mm=None if curve.path_m is None else (1e3 * curve.path_m).round(4).tolist(),
        all_holds=None if curve.all_holds is None else _curve_record(curve.all_holds, curve.lowest_n),
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
    text = read_text(path, CapacityError, remedy="create one with: feltload client capacity")
    try:
        record = _CapacityRecord.model_validate_json(text)
    except ValidationError as error:
        first = error.errors()[0]
        detail = f"{'.'.join(str(p) for p in first['loc']) or 'the file'}: {first['msg']}"
        raise CapacityError(
            f"not a capacity file ({detail})", where=where, remedy="create one with: feltload client capacity"
        ) from None
    for part in (record, record.all_holds):
        if part is not None and (wrong := _wrong_with(part)) is not None:
            raise CapacityError(wrong, where=where, remedy="recreate it with: feltload client capacity")
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
        painful=tuple(each.mark for each in record.painful),
        all_holds=None if record.all_holds is None else _curve_of(record.all_holds, record.source),
        lowest_n=_lowest_of(record.all_holds),
        angle=record.angle_is,
        path_m=None if record.handle_travel_mm is None else 1e-3 * np.array(record.handle_travel_mm),
    )
    return curve, record.machine


def _wrong_with(record: _CapacityRecord | _CurveRecord) -> str | None:
    """Why it is no curve of a person; None where it is one."""
    n = len(record.angle_deg)
    if n < 2 or len(record.force_n) != n or len(record.covariance_n2) != n:
        return "its curves differ in length"
    if any(len(row) != n for row in record.covariance_n2):
        return "its covariance is not square"
    turns = isinstance(record, _CurveRecord) or record.angle_is is AngleKind.ROTATION
    if np.any(np.diff(record.angle_deg) <= 0.0) or (not turns and np.ptp(record.angle_deg) > _WHOLE_TURN_DEG):
        return "its angles do not rise through part of a turn"
    ways = record.handle_travel_mm if isinstance(record, _CapacityRecord) else None
    if ways is not None and (len(ways) != n or np.any(np.diff(ways) <= 0.0)):
        return "its ways of the handle do not rise with its angles"
    if min(record.force_n) < 0.0 or not 0.0 < max(record.force_n) <= STRONGEST_N:
        return "a force in it is none of a person"
    lowest = record.lowest_n if isinstance(record, _CurveRecord) else None
    if lowest is not None and (len(lowest) != n or not 0.0 <= min(lowest) <= max(lowest) <= STRONGEST_N):
        return "lowest_n in it is no curve of a person"
    covariance = np.array(record.covariance_n2)
    size = float(np.max(np.abs(covariance)))
    if size > STRONGEST_N**2:
        return "its uncertainty is larger than any force of a person"
    if not np.allclose(covariance, covariance.T, atol=1e-6 * size):
        return "its covariance is not symmetric"
    if np.any(np.diag(covariance) < 0.0):
        return "a variance in it is negative"
    return None


def _curve_record(curve: CapacityCurve, lowest_n: Floats | None) -> _CurveRecord:
    return _CurveRecord(
        angle_deg=np.rad2deg(curve.angle_rad).round(6).tolist(),
        force_n=curve.force_n.round(6).tolist(),
        covariance_n2=curve.covariance_n2.round(6).tolist(),
        lowest_n=None if lowest_n is None else lowest_n.round(6).tolist(),
    )


def _lowest_of(record: _CurveRecord | None) -> Floats | None:
    return None if record is None or record.lowest_n is None else np.array(record.lowest_n)


def _curve_of(record: _CurveRecord, source: CapacitySource) -> CapacityCurve:
    return CapacityCurve(
        np.deg2rad(record.angle_deg), np.array(record.force_n), np.array(record.covariance_n2), source
    )


def _hold_of(record: _HoldRecord) -> Hold:
    return Hold(
        angle_rad=float(np.deg2rad(record.angle_deg)),
        force_n=record.force_n,
        u_n=record.u_n,
        start_s=record.start_s,
        order=record.order,
        movement_rad=float(np.deg2rad(record.movement_deg)),
    )
