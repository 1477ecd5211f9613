"""Relative errors of a load cell, step by step: what the force standards judge it by.

Names and definitions follow ISO 376 (b, b', f_c, f_0, v, c) and ISO 7500-1 (q, b, v), from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from feltload.acquisition import StepErrors
from feltload.calibration.force.facts import ForceCertificateFact
from feltload.calibration.force.fit import PolynomialFit, fit_polynomial
from feltload.calibration.force.readings import Readings
from feltload.core import Fact, Flags, Floats


def deflections(readings: Readings, force: Floats, used: Flags) -> tuple[Floats, float, float | None]:
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


def step_errors(table: pd.DataFrame, fit: PolynomialFit, degree: int) -> list[StepErrors]:
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
                mean_deflection=None if tops.empty else float(tops.mean()),
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


@dataclass(frozen=True)
class Hysteresis:
    """Difference between falling and rising readings, apart from what scatters.

    Attributes
    ----------
    largest_half_n : float
        Largest half difference over the loads read both ways; 0 where none was.
    scatter_n : float
        Residual standard deviation of the readings once that difference is taken off.
    """

    largest_half_n: float
    scatter_n: float


def hysteresis(table: pd.DataFrame, fit: PolynomialFit) -> Hysteresis:
    """Split the residuals of a curve through both directions into hysteresis and scatter."""
    residual = pd.Series(np.asarray(fit(table["deflection"])), index=table.index) - table["force"]
    means = residual.groupby([table["step"], table["direction"]]).mean().unstack()
    if not {"rising", "falling"} <= set(means.columns):
        return Hysteresis(0.0, fit.residual_sd)
    half = ((means["falling"] - means["rising"]) / 2).dropna()
    sign = table["direction"].map({"rising": -1.0, "falling": 1.0})
    scatter = residual - sign * table["step"].map(half).fillna(0.0)
    freedom = max(fit.degrees_of_freedom - len(half), 1)
    largest = float(half.abs().max()) if len(half) else 0.0
    return Hysteresis(largest, float(np.sqrt((scatter**2).sum() / freedom)))


def not_shown(table: pd.DataFrame, zero_percent: float | None) -> list[Fact]:
    """What the loading did not show of what the standards ask for."""
    rising = table[table["direction"] == "rising"]
    series = int(table["series"].nunique())
    missing = [] if series >= 3 else [few(ForceCertificateFact.FEW_SERIES, series, 3)]
    if rising["position"].nunique() < 3:
        missing.append(Fact(ForceCertificateFact.NOT_TURNED))
    if table["direction"].nunique() < 2:
        missing.append(Fact(ForceCertificateFact.ONE_DIRECTION))
    return missing + ([] if zero_percent is not None else [Fact(ForceCertificateFact.NO_ZERO_AFTER)])


def few(kind: ForceCertificateFact, count: int, needed: int) -> Fact:
    """Fewer than a standard asks for."""
    return Fact(kind, figures={"count": count, "needed": needed})


def creep_percent(readings: Readings, kept: Flags, slope: float, highest: float) -> float | None:
    """Change from 30 s to 300 s under one load, percent of the highest deflection (ISO 376 c)."""
    hold = kept & (readings.direction == "hold") & np.isfinite(readings.time_s)
    time = readings.time_s[hold]
    if len(time) < 2 or time.min() > 45 or time.max() < 270:
        return None
    order = np.argsort(time)
    early, late = np.interp([30.0, 300.0], time[order], readings.reading[hold][order])
    return 100 * float(late - early) * slope / highest


def temperature_warnings(readings: Readings, kept: Flags) -> list[Fact]:
    """Whether the cell warmed or cooled by more than ISO 376 allows."""
    stated = readings.temperature_c[kept & np.isfinite(readings.temperature_c)]
    if len(stated) < 2 or np.ptp(stated) <= 2.0:
        return []
    return [Fact(ForceCertificateFact.TEMPERATURE_MOVED, figures={"change_k": float(np.ptp(stated))})]
