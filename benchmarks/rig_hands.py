"""Emulated rigs on which a partner's hands come on and go off within a few degrees, and what they really gave.

The emulator's mechanics share no code with the estimators, and the hands' force is a function of position alone, so
that the truth at an angle is exact and not itself a mean over samples.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.coaching import DeliveredHelp, Phase, delivered_help, person_motion
from feltload.core import Floats
from feltload.emulator import Partner, scenario, simulate
from feltload.emulator.people.person import Tempo
from feltload.signal import ProfileEstimate, Reference
from feltload.signal.pipeline import estimate
from rig_session import session_of

SENSORS = ("ordinary", "cheap", "fast")
TEMPI: tuple[Tempo, ...] = ("mixed", "slow", "brisk")
LOAD_KG = 40.0
HANDS_N = (45.0, 55.0)
EDGE_DEG = (3.0, 8.0)
"""Over how many degrees the hands come on or go off, from nothing to all."""
NEAR_EDGE_DEG = 6.0


@dataclass(frozen=True)
class HandsCase:
    """One helped session, what was found and what was true.

    Attributes
    ----------
    machine, sensors, tempo : str
    peak_n : float
        Greatest force of the machine.
    angle_rad : ndarray, shape (n,)
    error_n, u95_n : ndarray, shape (2 n,)
        Mean delivered help minus the truth, and its band: raising, then lowering.
    near_edge : ndarray of bool, shape (2 n,)
        Where the hands come on or go off, and 6° around.
    """

    machine: str
    sensors: str
    tempo: str
    peak_n: float
    error_n: Floats
    u95_n: Floats
    near_edge: np.ndarray


def drawn_hands(rng: np.random.Generator, travel_rad: float) -> Partner:
    """Help or resistance over a part of the travel, coming on inside of it; sometimes going off inside too."""
    fade = float(np.deg2rad(rng.uniform(*EDGE_DEG))) / travel_rad
    first = float(rng.uniform(0.25, 0.5))
    last = float(rng.uniform(0.75, 0.85)) if rng.random() < 0.5 else 1.0 + fade
    return Partner(float(rng.uniform(*HANDS_N) * rng.choice([1.0, -1.0])), first, last, fade=fade)


def true_hands_n(partner: Partner, share: Floats) -> Floats:
    """What these hands give at a share of the travel while it is moving."""

    def ramp(x: Floats) -> Floats:
        inside = np.clip(x, 0.0, 1.0)
        return np.asarray(inside**2 * (3.0 - 2.0 * inside))

    rise = ramp((share - partner.from_share) / partner.fade)
    return np.asarray(partner.force_n * rise * ramp((partner.to_share - share) / partner.fade))


def profile_without_hands(machine: str, sensors: str, seed: int) -> tuple[ProfileEstimate, Reference, float]:
    """A machine measured at two loads, at mixed tempo, and its travel."""
    runs = [
        simulate(scenario(machine, sensors=sensors, load_kg=load), seed=1000 * seed + number)
        for number, load in enumerate((0.5 * LOAD_KG, LOAD_KG))
    ]
    reference = Reference(machine, runs[0].start_angle_rad, 0.0)
    sessions = [session_of(run, f"{number}", knocks=False) for number, run in enumerate(runs)]
    return estimate(sessions, reference=reference), reference, runs[0].scenario.machine.travel_rad


def helped_case(
    profile: ProfileEstimate, reference: Reference, travel_rad: float, sensors: str, tempo: Tempo, seed: int
) -> tuple[HandsCase, DeliveredHelp]:
    """Another session on that rig, with hands on the handle."""
    rng = np.random.default_rng([seed, 17])
    partner = drawn_hands(rng, travel_rad)
    run = simulate(
        scenario(reference.machine_name, sensors=sensors, tempo=tempo, load_kg=LOAD_KG, partner=partner),
        seed=1000 * seed + 7,
    )
    motion = person_motion(session_of(run, "helped", knocks=False), reference, profile.lag)
    given = delivered_help(profile, motion, LOAD_KG)
    share = (given.angle_rad - reference.start_angle_rad) / travel_rad
    true = true_hands_n(partner, share)
    reach = np.deg2rad(NEAR_EDGE_DEG) / travel_rad
    near = np.zeros(share.size, dtype=bool)
    for low, high in (
        (partner.from_share, partner.from_share + partner.fade),
        (partner.to_share - partner.fade, partner.to_share),
    ):
        near |= (share > low - reach) & (share < high + reach)
    case = HandsCase(
        reference.machine_name,
        sensors,
        tempo,
        float(np.nanmax(profile.raising_n)),
        np.concatenate([given.mean_n(phase) - true for phase in Phase]),
        np.concatenate([given.u95_n(phase) for phase in Phase]),
        np.tile(near, len(Phase)),
    )
    return case, given
