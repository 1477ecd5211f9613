"""Causes of a difference, found: sets that explain it equally well, and the machine that the best one makes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final, Self

import numpy as np

from feltload.calibration.agreement.explanation import CauseKind, CauseSet
from feltload.calibration.agreement.explanations.candidates import (
    Candidate,
    candidates,
    cause_set,
    together,
)
from feltload.calibration.agreement.explanations.search import Search, Trial
from feltload.calibration.agreement.joint.observations import Change
from feltload.calibration.agreement.joint.setting import Setting
from feltload.calibration.agreement.loads import FittedLoad, LoadColumns
from feltload.calibration.errors import GeometryError
from feltload.core import Floats

_SLOPE: Final = 0.05
Changed = Callable[[tuple[Candidate, ...], Floats], Floats]
"""Change of the prediction (k,) by shifts of some causes."""


@dataclass(frozen=True)
class Found:
    """What explains a difference.

    Attributes
    ----------
    sets : tuple of CauseSet
        As good as one another, best first.
    change : Change
        The machine, loads and cell that the best one makes.
    loads : tuple of FittedLoad
        Loads of the best one.
    explained : bool
        Whether nothing significant is left.
    """

    sets: tuple[CauseSet, ...]
    change: Change
    loads: tuple[FittedLoad, ...]
    explained: bool

    @classmethod
    def nothing(cls, stated: Change) -> Self:
        """Where there is nothing to explain."""
        return cls((), stated, (), True)


def find_causes(
    setting: Setting, seed: int, *, gain: tuple[float, bool], hinted: CauseKind | None = None
) -> Found:
    """The smallest plausible set of causes that explains the difference, and those tied with it.

    Parameters
    ----------
    setting : Setting
        What differs.
    seed : int
        Of the simulations.
    gain : (float, bool)
        Relative standard uncertainty of the cell's gain, and whether it was stated.
    hinted : CauseKind, optional
        Slip of the start angle that the sensor's place speaks for.
    """
    machine, curves, joint = setting.machine, setting.curves, setting.joint
    columns = LoadColumns(machine, curves, setting.gravity)
    # With more on the machine than was stated, its dimensions matter more.
    contrasts = setting.contrasts(columns.apparent_kg(), seed)
    loads = curves.loads_kg
    offered: list[Candidate] = []
    trials: list[Trial] = []

    def change(chosen: tuple[Candidate, ...], shifts: Floats) -> Floats:
        return joint.predict(together(chosen, shifts, machine, loads)) - setting.predicted

    for candidate in candidates(machine, loads, gain, hinted, setting.tilt):
        try:
            trials.append(_trial(candidate, change))
        except GeometryError:
            # There is no such machine.
            continue
        offered.append(candidate)
    causes, explained = Search(
        contrasts, trials, lambda indices, shifts: change(tuple(offered[i] for i in indices), shifts)
    ).causes()
    if loads.size == 1:
        # A single load and its place bend the curve alike; plates are looked at sooner than a dimension is measured.
        causes.sort(key=lambda cause: not any(offered[i].kind is CauseKind.LOAD for i in cause.indices))
    sets = tuple(
        cause_set([offered[i] for i in cause.indices], cause.shifts, machine, loads) for cause in causes
    )
    if not causes:
        return Found((), joint.stated, (), explained)
    best = [offered[i] for i in causes[0].indices]
    made = together(best, causes[0].shifts, machine, loads)
    if any(candidate.kind is CauseKind.LOAD_UNIT for candidate in best):
        return Found(sets, made, (), explained)
    wrong = [int(np.flatnonzero(loads == load)[0]) for c in best for load in c.loads_kg]
    model_n2, shapes = columns.model_covariance_n2(columns.apparent_kg())
    moved = [k for k, p in enumerate(machine.parameters) if any(p.key in c.dimensions for c in best)]
    # Sizes come from all observations, their uncertainty from the force, which says most of a load.
    fitted = tuple(
        replace(load, value_kg=float(made.loads_kg[loads == load.stated_kg][0]))
        for load in columns.fitted(wrong, curves.covariance_n2 + model_n2, shapes[:, moved])
    )
    return Found(sets, made, fitted, explained)


def _trial(candidate: Candidate, change: Changed) -> Trial:
    if candidate.fixed:
        column = change((candidate,), np.ones(1))
    else:
        high, low = (change((candidate,), np.array([sign * _SLOPE])) for sign in (1.0, -1.0))
        column = (high - low) / (2.0 * _SLOPE)
    return Trial(
        column,
        candidate.least,
        candidate.lowest,
        candidate.highest,
        candidate.prior,
        candidate.fixed,
        candidate.spread,
    )
