"""The measured side of a comparison: forces of all loads, with the covariance that is theirs alone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Self

import numpy as np
from numpy.typing import NDArray

from feltload.calibration.errors import AgreementError
from feltload.core import Floats
from feltload.signal import BudgetSource, ProfileEstimate

_FEWEST_ANGLES: Final = 5
_TESTED_ANGLES: Final = 40


@dataclass(frozen=True)
class MeasuredCurves:
    """Measured static forces where every load was measured; flat arrays run over the loads.

    Attributes
    ----------
    q_rad, angle_rad : ndarray, shape (n,)
        Rotation from the start stop, and the angle.
    loads_kg : ndarray, shape (m,)
        As they were stated.
    force_n : ndarray, shape (m * n,)
    covariance_n2 : ndarray, shape (m * n, m * n)
        At given rotation: what it shares with the machine file is left out.
    mass_n2 : ndarray, shape (m * n, m * n)
        Part of it that comes from how well the loads are known.
    """

    q_rad: Floats
    angle_rad: Floats
    loads_kg: Floats
    force_n: Floats
    covariance_n2: Floats
    mass_n2: Floats

    @classmethod
    def of(cls, estimate: ProfileEstimate) -> Self:
        """Those of a profile.

        Raises
        ------
        AgreementError
            It covers too little, or its budget does not name what it shares with the machine file.
        """
        measured = np.asarray(estimate.static_n, dtype=float)
        usable = np.isfinite(measured).all(axis=0) & np.isfinite(estimate.static_u95_n).all(axis=0)
        if np.count_nonzero(usable) < _FEWEST_ANGLES:
            raise AgreementError(
                f"the profile has {np.count_nonzero(usable)} angles that every load covers",
                where=estimate.machine_name,
                remedy="record both loads through the same travel",
            )
        angle = estimate.angle_rad[usable]
        loads = np.asarray(estimate.loads_kg, dtype=float)
        keep = np.ix_(*[np.tile(usable, loads.size)] * 2)
        return cls(
            angle - estimate.start_angle_rad,
            angle,
            loads,
            measured[:, usable].ravel(),
            _own_covariance(estimate)[keep],
            _of_source(estimate, BudgetSource.LOAD_MASS)[keep],
        )

    @property
    def peak_n(self) -> float:
        """Largest force."""
        return float(np.abs(self.force_n).max())

    @property
    def tested(self) -> NDArray[np.intp]:
        """Indices of at most 40 angles of each load."""
        angles = self.q_rad.size
        chosen = np.unique(np.linspace(0, angles - 1, min(angles, _TESTED_ANGLES)).round().astype(np.intp))
        return np.concatenate([chosen + load * angles for load in range(self.loads_kg.size)])

    @property
    def tested_q_rad(self) -> Floats:
        """Rotations of the tested angles of one load."""
        return self.q_rad[self.tested[: self.tested.size // self.loads_kg.size]]


def _own_covariance(estimate: ProfileEstimate) -> Floats:
    shared = [item for item in estimate.budget if item.source is BudgetSource.START_ANGLE]
    if estimate.u_start_angle_rad > 0.0 and len(shared) != 1:
        raise AgreementError(
            f"the profile's budget lists the start angle {len(shared)} times instead of once",
            where=estimate.machine_name,
            remedy="recreate the profile from its recordings",
        )
    covariance = np.asarray(estimate.covariance_n2, dtype=float)
    covariance = covariance - _of_source(estimate, BudgetSource.START_ANGLE)
    return np.asarray(0.5 * (covariance + covariance.T))


def _of_source(estimate: ProfileEstimate, source: BudgetSource) -> Floats:
    """Part of the covariance that a source makes."""
    part = np.zeros((estimate.static_n.size, estimate.static_n.size))
    for item in estimate.budget:
        if item.source is source:
            curve = np.nan_to_num(np.asarray(item.curve_n, dtype=float).ravel())
            part += np.outer(curve, curve)
    return part
