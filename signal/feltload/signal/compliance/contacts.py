"""Where the load comes onto the hands and leaves them, on the start stop: the angle against the force there.

On a rigid machine the force comes and goes while the arm stands still on its stop. Before a joint with play the sensor
turns by the gap first, without force, and by the wind-up of what bends after it.

Thresholds: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.core import Floats
from feltload.signal.movement.grid import Aligned

LEVELS = (0.25, 0.4, 0.55)
"""Shares of the force at the start of the travel at which the angle is read."""

CLEAR_SHARE = 0.1
"""Below this share the load is off the hands."""

WITHIN_S = 1.5
"""Longest time from there to the highest level."""

OFF_S = 0.12
"""Time for which it then stays off."""

NEAR_STOP_RAD = np.radians(6.0)
FINE_HZ = 400.0
LAG_U_S = 0.004
"""How far force and angle may be apart in time at a fast change, beyond the lag at slow ones: filters differ."""

RISE_STEPS, RISE_U_S = 1.5, 0.005
"""A filter spreads a jump of the force: over this many of its sample intervals, and for at least this long."""

ANGLE_U_RAD, STEP_U_RAD = np.radians(0.03), np.radians(0.01)
"""Least standard deviations of the angle of a contact, and of the angles at its levels against each other."""

SURE_WIND_UP = 3.0
"""A wind-up counts from this many standard uncertainties on."""

ROUNDS, HUBER = 8, 1.5


@dataclass(frozen=True)
class Contact:
    """Load taken up or set down once.

    Attributes
    ----------
    time_s : float
        At the middle level.
    taken : bool
        Taken up; False: set down.
    q_rad, rate_rad_s, force_n : ndarray, shape (levels,)
        Angle of the sensor's part, its rate and the force at the levels.
    """

    time_s: float
    taken: bool
    q_rad: Floats
    rate_rad_s: Floats
    force_n: Floats


@dataclass(frozen=True)
class LoadingLine:
    """The angle against the force while the load comes onto the hands: ``q = gap + wind_up * force``.

    Attributes
    ----------
    gap_rad, u_gap_rad : float
    wind_up_rad_n, u_wind_up_rad_n : float
    contacts : int
        How many it was found from.
    """

    gap_rad: float
    u_gap_rad: float
    wind_up_rad_n: float
    u_wind_up_rad_n: float
    contacts: int

    @property
    def winds_up(self) -> bool:
        """Whether a wind-up stands above its uncertainty."""
        return self.wind_up_rad_n > SURE_WIND_UP * self.u_wind_up_rad_n


def find_contacts(aligned: Aligned, lag_s: float, start_n: float) -> list[Contact]:
    """Every time that the load came onto the hands or left them near the start stop.

    Parameters
    ----------
    aligned : Aligned
    lag_s : float
        Lag of the force.
    start_n : float
        Static force at the start of the travel.
    """
    time = np.arange(aligned.time_s[0], aligned.time_s[-1], 1.0 / FINE_HZ)
    force = aligned.force.at(time + lag_s)
    known = aligned.force.valid(time + lag_s)
    q, rate = (np.interp(time, aligned.time_s, values) for values in (aligned.q_rad, aligned.rate_rad_s))
    share = np.where(known, force / start_n, np.nan)
    contacts = []
    # Crossings of the middle level, then outwards to where the load is off and where it is on.
    above = share > LEVELS[1]
    for at in np.flatnonzero(np.diff(above.astype(np.int8))).tolist():
        taken = bool(above[at + 1])
        reach = round(WITHIN_S * FINE_HZ)
        window = slice(max(0, at - reach), min(time.size, at + reach))
        contact = _contact(time, q, rate, share, at, window, taken=taken)
        if contact is not None:
            contacts.append(contact)
    return [_in_newtons(contact, start_n) for contact in contacts]


def _contact(
    time: Floats, q: Floats, rate: Floats, share: Floats, at: int, window: slice, *, taken: bool
) -> Contact | None:
    # Seen so that the load comes on, whichever way it went.
    step = 1 if taken else -1
    last_off, first_on = (at, at + 1) if taken else (at + 1, at)
    before = share[last_off : window.start if taken else window.stop - 1 : -step]
    after = share[first_on : window.stop if taken else window.start : step]
    off, on = np.flatnonzero(before < CLEAR_SHARE), np.flatnonzero(after > LEVELS[-1])
    if not off.size or not on.size or np.any(after[: on[0]] < LEVELS[0]):
        return None
    # A bounce is no set-down: off the hands, the load stays so for a while.
    resting = before[off[0] : off[0] + round(OFF_S * FINE_HZ)]
    if resting.size < OFF_S * FINE_HZ - 1 or not np.all(resting < CLEAR_SHARE + 0.05):
        return None
    first, last = last_off - step * int(off[0]), first_on + step * int(on[0])
    stretch = np.arange(first, last + step, step)
    if np.any(np.isnan(share[stretch])):
        return None
    rising = np.maximum.accumulate(share[stretch])
    where = [int(stretch[np.searchsorted(rising, level)]) for level in LEVELS]
    if np.max(np.abs(q[where])) > NEAR_STOP_RAD:
        return None
    return Contact(float(time[where[1]]), taken, q[where], rate[where], share[where])


def _in_newtons(contact: Contact, start_n: float) -> Contact:
    return Contact(
        contact.time_s, contact.taken, contact.q_rad, contact.rate_rad_s, start_n * contact.force_n
    )


def loading_line(
    contacts: list[Contact], force_step_s: float, wind_up: tuple[float, float] | None = None
) -> LoadingLine | None:
    """Gap and wind-up from contacts in both directions; None where there are fewer than two.

    Parameters
    ----------
    contacts : list of Contact
    force_step_s : float
        Sample interval of the force.
    wind_up : (value, standard uncertainty), optional
        What is known of the wind-up beforehand, rad/N.

    Notes
    -----
    What is left of the lag moves a reading by the rate times that time, taken up and set down in opposite ways; a
    filter of the force moves low levels back and high ones on, by the size of the rate. Both are unknowns of the least
    squares beside gap and wind-up, with what is known of them beforehand; Huber weights by contact.
    """
    if len(contacts) < 2:
        return None
    q, rate, force = (
        np.stack([getattr(contact, name) for contact in contacts])
        for name in ("q_rad", "rate_rad_s", "force_n")
    )
    scale = np.array([1.0, float(np.mean(force)), 1.0, 1.0])
    spread_by = np.abs(rate) * (np.array(LEVELS) - 0.5)
    design = np.stack([np.ones_like(q), force, rate, spread_by], axis=2) / scale
    # Angles of one contact err together, and less against each other: their mean and what differs from it.
    late = LAG_U_S * np.mean(np.abs(rate), axis=1)
    u_mean, u_step = np.hypot(ANGLE_U_RAD, late), np.hypot(STEP_U_RAD, 0.5 * late)
    means, q_means = design.mean(axis=1), q.mean(axis=1)
    steps, q_steps = design - means[:, None], q - q_means[:, None]
    rise_u_s = RISE_STEPS * force_step_s + RISE_U_S
    prior, expected = np.diag([0.0, 0.0, LAG_U_S**-2, rise_u_s**-2]), np.zeros(4)
    if wind_up is not None:
        expected[1], prior[1, 1] = wind_up[0] * scale[1], (wind_up[1] * scale[1]) ** -2
    weight, spread = np.ones(len(contacts)), 1.0
    solution, inverse = np.zeros(4), np.eye(4)
    for _ in range(ROUNDS):
        by_mean, by_step = weight / u_mean**2, weight / u_step**2
        normal = np.einsum("c,ci,cj->ij", by_mean, means, means) + prior
        normal += np.einsum("c,cli,clj->ij", by_step, steps, steps)
        right = np.einsum("c,ci,c->i", by_mean, means, q_means) + prior @ expected
        right += np.einsum("c,cli,cl->i", by_step, steps, q_steps)
        inverse = np.linalg.inv(normal + 1e-9 * np.diag(np.diag(normal)))
        solution = inverse @ right
        left = np.abs(q_means - means @ solution) / u_mean
        spread = max(1.0, float(1.4826 * np.median(left)))
        weight = np.minimum(1.0, HUBER * spread / np.maximum(left, 1e-12))
    u = spread * np.sqrt(np.diag(inverse)) / scale
    gap, winds = solution[:2] / scale[:2]
    return LoadingLine(float(gap), float(u[0]), float(winds), float(u[1]), len(contacts))
