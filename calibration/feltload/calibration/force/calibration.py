"""From readings under dead weights to a certificate of a load cell with its electronics.

The curve runs through rising and falling readings alike, because a machine is felt both ways; half the difference
between the two is a contribution of its own and no scatter. Readings count from the zero of their own series.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from feltload.acquisition import (
    DegreeTest,
    Environment,
    ForceCertificate,
    ForceReading,
    StepErrors,
    Uncertainty,
)
from feltload.calibration.errors import ReadingsError
from feltload.calibration.force.applied import applied_forces
from feltload.calibration.force.checks import check_blunders, check_capacity, check_coverage
from feltload.calibration.force.facts import ForceCertificateFact, ForceSource
from feltload.calibration.force.fit import DegreeChoice, PolynomialFit, choose_degree, fit_polynomial
from feltload.calibration.force.readings import Readings, read_readings
from feltload.calibration.force.relative_errors import (
    creep_percent,
    deflections,
    few,
    hysteresis,
    not_shown,
    step_errors,
    temperature_warnings,
)
from feltload.calibration.force.setup import ForceSetup
from feltload.calibration.force.standards import iso_376, iso_7500_1, lower_limit
from feltload.core import EXPANDED_COVERAGE_K, CommonFact, Fact, Flags, Floats, Severity


@dataclass(frozen=True, eq=False)
class ForceCurve:
    """The curve through readings, and what it shows of the cell.

    Attributes
    ----------
    fit : PolynomialFit
        Force over deflection, its covariance from the scatter of the readings once hysteresis is taken off.
    degree_test : DegreeTest
    zero_reading : float
    zero_percent : float or None
        Largest zero error, percent of the highest deflection.
    residual_sd_n : float
        Of the curve, hysteresis included.
    largest_half_hysteresis_n : float
    resolution_n, n_per_reading, lowest_n, highest_n : float
    steps : list of StepErrors
        Their expanded uncertainty is not filled in.
    table : DataFrame
        The loaded readings.
    indicated_n : ndarray (n,)
        Force by the curve at every reading.
    """

    fit: PolynomialFit
    degree_test: DegreeTest
    zero_reading: float
    zero_percent: float | None
    residual_sd_n: float
    largest_half_hysteresis_n: float
    resolution_n: float
    n_per_reading: float
    lowest_n: float
    highest_n: float
    steps: list[StepErrors]
    table: pd.DataFrame
    indicated_n: Floats


def force_curve(readings: Readings, force_n: Floats, kept: Flags, *, degree: int | None = None) -> ForceCurve:
    """Fit the curve through readings under known forces.

    Parameters
    ----------
    readings : Readings
    force_n : ndarray (n,)
        Applied forces.
    kept : ndarray (n,) of bool
        Readings that are not left out.
    degree : int, optional
        Of the polynomial; chosen by its F test when left out.

    Raises
    ------
    ReadingsError
        Too few readings for the degree.
    """
    hung = readings.direction != "hold"
    loaded = kept & hung & (force_n > 0)
    deflection, zero_reading, zero_percent = deflections(readings, force_n, kept & hung)
    highest = float(force_n[loaded].max())
    table = pd.DataFrame(
        {
            "force": force_n,
            "step": np.round(force_n / highest, 5),
            "deflection": deflection,
            "series": readings.series,
            "direction": readings.direction,
            "position": readings.position_deg,
        }
    )[loaded]
    means = table.groupby("step")[["deflection", "force"]].mean()
    slope = highest / float(means["deflection"].iloc[-1])
    resolution_n = abs(slope) * readings.resolution
    choice = DegreeChoice(degree, len(means)) if degree is not None else None
    if choice is None:
        choice = choose_degree(means["deflection"], means["force"], floor=resolution_n / 12**0.5)
    fit = fit_polynomial(table["deflection"], table["force"], choice.degree)
    turned = hysteresis(table, fit)
    return ForceCurve(
        fit=fit.with_residual_sd(turned.scatter_n),
        degree_test=DegreeTest(loads=choice.loads, ratio=choice.ratio, needed=choice.needed),
        zero_reading=zero_reading,
        zero_percent=zero_percent,
        residual_sd_n=fit.residual_sd,
        largest_half_hysteresis_n=turned.largest_half_n,
        resolution_n=resolution_n,
        n_per_reading=slope,
        lowest_n=float(force_n[loaded].min()),
        highest_n=highest,
        steps=step_errors(table, fit, choice.degree),
        table=table,
        indicated_n=np.asarray(fit(deflection)),
    )


def calibrate_force(
    readings_path: Path,
    *,
    setup: ForceSetup | None = None,
    exclude_rows: Sequence[int] = (),
    allow_one_direction: bool = False,
) -> ForceCertificate:
    """Calibrate a load cell from a readings file.

    Parameters
    ----------
    readings_path : Path
        See `feltload.calibration.force.readings`.
    setup : ForceSetup, optional
        What is stated here takes the place of the file's own head.
    exclude_rows : sequence of int
        Line numbers to leave out; they stay in the certificate, marked.
    allow_one_direction : bool
        Accept readings taken only rising or only falling.

    Raises
    ------
    ReadingsError, OverloadError, QuantityError
    """
    readings = read_readings(readings_path)
    return calibrate_readings(
        readings,
        readings.setup.overridden(setup),
        exclude_rows=exclude_rows,
        allow_one_direction=allow_one_direction,
    )


def calibrate_readings(
    readings: Readings,
    setup: ForceSetup,
    *,
    exclude_rows: Sequence[int] = (),
    allow_one_direction: bool = False,
) -> ForceCertificate:
    """Calibrate a load cell from readings already in memory; see `calibrate_force`."""
    if not setup.serial or setup.date is None:
        absent = "serial" if not setup.serial else "date"
        raise ReadingsError(
            f"no {absent} stated",
            where=readings.where,
            remedy=f'add "# {absent}: ..." above the column names',
        )
    unknown = sorted(set(exclude_rows) - {int(row) for row in readings.row})
    if unknown:
        raise ReadingsError(
            f"row {unknown[0]} to exclude is not in the file",
            where=readings.where,
            remedy="name its line number",
        )
    applied = applied_forces(readings, setup)
    check_capacity(readings, applied.force_n, setup)
    kept = ~np.isin(readings.row, list(exclude_rows))
    hung = readings.direction != "hold"
    check_blunders(readings, applied.force_n, kept & hung)
    loaded = kept & hung & (applied.force_n > 0)
    check_coverage(readings, applied.force_n, loaded, allow_one_direction)

    curve = force_curve(readings, applied.force_n, kept)
    steps, table, resolution_n = curve.steps, curve.table, curve.resolution_n
    zero_percent, highest = curve.zero_percent, curve.highest_n
    means = table.groupby("step")["force"].mean()
    missing = not_shown(table, zero_percent)
    creep = creep_percent(readings, kept, curve.n_per_reading, highest)
    budget = [
        *applied.budget,
        Uncertainty(source=ForceSource.SCATTER, u_n=curve.fit.residual_sd),
        # JCGM 100:2008, F.2.2.2: the direction of a reading is not known, so anywhere within is as likely.
        Uncertainty(source=ForceSource.HYSTERESIS, u_n=curve.largest_half_hysteresis_n / 3**0.5),
        Uncertainty(source=ForceSource.RESOLUTION, u_n=resolution_n / 12**0.5),
    ]
    if creep is not None:
        budget.append(Uncertainty(source=ForceSource.CREEP, u_relative=abs(creep) / 100 / 3**0.5))
    scale_u = float(np.sqrt(sum(line.u_relative**2 for line in applied.budget)))
    e74_missing = [] if len(table) >= 30 else [few(ForceCertificateFact.FEW_READINGS, len(table), 30)]
    e74_missing += [] if len(means) >= 10 else [few(ForceCertificateFact.FEW_LOADS, len(means), 10)]
    certificate = ForceCertificate(
        serial=setup.serial,
        sensor=setup.sensor,
        number=setup.number,
        calibrated_by=setup.calibrated_by,
        place=setup.place,
        calibrated_on=setup.date,
        expires_on=(pd.Timestamp(setup.date) + pd.DateOffset(months=setup.valid_months)).date(),
        environment=Environment(
            temperature_c=setup.temperature_c,
            pressure_hpa=setup.pressure_hpa,
            humidity_percent=setup.humidity_percent,
        ),
        gravity_m_s2=applied.gravity.value,
        gravity_u_m_s2=applied.gravity.u,
        gravity_source=applied.gravity.text,
        warnings=[*applied.warnings, *temperature_warnings(readings, kept)],
        notes=[Fact(CommonFact.SAID, Severity.NOTE, figures={"text": setup.note})] if setup.note else [],
        loading="tension" if setup.loading == "tension" else "compression" if setup.loading else None,
        preloads=setup.preloads,
        weights=setup.weights,
        traceability=setup.traceability,
        fittings=setup.fittings,
        indicator=setup.indicator,
        resolution=readings.resolution,
        reading_unit=readings.unit,
        zero_reading=curve.zero_reading,
        reading_scale=curve.fit.scale,
        coefficients_n=curve.fit.coefficients.tolist(),
        covariance_n2=curve.fit.covariance.tolist(),
        lowest_n=curve.lowest_n,
        highest_n=highest,
        rated_capacity_n=setup.rated_capacity_n,
        budget=budget,
        degree_test=curve.degree_test,
        lower_limit=lower_limit(
            curve.residual_sd_n, resolution_n, float(means.iloc[0]), highest, e74_missing
        ),
        classes=[
            iso_376(
                steps,
                zero_percent=zero_percent,
                creep_percent=creep,
                applied_u95_percent=100.0 * EXPANDED_COVERAGE_K * scale_u,
                missing=[*missing, *([] if creep is not None else [Fact(ForceCertificateFact.NO_CREEP)])],
            ),
            iso_7500_1(steps, zero_percent=zero_percent, resolution_n=resolution_n, missing=missing),
        ],
        readings=_rows(readings, applied.force_n, curve, kept, hung),
    )
    at = certificate.u_force_n(np.array([step.force_n for step in steps]))
    done = [
        step.model_copy(update={"u95_n": EXPANDED_COVERAGE_K * float(u)})
        for step, u in zip(steps, at, strict=True)
    ]
    return certificate.model_copy(update={"steps": done})


def _rows(
    readings: Readings,
    force: Floats,
    curve: ForceCurve,
    kept: Flags,
    hung: Flags,
) -> list[ForceReading]:
    indicated = curve.indicated_n
    return [
        ForceReading(
            row=int(readings.row[i]),
            series=str(readings.series[i]),
            direction="rising" if readings.direction[i] == "rising" else "falling",
            position_deg=None if np.isnan(readings.position_deg[i]) else float(readings.position_deg[i]),
            applied_n=float(force[i]),
            reading=float(readings.reading[i]),
            residual_n=float(indicated[i] - force[i]),
            excluded=not bool(kept[i]),
        )
        for i in np.flatnonzero(hung)
    ]
