"""Which convention a browser follows, against emulated phones in unsteady hands, for every convention."""

from __future__ import annotations

from functools import lru_cache
from itertools import product

import numpy as np
import pytest

from feltload.acquisition import MotionConvention, PhoneFact, ToldMotion, recognise
from feltload.emulator import Browser, spoken, turned_by_hand

NOWHERE = np.full(3, np.nan)

turned = lru_cache(turned_by_hand)


def told(
    seed: int, told_by: Browser | None = None, *, up: np.ndarray | None = None, **hands: object
) -> ToldMotion:
    """A turned phone as a browser tells it; without `up` its orientation is told well enough."""
    time_s, accel, rate = turned(seed, **hands)  # type: ignore[arg-type]
    lies = accel / np.linalg.norm(accel, axis=1)[:, None] if up is None else np.tile(up, (time_s.size, 1))
    return ToldMotion(time_s, *spoken(accel, rate, told_by or Browser()), lies)


@pytest.mark.parametrize("coarse", [False, True], ids=["fine", "rounded"])
@pytest.mark.parametrize("order", ["xyz", "zxy"])
@pytest.mark.parametrize("degrees", [True, False], ids=["deg/s", "rad/s"])
def test_every_convention_is_recognised(order: str, degrees: bool, coarse: bool) -> None:
    for (gravity, turn), seed in product(product((1, -1), repeat=2), range(5)):
        steps = (0.1, 0.1) if coarse else (0.0, 0.0)
        seen = recognise(told(seed, Browser(60.0, 0.002, 1e-4, *steps, gravity, turn, order, degrees)))
        wanted = MotionConvention(gravity, turn, order, "deg/s" if degrees else "rad/s")  # type: ignore[arg-type]
        assert seen.convention == wanted, (seed, seen)


def test_the_noisier_the_hands_the_less_is_claimed_and_nothing_wrong() -> None:
    """Hands that shake the phone by up to a quarter of gravity: recognised rightly, or not at all."""
    found = 0
    for push, seed in product((0.2, 0.8, 1.6, 2.5), range(6)):
        seen = recognise(told(seed, Browser(gravity_sign=-1), push_m_s2=push))
        assert seen.trouble in (None, PhoneFact.RATES_DO_NOT_FIT)
        if seen.convention is not None:
            found += 1
            assert seen.convention == MotionConvention(-1)
    assert 6 <= found < 24


@pytest.mark.parametrize(
    ("about", "named"),
    [("", ""), ("x", "x"), ("y", "y"), ("z", "z"), ("xz", "xz"), ("yz", "yz")],
)
def test_what_was_not_turned_stays_open_and_is_named(about: str, named: str) -> None:
    seen = recognise(told(1, about=about))
    assert seen.convention is None and seen.trouble is None
    assert "".join(axis for axis, done in zip("xyz", seen.turned, strict=True) if done) == named


def test_the_sign_of_gravity_comes_from_how_the_phone_lies() -> None:
    open_still = recognise(told(2, up=NOWHERE))
    assert open_still.convention is None and open_still.trouble is None and not open_still.lies
    assert all(open_still.turned)
    # On its back for the first second is enough.
    motion = told(2, Browser(gravity_sign=-1), up=NOWHERE)
    motion.up[:60] = (0.0, 0.0, 1.0)
    assert recognise(motion).convention == MotionConvention(gravity_sign=-1)
    assert recognise(told(2, up=np.array([1.0, 0.0, 0.0]))).trouble is PhoneFact.LIES_OTHERWISE


MIXED = {
    "one axis the other way": np.diag([1.0, 1.0, -1.0]),
    "two axes the other way": np.diag([1.0, -1.0, -1.0]),
    "two axes exchanged": np.eye(3)[[1, 0, 2]],
    "an order that nobody uses": np.eye(3)[[1, 2, 0]],
}


@pytest.mark.parametrize("mixed", MIXED.values(), ids=MIXED.keys())
def test_a_mixed_convention_is_refused(mixed: np.ndarray) -> None:
    motion = told(3)
    wrong = ToldMotion(motion.time_s, motion.accel, motion.turning @ mixed.T, motion.up)
    seen = recognise(wrong)
    assert seen.convention is None and seen.trouble is PhoneFact.AXES_MIXED


def test_what_is_no_motion_of_a_phone_is_refused() -> None:
    motion = told(4)
    double = ToldMotion(motion.time_s, motion.accel, 2.0 * motion.turning, motion.up)
    other = ToldMotion(motion.time_s, motion.accel, told(9).turning[::-1], motion.up)
    none = ToldMotion(motion.time_s, motion.accel, 0.0 * motion.turning, motion.up)
    in_g = ToldMotion(motion.time_s, motion.accel / 9.80665, motion.turning, motion.up)
    odd = ToldMotion(motion.time_s, 1.3 * motion.accel, motion.turning, motion.up)
    for wrong, why in (
        (double, PhoneFact.RATES_DO_NOT_FIT),
        (other, PhoneFact.RATES_DO_NOT_FIT),
        (none, PhoneFact.NO_RATES),
        (in_g, PhoneFact.NO_GRAVITY),
        (odd, PhoneFact.GRAVITY_ODD),
    ):
        seen = recognise(wrong)
        assert (seen.convention, seen.trouble) == (None, why)


def test_a_stream_in_each_convention_reads_the_same() -> None:
    """The description that a convention makes brings every browser's lines to the standard's."""
    from feltload.acquisition import decode

    _, accel, rate = turned_by_hand(5, seconds=4.0)
    frames = []
    for gravity, turn, order, unit in (
        (1, 1, "xyz", "deg/s"),
        (-1, 1, "zxy", "rad/s"),
        (-1, -1, "xyz", "rad/s"),
    ):
        told_by = Browser(gravity_sign=gravity, turn_sign=turn, order=order, degrees=unit == "deg/s")
        a, w = spoken(accel, rate, told_by)
        lines = ["0,0,0,0,0,0,0,0,0\n"] + [
            ",".join(f"{value:.7f}" for value in (n, 16.6 * n, *a[n], *w[n], 16.6)) + "\n"
            for n in range(len(a))
        ]
        convention = MotionConvention(gravity, turn, order, unit)  # type: ignore[arg-type]
        stream = convention.description(name="phone", host="127.0.0.1", port=9, start="", rate_hz=60.0)
        frames.append(decode([(0, "".join(lines).encode())], stream).frame)
    columns = [name for name in frames[0] if name[:4] in ("gyro", "acce")]
    assert len(columns) == 6 and len(frames[0]) == len(accel)
    for frame in frames:
        np.testing.assert_allclose(frame[columns[:3]], frames[0][columns[:3]], atol=2e-7)
        np.testing.assert_allclose(frame[[f"gyro_{a}_rad_s" for a in "xyz"]], rate, atol=2e-7)
        np.testing.assert_allclose(frame[[f"accel_{a}_m_s2" for a in "xyz"]], accel, atol=2e-7)
