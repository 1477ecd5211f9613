"""Two resistance profiles compared: left arm and right arm, today and another day, two machines."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import scipy

from feltload.coaching.errors import OverlapError
from feltload.coaching.statistics.curves import FEWEST_ANGLES, CurveDifference, shared_angles
from feltload.coaching.statistics.profile_curves import usual_coverage
from feltload.core import (
    Curve,
    Flags,
    Floats,
    Indices,
    Picture,
    Shown,
    Summary,
    interpolation_weights,
    mass_text,
    with_u95,
)
from feltload.signal import BudgetSource, ProfileEstimate

if TYPE_CHECKING:
    import pandas as pd


SAME_LOAD_KG = 0.001


@dataclass(frozen=True, repr=False)
class ProfileDifference(Shown):
    """First profile minus second.

    Attributes
    ----------
    angle_rad : ndarray, shape (n,)
        Angles that both cover: those of the first.
    loads_kg : ndarray, shape (m,)
        Loads that both were measured at.
    difference_n : ndarray, shape (m, n)
        Of the static force.
    covariance_n2 : ndarray, shape (m * n, m * n)
        Of `difference_n`, row-major over load and angle.
    coverage : float
        Factor from a standard uncertainty to a 95 % band at one angle: the wider of the two profiles' own.
    curves : int
        How many whole curves the wider band holds together in 95 % of cases; those of its own loads at least.
    reference_n : float
        Largest static force of the two, to which a difference may be related.
    """

    angle_rad: Floats
    loads_kg: Floats
    difference_n: Floats
    covariance_n2: Floats
    coverage: float
    reference_n: float
    curves: int = 1

    @property
    def u95_n(self) -> Floats:
        """Half-width of the 95 % band at each angle by itself, shape (m, n)."""
        u = np.sqrt(np.clip(np.diag(self.covariance_n2), 0.0, None))
        return np.asarray(self.coverage * u.reshape(self.difference_n.shape))

    @property
    def curve_u95_n(self) -> Floats:
        """Half-width of the band that holds the whole curves of all loads together in 95 % of cases, shape (m, n).

        A curve of many angles leaves the band of single angles somewhere more often than in one case of twenty, and
        one of many curves more often still.
        """
        return np.stack([self.of_load(k).curve_u95 for k in range(self.loads_kg.size)])

    @property
    def mean_n(self) -> Floats:
        """Over the travel, shape (m,)."""
        return np.asarray(self.difference_n.mean(axis=1))

    @property
    def mean_u95_n(self) -> Floats:
        """Half-width of the 95 % band of the mean, shape (m,)."""
        n = self.angle_rad.size
        blocks = self.covariance_n2.reshape(self.loads_kg.size, n, self.loads_kg.size, n)
        variance = np.einsum("kakb->k", blocks) / n**2
        return np.asarray(self.coverage * np.sqrt(np.clip(variance, 0.0, None)))

    @property
    def significant(self) -> Flags:
        """Where the difference is larger than its band at that angle, shape (m, n)."""
        return np.asarray(np.abs(self.difference_n) > self.u95_n)

    @property
    def established(self) -> Flags:
        """Where it leaves the band of whole curves: no chance find among many angles and curves, shape (m, n)."""
        return np.asarray(np.abs(self.difference_n) > self.curve_u95_n)

    def of_load(self, k: int) -> CurveDifference:
        """The difference at the load `k`."""
        n = self.angle_rad.size
        rows = slice(k * n, (k + 1) * n)
        return CurveDifference(
            self.angle_rad, self.difference_n[k], self.covariance_n2[rows, rows], self.coverage, self.curves
        )

    def at_loads(self, loads_kg: Sequence[float]) -> ProfileDifference:
        """The difference at some of its loads."""
        near = np.abs(self.loads_kg[:, None] - np.asarray(loads_kg, dtype=float)[None, :]) < SAME_LOAD_KG
        keep = near.any(axis=1)
        rows = np.repeat(keep, self.angle_rad.size)
        return replace(
            self,
            loads_kg=self.loads_kg[keep],
            difference_n=self.difference_n[keep],
            covariance_n2=self.covariance_n2[np.ix_(rows, rows)],
        )

    def summary(self) -> Summary:
        """What it is, with the mean over the travel."""
        rows = tuple(
            (mass_text(float(load)), with_u95(float(mean), float(u95), "N"))
            for load, mean, u95 in zip(self.loads_kg, self.mean_n, self.mean_u95_n, strict=True)
        )
        title = "Difference of two profiles, static force of the first minus that of the second"
        return Summary(title, ("load", "mean over the travel (95 %)"), rows)

    def picture(self) -> Picture:
        """The difference with the band that holds the whole curve."""
        curves = tuple(
            Curve.within(mass_text(float(load)), self.angle_rad, force, u95)
            for load, force, u95 in zip(self.loads_kg, self.difference_n, self.curve_u95_n, strict=True)
        )
        return Picture(
            "First profile minus second",
            "difference of static force, N",
            curves,
            line_name="difference",
            band_name="95 % band of the whole curve",
            level=("no difference", 0.0),
        )

    def to_frame(self) -> pd.DataFrame:
        """One row a load and angle: ``load_kg, angle_deg, difference_n, u95_n, curve_u95_n``."""
        import pandas as pd

        return pd.DataFrame(
            {
                "load_kg": np.repeat(self.loads_kg, self.angle_rad.size),
                "angle_deg": np.tile(np.rad2deg(self.angle_rad), self.loads_kg.size),
                "difference_n": self.difference_n.ravel(),
                "u95_n": self.u95_n.ravel(),
                "curve_u95_n": self.curve_u95_n.ravel(),
            }
        )


def profile_difference(
    first: ProfileEstimate, second: ProfileEstimate, *, common_sources: Collection[BudgetSource] = ()
) -> ProfileDifference:
    """Difference of two measured profiles at equal angle and load, with its band.

    Parameters
    ----------
    first, second : ProfileEstimate
    common_sources : collection of BudgetSource
        Budget items whose error both share, such as the gain of the one cell used for both: what of it is
        alike cancels. Everything else counts as independent, which can only widen the band.

    Raises
    ------
    OverlapError
        When they share less than five degrees of travel, or no load.

    Notes
    -----
    With C1 and C2 the covariances and a, b the signed curves of a common source, the difference has the covariance
    ``C1 + C2 - sum(a b' + b a')`` (JCGM 100:2008, 5.2.2).
    """
    angle = shared_angles(first.angle_rad, second.angle_rad)
    near = np.abs(first.loads_kg[:, None] - second.loads_kg[None, :]) < SAME_LOAD_KG
    rows_first, rows_second = np.nonzero(near)
    if not rows_first.size:
        raise OverlapError(
            f"no load was measured in both ({_listed(first.loads_kg)} in one, {_listed(second.loads_kg)} in the other)",
            remedy="measure both with the same load",
        )
    to_first = _interpolation(first, angle, rows_first)
    to_second = _interpolation(second, angle, rows_second)
    shape = (rows_first.size, angle.size)
    difference = (to_first @ first.static_n.ravel() - to_second @ second.static_n.ravel()).reshape(shape)
    covariance = _sandwich(to_first, first.covariance_n2) + _sandwich(to_second, second.covariance_n2)
    shared_curves = {(item.source, item.session): item.curve_n for item in second.budget if item.systematic}
    for item in first.budget:
        key = (item.source, item.session)
        if item.systematic and item.source in common_sources and key in shared_curves:
            a, b = to_first @ item.curve_n.ravel(), to_second @ shared_curves[key].ravel()
            covariance -= np.outer(a, b) + np.outer(b, a)
    # A load that does not cover an angle has no force there.
    known = np.isfinite(difference).all(axis=0) & np.isfinite(np.diag(covariance).reshape(shape)).all(axis=0)
    angle, difference = angle[known], difference[:, known]
    if angle.size < FEWEST_ANGLES:
        raise OverlapError(
            f"the two profiles cover only {angle.size} angles in common",
            remedy="measure both over the same travel",
        )
    rows = np.tile(known, shape[0])
    covariance, shape = covariance[np.ix_(rows, rows)], difference.shape
    return ProfileDifference(
        angle_rad=angle,
        loads_kg=first.loads_kg[rows_first],
        difference_n=difference,
        covariance_n2=covariance,
        coverage=max(usual_coverage(first), usual_coverage(second)),
        curves=rows_first.size,
        reference_n=float(max(np.max(np.abs(first.static_n)), np.max(np.abs(second.static_n)))),
    )


def _interpolation(
    estimate: ProfileEstimate, angle: Floats, loads: Indices
) -> scipy.sparse.csr_array[Any, tuple[int, int]]:
    """From the flat (load, angle) grid of an estimate to some loads and angles, shape (len(loads) * n, m * k)."""
    chosen = scipy.sparse.csr_array(
        (np.ones(loads.size), (np.arange(loads.size), loads)), shape=(loads.size, estimate.loads_kg.size)
    )
    return scipy.sparse.csr_array(
        scipy.sparse.kron(chosen, interpolation_weights(estimate.angle_rad, angle), format="csr")
    )


def _sandwich(operator: scipy.sparse.csr_array[Any, tuple[int, int]], covariance: Floats) -> Floats:
    return np.asarray(operator @ (operator @ covariance).T)


def _listed(loads_kg: Floats) -> str:
    return ", ".join(mass_text(load) for load in loads_kg)
