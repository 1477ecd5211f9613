"""Errors that come back with the angle, against the same least squares written out densely."""

from __future__ import annotations

from dataclasses import dataclass
from types import SimpleNamespace

import numpy as np
import pytest

from feltload.signal.hinge.smoother.knots import STATES, Knots
from feltload.signal.hinge.smoother.model import DELAY, GLOBALS, SCALE, Linearised
from feltload.signal.hinge.smoother.normal import Normal
from feltload.signal.hinge.smoother.systematic import systematic_errors

SCALE_ERROR, DRIFT_RAD = 0.25, np.array([0.1, 0.9])
SIGMA, INFLATION, WEIGHT = 0.05, 2.0, 1.25
KNOTS = 2
MATRIX_SIZE = STATES * KNOTS + GLOBALS


@dataclass(frozen=True)
class Case:
    """A problem, its solution, the full normal matrix and the number of each equation's bin of the angle."""

    problem: SimpleNamespace
    found: SimpleNamespace
    matrix: np.ndarray
    bins: np.ndarray


def a_case(counts, means, *, by_gravity=True):
    """`counts` equations in each bin of 15°; the residuals of a bin are its mean (3,), without scatter."""
    rng = np.random.default_rng(3)
    bins = np.repeat(np.arange(len(counts)), counts)
    count = len(bins)
    time_s = 0.1 * np.arange(count)
    theta = np.radians(15.0 * bins + np.where(np.arange(count) == 0, 0.0, 7.0)) - 0.4
    knots = Knots(
        np.array([0.0, time_s[-1]]), np.zeros(1), np.full(KNOTS, np.nan), np.full(KNOTS, np.nan), (0,)
    )
    turned = (theta - np.interp(time_s, knots.time_s, DRIFT_RAD)) / (1.0 + SCALE_ERROR)
    lin = Linearised(
        np.asarray(means, dtype=float)[bins],
        *(rng.normal(size=shape) for shape in ((count, 3), (2, 3), (5, count), (count, 3), (count, 3))),
    )
    root = rng.normal(size=(MATRIX_SIZE, MATRIX_SIZE))
    matrix = root @ root.T + MATRIX_SIZE * np.eye(MATRIX_SIZE)
    band = STATES * KNOTS
    normal = Normal.of(
        np.stack([matrix[:4, :4], matrix[4:8, 4:8]]),
        matrix[None, :4, 4:8],
        matrix[:band, band:].reshape(KNOTS, STATES, GLOBALS),
        matrix[band:, band:],
        np.zeros((KNOTS, STATES)),
        np.zeros(GLOBALS),
    )
    unknown = np.zeros(GLOBALS)
    unknown[SCALE] = SCALE_ERROR
    data = SimpleNamespace(time_s=time_s, turned=turned)
    problem = SimpleNamespace(
        knots=knots,
        equations=SimpleNamespace(time_s=time_s, data=data),
        by_gravity=by_gravity,
        shares=knots.shares(time_s),
    )
    found = SimpleNamespace(
        unknown=unknown,
        drift=DRIFT_RAD,
        linearised=lin,
        weight=np.full(count, WEIGHT),
        sigma=SIGMA,
        inflation=INFLATION,
        normal=normal,
    )
    return Case(problem, found, matrix, bins)


def rows(case, component):
    """Derivative of one component of each equation to every knot's state and the global unknowns, (e, 28)."""
    lin, count = case.found.linearised, len(case.bins)
    late = np.arange(count) / (count - 1)
    out = np.zeros((count, MATRIX_SIZE))
    for knot, share in enumerate((1.0 - late, late)):
        out[:, STATES * knot] = share * lin.by_angle[:, component]
        for way in range(2):
            out[:, STATES * knot + 2 + way] = share * lin.across[way, component]
    unknowns = out[:, STATES * KNOTS :]
    for function in range(5):
        unknowns[:, 3 * function + component] = lin.functions[function]
    unknowns[:, SCALE], unknowns[:, DELAY] = lin.by_scale[:, component], lin.by_delay[:, component]
    return out


def moved(case, bins, size):
    """What an error of `size` in a component over a bin does, densely: drift at the knots (2, d), scale (d,)."""
    information = WEIGHT / (SIGMA**2 * INFLATION)
    moves = [
        np.linalg.solve(
            case.matrix, size * information * rows(case, component)[case.bins == number].sum(axis=0)
        )
        for number in bins
        for component in range(3)
    ]
    both = np.stack(moves, axis=1)
    return both[[0, STATES]], both[STATES * KNOTS + SCALE]


def test_a_bin_and_component_moves_the_solution_by_its_share():
    """Four bins of ten: 12 means, of which a third of them, 4, are left when 9 are fitted.

    Each mean is known to 0.05² x 2 / (1.25 x 10) = 0.0004, and they are 0.03, 0.04, 0 in turn.
    """
    means = [[0.03, -0.04, 0.0], [0.0, 0.03, 0.04], [0.04, 0.0, -0.03], [-0.03, 0.0, 0.04]]
    case = a_case([10] * 4, means)
    errors = systematic_errors(case.problem, case.found)
    size = np.sqrt((4 * 0.0025 - 12 * 0.0004) / 4.0)
    drift, scale = moved(case, range(4), size)
    assert errors.drift == pytest.approx(drift)
    assert errors.scale == pytest.approx(scale)


def test_nine_means_are_fitted_and_thin_bins_do_not_count():
    """Seven bins, one of six equations (weight 7.5): 18 means, 9 of them fitted. Seven equations weigh 8.75."""
    means = np.tile([0.06, 0.0, -0.08], (7, 1))
    case = a_case([10, 20, 6, 10, 7, 10, 10], means)
    errors = systematic_errors(case.problem, case.found)
    variance = 3 * SIGMA**2 * INFLATION / WEIGHT * (4 / 10 + 1 / 20 + 1 / 7)
    drift, scale = moved(case, (0, 1, 3, 4, 5, 6), np.sqrt((6 * 0.01 - variance) / 9.0))
    assert errors.drift == pytest.approx(drift)
    assert errors.scale == pytest.approx(scale)


def test_three_bins_are_enough_and_two_are_not():
    means = np.full((3, 3), 0.1)
    case = a_case([10] * 3, means)
    errors = systematic_errors(case.problem, case.found)
    # Nine means: three of them are left.
    drift, scale = moved(case, range(3), np.sqrt(9 * (0.01 - 0.0004) / 3.0))
    assert errors.drift == pytest.approx(drift) and errors.scale == pytest.approx(scale)
    for few in (a_case([10] * 2, means), a_case([10, 10, 6], means)):
        nothing = systematic_errors(few.problem, few.found)
        assert nothing.drift.tolist() == [[0.0], [0.0]] and nothing.scale.tolist() == [0.0]


@pytest.mark.parametrize(("mean", "by_gravity"), [(0.019, True), (0.1, False)])
def test_no_error_where_the_means_are_no_larger_than_their_noise_or_gravity_is_left_out(mean, by_gravity):
    """The noise of a mean is 0.02."""
    case = a_case([10] * 4, np.full((4, 3), mean), by_gravity=by_gravity)
    errors = systematic_errors(case.problem, case.found)
    assert errors.drift.tolist() == [[0.0], [0.0]] and errors.scale.tolist() == [0.0]
