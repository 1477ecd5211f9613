"""Handle force by position for any plate load, from a measured profile."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from feltload.coaching.errors import CoachingError, OverlapError
from feltload.core import Floats, mass_text
from feltload.signal import ProfileEstimate, Travel


@dataclass(frozen=True)
class AddedForce:
    """A band or chain at the handle: extra force by position.

    Attributes
    ----------
    name : str
    angle_rad, force_n : ndarray, shape (k,)
        Start angle plus rotation, ascending; between them linear, outside the end values.
    """

    name: str
    angle_rad: Floats
    force_n: Floats

    def at(self, angle_rad: Floats) -> Floats:
        """Force at other angles."""
        return np.asarray(np.interp(angle_rad, self.angle_rad, self.force_n))


@dataclass(frozen=True)
class LoadLine:
    """Force raising slowly at each angle, ``offset_n + load_kg * slope_n_per_kg``.

    Attributes
    ----------
    angle_rad : ndarray, shape (n,)
    offset_n, slope_n_per_kg : ndarray, shape (n,)
        Slopes are zero when one load was measured.
    friction_n, friction_n_per_kg : ndarray, shape (n,)
        Friction in both, one way; the force lowering slowly lacks it twice.
    measured_kg : ndarray, shape (m,)
        Loads measured.
    covariance_n2, friction_covariance_n2 : ndarray, shape (m * n, m * n)
        Covariance of the measured static forces and of the friction, row-major over load and angle; the latter zero
        where the profile kept none.
    inertia_n_per_rad_s2, inertia_n_per_rad_s2_per_kg : ndarray, shape (n,)
        Felt inertia on the same line; NaN for a profile of the machine at rest.
    extra_n : ndarray, shape (n,)
        Force added by bands, chains or hands.
    travel : Travel
        The measured travel, along which positions are given.
    """

    angle_rad: Floats
    offset_n: Floats
    slope_n_per_kg: Floats
    friction_n: Floats
    friction_n_per_kg: Floats
    measured_kg: Floats
    covariance_n2: Floats
    friction_covariance_n2: Floats
    inertia_n_per_rad_s2: Floats
    inertia_n_per_rad_s2_per_kg: Floats
    extra_n: Floats
    travel: Travel

    @classmethod
    def of(cls, profile: ProfileEstimate) -> LoadLine:
        """Take the line from a profile; angles that a load did not cover are left out."""
        covered = np.isfinite(profile.static_n).all(axis=0)
        n = profile.angle_rad.size
        keep = np.flatnonzero(covered)
        if keep.size < 2:
            raise OverlapError(
                "the measured loads share no part of the travel",
                remedy="record every load through the same range",
            )
        rows = np.concatenate([load * n + keep for load in range(profile.loads_kg.size)])
        model, band = profile.model, profile.friction_band
        own = np.ix_(rows, rows)
        return cls(
            angle_rad=profile.angle_rad[keep],
            offset_n=(model.static_n + model.friction_n)[keep],
            slope_n_per_kg=(model.static_n_per_kg + model.friction_n_per_kg)[keep],
            friction_n=model.friction_n[keep],
            friction_n_per_kg=model.friction_n_per_kg[keep],
            measured_kg=profile.loads_kg,
            covariance_n2=profile.covariance_n2[own],
            friction_covariance_n2=np.zeros((rows.size, rows.size))
            if band is None
            else band.covariance_n2[own],
            inertia_n_per_rad_s2=model.inertia_n_per_rad_s2[keep]
            if profile.knows_motion
            else np.full(keep.size, np.nan),
            inertia_n_per_rad_s2_per_kg=model.inertia_n_per_rad_s2_per_kg[keep],
            extra_n=np.zeros(keep.size),
            travel=profile.travel,
        )

    @property
    def predicts(self) -> bool:
        """Whether more than one load was measured, so that others can be determined."""
        return self.measured_kg.size > 1

    def with_forces(self, added: Sequence[AddedForce]) -> LoadLine:
        """The line with bands or chains on it."""
        return replace(self, extra_n=self.extra_n + sum(force.at(self.angle_rad) for force in added))

    def require_inside(self, at_rad: float, what: str) -> None:
        """Refuse a position at which nothing was measured.

        Raises
        ------
        OverlapError
            Names `what` lies there, and the measured travel.
        """
        low, high = self.angle_rad[[0, -1]]
        if not low < at_rad < high:
            raise OverlapError(
                f"{what} at {self.travel.said_beside(at_rad)} lies outside the measured travel",
                remedy=f"choose within {self.travel.said_span(low, high)}",
            )

    def cut_to(self, low_rad: float, high_rad: float) -> LoadLine:
        """The line over part of the travel: a higher start (seat, stop), or a range cut short.

        Raises
        ------
        OverlapError
            When less than two measured angles remain.
        """
        keep = np.flatnonzero((self.angle_rad >= low_rad) & (self.angle_rad <= high_rad))
        if keep.size < 2:
            raise OverlapError(
                f"nothing was measured in {self.travel.said_span(low_rad, high_rad)}",
                remedy=f"choose within {self.travel.said_span(*self.angle_rad[[0, -1]])}",
            )
        rows = np.concatenate([load * self.angle_rad.size + keep for load in range(self.measured_kg.size)])
        return replace(
            self,
            angle_rad=self.angle_rad[keep],
            offset_n=self.offset_n[keep],
            slope_n_per_kg=self.slope_n_per_kg[keep],
            friction_n=self.friction_n[keep],
            friction_n_per_kg=self.friction_n_per_kg[keep],
            covariance_n2=self.covariance_n2[np.ix_(rows, rows)],
            friction_covariance_n2=self.friction_covariance_n2[np.ix_(rows, rows)],
            inertia_n_per_rad_s2=self.inertia_n_per_rad_s2[keep],
            inertia_n_per_rad_s2_per_kg=self.inertia_n_per_rad_s2_per_kg[keep],
            extra_n=self.extra_n[keep],
        )

    def raising_n(self, load_kg: float) -> Floats:
        """Force raising slowly at `load_kg`, shape (n,).

        Raises
        ------
        CoachingError
            When only another load was measured.
        """
        self._require(load_kg)
        return self.offset_n + load_kg * self.slope_n_per_kg + self.extra_n

    def lowering_n(self, load_kg: float) -> Floats:
        """Force lowering slowly at `load_kg`, shape (n,).

        Raises
        ------
        CoachingError
            When only another load was measured.
        """
        return self.raising_n(load_kg) - 2.0 * self.friction_at(load_kg)

    def friction_at(self, load_kg: float) -> Floats:
        """Friction at `load_kg`, shape (n,): at a load not measured, on the line through those that were."""
        self._require(load_kg)
        return self.friction_n + load_kg * self.friction_n_per_kg

    def covariance_at(self, load_kg: float) -> Floats:
        """Covariance of the force raising or lowering slowly at `load_kg`, shape (n, n)."""
        return self.static_covariance_at(load_kg) + self.friction_covariance_at(load_kg)

    def static_covariance_at(self, load_kg: float) -> Floats:
        """Its part without friction, shape (n, n): the measured loads' carried along the line."""
        return self._carried(self.covariance_n2, load_kg)

    def friction_covariance_at(self, load_kg: float) -> Floats:
        """Covariance of the friction at `load_kg`, shape (n, n), carried likewise."""
        return self._carried(self.friction_covariance_n2, load_kg)

    def _carried(self, covariance_n2: Floats, load_kg: float) -> Floats:
        self._require(load_kg)
        n, loads = self.angle_rad.size, self.measured_kg.size
        weights = self._weights(load_kg)
        return np.asarray(
            np.einsum("i,iajb,j->ab", weights, covariance_n2.reshape(loads, n, loads, n), weights)
        )

    def u_n(self, load_kg: float) -> Floats:
        """Standard uncertainty of the force at `load_kg`, shape (n,)."""
        return np.sqrt(np.clip(np.diag(self.covariance_at(load_kg)), 0.0, None))

    def inertia_at(self, load_kg: float) -> Floats:
        """Felt inertia at `load_kg`, shape (n,).

        Raises
        ------
        CoachingError
            When only another load was measured, or the machine at rest.
        """
        self._require(load_kg)
        if not np.any(np.isfinite(self.inertia_n_per_rad_s2)):
            raise CoachingError(
                "the profile was read by hand at stops, so what inertia adds cannot be determined",
                remedy="leave out the tempo, or measure the machine with sensors, through repetitions",
            )
        return self.inertia_n_per_rad_s2 + load_kg * self.inertia_n_per_rad_s2_per_kg

    def require_prediction(self) -> None:
        """Refuse to say anything about loads other than the measured one.

        Raises
        ------
        CoachingError
            When one load was measured.
        """
        if not self.predicts:
            raise CoachingError(
                f"only {mass_text(self.measured_kg[0])} was measured, so other loads cannot be determined",
                remedy="record a second load and profile both together",
            )

    def _weights(self, load_kg: float) -> Floats:
        loads = self.measured_kg
        if not self.predicts:
            return np.ones(1)
        design = np.stack([np.ones_like(loads), loads], axis=1)
        return np.asarray(np.array([1.0, load_kg]) @ np.linalg.pinv(design))

    def _require(self, load_kg: float) -> None:
        if not np.isfinite(load_kg) or load_kg < 0:
            raise CoachingError(
                f"a load of {load_kg:g} kg is not possible", remedy="give a load of 0 kg or more"
            )
        if not self.predicts and abs(load_kg - self.measured_kg[0]) > 1e-6 * max(1.0, load_kg):
            raise CoachingError(
                f"only {mass_text(self.measured_kg[0])} was measured, so {mass_text(load_kg)} cannot be determined",
                remedy="record a second load and profile both together",
            )
