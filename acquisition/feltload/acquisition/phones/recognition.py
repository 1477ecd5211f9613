"""Which convention a browser follows, recognised from a phone turned in hands.

While a phone turns at w, the upward direction in it changes by -w x up: the measured gravity and the measured rates fit
each other in one convention alone. All 48 signed orders of the axes are tried, each with the scale that fits it best;
which of them browsers use is asked afterwards, so that a phone that follows none of these is found out. The sign of
gravity cancels in that relation: it comes from how the phone says it lies.

Thresholds: common practice, no source; each is tested against emulated phones.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise, permutations, product
from typing import Literal

import numpy as np

from feltload.acquisition.phones.convention import ORDERS, MotionConvention
from feltload.acquisition.phones.facts import PhoneFact
from feltload.core import STANDARD_GRAVITY_M_S2, Floats

STRETCH_S = 0.5
"""Gravity's change is compared over stretches in which hands' pushes average out."""
HOLE_S = 0.25
FEWEST_SAMPLES = 60
TURNED_M_S2 = 0.6 * STANDARD_GRAVITY_M_S2
"""How far gravity has to have moved by turns about each axis, root of the sum of squares."""
MUCH_TURNED_M_S2 = 2.0 * STANDARD_GRAVITY_M_S2
"""After so much movement a convention that fits would have shown."""
UNEXPLAINED = 0.2
"""Share of gravity's movement that the best fit may leave: hands push, and filters delay one sensor."""
MUCH_UNEXPLAINED = 0.5
"""After much movement so much says that nothing fits."""
RIVAL = 2.0
"""The next best order leaves at least this multiple of it."""
SCALE = 0.25
"""How far the scale that fits best may be off the unit's, relative: pushes pull it a little."""
LIES_ALONG = 0.8
"""Cosine between gravity and the upward direction that counts as agreement."""

TurnUnit = Literal["deg/s", "rad/s"]


@dataclass(frozen=True)
class ToldMotion:
    """Motion as a browser tells it.

    Attributes
    ----------
    time_s : ndarray, shape (n,)
        Page's clock.
    accel : ndarray, shape (n, 3)
        accelerationIncludingGravity, x, y, z.
    turning : ndarray, shape (n, 3)
        rotationRate, alpha, beta, gamma.
    up : ndarray, shape (n, 3)
        Upward direction in the phone's axes as its orientation says; NaN where it says nothing.
    """

    time_s: Floats
    accel: Floats
    turning: Floats
    up: Floats


@dataclass(frozen=True)
class Recognition:
    """What was recognised so far.

    Attributes
    ----------
    convention : MotionConvention or None
        None while it cannot be determined, and where it is refused.
    trouble : PhoneFact or None
        Why the phone cannot be used as it is.
    turned : tuple of bool
        About which of the phone's axes x, y, z it was turned enough.
    lies : bool
        Whether the sign of gravity is known.
    unexplained : float
        Share of gravity's movement that the best fit leaves; NaN before there is any.
    """

    convention: MotionConvention | None = None
    trouble: PhoneFact | None = None
    turned: tuple[bool, bool, bool] = (False, False, False)
    lies: bool = False
    unexplained: float = float("nan")


@dataclass(frozen=True)
class _Order:
    """Rates about x, y, z are, but for their unit, sign x (alpha, beta, gamma taken in an order)."""

    source: tuple[int, ...]
    signs: tuple[int, ...]

    @property
    def matrix(self) -> Floats:
        matrix = np.zeros((3, 3))
        matrix[np.arange(3), list(self.source)] = self.signs
        return matrix


_ORDERS = [_Order(source, signs) for source in permutations(range(3)) for signs in product((1, -1), repeat=3)]
_MATRICES = np.stack([one.matrix for one in _ORDERS])
_UNITS: dict[TurnUnit, float] = {"deg/s": float(np.pi / 180.0), "rad/s": 1.0}


def recognise(told: ToldMotion) -> Recognition:
    """Recognise the convention from what was told so far.

    Parameters
    ----------
    told : ToldMotion
        Some seconds of a phone turned to and fro about its axes, and resting.

    Returns
    -------
    Recognition
    """
    if told.time_s.size < FEWEST_SAMPLES:
        return Recognition()
    length = float(np.median(np.linalg.norm(told.accel, axis=1)))
    if length < 0.3 * STANDARD_GRAVITY_M_S2:
        return Recognition(trouble=PhoneFact.NO_GRAVITY)
    if abs(length / STANDARD_GRAVITY_M_S2 - 1.0) > 0.15:
        return Recognition(trouble=PhoneFact.GRAVITY_ODD)
    if not np.any(told.turning):
        return Recognition(trouble=PhoneFact.NO_RATES)
    sign, sign_trouble = _gravity_sign(told)
    seen, model = _stretches(told)
    moved = float(seen @ seen)
    lies = sign is not None
    if not moved > 0.0:
        return Recognition(trouble=sign_trouble, lies=lies)
    flat = _MATRICES.reshape(len(_ORDERS), 9)
    along, size = flat @ (model.T @ seen), np.sum((flat @ (model.T @ model)) * flat, axis=1)
    scale = np.maximum(along, 0.0) / np.maximum(size, 1e-30)
    left = np.maximum(moved - scale * along, 0.0)
    first, second = np.argsort(left)[:2]
    best, share = _ORDERS[first], float(left[first] / moved)
    turned = _turned(float(scale[first]) * model, best)

    def so_far(trouble: PhoneFact | None) -> Recognition:
        return Recognition(None, trouble, turned, lies, share)

    if share > UNEXPLAINED:
        nothing_fits = np.sqrt(moved) > MUCH_TURNED_M_S2 and share > MUCH_UNEXPLAINED
        return so_far(PhoneFact.RATES_DO_NOT_FIT if nothing_fits else sign_trouble)
    if not (all(turned) and left[second] > RIVAL * left[first]):
        return so_far(sign_trouble)
    unit = next((unit for unit, one in _UNITS.items() if abs(scale[first] / one - 1.0) < SCALE), None)
    if unit is None:
        return so_far(PhoneFact.RATES_DO_NOT_FIT)
    found = _known(best)
    if found is None:
        return so_far(PhoneFact.AXES_MIXED)
    if sign is None:
        return so_far(sign_trouble)
    return Recognition(MotionConvention(sign, *found, unit), None, turned, True, share)


def _known(best: _Order) -> tuple[Literal[1, -1], Literal["xyz", "zxy"]] | None:
    """Sign and order, if they are of a kind that browsers use: one sign for all, and one of two orders."""
    if len(set(best.signs)) > 1:
        return None
    # source[k] is the place of axis k among alpha, beta, gamma.
    order = "".join("xyz"[best.source.index(place)] for place in range(3))
    sign: Literal[1, -1] = 1 if best.signs[0] > 0 else -1
    if order == ORDERS[0]:
        return sign, "xyz"
    return (sign, "zxy") if order == ORDERS[1] else None


def _gravity_sign(told: ToldMotion) -> tuple[Literal[1, -1] | None, PhoneFact | None]:
    known = np.isfinite(told.up).all(axis=1)
    if not known.any():
        return None, None
    along = np.einsum("ij,ij->i", told.accel[known], told.up[known]) / np.linalg.norm(
        told.accel[known], axis=1
    ).clip(1e-9)
    cosine = float(np.median(along))
    if abs(cosine) < LIES_ALONG:
        return None, PhoneFact.LIES_OTHERWISE
    return (1 if cosine > 0 else -1), None


def _stretches(told: ToldMotion) -> tuple[Floats, Floats]:
    """Gravity's change over stretches, and what each entry of the rates' matrix makes of it; biases projected out.

    Returns
    -------
    seen : ndarray, shape (m,)
    model : ndarray, shape (m, 9)
    """
    pieces = _pieces(told.time_s)
    rows: list[Floats] = []
    seen: list[Floats] = []
    for piece in pieces:
        changes, parts = _of_piece(told.time_s[piece], told.accel[piece], told.turning[piece])
        seen.append(changes)
        rows.append(parts)
    if not rows:
        return np.zeros(0), np.zeros((0, 9))
    y, full = np.concatenate(seen), np.concatenate(rows)
    model, bias = full[:, :9], full[:, 9:]
    basis = np.linalg.qr(bias)[0]
    return y - basis @ (basis.T @ y), model - basis @ (basis.T @ model)


def _pieces(time_s: Floats) -> Sequence[slice]:
    """Runs of samples without a hole."""
    cuts = np.flatnonzero((np.diff(time_s) > HOLE_S) | (np.diff(time_s) < 0.0)) + 1
    bounds = [0, *cuts.tolist(), time_s.size]
    return [slice(a, b) for a, b in pairwise(bounds) if b - a >= 12]


def _of_piece(time_s: Floats, accel: Floats, turning: Floats) -> tuple[Floats, Floats]:
    step_s = np.diff(time_s)
    middle, rate = 0.5 * (accel[1:] + accel[:-1]), 0.5 * (turning[1:] + turning[:-1])
    # -e_i x a, for each axis i: how gravity moves while the phone turns about it. (n, axis, component)
    moves = -np.cross(np.eye(3)[None, :, :], middle[:, None, :]) * step_s[:, None, None]
    by_rate = moves[:, :, None, :] * rate[:, None, :, None]
    parts = np.concatenate([by_rate.reshape(len(step_s), 9, 3), moves], axis=1)
    path = np.concatenate([np.zeros((1, 12, 3)), np.cumsum(parts, axis=0)])
    width = max(2, round(0.3 * STRETCH_S / max(float(np.median(step_s)), 1e-4)))
    every = max(width + 1, round(STRETCH_S / max(float(np.median(step_s)), 1e-4)))
    kernel = np.ones(width) / width
    places = np.arange(0, time_s.size - width + 1, every)

    def over(values: Floats) -> Floats:
        averaged = np.stack([np.convolve(column, kernel, mode="valid") for column in values.T], axis=1)
        return np.diff(averaged[places], axis=0)

    changes = over(accel)
    modelled = over(path.reshape(time_s.size, 36)).reshape(-1, 12, 3)
    return changes.ravel(), modelled.transpose(0, 2, 1).reshape(-1, 12)


def _turned(model: Floats, best: _Order) -> tuple[bool, bool, bool]:
    """Whether turns about each axis moved gravity far enough."""
    matrix = best.matrix
    x, y, z = (
        bool(np.linalg.norm(model[:, 3 * axis : 3 * axis + 3] @ matrix[axis]) > TURNED_M_S2)
        for axis in range(3)
    )
    return x, y, z
