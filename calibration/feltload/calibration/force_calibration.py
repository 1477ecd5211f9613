"""From readings under dead weights to a certificate of a load cell with its electronics.

The curve runs through rising and falling readings alike, because a machine is felt both ways; its residual
therefore holds half the hysteresis. Readings count from the zero of their own series.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from feltload.acquisition.certificate import (
    Environment,
    ForceCertificate,
    ForceReading,
    StepErrors,
    Uncertainty,
)
from feltload.calibration.buoyancy import air_density
from feltload.calibration.dead_weights import PLATE_DENSITY_KG_M3, PLATE_DENSITY_U_KG_M3, hang
from feltload.calibration.errors import OverloadError, ReadingsError
from feltload.calibration.force_fit import PolynomialFit, choose_degree, find_blunders, fit_polynomial
from feltload.calibration.force_setup import ForceSetup
from feltload.calibration.gravity import Gravity, local_gravity
from feltload.calibration.readings import Readings, read_readings
from feltload.calibration.standards import iso_376, iso_7500_1, lower_limit

FloatArray = NDArray[np.float64]

FEWEST_LOADS = 5
# Plates by their stamp: within about 2.5 % (common practice, no source), taken as rectangular.
_STAMPED_PLATE_U_RELATIVE = 0.025 / 3**0.5


@dataclass(frozen=True)
class _Applied:
    """Applied forces and what is uncertain in all of them alike."""

    force_n: FloatArray
    budget: list[Uncertainty]
    gravity: Gravity
    warnings: list[str]


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
        See `feltload.calibration.readings`.
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
    applied = _applied(readings, setup)
    _check_capacity(readings, applied.force_n, setup)
    kept = ~np.isin(readings.row, list(exclude_rows))
    hung = readings.direction != "hold"
    _check_blunders(readings, applied.force_n, kept & hung)
    loaded = kept & hung & (applied.force_n > 0)
    _check_coverage(readings, applied.force_n, loaded, allow_one_direction)

    deflection, zero_reading, zero_percent = _deflections(readings, applied.force_n, kept & hung)
    highest = float(applied.force_n[loaded].max())
    table = pd.DataFrame(
        {
            "force": applied.force_n,
            "step": np.round(applied.force_n / highest, 5),
            "deflection": deflection,
            "series": readings.series,
            "direction": readings.direction,
            "position": readings.position_deg,
        }
    )[loaded]
    means = table.groupby("step")[["deflection", "force"]].mean()
    slope = highest / float(means["deflection"].iloc[-1])
    resolution_n = abs(slope) * readings.resolution
    choice = choose_degree(means["deflection"], means["force"], floor=resolution_n / 12**0.5)
    fit = fit_polynomial(table["deflection"], table["force"], choice.degree)
    steps = _steps(table, fit, choice.degree)
    missing = _missing(table, zero_percent)
    creep = _creep_percent(readings, kept, slope, highest)
    budget = [
        *applied.budget,
        Uncertainty(source="scatter of one reading", u_n=fit.residual_sd),
        Uncertainty(source="resolution", u_n=resolution_n / 12**0.5),
    ]
    if creep is not None:
        budget.append(Uncertainty(source="creep", u_relative=abs(creep) / 100 / 3**0.5))
    scale_u = float(np.sqrt(sum(line.u_relative**2 for line in applied.budget)))
    e74_missing = [] if len(table) >= 30 else [f"{len(table)} of 30 readings"]
    e74_missing += [] if len(means) >= 10 else [f"{len(means)} of 10 loads"]
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
        warnings=[*applied.warnings, *_temperature_warnings(readings, kept)],
        notes=[setup.note] if setup.note else [],
        reading_unit=readings.unit,
        zero_reading=zero_reading,
        reading_scale=fit.scale,
        coefficients_n=fit.coefficients.tolist(),
        covariance_n2=fit.covariance.tolist(),
        lowest_n=float(applied.force_n[loaded].min()),
        highest_n=highest,
        rated_capacity_n=setup.rated_capacity_n,
        budget=budget,
        degree_evidence=choice.evidence,
        lower_limit=lower_limit(
            fit.residual_sd, resolution_n, float(means["force"].iloc[0]), highest, e74_missing
        ),
        classes=[
            iso_376(
                steps,
                zero_percent=zero_percent,
                creep_percent=creep,
                applied_u95_percent=200 * scale_u,
                missing=[*missing, *([] if creep is not None else ["creep"])],
            ),
            iso_7500_1(steps, zero_percent=zero_percent, resolution_n=resolution_n, missing=missing),
        ],
        readings=_rows(readings, applied.force_n, deflection, fit, kept, hung),
    )
    at = certificate.u_force_n(np.array([step.force_n for step in steps]))
    done = [step.model_copy(update={"u95_n": 2 * float(u)}) for step, u in zip(steps, at, strict=True)]
    return certificate.model_copy(update={"steps": done})


def _applied(readings: Readings, setup: ForceSetup) -> _Applied:
    gravity = local_gravity(setup.latitude_rad, setup.height_m)
    warnings = []
    stated = np.isfinite(readings.load_u)
    default = setup.mass_u_relative
    if default is None and not stated[readings.load > 0].all():
        default = _STAMPED_PLATE_U_RELATIVE
        warnings.append("no uncertainty stated for the weights: taken as stamped plates, ±2.5 %; weigh them")
    spread = np.where(stated, np.nan_to_num(readings.load_u), (default or 0.0) * readings.load)
    # Weights come off one balance or from one maker: treated as wrong together, the worse case for the scale.
    common = float(spread @ readings.load) / max(float(readings.load @ readings.load), 1e-300)
    if readings.load_is_force:
        return _Applied(
            readings.load, [Uncertainty(source="applied force", u_relative=common)], gravity, warnings
        )
    if setup.latitude_rad is None:
        warnings.append("latitude not stated: standard gravity, good to 0.15 %")
    air = air_density(setup.temperature_c, setup.pressure_hpa, setup.humidity_percent, setup.height_m)
    weights = hang(
        readings.load,
        spread,
        gravity,
        air,
        density_kg_m3=setup.density_kg_m3 or PLATE_DENSITY_KG_M3,
        u_density_kg_m3=setup.density_u_kg_m3 or PLATE_DENSITY_U_KG_M3,
        conventional=not setup.true_mass,
    )
    budget = [
        Uncertainty(source="weights", u_relative=common),
        Uncertainty(source="gravity", u_relative=weights.u_gravity_relative),
        Uncertainty(source="air buoyancy", u_relative=weights.u_buoyancy_relative),
    ]
    return _Applied(weights.force_n, budget, gravity, warnings)


def _check_capacity(readings: Readings, force: FloatArray, setup: ForceSetup) -> None:
    if setup.rated_capacity_n is not None and force.max() > setup.rated_capacity_n:
        i = int(np.argmax(force))
        raise OverloadError(
            f"row {readings.row[i]} hangs {force[i]:.0f} N on a cell rated {setup.rated_capacity_n:.0f} N",
            where=readings.where,
            remedy="stay within the rated capacity of cell, shackles and straps with their safety "
            "factor, keep clear of hung weights, and have an overloaded cell checked before it is used again",
            rows=(int(readings.row[i]),),
        )


def _check_blunders(readings: Readings, force: FloatArray, used: NDArray[np.bool_]) -> None:
    at = np.flatnonzero(used)
    blunders = find_blunders(force[at], readings.reading[at])
    if not blunders:
        return
    first = at[blunders[0].index]
    rows = tuple(int(readings.row[at[blunder.index]]) for blunder in blunders)
    more = f" (and {len(rows) - 1} more: rows {', '.join(map(str, rows[1:]))})" if len(rows) > 1 else ""
    raise ReadingsError(
        f"reading {readings.reading[first]:g} stands far off the others: {blunders[0].why}{more}",
        where=f"{readings.where}: row {rows[0]}",
        remedy="correct it, or exclude the row by its number",
        rows=rows,
    )


def _check_coverage(
    readings: Readings, force: FloatArray, loaded: NDArray[np.bool_], allow_one_direction: bool
) -> None:
    loads = len(np.unique(np.round(force[loaded] / max(force.max(), 1e-300), 5)))
    if loads < FEWEST_LOADS:
        raise ReadingsError(
            f"too few points: {loads} different loads above zero",
            where=readings.where,
            remedy=f"hang {FEWEST_LOADS} loads or more between a fifth of the range and its top",
        )
    directions = set(readings.direction[loaded])
    if len(directions) < 2 and not allow_one_direction:
        raise ReadingsError(
            f"one direction only: all readings are {directions.pop()}",
            where=readings.where,
            remedy="take the weights off step by step too, so that hysteresis shows, or accept one direction "
            "explicitly",
        )


def _deflections(
    readings: Readings, force: FloatArray, used: NDArray[np.bool_]
) -> tuple[FloatArray, float, float | None]:
    """Readings less the first zero of their series, the mean zero, and the largest zero error in percent."""
    zero = used & (force == 0)
    if not zero.any():
        line = fit_polynomial(force[used], readings.reading[used], 1)
        return readings.reading - line.coefficients[0], float(line.coefficients[0]), None
    mean = float(readings.reading[zero].mean())
    deflection = readings.reading - mean
    shifts = []
    for series in np.unique(readings.series):
        own = readings.series == series
        zeros = readings.reading[own & zero]
        if len(zeros):
            deflection[own] = readings.reading[own] - zeros[0]
            shifts += [float(zeros[-1] - zeros[0])] if len(zeros) > 1 else []
    span = float(np.abs(deflection[used]).max())
    worst = max(shifts, key=abs) if shifts else None
    return deflection, mean, None if worst is None else 100 * worst / span


def _spread_percent(values: pd.Series) -> float | None:
    mean = abs(float(values.mean()))
    return 100 * float(values.max() - values.min()) / mean if len(values) > 1 and mean else None


def _steps(table: pd.DataFrame, fit: PolynomialFit, degree: int) -> list[StepErrors]:
    """Relative errors at each load; indicated forces come from the other series' curve."""
    series = table["series"].unique()
    indicated = pd.Series(np.nan, index=table.index)
    for name in series if len(series) > 1 else ():
        own = table["series"] == name
        others = fit_polynomial(table["deflection"][~own], table["force"][~own], degree)
        indicated[own] = others(table["deflection"][own])
    error = 100 * (indicated - table["force"]) / table["force"]
    rising = table[table["direction"] == "rising"]
    positions = rising["position"].fillna(-1.0)
    steps = []
    for step, group in table.groupby("step"):
        up = rising[rising["step"] == step]
        at = positions[up.index]
        same = (
            up[at == (positions.iloc[0] if len(positions) else -1.0)].groupby("series")["deflection"].mean()
        )
        turned = up.groupby(at)["deflection"].first()
        force = float(group["force"].mean())
        tops = turned if len(turned) > 1 else up["deflection"]
        slope = float(fit(group["deflection"].mean()) / group["deflection"].mean())
        both = group.pivot_table(index="series", columns="direction", values="deflection")
        reversal = None
        if {"rising", "falling"} <= set(both.columns) and both.notna().all(axis=1).any():
            reversal = 100 * float(((both["falling"] - both["rising"]).abs() / both["rising"].abs()).mean())
        shown = error[up.index].dropna()
        steps.append(
            StepErrors(
                force_n=force,
                u95_n=0.0,
                reproducibility_percent=_spread_percent(turned),
                repeatability_percent=_spread_percent(same),
                interpolation_percent=None
                if tops.empty
                else 100 * (float(fit(tops.mean())) - force) / (slope * float(tops.mean())),
                reversibility_percent=reversal,
                indication_percent=float(shown.mean()) if len(shown) else None,
                indication_spread_percent=float(shown.max() - shown.min()) if len(shown) > 1 else None,
            )
        )
    return steps


def _missing(table: pd.DataFrame, zero_percent: float | None) -> list[str]:
    rising = table[table["direction"] == "rising"]
    missing = [] if table["series"].nunique() >= 3 else [f"{table['series'].nunique()} of 3 series"]
    if rising["position"].nunique() < 3:
        missing.append("reproducibility: the cell was not turned to three positions")
    if table["direction"].nunique() < 2:
        missing.append("reversibility: one direction only")
    return missing + ([] if zero_percent is not None else ["zero after a series"])


def _creep_percent(readings: Readings, kept: NDArray[np.bool_], slope: float, highest: float) -> float | None:
    """Change from 30 s to 300 s under one load, percent of the highest deflection (ISO 376 c)."""
    hold = kept & (readings.direction == "hold") & np.isfinite(readings.time_s)
    time = readings.time_s[hold]
    if len(time) < 2 or time.min() > 45 or time.max() < 270:
        return None
    order = np.argsort(time)
    early, late = np.interp([30.0, 300.0], time[order], readings.reading[hold][order])
    return 100 * float(late - early) * slope / highest


def _temperature_warnings(readings: Readings, kept: NDArray[np.bool_]) -> list[str]:
    seen = readings.temperature_c[kept & np.isfinite(readings.temperature_c)]
    if len(seen) < 2 or np.ptp(seen) <= 2.0:
        return []
    return [f"temperature moved by {np.ptp(seen):.1f} °C during the readings; ISO 376 asks for ±1 °C"]


def _rows(
    readings: Readings,
    force: FloatArray,
    deflection: FloatArray,
    fit: PolynomialFit,
    kept: NDArray[np.bool_],
    hung: NDArray[np.bool_],
) -> list[ForceReading]:
    indicated = np.asarray(fit(deflection))
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
