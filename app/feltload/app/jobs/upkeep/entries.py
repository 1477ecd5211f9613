"""What is kept of one measurement in the log of a machine."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Self

import numpy as np
from pydantic import BaseModel, ConfigDict

from feltload.app.files.provenance import Provenance, text_sha256
from feltload.calibration import parse_machine
from feltload.coaching import UncertainCurve, friction_curve, source_name
from feltload.core import Floats
from feltload.signal import BudgetSource, ComplianceFact, ProfileEstimate, mean_friction_n

MOST_PLACES = 41
"""Positions at which friction is kept: a step is 2.5 % of the travel, less than the width of a tight spot."""
DIGITS = 6
SAME_LOAD_KG = 0.001


class _Kept(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class KeptValue(_Kept):
    """One figure of a measurement: mean friction at a load (N), play (rad) or the frequency it rings at (Hz)."""

    kind: str
    load_kg: float | None = None
    value: float
    u95: float


class KeptFriction(_Kept):
    """Friction of one load at the entry's positions.

    `covariance_n2` is the lower triangle of its covariance, row by row; `gain_share` the part of the friction by which
    one standard uncertainty of the cell's gain changes it.
    """

    load_kg: float
    friction_n: tuple[float, ...]
    covariance_n2: tuple[float, ...]
    coverage: float
    gain_share: float = 0.0

    def curve(self, rotation_rad: Sequence[float]) -> UncertainCurve:
        """The friction along the rotation from the start stop."""
        n = len(self.friction_n)
        covariance = np.zeros((n, n))
        covariance[np.tril_indices(n)] = self.covariance_n2
        values = np.array(self.friction_n)
        return UncertainCurve(
            np.array(rotation_rad),
            values,
            covariance + np.tril(covariance, -1).T,
            self.coverage,
            {source_name(BudgetSource.FORCE_GAIN): self.gain_share * values},
        )


class HealthEntry(_Kept):
    """One measurement in the log of a machine.

    `rotation_rad` are positions, from the start stop, and `handle_path_m` how far the handle is there; entries of
    versions that kept friction on average alone have none.
    """

    machine: str
    machine_sha256: str | None
    measured: str
    recordings: tuple[str, ...]
    values: tuple[KeptValue, ...]
    side: str | None = None
    mechanism: str | None = None
    method: str | None = None
    certificates: tuple[str, ...] = ()
    rotation_rad: tuple[float, ...] = ()
    handle_path_m: tuple[float, ...] = ()
    friction: tuple[KeptFriction, ...] = ()

    @classmethod
    def of(cls, estimate: ProfileEstimate, provenance: Provenance) -> Self:
        """What is kept of a result."""
        text, options = provenance.machine_toml, provenance.options
        curves = [
            (float(load), curve)
            for index, load in enumerate(estimate.loads_kg)
            if (curve := friction_curve(estimate, index)) is not None
        ]
        grid = np.linspace(*estimate.travel.ends_rad, min(MOST_PLACES, estimate.angle_rad.size))
        ways = estimate.travel.ways_m(grid)
        complete = all(source.force_certificates for source in provenance.recordings)
        names = {name for source in provenance.recordings for name in source.force_certificates}
        return cls(
            machine=estimate.machine_name,
            machine_sha256=None if text is None else text_sha256(text),
            measured=max((source.started_utc for source in provenance.recordings), default=""),
            recordings=tuple(sorted(source.sha256 for source in provenance.recordings)),
            values=(*_friction(estimate), *_compliance(estimate)),
            side=options.side if options is not None and options.both_sides else None,
            mechanism=None if text is None else parse_machine(text).mechanism.kind,
            method=estimate.method.value,
            certificates=tuple(sorted(names)) if complete else (),
            rotation_rad=_kept(grid - estimate.start_angle_rad) if curves else (),
            handle_path_m=_kept(ways) if curves and ways is not None else (),
            friction=tuple(_kept_friction(load, curve.at(grid)) for load, curve in curves),
        )

    def curve(self, load_kg: float) -> UncertainCurve | None:
        """Friction of a load along the rotation; None where it was not kept."""
        for kept in self.friction:
            if abs(kept.load_kg - load_kg) < SAME_LOAD_KG:
                return kept.curve(self.rotation_rad)
        return None

    def value(self, of: KeptValue) -> KeptValue | None:
        """The figure of the same kind and load; None where it was not kept."""
        for kept in self.values:
            if kept.kind == of.kind and abs((kept.load_kg or 0.0) - (of.load_kg or 0.0)) < SAME_LOAD_KG:
                return kept
        return None


def _kept_friction(load_kg: float, curve: UncertainCurve) -> KeptFriction:
    gain = [errors for name, errors in curve.systematic.items() if name.startswith(BudgetSource.FORCE_GAIN)]
    share = float(np.median(gain[0] / curve.values)) if gain and np.all(curve.values) else 0.0
    return KeptFriction(
        load_kg=load_kg,
        friction_n=_kept(curve.values),
        covariance_n2=_kept(curve.covariance[np.tril_indices(curve.values.size)]),
        coverage=float(f"{curve.coverage:.{DIGITS}g}"),
        gain_share=float(f"{share:.{DIGITS}g}"),
    )


def _kept(values: Floats) -> tuple[float, ...]:
    return tuple(float(f"{value:.{DIGITS}g}") for value in values)


def _friction(estimate: ProfileEstimate) -> list[KeptValue]:
    means = [mean_friction_n(estimate, index) for index in range(estimate.loads_kg.size)]
    return [
        KeptValue(kind="friction", load_kg=float(load), value=mean_n, u95=u95_n)
        for load, (mean_n, u95_n) in zip(estimate.loads_kg, means, strict=True)
        if np.isfinite(mean_n) and np.isfinite(u95_n)
    ]


def _compliance(estimate: ProfileEstimate) -> list[KeptValue]:
    figures = {
        ComplianceFact.PLAY: ("play", "play_rad", "u95_rad"),
        ComplianceFact.FLEX: ("ringing", "frequency_hz", "u95_hz"),
    }
    found: dict[str, KeptValue] = {}
    for fact in estimate.warnings:
        for kind, (name, value, u95) in figures.items():
            known = np.isfinite([fact.figure(value), fact.figure(u95)]).all() if fact.kind == kind else False
            if known:
                found.setdefault(name, KeptValue(kind=name, value=fact.figure(value), u95=fact.figure(u95)))
    return list(found.values())
