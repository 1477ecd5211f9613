"""From sessions to a profile: one clock, the lever's motion, the lag, the fit, the bands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from feltload.core import Fact, Floats
from feltload.signal.alignment.direction import orient_to_concentric
from feltload.signal.alignment.facts import AlignmentFact
from feltload.signal.alignment.lag import LagMethod, LagReading
from feltload.signal.alignment.latency import knock_lag
from feltload.signal.alignment.solver import Spacing, solve
from feltload.signal.clock.joining import ClockFit, join_clock
from feltload.signal.compliance.solving import solve_behind
from feltload.signal.errors import MotionError, ProfileError
from feltload.signal.hinge.diagnostics import inclination_fact
from feltload.signal.hinge.estimator import estimate_hinge
from feltload.signal.movement.attitude import attitude_of
from feltload.signal.movement.ends import above_lower_end, counted_from_lower_end
from feltload.signal.movement.grid import Aligned, Rotation, align, silences
from feltload.signal.profile.assembly import assemble
from feltload.signal.profile.estimate import ProfileEstimate
from feltload.signal.session import Reference, Session
from feltload.signal.zero.course import ZeroKnown

REST_AFTERWARDS_U_N = 0.05
"""Standard uncertainty of a zero taken afterwards beside its noise (common practice, no source)."""

LATE_S = 0.5
"""A stream that begins so much later than the other one may have missed the rest on the start stop."""


@dataclass(frozen=True)
class Settings:
    """What may be chosen about an estimate.

    Attributes
    ----------
    spacing : Spacing
        Widths of the spline intervals along the travel.
    """

    spacing: Spacing = field(default_factory=Spacing)


def estimate(
    sessions: Sequence[Session], *, reference: Reference, settings: Settings | None = None
) -> ProfileEstimate:
    """Resistance profile of a machine from one or more sessions of one side.

    Parameters
    ----------
    sessions : sequence of Session
        One recording each; several loads let other loads be predicted.
    reference : Reference
        Machine name and start angle.
    settings : Settings, optional
        Choices.

    Raises
    ------
    ProfileError
        When the sessions do not hold enough motion or do not overlap in time.
    """
    if not sessions:
        raise ProfileError("no session to estimate from", remedy="name at least one recording")
    chosen = settings or Settings()
    aligned, readings, facts = zip(
        *(prepare(session, chosen.spacing, reference) for session in sessions),
        strict=True,
    )
    solved, lags = solve(aligned, readings, chosen.spacing, reference.handle_travel)
    solved, lags, given = solve_behind(solved, lags, readings, chosen.spacing, reference.handle_travel)
    return assemble(
        solved, sessions, lags, reference, [*given, *(fact for of_one in facts for fact in of_one)]
    )


def prepare(
    session: Session, spacing: Spacing | None = None, reference: Reference | None = None
) -> tuple[Aligned, list[LagReading], list[Fact]]:
    """One session on its grid, with lags from knocks and rig, and what was found on the way.

    `reference` says how the hinge is inclined, so that one that differs is found, and whether what turns may roll.
    """
    rolling_m = 0.0 if reference is None else reference.rolling_m
    force_clock = join_stream(session, "force")
    inertial_clock = join_stream(session, "inertial")
    frame = session.inertial
    gyro = frame[["gyro_x_rad_s", "gyro_y_rad_s", "gyro_z_rad_s"]].to_numpy(float)
    accel = frame[["accel_x_m_s2", "accel_y_m_s2", "accel_z_m_s2"]].to_numpy(float)
    try:
        hinge = estimate_hinge(
            inertial_clock.time_s,
            gyro,
            accel,
            certificate=session.inertial_certificate,
            rolling_m=rolling_m,
        )
    except MotionError as error:
        # The smoother does not know whose samples it was given.
        raise error.with_context(where=session.name) from error
    del gyro
    motion = Rotation(
        hinge.time_s,
        hinge.q_rad,
        hinge.rate_rad_s,
        hinge.accel_rad_s2,
        hinge.u_q_rad,
        hinge.u_shape_rad,
        hinge.u_scale,
        hinge.u_reference_rad,
    )
    force = session.force["force_n"].to_numpy(float)
    aligned = align(
        session.name, motion, force_clock.time_s, force, load_kg=session.load_kg, side=session.side
    )
    aligned = replace(aligned, zero_known=_zero_known(session, force_clock.time_s))
    readings = []
    if session.rig_lag_s is not None:
        readings.append(
            LagReading(
                LagMethod.RIG, session.rig_lag_s, max(session.rig_lag_u_s or 0.005, 1e-4), session.name
            )
        )
    if session.knocks_host_s:
        knock = knock_lag(
            aligned,
            session.knocks_host_s,
            (force_clock.time_s, force),
            (inertial_clock.time_s, accel),
        )
        if knock is not None:
            readings.append(knock)
    of_streams = (
        (session.force_stream, force_clock.warnings),
        (session.inertial_stream, inertial_clock.warnings),
        (session.inertial_stream, hinge.warnings),
    )
    facts = [
        *session.warnings,
        *(
            replace(fact, session=session.name, stream=stream)
            for stream, of_stream in of_streams
            for fact in of_stream
        ),
        *(
            Fact(AlignmentFact.FORCE_HOLE, session=session.name, stream=session.force_stream, span_s=span_s)
            for span_s in silences(force_clock.time_s)
        ),
    ]
    tilted = None
    if reference is not None:
        tilted = inclination_fact(
            hinge.parameters.inclination_rad,
            reference.hinge_inclination_rad,
            stated=reference.hinge_inclination_stated,
        )
    if tilted is not None:
        facts.append(replace(tilted, session=session.name, stream=session.inertial_stream))
    start_seen = _start_is_seen(
        session, hinge.reference_s, float(hinge.time_s[0]), float(force_clock.time_s[0])
    )
    aligned = replace(aligned, attitude=attitude_of(session.name, hinge.parameters, start_seen=start_seen))
    if not start_seen:
        turned = orient_to_concentric(aligned, readings, spacing or Spacing())
        if turned is not None:
            aligned = turned
            facts.append(Fact(AlignmentFact.BEGINS_WITH_LOWERING, session=session.name))
        elif hinge.reference_s is None or above_lower_end(aligned):
            aligned = counted_from_lower_end(aligned)
            facts.append(
                Fact(
                    AlignmentFact.COUNTED_FROM_LOWER_END,
                    session=session.name,
                    figures={"u_rad": float(aligned.u_reference_rad)},
                )
            )
    return aligned, readings, facts


def _zero_known(session: Session, force_time_s: Floats) -> ZeroKnown:
    """What is known of the zero after the tare."""
    known = session.force_uncertainty
    since_s = force_time_s[0] if session.tare_window_s is None else session.tare_window_s[1]
    if session.zero_after_n is None or session.tare_window_s is None:
        return ZeroKnown(float(since_s), known.drift_rate_n_per_min)
    return ZeroKnown(
        float(since_s),
        known.drift_rate_n_per_min,
        float(np.nanmax(force_time_s)),
        # Two rests, and hands that come and go.
        float(np.hypot(np.sqrt(2.0) * known.zero_n, REST_AFTERWARDS_U_N)),
        session.zero_after_n,
    )


def _start_is_seen(
    session: Session, reference_s: tuple[float, float] | None, first_s: float, force_first_s: float
) -> bool:
    """Whether the rest that rotation is counted from is one on the start stop, not a hold in mid-set."""
    if reference_s is None:
        return False
    if session.tare_window_s is None:
        # Without a hands-off rest a stream that begins with the other one begins at the start.
        return first_s < force_first_s + LATE_S
    start_s, stop_s = session.tare_window_s
    return reference_s[0] < stop_s + LATE_S and start_s < reference_s[1] + LATE_S


def join_stream(session: Session, which: str) -> ClockFit:
    """One stream of a session on the host's timeline."""
    frame = session.force if which == "force" else session.inertial
    if len(frame) < 20:
        raise ProfileError(
            f"the {which} stream has only {len(frame)} samples",
            where=session.name,
            remedy="check that the sensor was sending",
        )
    rate = session.force_rate_hz if which == "force" else session.inertial_rate_hz
    columns = [frame[name].to_numpy(float) if name in frame else None for name in ("device_s", "seq")]
    return join_clock(frame["host_s"].to_numpy(float), columns[0], columns[1], rate_hz=rate)
