"""One recording of one arm, ready to be estimated from: streams in SI units and what is known of them."""

from __future__ import annotations

from dataclasses import dataclass, field

import pandas as pd

DEFAULT_GAIN_U = 0.005
"""Relative standard uncertainty of the force gain when no certificate states it.

A cell used with its data-sheet sensitivity and an unverified amplifier (common practice, no source)."""

DEFAULT_ZERO_U_N = 0.2
"""Standard uncertainty of the force zero in N when no tare states it (common practice, no source)."""


@dataclass(frozen=True)
class ForceUncertainty:
    """How well the force is known, apart from its noise.

    Attributes
    ----------
    gain : float
        Relative standard uncertainty of the gain.
    zero_n : float
        Standard uncertainty of the zero in N.
    drift_n : float
        Standard uncertainty of the zero's drift over the session in N.
    gain_stated, zero_stated, drift_stated : bool
        False when the size is a default.
    note : str
        Where the sizes come from.
    """

    gain: float = DEFAULT_GAIN_U
    zero_n: float = DEFAULT_ZERO_U_N
    drift_n: float = 0.0
    gain_stated: bool = False
    zero_stated: bool = False
    drift_stated: bool = False
    note: str = "no certificate: default"


@dataclass(frozen=True)
class Reference:
    """What ties the measured rotation to the machine.

    Attributes
    ----------
    machine_name : str
        Name of the machine.
    start_angle_rad : float
        Elevation of the line pivot -> handle on the start stop, in rad.
    u_start_angle_rad : float
        Its standard uncertainty in rad.
    handle_radius_m : float or None
        Handle travel per radian; lets work and power be given in J and W.
    u_pull_angle_rad : float
        Standard uncertainty of the angle between the cell's axis and the handle's path, in rad.
    """

    machine_name: str
    start_angle_rad: float
    u_start_angle_rad: float
    handle_radius_m: float | None = None
    u_pull_angle_rad: float = 0.0


@dataclass(frozen=True)
class Session:
    """Streams of one recording and side.

    Attributes
    ----------
    name : str
        Name for messages and tables.
    force : DataFrame
        Columns ``host_s, device_s, seq, force_n``, zero already taken off.
    inertial : DataFrame
        Columns ``host_s, device_s, seq``, three ``gyro_*_rad_s`` and three ``accel_*_m_s2``.
    load_kg : float
        Mass loaded.
    load_u_kg : float or None
        Its standard uncertainty; None when nobody stated it.
    side : str or None
        ``"left"``, ``"right"`` or None.
    knocks_host_s : tuple of float
        Times at which the operator marked a knock on the handle.
    tare_window_s : tuple of float or None
        Start and end of the hands-off rest on the stop, host time.
    rig_lag_s, rig_lag_u_s : float or None
        Lag of the force behind the inertial sensor as the rig's description states it.
    force_uncertainty : ForceUncertainty
        How well the force is known, apart from its noise.
    force_rate_hz, inertial_rate_hz : float or None
        Nominal rates, when known.
    warnings : tuple of str
        What was noticed while reading.
    """

    name: str
    force: pd.DataFrame
    inertial: pd.DataFrame
    load_kg: float
    load_u_kg: float | None = None
    side: str | None = None
    knocks_host_s: tuple[float, ...] = ()
    tare_window_s: tuple[float, float] | None = None
    rig_lag_s: float | None = None
    rig_lag_u_s: float | None = None
    force_uncertainty: ForceUncertainty = field(default_factory=ForceUncertainty)
    force_rate_hz: float | None = None
    inertial_rate_hz: float | None = None
    warnings: tuple[str, ...] = ()
