"""What a measured machine is: its resistance profile with everything that belongs to it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike

from feltload.core import Floats, Indices
from feltload.signal.alignment.lag import Lag
from feltload.signal.errors import ProfileError
from feltload.signal.regression.rows import SIGN_RATE_RAD_S

START_ANGLE_SOURCE = "start angle"
"""Source of the budget item that comes from the machine file; a comparison at given rotation leaves it out."""


@dataclass(frozen=True)
class BudgetItem:
    """One source of uncertainty and what it does to the static profile.

    Attributes
    ----------
    source : str
        Plain name of the source ("force calibration gain").
    curve_n : ndarray, shape (m, n)
        Signed change of the static force, in N, when the source is off by one standard uncertainty.
        For the statistical part (``systematic`` false) the standard uncertainty itself.
    u_n : float
        Root mean square of `curve_n` over all loads and angles.
    share : float
        Part of the mean combined variance that this source makes, 0 to 1.
    systematic : bool
        True when one draw of the source moves the whole curve together.
    stated : bool
        False when the size is a default, because nobody stated it.
    note : str
        Where the size comes from.
    """

    source: str
    curve_n: Floats
    u_n: float
    share: float
    systematic: bool = True
    stated: bool = True
    note: str = ""


@dataclass(frozen=True)
class Repetition:
    """One repetition: out from the start and back.

    Attributes
    ----------
    session : str
        Name of the session.
    side : str or None
        ``"left"``, ``"right"`` or None.
    load_kg : float
        Mass loaded.
    index : int
        Number within the session, from 0.
    start_s, turn_s, end_s : float
        Start, end of the concentric phase, and end, on the session's timeline.
    low_rad, high_rad : float
        Rotation from the start stop at the start and at the turn.
    range_rad : float
        Travel of the concentric phase.
    range_lost : float
        Part of the first repetition's range that this one leaves out, 0 to 1.
    concentric_s, eccentric_s, hold_s : float
        Moving time of the two phases, and time held at the turn.
    mean_rate_rad_s, peak_rate_rad_s : float
        Of the concentric phase.
    mean_n, peak_n : float
        Handle force over the concentric phase.
    work_j_per_m : float
        Work of the concentric phase per metre of handle radius, N·rad (= J/m).
    work_j : float
        Work of the concentric phase in J; NaN when the handle's radius is unknown.
    mean_power_w, peak_power_w : float
        Power of the concentric phase; NaN when the handle's radius is unknown.
    impulse_n_s : float
        Time integral of the handle force over the repetition.
    under_tension_s : float
        Time the handle force is above a tenth of its peak.
    complete : bool
        False for a partial repetition (less than 90 % of the widest one's range).
    """

    session: str
    side: str | None
    load_kg: float
    index: int
    start_s: float
    turn_s: float
    end_s: float
    low_rad: float
    high_rad: float
    range_rad: float
    range_lost: float
    concentric_s: float
    eccentric_s: float
    hold_s: float
    mean_rate_rad_s: float
    peak_rate_rad_s: float
    mean_n: float
    peak_n: float
    work_j_per_m: float
    work_j: float
    mean_power_w: float
    peak_power_w: float
    impulse_n_s: float
    under_tension_s: float
    complete: bool


@dataclass(frozen=True)
class ForceModel:
    """The fitted machine on the profile's angle grid: every term as offset + slope per kilogram.

    Attributes
    ----------
    static_n, friction_n, inertia_n_per_rad_s2 : ndarray, shape (n,)
        Terms at zero load when `loads_differ`, else at the one load measured.
    speed_n_per_rad2_s2 : ndarray, shape (n,)
        Factor of the squared rate, likewise: an inertia or a handle travel that varies along the travel.
    static_n_per_kg, friction_n_per_kg, inertia_n_per_rad_s2_per_kg, speed_n_per_rad2_s2_per_kg : ndarray, shape (n,)
        Slopes with the load (zeros when only one load was measured).
    viscous_n_per_rad_s : float
        Factor of the rate.
    loads_differ : bool
        Whether two or more loads were measured, so that other loads can be predicted.
    """

    static_n: Floats
    static_n_per_kg: Floats
    friction_n: Floats
    friction_n_per_kg: Floats
    inertia_n_per_rad_s2: Floats
    inertia_n_per_rad_s2_per_kg: Floats
    speed_n_per_rad2_s2: Floats
    speed_n_per_rad2_s2_per_kg: Floats
    viscous_n_per_rad_s: float
    loads_differ: bool


@dataclass(frozen=True)
class ProfileEstimate:
    """A machine's resistance profile, measured.

    Attributes
    ----------
    machine_name : str
        Name of the machine.
    start_angle_rad, u_start_angle_rad : float
        Elevation of the handle's line on the start stop and its standard uncertainty.
    angle_rad : ndarray, shape (n,)
        Elevation of the handle's line, ascending, covered range only.
    loads_kg : ndarray, shape (m,)
        Loads measured, ascending.
    static_n, static_u95_n : ndarray, shape (m, n)
        Static handle force and half-width of its 95 % band. NaN where a load did not cover the angle.
    raising_n, lowering_n, friction_n : ndarray, shape (m, n)
        Slow force raising and lowering, and half their gap.
    passes_raising, passes_lowering : ndarray of int, shape (m, n)
        How many times each angle was passed each way.
    covariance_n2 : ndarray, shape (m * n, m * n)
        Covariance of `static_n` (row-major over load, angle).
    inertia_n_per_rad_s2 : ndarray, shape (n,)
        Felt inertia at the first load; `inertia_by_load_n_per_rad_s2` (m, n) has every load.
    viscous_n_per_rad_s : float
        Viscous factor.
    lag : Lag
        Lag of the force behind the angle (of the first session; each session's in `lags`).
    repetitions : tuple of Repetition
        All repetitions of all sessions.
    budget : tuple of BudgetItem
        What the band is made of.
    health : dict
        Figures about the data by name (for people and for profile.json).
    warnings : tuple of str
        What is wrong with the data, in plain words.
    model : ForceModel
        The fitted terms on the grid.
    angle_rms_u_rad : float
        Root mean square standard uncertainty of the lever angle.
    """

    machine_name: str
    start_angle_rad: float
    u_start_angle_rad: float
    angle_rad: Floats
    loads_kg: Floats
    static_n: Floats
    static_u95_n: Floats
    raising_n: Floats
    lowering_n: Floats
    friction_n: Floats
    passes_raising: Indices
    passes_lowering: Indices
    covariance_n2: Floats
    inertia_n_per_rad_s2: Floats
    inertia_by_load_n_per_rad_s2: Floats
    viscous_n_per_rad_s: float
    lag: Lag
    lags: tuple[Lag, ...]
    repetitions: tuple[Repetition, ...]
    budget: tuple[BudgetItem, ...]
    model: ForceModel
    angle_rms_u_rad: float
    health: Mapping[str, float | int | str | bool] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()

    @property
    def travel_percent(self) -> Floats:
        """Angle as percent of the measured range, shape (n,)."""
        low, high = self.angle_rad[0], self.angle_rad[-1]
        return np.asarray(100.0 * (self.angle_rad - low) / (high - low))

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
            When the load was not measured and cannot be predicted from one load alone.
        """
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
