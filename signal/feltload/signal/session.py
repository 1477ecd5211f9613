"""One recording of one arm, ready to be estimated from: streams in SI units and what is known of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from feltload.core import Fact, Figure, Floats, Severity
from feltload.signal.errors import SignalError
from feltload.signal.force_uncertainty import ForceUncertainty, force_uncertainty
from feltload.signal.movement.travel import AngleKind, HandleTravel
from feltload.signal.zero.facts import ZeroFact
from feltload.signal.zero.force_limit import at_limit
from feltload.signal.zero.tare import Tare, find_tare

if TYPE_CHECKING:
    from feltload.acquisition import InertialCertificate, Mark, Recording

MUCH_AT_LIMIT = 0.01
"""Part of the samples at the limit of the cell that puts the profile in doubt."""

FEWEST_SAMPLES = 10
"""Fewer are no recording of a movement."""


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
    handle_travel : HandleTravel or None
        How the handle's travel per radian varies; it tells the felt inertia from the squared rate, and positions in
        metres of the handle's way.
    hinge_inclination_rad : float or None
        Of the hinge against the horizontal, as the machine file has it; None where the machine has no such hinge.
    hinge_inclination_stated : bool
        The machine file states it; False where a level hinge stands for it.
    angle : AngleKind
        What start angle plus rotation is.
    turning_part : str
        What the sensor turns with, such as "arm" or "drum"; empty when nobody said.
    rolling_m : float
        Radius of what the sensor turns with, where it may roll along, so that its axle travels; 0 for a fixed hinge.
    """

    machine_name: str
    start_angle_rad: float
    u_start_angle_rad: float
    handle_radius_m: float | None = None
    u_pull_angle_rad: float = 0.0
    handle_travel: HandleTravel | None = None
    hinge_inclination_rad: float | None = None
    hinge_inclination_stated: bool = True
    angle: AngleKind = AngleKind.LEVER
    turning_part: str = "arm"
    rolling_m: float = 0.0


@dataclass(frozen=True)
class Session:
    """Streams of one recording and side.

    Attributes
    ----------
    name : str
        Name for messages and tables.
    force : DataFrame
        Columns ``host_s, device_s, seq, force_n``, zero already taken off; NaN where the sensor was at its limit.
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
    zero_after_n : float or None
        Zero after minus zero before, where a rest afterwards showed it; its straight line is taken off `force`.
    rig_lag_s, rig_lag_u_s : float or None
        Lag of the force behind the inertial sensor as the rig's description states it.
    force_uncertainty : ForceUncertainty
        How well the force is known, apart from its noise.
    inertial_certificate : InertialCertificate or None
        Calibration that was applied to `inertial`.
    force_rate_hz, inertial_rate_hz : float or None
        Nominal rates, when known.
    force_stream, inertial_stream : str
        Names of the two streams, for facts about them.
    warnings : tuple of Fact
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
    zero_after_n: float | None = None
    rig_lag_s: float | None = None
    rig_lag_u_s: float | None = None
    force_uncertainty: ForceUncertainty = field(default_factory=ForceUncertainty)
    inertial_certificate: InertialCertificate | None = None
    force_rate_hz: float | None = None
    inertial_rate_hz: float | None = None
    force_stream: str = "force"
    inertial_stream: str = "inertial"
    warnings: tuple[Fact, ...] = ()

    @classmethod
    def from_recording(
        cls,
        recording: Recording,
        side: str | None = None,
        *,
        name: str | None = None,
        rig_lag_s: float | None = None,
        rig_lag_u_s: float | None = None,
    ) -> Session:
        """Session of one recording, its force tared.

        Parameters
        ----------
        recording : Recording
            As read back.
        side : str, optional
            Which arm, when the rig has sensors on both; that which the recording says was moved when left out.
        name : str, optional
            Name for messages; the recording's own when left out.
        rig_lag_s, rig_lag_u_s : float, optional
            Lag of the force that the rig's record states, and its standard uncertainty.

        Raises
        ------
        SignalError
            When the recording has no force or inertial stream of that side, or two that suit, or is of the other side.
        """
        from feltload.acquisition import ForceCertificate, InertialCertificate

        label = name or recording.where
        meant = side or recording.info.side
        force_name = _only(recording.streams_of("force", meant), "force", meant, label)
        inertial_name = _only(recording.streams_of("inertial", meant), "inertial", meant, label)
        stated = recording.description(force_name).side or recording.info.side
        if side is not None and stated not in (None, side):
            raise SignalError(
                f"the recording is of the {stated} side", where=label, remedy=f"leave out the {side} side"
            )
        force, inertial = recording.stream(force_name), recording.stream(inertial_name)
        for stream, samples in ((force_name, force), (inertial_name, inertial)):
            if len(samples) < FEWEST_SAMPLES:
                raise SignalError(
                    f"holds {len(samples)} samples of {stream}",
                    where=label,
                    remedy="record again: the sensor sent nothing, or the file lost it",
                )
        tare = find_tare(force, inertial, recording.marks)
        limit = at_limit(force["force_n"].to_numpy(float))
        force = force.assign(
            force_n=(force["force_n"] - tare.zero_n - _drift_n(force, tare)).where(~limit, np.nan)
        )
        certificate, inertial_certificate = (
            recording.certificate(force_name),
            recording.certificate(inertial_name),
        )
        known = force_uncertainty(
            certificate if isinstance(certificate, ForceCertificate) else None,
            force["force_n"].to_numpy(float),
            zero_u_n=float(tare.u_n),
            zero_stated=tare.source != "none",
            # Taken off as a straight line; a real drift bends by a part of itself.
            drift_n=None if tare.drift_n is None else float(np.hypot(0.2 * tare.drift_n, 1.4 * tare.u_n)),
        )
        facts = [replace(fact, stream=force_name) for fact in tare.warnings]
        if np.any(limit):
            # What is missing is where the machine is heaviest.
            severity = Severity.SERIOUS if float(np.mean(limit)) > MUCH_AT_LIMIT else Severity.CAUTION
            figures: dict[str, Figure] = {"count": int(np.count_nonzero(limit))}
            facts.append(Fact(ZeroFact.AT_LIMIT, severity, stream=force_name, figures=figures))
        return cls(
            name=label,
            force=force,
            inertial=inertial,
            load_kg=recording.load_kg,
            load_u_kg=recording.info.load_u_kg,
            side=side or stated,
            knocks_host_s=_instants(recording.marks, "knock"),
            tare_window_s=None if tare.window_s is None else (tare.window_s[0], tare.window_s[1]),
            zero_after_n=tare.drift_n,
            rig_lag_s=rig_lag_s,
            rig_lag_u_s=rig_lag_u_s,
            force_uncertainty=known,
            inertial_certificate=(
                inertial_certificate if isinstance(inertial_certificate, InertialCertificate) else None
            ),
            force_rate_hz=recording.description(force_name).rate_hz,
            inertial_rate_hz=recording.description(inertial_name).rate_hz,
            force_stream=force_name,
            inertial_stream=inertial_name,
            warnings=tuple(replace(fact, session=label) for fact in facts),
        )


def _drift_n(force: pd.DataFrame, tare: Tare) -> Floats:
    """Drift of the zero since the tare, shape (n,): a straight line to the zero taken afterwards."""
    time = force["host_s"].to_numpy(float)
    if tare.drift_n is None or tare.window_s is None or not np.any(np.isfinite(time)):
        return np.zeros(time.size)
    begun, ended = tare.window_s[1], float(np.nanmax(time))
    return np.asarray(tare.drift_n * np.clip((time - begun) / max(ended - begun, 1e-9), 0.0, 1.0))


def _only(names: Sequence[str], kind: str, side: str | None, where: str) -> str:
    if not names:
        wanted = kind if side is None else f"{side} {kind}"
        raise SignalError(f"no {wanted} stream", where=where, remedy="check the rig file of the recording")
    if len(names) > 1:
        raise SignalError(
            f"{len(names)} {kind} streams ({', '.join(names)})",
            where=where,
            remedy="say which side: left or right",
        )
    return names[0]


def _instants(marks: Sequence[Mark], kind: str) -> tuple[float, ...]:
    return tuple(mark.start_s for mark in marks if mark.kind == kind)
