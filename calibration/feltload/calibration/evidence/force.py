"""A load cell's certificate against its own readings: the curve is fitted once more and compared."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from feltload.acquisition import ForceCertificate
from feltload.calibration.errors import ReadingsError
from feltload.calibration.force.calibration import ForceCurve, force_curve
from feltload.calibration.force.facts import ForceSource
from feltload.calibration.force.readings import Readings
from feltload.calibration.force.setup import ForceSetup
from feltload.core import EXPANDED_COVERAGE_K, Floats

_SAME: Final = 1e-6
"""Relative; a fit differs by rounding alone from computer to computer."""

_ERRORS: Final = {
    "reproducibility_percent", "repeatability_percent", "interpolation_percent", "reversibility_percent",
    "indication_percent", "indication_spread_percent",
}  # fmt: skip


def contradiction(certificate: ForceCertificate) -> str | None:
    """What in a certificate does not follow from its readings; None where all does.

    Raises
    ------
    ReadingsError
        The readings alone make no curve.
    """
    force_n = np.array([reading.applied_n for reading in certificate.readings])
    kept = np.array([not reading.excluded for reading in certificate.readings])
    if not np.any(kept & (force_n > 0)):
        raise ReadingsError("no reading in it is under load")
    curve = force_curve(
        _readings(certificate, force_n), force_n, kept, degree=len(certificate.coefficients_n) - 1
    )
    return next(_differences(certificate, curve, force_n), None)


def _differences(c: ForceCertificate, curve: ForceCurve, force_n: Floats) -> Iterator[str]:
    stated, shown = (c.lowest_n, c.highest_n), (curve.lowest_n, curve.highest_n)
    if not _same(stated, shown, curve.highest_n):
        yield (
            f"its range is {stated[0]:.6g} N to {stated[1]:.6g} N, that of its readings {shown[0]:.6g} N to "
            f"{shown[1]:.6g} N"
        )
    at = np.linspace(0.0, 1.0, 9) * curve.fit.scale * np.sign(curve.n_per_reading)
    own, fitted = c.force_n(c.zero_reading + at), np.asarray(curve.fit(at))
    worst = int(np.argmax(np.abs(own - fitted)))
    if not _same(own, fitted, curve.highest_n):
        yield f"its curve gives {own[worst]:.6g} N where the readings give {fitted[worst]:.6g} N"
    if not _same(c.zero_reading, curve.zero_reading, curve.fit.scale):
        yield f"its zero is {c.zero_reading:.8g}, that of the readings {curve.zero_reading:.8g}"
    residual = np.array([reading.residual_n for reading in c.readings])
    if not _same(residual, curve.indicated_n - force_n, curve.highest_n):
        yield "its residuals are not those of its readings"
    if c.degree_test is None:
        # Certificates of an older format counted scatter and hysteresis together.
        return
    if not _same(c.covariance_n2, curve.fit.covariance, float(np.max(np.abs(curve.fit.covariance)))):
        yield "the covariance of its coefficients is not that of its readings"
    budget = {line.source: line.u_n for line in c.budget}
    for source, u_n in (
        (ForceSource.SCATTER, curve.fit.residual_sd),
        (ForceSource.HYSTERESIS, curve.largest_half_hysteresis_n / 3**0.5),
    ):
        if not _same(budget.get(source, 0.0), u_n, max(u_n, _SAME * curve.highest_n)):
            yield f"the {source.replace('-', ' ')} in its budget is not that of its readings"
    if not _same(
        [step.u95_n for step in c.steps],
        EXPANDED_COVERAGE_K * c.u_force_n([step.force_n for step in c.steps]),
        curve.highest_n,
    ):
        yield "its expanded uncertainties do not follow from its budget"
    for mine, theirs in zip(c.steps, curve.steps, strict=False):
        # Certificates of an older format have no mean deflections.
        if None not in (mine.mean_deflection, theirs.mean_deflection) and not _same(
            mine.mean_deflection, theirs.mean_deflection, curve.fit.scale
        ):
            yield "the mean deflections of its steps are not those of its readings"
    stated_errors, shown_errors = (
        [step.model_dump(include=_ERRORS) for step in steps] for steps in (c.steps, curve.steps)
    )
    if len(stated_errors) != len(shown_errors) or any(
        not _same_or_none(mine[name], theirs[name])
        for mine, theirs in zip(stated_errors, shown_errors, strict=True)
        for name in mine
    ):
        yield "the relative errors of its steps are not those of its readings"


def _same(a: object, b: object, size: float) -> bool:
    first, second = np.asarray(a, dtype=float), np.asarray(b, dtype=float)
    return first.shape == second.shape and bool(np.all(np.abs(first - second) <= _SAME * size))


def _same_or_none(a: float | None, b: float | None) -> bool:
    return a is b if a is None or b is None else _same(a, b, 1.0)


def _readings(c: ForceCertificate, force_n: Floats) -> Readings:
    unknown = np.full(force_n.size, np.nan)
    position = [np.nan if reading.position_deg is None else reading.position_deg for reading in c.readings]
    return Readings(
        row=np.array([reading.row for reading in c.readings]),
        series=np.array([reading.series for reading in c.readings]),
        direction=np.array([reading.direction for reading in c.readings]),
        position_deg=np.array(position),
        load=force_n,
        load_u=unknown,
        load_is_force=True,
        reading=np.array([reading.reading for reading in c.readings]),
        unit=c.reading_unit,
        resolution=0.0,
        time_s=unknown,
        temperature_c=unknown,
        setup=ForceSetup(),
        where=c.serial,
    )
