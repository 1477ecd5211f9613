"""What a measured machine is: its resistance profile with everything that belongs to it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from feltload.core import (
    NORMAL_COVERAGE_95,
    Curve,
    Fact,
    Floats,
    Indices,
    Picture,
    Shown,
    Summary,
    greatest,
    mass_text,
    with_u95,
)
from feltload.signal.alignment.lag import Lag
from feltload.signal.errors import ProfileError
from feltload.signal.movement.attitude import Attitude
from feltload.signal.movement.positions import PositionScale, Travel
from feltload.signal.profile.force_model import ForceModel
from feltload.signal.profile.friction.band import FrictionBand
from feltload.signal.profile.health import ProfileHealth
from feltload.signal.profile.method import ProfileMethod
from feltload.signal.profile.observed.felt_inertia import FeltInertia
from feltload.signal.profile.repetitions import Repetition
from feltload.signal.profile.uncertainty.budget_item import BudgetItem
from feltload.signal.regression.rows import SIGN_RATE_RAD_S


@dataclass(frozen=True, repr=False)
class ProfileEstimate(Shown):
    """A machine's resistance profile, measured.

    Attributes
    ----------
    machine_name : str
        Name of the machine.
    start_angle_rad, u_start_angle_rad : float
        Elevation of the handle's line on the start stop and its standard uncertainty.
    angle_rad : ndarray, shape (n,)
        Start angle plus rotation, ascending, covered range only: on a lever the elevation of the handle's line, on
        other machines what `scale` says.
    loads_kg : ndarray, shape (m,)
        Loads measured, ascending.
    static_n, static_u95_n : ndarray, shape (m, n)
        Static handle force and half-width of its 95 % band. NaN where a load did not cover the angle.
    friction_n : ndarray, shape (m, n)
        Half the gap between the slow forces raising and lowering; NaN where it was not separated.
    raising_count, lowering_count : ndarray of int, shape (m, n)
        How many half-repetitions went through each angle each way.
    covariance_n2 : ndarray, shape (m * n, m * n)
        Covariance of `static_n` (row-major over load, angle).
    inertia_by_load_n_per_rad_s2 : ndarray, shape (m, n)
        Felt inertia; NaN for a profile at rest.
    lags : tuple of Lag
        Lag of the force behind the angle, of each session; none for a profile at rest.
    repetitions : tuple of Repetition
        All repetitions of all sessions.
    budget : tuple of BudgetItem
        What the band is made of.
    health : ProfileHealth
        Figures about the data.
    warnings : tuple of Fact
        What is wrong with the data.
    model : ForceModel
        The fitted terms on the grid.
    angle_rms_u_rad : float
        Root mean square standard uncertainty of the lever angle.
    handle_path_m : ndarray, shape (n,), optional
        Way of the handle from the start stop, where the machine file gives it.
    felt_inertia : FeltInertia, optional
        By thirds of the travel, with its covariance; None in results of older versions.
    attitudes : tuple of Attitude
        What gravity said of hinge and sensor in each session.
    friction_band : FrictionBand, optional
        How well `friction_n` is known; None in results of formats before it was kept.
    scale : PositionScale
        What an angle is on this machine, and how well the handle's way is known.
    method : ProfileMethod
        How it was measured.
    """

    machine_name: str
    start_angle_rad: float
    u_start_angle_rad: float
    angle_rad: Floats
    loads_kg: Floats
    static_n: Floats
    static_u95_n: Floats
    friction_n: Floats
    raising_count: Indices
    lowering_count: Indices
    covariance_n2: Floats
    inertia_by_load_n_per_rad_s2: Floats
    lags: tuple[Lag, ...]
    repetitions: tuple[Repetition, ...]
    budget: tuple[BudgetItem, ...]
    model: ForceModel
    angle_rms_u_rad: float
    health: ProfileHealth
    warnings: tuple[Fact, ...] = ()
    handle_path_m: Floats | None = None
    felt_inertia: FeltInertia | None = None
    attitudes: tuple[Attitude, ...] = ()
    friction_band: FrictionBand | None = None
    scale: PositionScale = field(default_factory=PositionScale)
    method: ProfileMethod = ProfileMethod.REPETITIONS

    @property
    def travel(self) -> Travel:
        """The travel that was measured, along which positions are given."""
        return Travel(self.angle_rad, self.handle_path_m, self.scale, self.start_angle_rad)

    @property
    def moved(self) -> bool:
        """Whether the machine moved while it was measured, so that something is known of its motion."""
        return self.method is ProfileMethod.REPETITIONS

    @property
    def measured(self) -> bool:
        """Whether anything was measured, or all of it predicted."""
        return self.method is not ProfileMethod.PREDICTION

    @property
    def knows_motion(self) -> bool:
        """Whether its inertia is known, measured or predicted."""
        return self.method is not ProfileMethod.STOPS

    @property
    def travel_percent(self) -> Floats:
        """Part of the measured travel in percent, by the handle's way where it is known, shape (n,)."""
        return np.asarray(100.0 * self.travel.shares(self.angle_rad))

    @property
    def raising_n(self) -> Floats:
        """Slow (quasi-static) force raising, shape (m, n)."""
        return self.static_n + self.friction_n

    @property
    def lowering_n(self) -> Floats:
        """Slow (quasi-static) force lowering, shape (m, n)."""
        return self.static_n - self.friction_n

    @property
    def friction_u95_n(self) -> Floats:
        """Half-width of the 95 % band of the friction, shape (m, n); NaN where it was not kept."""
        return (
            np.full_like(self.friction_n, np.nan) if self.friction_band is None else self.friction_band.u95_n
        )

    @property
    def inertia_n_per_rad_s2(self) -> Floats:
        """Felt inertia at the first load, shape (n,)."""
        return np.asarray(self.inertia_by_load_n_per_rad_s2[0])

    @property
    def viscous_n_per_rad_s(self) -> float:
        """Viscous factor."""
        return self.model.viscous_n_per_rad_s

    @property
    def lag(self) -> Lag | None:
        """Lag of the first session; None for a profile at rest."""
        return self.lags[0] if self.lags else None

    def summary(self) -> Summary:
        """What it is, with the greatest static force of each load."""
        rows = []
        for load, force, u95 in zip(self.loads_kg, self.static_n, self.static_u95_n, strict=True):
            top = greatest(force)
            at = (
                ("not known", "")
                if top is None
                else (with_u95(force[top], u95[top], "N"), self.travel.said(self.angle_rad[top]))
            )
            rows.append((mass_text(load), *at))
        columns = ("load", "greatest static force (95 %)", "at")
        return Summary(f"{self.method.said}, {self.machine_name}", columns, tuple(rows))

    def picture(self) -> Picture:
        """Static force with its band over the travel, slow raising and lowering beside it."""
        curves = []
        for k, load in enumerate(map(mass_text, self.loads_kg)):
            ways = (("raising slowly", self.raising_n[k]), ("lowering slowly", self.lowering_n[k]))
            beside = tuple((way, force) for way, force in ways if np.any(np.isfinite(force)))
            curves.append(Curve.within(load, self.angle_rad, self.static_n[k], self.static_u95_n[k], beside))
        return Picture(
            self.summary().title,
            "force at the handle, N",
            tuple(curves),
            self.travel.scales(),
            line_name="static",
            band_name="its 95 % band",
        )

    def to_frame(self) -> pd.DataFrame:
        """The table of `profile.csv`: a row per angle, a block per load when there are several.

        Returns
        -------
        DataFrame
            Columns as ``docs/formats.md`` lists them; forces in N, angles in degrees.
        """
        blocks = []
        places = {name: np.round(values, 6) for name, values in self.travel.columns(self.angle_rad).items()}
        way = places.pop("handle_travel_mm", None)
        for k, load in enumerate(self.loads_kg):
            block = pd.DataFrame(
                {
                    **places,
                    "static_n": self.static_n[k],
                    "static_u95_n": self.static_u95_n[k],
                    "raising_n": self.raising_n[k],
                    "lowering_n": self.lowering_n[k],
                    "friction_n": self.friction_n[k],
                    "friction_u95_n": self.friction_u95_n[k],
                    "passes_raising": self.raising_count[k],
                    "passes_lowering": self.lowering_count[k],
                }
            )
            if way is not None:
                block["handle_travel_mm"] = way
                if self.scale.u_path_m is not None:
                    block["handle_travel_u95_mm"] = 1e3 * NORMAL_COVERAGE_95 * self.scale.u_path_m
            if self.loads_kg.size > 1:
                block.insert(0, "load_kg", float(load))
            blocks.append(block)
        return pd.concat(blocks, ignore_index=True)

    def force_n(
        self,
        angle_rad: ArrayLike,
        rate_rad_s: ArrayLike = 0.0,
        accel_rad_s2: ArrayLike = 0.0,
        load_kg: float | None = None,
    ) -> Floats:
        """Handle force that the machine needs at a given motion.

        Parameters
        ----------
        angle_rad, rate_rad_s, accel_rad_s2 : array_like
            Motion, broadcast together; `angle_rad` is the handle line's elevation.
        load_kg : float, optional
            Load; the one measured when left out. Another load needs two measured ones.

        Returns
        -------
        ndarray
            Force in N; NaN outside the measured range (never extrapolated).

        Raises
        ------
        ProfileError
            When the load was not measured and cannot be predicted from one load alone, or for a motion when the
            profile is of the machine at rest.
        """
        if not self.knows_motion and (np.any(rate_rad_s) or np.any(accel_rad_s2)):
            raise ProfileError(
                "was read by hand at stops, which says nothing of the machine in motion",
                where=self.machine_name,
                remedy="measure it with sensors, through repetitions",
            )
        if load_kg is None:
            if self.loads_kg.size > 1:
                raise ProfileError("several loads were measured", remedy="name the load")
            load_kg = float(self.loads_kg[0])
        terms = self.model
        if not terms.loads_differ and abs(load_kg - self.loads_kg[0]) > 1e-6 * max(1.0, abs(load_kg)):
            raise ProfileError(
                f"only {self.loads_kg[0]:g} kg was measured, {load_kg:g} kg cannot be predicted from it",
                remedy="record a second load",
            )
        mass = load_kg if terms.loads_differ else 0.0
        angle, rate, accel = np.broadcast_arrays(
            np.asarray(angle_rad, float), np.asarray(rate_rad_s, float), np.asarray(accel_rad_s2, float)
        )

        def at(values: Floats) -> Floats:
            return np.asarray(np.interp(angle, self.angle_rad, values, left=np.nan, right=np.nan))

        return np.asarray(
            at(terms.static_n + mass * terms.static_n_per_kg)
            + at(terms.friction_n + mass * terms.friction_n_per_kg) * np.tanh(rate / SIGN_RATE_RAD_S)
            + terms.viscous_n_per_rad_s * rate
            + at(terms.inertia_n_per_rad_s2 + mass * terms.inertia_n_per_rad_s2_per_kg) * accel
            + at(terms.speed_n_per_rad2_s2 + mass * terms.speed_n_per_rad2_s2_per_kg) * rate**2
        )
