"""An inertial sensor laid from face to face by hand: true rate and specific force, made apart from any estimator.

Every move is a turn along a smooth course about one axis, with a hand's tremor on top that dies out towards the
rests; the rate is the difference of finely spaced attitudes (SciPy's rotations), not an integral turned round.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.random import Generator
from scipy.spatial.transform import Rotation

from feltload.core import Floats

Move = tuple[Sequence[float] | Floats, float] | tuple[Sequence[float] | Floats, float, float]
"""Rotation vector in the sensor's frame at its start (rad), seconds, and the hand's tremor (rad) if it is given."""
FINE = 50
"""Attitudes per sample between which the rate is taken."""
G = 9.8123
"""Local gravity of the invented bench, m/s²."""


@dataclass(frozen=True)
class Handled:
    """Truth on the sample times: rate and specific force (n, 3) in the sensor's frame, spans of the moves."""

    time_s: Floats
    rate_rad_s: Floats
    force_m_s2: Floats
    moves: list[tuple[float, float]]


def _move(
    start: Rotation, by: Floats, seconds: float, rate_hz: float, rng: Generator, tremor: float
) -> tuple[Floats, Rotation, Rotation]:
    n = round(seconds * rate_hz)
    seconds = n / rate_hz
    x = (np.arange(n)[:, None] + np.array([-0.5, 0.5]) / FINE) / n
    x = np.clip(x, 0.0, 1.0)
    course = 10 * x**3 - 15 * x**4 + 6 * x**5
    envelope = (np.sin(np.pi * x) ** 4)[..., None]
    tone = rng.uniform(2.0, 4.0, 3) * 2 * np.pi * seconds
    shake = tremor * envelope * np.sin(tone * x[..., None] + rng.uniform(0, 6, 3))
    flat = start * Rotation.from_rotvec((course[..., None] * by).reshape(-1, 3))
    attitude = flat * Rotation.from_rotvec(shake.reshape(-1, 3))
    first, second = attitude[0::2], attitude[1::2]
    width = np.diff(x, axis=1) * seconds
    rate = (first.inv() * second).as_rotvec() / width
    middle = first * Rotation.from_rotvec(0.5 * (first.inv() * second).as_rotvec())
    return rate, middle, start * Rotation.from_rotvec(by)


def handle(
    moves: Sequence[Move],
    *,
    rate_hz: float = 100.0,
    seed: int = 0,
    still_s: float = 2.5,
    first_s: float = 2.5,
    tremor: float = 0.08,
    start: Rotation | None = None,
) -> Handled:
    """Lie still, move, lie still ...

    Parameters
    ----------
    moves : sequence of Move
    start : Rotation, optional
        Attitude at first, from the sensor's frame to one with z up.
    """
    rng = np.random.default_rng(seed)
    attitude = Rotation.identity() if start is None else start
    rates: list[Floats] = []
    forces: list[Floats] = []
    spans: list[tuple[float, float]] = []
    time = 0.0

    def rest(seconds: float) -> None:
        nonlocal time
        n = round(seconds * rate_hz)
        rates.append(np.zeros((n, 3)))
        forces.append(np.tile(attitude.inv().apply([0.0, 0.0, G]), (n, 1)))
        time += n / rate_hz

    rest(first_s)
    for by, seconds, *shake in moves:
        rate, middle, after = _move(
            attitude, np.asarray(by, dtype=float), seconds, rate_hz, rng, *(shake or [tremor])
        )
        spans.append((time, time + len(rate) / rate_hz))
        rates.append(rate)
        # A hand pushes as it turns.
        push = rng.normal(0, 1.0, 3) * np.sin(np.linspace(0, np.pi, len(rate)))[:, None]
        forces.append(middle.inv().apply([0.0, 0.0, G]) + push)
        time += len(rate) / rate_hz
        attitude = after
        rest(still_s)
    rate = np.vstack(rates)
    return Handled(np.arange(len(rate)) / rate_hz, rate, np.vstack(forces), spans)


def faces_and_tilts(seed: int = 0, tilts: int = 8) -> list[Move]:
    """Moves onto all six faces, then to tilted attitudes: what is done for the accelerometer anyway."""
    rng = np.random.default_rng(seed)
    right = np.pi / 2
    # Up is z, then y, x, z, -z, -y, -x, -z in the sensor's frame, and at last half a turn on a table.
    moves: list[Move] = [
        ([right, 0, 0], 1.4),
        ([0, 0, right], 1.2),
        ([0, right, 0], 1.5),
        ([2 * right, 0, 0], 2.0),
        ([right, 0, 0], 1.3),
        ([0, 0, right], 1.4),
        ([0, right, 0], 1.2),
        ([0, 0, 2 * right], 2.1, 0.003),
    ]
    for _ in range(tilts):
        axis = rng.normal(size=3)
        moves.append((rng.uniform(0.7, 2.2) * axis / np.linalg.norm(axis), float(rng.uniform(1.2, 2.2))))
    return moves
