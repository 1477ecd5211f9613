"""Sizes learned from the record, where what the data say of each is a curve that is written down.

Sizes are counted in doublings of what is usual. A size k doublings off costs (k ln 2 / ln 3)² = 0.398 k², and a step
has to gain 0.5.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from types import SimpleNamespace

import numpy as np
import pytest

from feltload.signal.hinge.smoother.learning import MOST_ROUNDS, _axes, _wandering, learned_solution
from feltload.signal.hinge.smoother.model import GLOBALS
from feltload.signal.noise.densities import InertialNoise

#: Its accelerometer was calibrated: the size of the axes' errors stays.
USUAL = InertialNoise(accel_scale_u=0.002, accel_scale_limit_u=0.002)
FIELDS = ("gyro_density_rad_s_rt_hz", "gyro_walk_rad_s_rt_s", "accel_walk_m_s2_rt_s")


def doublings(noise):
    return tuple(float(np.log2(getattr(noise, name) / getattr(USUAL, name))) for name in FIELDS)


def doubled(*steps):
    return replace(
        USUAL, **{name: getattr(USUAL, name) * 2.0**step for name, step in zip(FIELDS, steps, strict=True)}
    )


@dataclass(frozen=True)
class Written:
    """Stands in for a problem: `cost` is what its data say of the sizes (gyro noise, gyro walk, accelerometer walk)."""

    cost: Callable[..., float]
    noise: InertialNoise = USUAL
    by_gravity: bool = True
    off: float = 0.0
    solved: list[InertialNoise] = field(default_factory=list)

    @property
    def prior(self):
        rows = np.zeros((16, GLOBALS))
        rows[:, 0] = self.off
        return SimpleNamespace(at=lambda unknown: (rows, np.zeros(16)))

    def observed(self, found):
        return ("seen at", found)

    def evidence_cost(self, found, seen):
        assert seen == ("seen at", found)
        return self.cost(*doublings(self.noise))

    def again(self, found):
        self.solved.append(self.noise)
        return found_with(len(self.solved))


def found_with(number):
    normal = SimpleNamespace(inverse=np.zeros((GLOBALS, GLOBALS)))
    return SimpleNamespace(unknown=np.ones(GLOBALS), normal=normal, number=number)


def steep(*bottom):
    """What is most likely lies at these doublings, and ten times their square beside it is less likely."""
    return lambda *at: 10.0 * float(np.sum((np.array(at) - bottom) ** 2))


def test_each_size_goes_to_where_the_data_are_most_likely():
    problem, found = learned_solution(Written(steep(3, 2, -1)), found_with(0), USUAL)
    assert doublings(problem.noise) == pytest.approx((3, 2, -1))
    # Solved once with what was learned; learning again finds nothing else.
    assert problem.solved == [problem.noise] and found.number == 1


@pytest.mark.parametrize(
    ("bottom", "reached"),
    [
        # 512 and 1024, 64 and 128 times the usual beside 1000 and 100; 64 itself.
        (20, (9, 6, 6)),
        # 0.5 and 0.25 beside 0.45; a bias walks no less than is usual; 0.25 itself.
        (-20, (-1, 0, -2)),
    ],
)
def test_no_size_leaves_its_range(bottom, reached):
    learned = _wandering(Written(steep(bottom, bottom, bottom)), found_with(0), USUAL)
    assert doublings(learned) == pytest.approx(reached)
    # The range is about what is usual, wherever the search begins.
    begun = Written(steep(bottom, bottom, bottom), noise=doubled(2, 1, 1))
    assert doublings(_wandering(begun, found_with(0), USUAL)) == pytest.approx(reached)


@pytest.mark.parametrize(
    ("gain", "steps"),
    # Step k costs 0.398 (2k - 1): 0.398, 1.194, 1.990.
    [(0.88, 0), (0.92, 1), (1.67, 1), (1.72, 2), (2.47, 2), (2.51, 3)],
)
def test_a_step_has_to_gain_more_than_it_is_unusual(gain, steps):
    learned = _wandering(Written(lambda density, walk, accel: -gain * density), found_with(0), USUAL)
    assert doublings(learned) == pytest.approx((steps, 0, 0))


def test_data_that_say_nothing_leave_what_is_usual():
    found = found_with(0)
    problem, same = learned_solution(Written(lambda *at: 7.0), found, USUAL)
    assert problem.noise == USUAL and same is found and not problem.solved
    # From eight times the usual back to twice: 0.398 (9 - 4) and 0.398 (4 - 1) are gained, 0.398 is too little.
    begun = Written(lambda *at: 7.0, noise=doubled(3, 3, 3))
    assert doublings(_wandering(begun, found, USUAL)) == pytest.approx((1, 1, 1))


def test_sizes_that_lean_on_each_other_are_searched_twice():
    """At first the gyro's noise is best as it is. Its walk goes from 45 to 23 and 17, not to 27; then noise follows."""
    coupled = Written(lambda density, walk, accel: 5.0 * (walk - 3) ** 2 + 3.0 * (density - walk) ** 2)
    assert doublings(_wandering(coupled, found_with(0), USUAL)) == pytest.approx((2, 2, 0))


def test_without_gravity_nothing_of_the_accelerometer_is_learned():
    open_axes = replace(USUAL, accel_scale_limit_u=0.02)
    written = Written(steep(3, 2, -1), noise=open_axes, by_gravity=False, off=9.0)
    noise = learned_solution(written, found_with(0), open_axes)[0].noise
    assert doublings(noise) == pytest.approx((3, 2, 0))
    assert noise.accel_scale_u == 0.002


def test_axes_that_were_calibrated_stay_and_others_are_learned_beside_the_rest():
    calibrated = learned_solution(Written(steep(3, 2, -1), off=3.0), found_with(0), USUAL)[0]
    assert calibrated.noise.accel_scale_u == 0.002
    # Four rows of three standard uncertainties, and twice the usual one: 0.002 sqrt((2 + 4 x 9) / 6).
    usual = replace(USUAL, accel_scale_limit_u=0.02)
    flat = learned_solution(Written(lambda *at: 7.0, noise=usual, off=3.0), found_with(0), usual)
    assert flat[0].noise.accel_scale_u == pytest.approx(0.002 * np.sqrt(38.0 / 6.0))
    # One step of it, solved once.
    assert len(flat[0].solved) == 1 and flat[1].number == 1
    both = learned_solution(Written(steep(3, 2, -1), noise=usual, off=3.0), found_with(0), usual)[0]
    assert doublings(both.noise) == pytest.approx((3, 2, -1))
    assert both.noise.accel_scale_u > 0.005 and both.solved[0] != both.solved[1]


def test_learning_that_does_not_settle_ends():
    solved: list[InertialNoise] = []
    running = Written(lambda density, walk, accel: 40.0 * (density - len(solved) - 1) ** 2, solved=solved)
    problem, found = learned_solution(running, found_with(0), USUAL)
    assert doublings(problem.noise) == pytest.approx((MOST_ROUNDS, 0, 0))
    assert MOST_ROUNDS == 4 and found.number == 4


def test_a_search_that_always_gains_ends_after_forty_trials():
    """Within their ranges the sizes go 9 steps up and 10 down, 6 and 6, 6 and 8, and then begin again."""
    asked: list[tuple[float, ...]] = []

    def ever_likelier(*at):
        asked.append(at)
        return -100.0 * len(asked)

    _wandering(Written(ever_likelier), found_with(0), USUAL)
    assert len(asked) == 1 + 40


@pytest.mark.parametrize(
    ("off", "variance", "size"),
    [
        # Twice the usual one and four rows of (3² + 2): what is uncertain adds to what is seen.
        (3.0, 2.0, 0.002 * np.sqrt(46.0 / 6.0)),
        (100.0, 0.0, 0.025),
    ],
)
def test_axes_count_what_is_uncertain_and_stay_within_their_range(off, variance, size):
    found = found_with(0)
    found.normal.inverse[0, 0] = variance / off**2
    usual = replace(USUAL, accel_scale_limit_u=0.004)
    noise = _axes(Written(steep(0, 0, 0), noise=usual, off=off), found, usual)
    assert noise.accel_scale_u == pytest.approx(size)
    # What is stated is no better than what the estimate is computed with.
    assert noise.accel_scale_limit_u == pytest.approx(size)


def test_the_best_axes_are_not_believed_to_be_better_than_any():
    usual = replace(USUAL, accel_scale_u=0.001, accel_scale_limit_u=0.004)
    noise = _axes(Written(steep(0, 0, 0), noise=usual), found_with(0), usual)
    # 0.001 sqrt(2 / 6) = 0.00058 is below the range.
    assert noise.accel_scale_u == pytest.approx(0.0008)
    assert noise.accel_scale_limit_u == pytest.approx(0.004)
