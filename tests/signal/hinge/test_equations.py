"""The smoother's algebra against differences, dense matrices and values worked by hand."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from feltload.signal.hinge.data import hinge_data
from feltload.signal.hinge.estimator import estimate_hinge
from feltload.signal.hinge.samples import InertialSamples
from feltload.signal.hinge.smoother.knots import PINNED, STATES, Knots, Ties
from feltload.signal.hinge.smoother.learning import _axes, learns_axes
from feltload.signal.hinge.smoother.model import DELAY, GLOBALS, SCALE, Equations, Reduced
from feltload.signal.hinge.smoother.normal import Normal, drift_variance
from feltload.signal.hinge.smoother.places import Places
from feltload.signal.hinge.smoother.prior import Prior
from feltload.signal.noise.densities import InertialNoise
from ramped_arm import record

Z = np.array([0.0, 0.0, 1.0])
RNG = np.random.default_rng(11)


def knots(time_s, starts=(0,), extra=0.0):
    time_s = np.asarray(time_s, dtype=float)
    nothing = np.full(time_s.size, np.nan)
    return Knots(time_s, np.full(time_s.size - 1, extra), nothing, nothing, starts)


UNEVEN = knots([0.0, 0.5, 0.9, 1.5, 2.0])
AT = np.array([0.0, 0.1, 0.2, 0.6, 0.7, 0.9, 1.6, 1.99, 2.0])


def hats(at_s: np.ndarray, knot_s: np.ndarray) -> np.ndarray:
    """Straight interpolation as a matrix, column by column."""
    return np.column_stack([np.interp(at_s, knot_s, unit) for unit in np.eye(knot_s.size)])


def test_equations_lean_on_the_knots_on_either_side():
    shares, dense = UNEVEN.shares(AT), hats(AT, UNEVEN.time_s)
    columns = RNG.standard_normal((AT.size, 3))
    assert shares.gather(columns, 5) == pytest.approx(dense.T @ columns)
    weight = RNG.uniform(0.5, 2.0, AT.size)
    square = dense.T @ np.diag(weight) @ dense
    diagonal, beside = shares.gram(weight, 5)
    assert diagonal == pytest.approx(np.diag(square))
    assert beside == pytest.approx(np.diag(square, 1))


def test_knots_know_their_pieces_and_rests_and_draw_a_cubic_through_each():
    two = replace(
        knots([0.0, 1.0, 2.0, 3.0, 10.0, 11.0, 12.0, 13.0], starts=(0, 4)),
        still_rate=np.array([np.nan, 0.1, np.nan, np.nan, 0.2, np.nan, np.nan, np.nan]),
    )
    assert two.pieces == (slice(0, 4), slice(4, 8))
    assert two.still.tolist() == [1, 4]
    drift = np.where(two.time_s < 5.0, two.time_s**3, 7.0 - two.time_s**2)
    at = np.array([0.25, 1.5, 2.9, 10.25, 12.75])
    early = at < 5.0
    assert two.smooth(at, drift) == pytest.approx(np.where(early, at**3, 7.0 - at**2))
    assert two.smooth(at, drift, 1) == pytest.approx(np.where(early, 3.0 * at**2, -2.0 * at))
    state = np.column_stack([drift, 2.0 * drift])
    there = two.on(np.array([0.5, 12.5]), state)
    assert there == (pytest.approx([0.5, 7.0 - 156.5]), pytest.approx([1.0, 14.0 - 313.0]))


NOISE = InertialNoise(
    gyro_density_rad_s_rt_hz=0.02,
    gyro_walk_rad_s_rt_s=0.03,
    gyro_bias_u_rad_s=0.1,
    accel_walk_m_s2_rt_s=0.05,
)


def test_ties_by_hand():
    """Over 2 s: white noise of 0.02 makes 0.0008 rad², a walk of 0.03 makes 0.0009 x 8 / 3 and, in the rate, 0.0018.

    They have 0.0009 x 2² / 2 in common; a break of 0.1 rad adds to the angle alone. An offset that walks by 0.05 makes
    0.005 in each direction.
    """
    ties = Ties(knots([0.0, 2.0], extra=0.1), NOISE)
    covariance = np.array([[0.0008 + 0.0024 + 0.01, 0.0018], [0.0018, 0.0018]])
    assert ties.information[0, :2, :2] == pytest.approx(np.linalg.inv(covariance))
    assert ties.information[0, 2:, 2:] == pytest.approx(np.eye(2) / 0.005)
    assert not np.any(ties.information[0, :2, 2:])
    # A drift of 0.05 rad/s carries the angle 0.1 rad further; 0.12 rad and 0.08 rad/s are found.
    state = np.array([[0.0, 0.05, 0.3, 0.4], [0.12, 0.08, 0.4, 0.2]])
    error = np.array([0.02, 0.03])
    walked = (0.1**2 + 0.2**2) / 0.005
    assert ties.cost(state) == pytest.approx(error @ np.linalg.inv(covariance) @ error + 0.5**2 + walked)


def test_normal_equations_of_the_ties_are_those_of_their_cost():
    """Half the slope and half the bend of the cost by differences; what holds the free zeros is put beside."""
    ties = Ties(UNEVEN, NOISE)
    size = 5 * STATES
    state = 0.1 * RNG.standard_normal((5, STATES))

    def cost(flat):
        return ties.cost(flat.reshape(5, STATES)) + PINNED * np.sum(flat[[0, 2, 3]] ** 2)

    unit = np.eye(size)
    flat = state.ravel()
    slope = np.array([(cost(flat + 1e-4 * u) - cost(flat - 1e-4 * u)) / 2e-4 for u in unit])
    assert ties.right(state).ravel() == pytest.approx(-0.5 * slope, rel=1e-6, abs=1e-3)
    # The cost is a square, so that its values at unit vectors give all of it.
    bend = np.array([[0.25 * (cost(u + v) - cost(u - v)) for v in unit] for u in unit])
    for k in range(5):
        own, following = (slice(STATES * j, STATES * (j + 1)) for j in (k, k + 1))
        assert ties.diagonal[k] == pytest.approx(bend[own, own], rel=1e-6, abs=1e-3)
        if k < 4:
            assert -ties.back[k] == pytest.approx(bend[own, following], rel=1e-6, abs=1e-3)


@pytest.mark.parametrize("count", [1, 2, 6])
def test_a_bordered_band_is_solved_as_the_whole_matrix_is(count):
    size = STATES * count
    root = RNG.standard_normal((size + 17, size + 17))
    whole = root @ root.T + 5.0 * np.eye(size + 17)
    band = whole[:size, :size]
    for i in range(size):
        for j in range(size):
            if abs(i // STATES - j // STATES) > 1:
                band[i, j] = 0.0
    whole[:size, :size] = band + 200.0 * np.eye(size)
    right = RNG.standard_normal(size + 17)
    knot = [slice(STATES * k, STATES * (k + 1)) for k in range(count)]
    normal = Normal.of(
        np.stack([whole[own, own] for own in knot]),
        np.array([whole[own, after] for own, after in pairwise(knot)]).reshape(-1, STATES, STATES),
        whole[:size, size:].reshape(count, STATES, 17),
        whole[size:, size:],
        right[:size].reshape(count, STATES),
        right[size:],
    )
    solved, corner = normal.solve()
    expected = np.linalg.solve(whole, right)
    assert np.concatenate([solved, corner]) == pytest.approx(expected)
    solved, corner = normal.solve_for(right[:size, None], right[size:, None])
    assert np.concatenate([solved, corner])[:, 0] == pytest.approx(expected)
    assert normal.inverse == pytest.approx(np.linalg.inv(whole)[size:, size:])
    assert normal.log_size == pytest.approx(np.linalg.slogdet(whole)[1])
    inverse = np.linalg.inv(whole[:size, :size])
    assert normal.border_solved == pytest.approx(inverse @ whole[:size, size:])
    assert drift_variance(normal) == pytest.approx(np.diag(inverse)[::STATES])


def data(late_s=0.0, rolling_m=0.0):
    """Four seconds of a smooth swing of 1 Hz on a grid of 100 a second, seen so much later."""
    time_s = np.arange(400) / 100.0
    turned, rate, slope = (
        0.6 - 0.6 * np.cos(2.0 * np.pi * (time_s - late_s)),
        1.2 * np.pi * np.sin(2.0 * np.pi * (time_s - late_s)),
        2.4 * np.pi**2 * np.cos(2.0 * np.pi * (time_s - late_s)),
    )
    flags = np.zeros(400, dtype=bool)
    accel = np.column_stack([np.sin(turned), np.cos(turned), 0.1 * time_s])
    samples = InertialSamples(time_s, np.outer(rate, Z), accel, flags, flags, 100.0, ())
    return replace(hinge_data(samples, Z, rolling_m=rolling_m), turned=turned, rate=rate, slope=slope)


UNKNOWN = np.array(
    [0.1, -0.2, 3.0, 9.0, 0.5, 0.0, 0.4, -9.1, 0.1, 0.3, -0.2, 0.05, 0.2, 0.31, -0.04, 0.01, 0.0]
    + [0.0, 0.0, 0.0, 0.03, -0.045]
)
DRIFT, DRIFT_RATE = np.linspace(0.0, 0.05, 400), np.full(400, 0.0125)
STEADY = np.zeros((46, 2))


def test_the_low_pass_keeps_a_line_and_stands_at_its_middle():
    """A hundred a second thinned by eight; the window is a raised cosine over 33 samples, centred on every eighth."""
    reduce = Reduced.for_rate(100.0)
    assert (reduce.stride, reduce.kernel.size) == (8, 33)
    assert reduce.centres(400).tolist() == list(range(16, 377, 8))
    line = 3.0 + 0.5 * np.arange(400.0)
    assert reduce(line) == pytest.approx(line[reduce.centres(400)])
    hann = 0.5 - 0.5 * np.cos(2.0 * np.pi * np.arange(33) / 32.0)
    values = RNG.standard_normal(400)
    assert reduce(values)[3] == pytest.approx(hann @ values[24:57] / 16.0)
    assert [Reduced.for_rate(rate).stride for rate in (10.0, 18.0, 19.0, 199.0)] == [1, 1, 2, 16]


def axle_acceleration(equations):
    """Of an axle that travels so far per radian in a direction that stays put: that turns backwards in the part."""
    of = equations.data
    angle = 1.01 * of.turned + DRIFT
    still = np.array([0.03, -0.045]) @ equations.across
    turned = np.array([Rotation.from_rotvec(-a * Z).apply(still) for a in angle])
    return equations.reduce((1.01 * of.slope)[None, :] * turned.T).T


@pytest.mark.parametrize("rolling_m", [0.0, 0.05])
def test_derivatives_of_the_equations_are_those_of_their_residuals(rolling_m):
    equations = Equations.of(data(rolling_m=rolling_m))
    there = equations.linearise(UNKNOWN, DRIFT, DRIFT_RATE, STEADY)
    expected = equations.functions(0.01, DRIFT, DRIFT_RATE).T @ UNKNOWN[:15].reshape(5, 3)
    if rolling_m:
        expected = expected + axle_acceleration(equations)
    assert there.residual == pytest.approx(equations.measured - expected)
    # What the offset wanders lies square to the axis, in directions square to each other, and is taken off as it is.
    assert there.across @ np.column_stack([there.across.T, Z]) == pytest.approx(np.eye(3)[:2])
    wandered = RNG.standard_normal(STEADY.shape)
    away = equations.linearise(UNKNOWN, DRIFT, DRIFT_RATE, wandered)
    assert there.residual - away.residual == pytest.approx(wandered @ there.across)

    def slope(step, drift=0.0, **moved):
        column = np.zeros(GLOBALS)
        column[list(moved.get("unknown", []))] = step
        ends = [
            equations.linearise(UNKNOWN + s * column, DRIFT + s * drift * step, DRIFT_RATE, STEADY).residual
            for s in (1.0, -1.0)
        ]
        return (ends[1] - ends[0]) / (2.0 * step)

    assert there.by_angle == pytest.approx(slope(1e-5, drift=1.0), abs=1e-6)
    assert there.by_scale == pytest.approx(slope(1e-5, unknown=[SCALE]), abs=1e-6)
    assert there.by_delay == pytest.approx(slope(1e-3, unknown=[DELAY]), abs=1e-9)
    for k in range(15):
        expected = np.zeros((there.functions.shape[1], 3))
        expected[:, k % 3] = there.functions[k // 3]
        assert slope(1e-3, unknown=[k]) == pytest.approx(expected, abs=1e-9)
    assert len(there.by_rolling) == (2 if rolling_m else 0)
    for k, by_travel in zip(range(20, 22), there.by_rolling, strict=False):
        assert slope(1e-3, unknown=[k]) == pytest.approx(by_travel, abs=1e-9)


@pytest.mark.parametrize("rolling_m", [0.0, 0.05])
def test_a_delay_is_the_same_motion_seen_later(rolling_m):
    """Beside the acceleration, whose own change is left out: the sensor sits on the axis of the tangential part."""
    unknown = UNKNOWN.copy()
    unknown[12:15] = 0.0
    late = 1e-4

    def predicted(of, delay):
        unknown[DELAY] = delay
        equations = Equations.of(of)
        return equations.measured - equations.linearise(unknown, 0.0 * DRIFT, 0.0 * DRIFT, STEADY).residual

    change = predicted(data(late, rolling_m), 0.0) - predicted(data(0.0, rolling_m), 0.0)
    assert np.abs(change).max() > 1e-3
    assert predicted(data(0.0, rolling_m), late) - predicted(data(0.0, rolling_m), 0.0) == pytest.approx(
        change, abs=2e-5
    )


@pytest.mark.parametrize("rolling_m", [0.0, 0.05])
def test_weighted_products_are_those_of_the_dense_derivatives(rolling_m):
    there = Equations.of(data(rolling_m=rolling_m)).linearise(UNKNOWN, DRIFT, DRIFT_RATE, STEADY)
    weight = RNG.uniform(0.0, 2.0, len(there.residual))
    jacobian = np.concatenate(
        [
            np.einsum("fe,ij->eifj", there.functions, np.eye(3)).reshape(len(weight), 3, 15),
            there.by_scale[:, :, None],
            there.by_delay[:, :, None],
            # The angles of the places do not show in the accelerometer.
            np.zeros((len(weight), 3, 3)),
            np.stack(there.by_rolling or (np.zeros((len(weight), 3)),) * 2, axis=2),
        ],
        axis=2,
    )
    corner, right = there.against_unknowns(weight)
    assert corner == pytest.approx(np.einsum("e,eip,eiq->pq", weight, jacobian, jacobian))
    assert right == pytest.approx(np.einsum("e,eip,ei->p", weight, jacobian, there.residual))
    both = np.concatenate([jacobian, there.residual[:, :, None]], axis=2)
    steady = np.broadcast_to(there.across.T, (len(weight), 3, 2))
    moved = np.concatenate([there.by_angle[:, :, None], steady], axis=2)
    assert there.against_states(weight) == pytest.approx(np.einsum("e,eis,eip->esp", weight, moved, both))
    assert there.between_states(weight) == pytest.approx(np.einsum("e,eis,eit->est", weight, moved, moved))


def test_places_by_hand():
    """A stop at 0.1 rad, reached at 0.12 and at 2 sigma from it; the scale counts with what was turned."""
    places = Places(np.array([1.0, 2.0]), np.array([0.0, 0.5]), np.array([0, 2]), np.array([0.02, 0.1]))
    unknown = np.zeros(GLOBALS)
    unknown[17], unknown[19], unknown[SCALE] = 0.1, 0.75, 0.1
    errors = places.errors(np.array([0.12, 0.2]), unknown)
    assert errors == pytest.approx([-0.02, 0.0])
    # A t distribution of two degrees of freedom: (2 + 1) / (2 + 1) at one standard uncertainty, 3 / 2 at none.
    assert places.weight(errors) == pytest.approx([1.0 / 0.02**2, 1.5 / 0.1**2])
    assert places.cost(errors) == pytest.approx(3.0 * np.log(1.5))
    expected = np.zeros((2, GLOBALS))
    expected[0, 17], expected[1, 19], expected[1, SCALE] = -1.0, -1.0, 0.5
    assert places.by_unknown == pytest.approx(expected)


def test_equations_near_what_is_not_valid_are_not_trusted():
    valid = np.ones(400, dtype=bool)
    valid[200] = False
    trusted = Equations.of(replace(data(), valid=valid)).trusted
    # Every window whose weight there is more than 0.02 of 16: the centres from 184 on to 216, but for their edges.
    assert np.flatnonzero(~trusted).tolist() == [22, 23, 24]


def ideal(axis=Z, *, gravity=9.80665, along=3.0, mount=(0.3, -0.2, 0.05)):
    """What an ideal accelerometer shows: B = -j x A, E = -j x D, D across the axis, gravity of its known size."""
    across = np.cross(axis, [0.6, 0.8, 0.1])
    a = np.sqrt(gravity**2 - along**2) * across / np.linalg.norm(across)
    mount = np.array(mount) - axis * (axis @ mount)
    return np.concatenate([along * axis, a, -np.cross(axis, a), mount, -np.cross(axis, mount), np.zeros(7)])


AXES = [Z, np.array([0.48, 0.6, -0.64])]


@pytest.mark.parametrize("axis", AXES)
def test_an_ideal_accelerometer_is_as_expected(axis):
    rows, residual = Prior(axis, InertialNoise()).at(ideal(axis))
    assert residual[[*range(7), *range(10, 16)]] == pytest.approx(np.zeros(13), abs=1e-9)
    # The place is within 0.7 m of nothing.
    assert -residual[7:10] == pytest.approx(ideal(axis)[9:12] / 0.7)
    assert rows.shape == (18, GLOBALS)


@pytest.mark.parametrize("axis", AXES)
def test_what_departs_from_it_counts_in_its_own_uncertainty(axis):
    noise = InertialNoise(
        accel_scale_u=0.002,
        accel_floor_m_s2=0.01,
        accel_point_u_m=0.0005,
        accel_bias_u_m_s2=0.3,
        gyro_scale_u=0.02,
        gyro_accel_delay_u_s=0.003,
    )
    there = ideal(axis)
    turning = np.sqrt(9.80665**2 - 9.0)

    def residual(**moved):
        unknown = there.copy()
        for part, change in moved.items():
            unknown[
                {
                    "c": slice(0, 3),
                    "a": slice(3, 6),
                    "b": slice(6, 9),
                    "e": slice(12, 15),
                    "last": slice(15, 17),
                }[part]
            ] += change
        return Prior(axis, noise).at(unknown)[1]

    off = np.array([0.03, -0.02, 0.01])
    # What turns with the arm and is no gravity counts beside it.
    size = np.hypot(0.002 * turning, 0.01)
    assert -residual(b=off)[:3] == pytest.approx(off / size)
    # Gravity in the plane has no part along the axis.
    assert -residual(a=0.05 * axis)[3] == pytest.approx(0.05 / size, rel=1e-4)
    assert -residual(e=off)[4:7] == pytest.approx(off / 0.0005)
    across = np.cross(axis, off)
    assert -residual(c=across)[10:13] == pytest.approx(across / 0.3)
    assert -residual(last=np.array([0.01, -0.006]))[13:15] == pytest.approx([0.5, -2.0])
    # A metre per second squared more of gravity, known to 0.002 of it and to its share along the axis of an offset.
    unknown = there.copy()
    unknown[:6] *= 10.80665 / 9.80665
    along = 3.0 * 10.80665 / 9.80665
    u = np.hypot(0.002 * 9.80665, 0.3 * along / 9.80665)
    assert Prior(axis, noise).at(unknown)[1][15] == pytest.approx(-1.0 / u)
    # A better accelerometer leaves gravity at the place: 9.78 to 9.83 m/s², 0.015 as a standard uncertainty.
    better = replace(noise, accel_scale_u=0.0005, accel_bias_u_m_s2=1e-6)
    assert Prior(axis, better).at(unknown)[1][15] == pytest.approx(-1.0 / 0.015, rel=1e-6)


@pytest.mark.parametrize("axis", AXES)
def test_what_a_skewed_matrix_does_to_gravity_it_does_to_the_place_too(axis):
    """Every reading through a matrix that is off by 1e-4: the rows that compare places are off by its square."""
    matrix = np.eye(3) + 1e-4 * RNG.standard_normal((3, 3))
    unknown = ideal(axis)
    unknown[:15] = (unknown[:15].reshape(5, 3) @ matrix.T).ravel()
    at = Prior(axis, InertialNoise()).at(unknown)[1]
    alone = (unknown[12:15] + np.cross(axis, unknown[9:12])) / 0.0005
    assert np.abs(alone).max() > 0.01
    assert np.abs(at[4:7]).max() < 1e-3 * np.abs(alone).max()


def test_rows_are_derivatives_of_their_residuals():
    prior, there = Prior(Z, InertialNoise()), ideal()
    rows = prior.at(there)[0]
    for k in range(17):
        step = np.zeros(GLOBALS)
        step[k] = 1e-6
        change = (prior.at(there - step)[1] - prior.at(there + step)[1]) / 2e-6
        # The sizes that rows are divided by change too, but at an ideal accelerometer they divide nothing.
        assert rows[:, k] == pytest.approx(change, rel=1e-4, abs=1e-3)


def test_what_is_left_of_the_equations_has_the_scatter_of_low_passed_noise():
    """0.005 m/s² a sample through a window whose squares add up to 3/64: a raised cosine over 32 samples.

    A sixth or so of it is fitted away by knots and global unknowns.
    """
    lifts = [(3.0, 60.0), (5.0, 10.0), (7.0, 60.0), (9.0, 0.0), (11.0, 60.0), (13.0, 0.0)]
    quiet = InertialNoise(accel_density_m_s2_rt_hz=1e-6)
    motion = estimate_hinge(*record(lifts)[:3], noise=quiet)
    assert motion.parameters.accel_residual_m_s2 == pytest.approx(0.005 * np.sqrt(3.0 / 64.0), rel=0.2)
    # Never less than the noise that is known: the density through the same window at a hundred a second.
    loud = InertialNoise(accel_density_m_s2_rt_hz=1e-3)
    motion = estimate_hinge(*record(lifts)[:3], noise=loud)
    assert motion.parameters.accel_residual_m_s2 == pytest.approx(1e-3 * 10.0 * np.sqrt(3.0 / 64.0), rel=1e-6)


@pytest.mark.parametrize(
    ("off", "size"),
    [
        # Four readings of which one is n times the present 0.005, beside two of the usual 0.0025.
        (0.0, np.sqrt(2.0 * 0.0025**2 / 6.0)),
        (2.0, np.sqrt((2.0 * 0.0025**2 + 4.0 * 0.005**2) / 6.0)),
        # No accelerometer is treated as worse than 0.025.
        (30.0, 0.025),
    ],
)
def test_the_size_of_the_accelerometers_errors_is_learned_from_a_solution(off, size):
    usual = InertialNoise(accel_scale_u=0.0025, accel_scale_limit_u=0.006, accel_floor_m_s2=0.0)
    present = replace(usual, accel_scale_u=0.005)
    unknown = ideal()
    unknown[6] += off * 0.005 * np.linalg.norm(unknown[3:6])
    found = SimpleNamespace(unknown=unknown, normal=SimpleNamespace(inverse=np.zeros((GLOBALS, GLOBALS))))
    learned = _axes(SimpleNamespace(noise=present, prior=Prior(Z, present)), found, usual)
    assert learned.accel_scale_u == pytest.approx(size)
    assert learned.accel_scale_limit_u == pytest.approx(max(size, 0.006))
    assert learns_axes(usual)
    # A size that was calibrated stays.
    assert not learns_axes(replace(usual, accel_scale_limit_u=0.0025))
