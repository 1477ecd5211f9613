"""What puts a profile in doubt, each limit from both sides on fits written down by hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from feltload.core import Severity
from feltload.signal.alignment.facts import AlignmentFact
from feltload.signal.alignment.lag import Lag, LagMethod, LagReading
from feltload.signal.profile.assembly import angle_grid
from feltload.signal.profile.disagreement import disagreement_facts
from feltload.signal.profile.facts import ProfileFact
from feltload.signal.profile.quality import coverage_facts, fit_facts, lag_facts, load_facts

KEPT_ALL = np.ones(100, dtype=bool)


def fitted(scale_n=0.0, weights=None, kept=KEPT_ALL):
    weights = np.ones(100) if weights is None else weights
    return SimpleNamespace(
        fit=SimpleNamespace(scale_n=scale_n, weights=(weights,), kept=(kept,)), gives=False
    )


def kinds(facts):
    return [fact.kind for fact in facts]


STATIC, FRICTION = np.array([[50.0, 100.0, -20.0]]), np.array([[5.0, 0.0, 4.0]])


def test_a_fit_without_fault_has_no_facts():
    assert fit_facts(fitted(2.9), STATIC, FRICTION) == []


def test_scatter_above_three_percent_of_the_peak():
    (fact,) = fit_facts(fitted(4.0), STATIC, FRICTION)
    assert (fact.kind, fact.figures) == (ProfileFact.SCATTER, {"scatter_n": 4.0, "share": 0.04})


def test_data_not_fitted_above_a_twentieth():
    weights = np.ones(100)
    weights[:6] = 0.05
    (fact,) = fit_facts(fitted(weights=weights), STATIC, FRICTION)
    assert (fact.kind, fact.figures) == (ProfileFact.NOT_FITTED, {"share": 0.06, "gives": False})
    weights[0] = 0.06
    assert fit_facts(fitted(weights=weights), STATIC, FRICTION) == []
    # What was left out beforehand does not count again.
    weights[:3] = 0.0
    assert fit_facts(fitted(weights=weights, kept=weights > 0.01), STATIC, FRICTION) == []


def test_friction_below_zero_by_two_percent_of_the_peak():
    assert fit_facts(fitted(), STATIC, FRICTION - 1.9) == []
    (fact,) = fit_facts(fitted(), STATIC, FRICTION - 2.1)
    assert (fact.kind, fact.severity) == (ProfileFact.NEGATIVE_FRICTION, Severity.SERIOUS)
    assert fact.figures["friction_n"] == pytest.approx(-2.1)


def test_a_force_mostly_below_zero():
    assert kinds(fit_facts(fitted(), np.array([[-101.0, 100.0]]), FRICTION)) == [ProfileFact.NEGATIVE_FORCE]
    assert fit_facts(fitted(), np.array([[-99.0, 100.0]]), FRICTION) == []


def coverage(raising, lowering, *, loads_kg=(40.0,)):
    raising, lowering = np.atleast_2d(raising), np.atleast_2d(lowering)
    covered = np.all((raising > 0) & (lowering > 0), axis=0)
    layout = SimpleNamespace(loads_kg=np.array(loads_kg), loads_differ=len(loads_kg) > 1)
    angle = 0.1 * np.arange(raising.shape[1])
    return coverage_facts(SimpleNamespace(layout=layout), raising, lowering, covered, angle)


def test_travel_that_was_covered_has_no_facts():
    assert coverage(np.full(50, 2), np.full(50, 2)) == []


def test_a_hole_in_the_travel_is_told_with_its_stretches():
    raising = np.full(50, 3)
    raising[[10, 11, 12, 30]] = 0
    (fact,) = coverage(raising, np.full(50, 3))
    assert fact.kind == ProfileFact.NOT_COVERED
    assert fact.figures["low_rad"] == pytest.approx((1.0, 3.0))
    assert fact.figures["high_rad"] == pytest.approx((1.2, 3.0))
    # Between the first and the last angle covered it is a hole, however near to the end.
    raising = np.full(50, 3)
    raising[[1, 48]] = 0
    (fact,) = coverage(raising, np.full(50, 3))
    assert fact.figures["low_rad"] == fact.figures["high_rad"] == pytest.approx((0.1, 4.8))


@pytest.mark.parametrize(("count", "kind"), [(0, ProfileFact.PARTLY_COVERED), (1, ProfileFact.COVERED_ONCE)])
def test_ends_and_single_passes_are_told_beyond_six_percent_of_the_travel(count, kind):
    def lowered(few):
        lowering = np.full(50, 3)
        lowering[:few] = count
        return coverage(np.full(50, 3), lowering)

    assert lowered(3) == []
    (fact,) = lowered(4)
    assert fact.kind == kind
    assert (fact.figures["low_rad"], fact.figures["high_rad"]) == ((0.0,), pytest.approx((0.3,)))
    assert "load_kg" not in fact.figures


def test_several_loads_are_told_apart():
    raising = np.full((2, 50), 3)
    raising[1, 20] = 0
    (fact,) = coverage(raising, np.full((2, 50), 3), loads_kg=(20.0, 40.0))
    assert fact.figures["load_kg"] == 40.0


def lag(value_s, *, known=True, spread_s=0.0):
    readings = (
        LagReading(LagMethod.KNOCK, value_s, 0.001),
        LagReading(LagMethod.DYNAMICS, value_s + spread_s, 0.001),
    )
    return Lag(value_s, 0.002, readings, known=known)


def test_lags_in_doubt():
    first = SimpleNamespace(name="first", drift_taken_rad=np.radians(0.29), zero_drift=None, zero_known=None)
    solved = SimpleNamespace(sessions=(SimpleNamespace(aligned=first),))
    assert lag_facts(solved, [lag(0.03)]) == []
    first.drift_taken_rad = np.radians(0.31)
    (drifted,) = lag_facts(solved, [lag(0.03)])
    assert (drifted.kind, drifted.session) == (AlignmentFact.DRIFT_TAKEN_OFF, "first")
    first.drift_taken_rad = 0.0
    assert (
        kinds(lag_facts(solved, [lag(-0.11)]))
        == kinds(lag_facts(solved, [lag(0.31)]))
        == [AlignmentFact.LAG_LARGE]
    )
    assert lag_facts(solved, [lag(-0.1)]) == lag_facts(solved, [lag(0.3)]) == []
    (fact,) = lag_facts(solved, [lag(0.4, known=False)])
    assert (fact.kind, fact.session, fact.figures) == (
        AlignmentFact.LAG_UNKNOWN, "first", {"lag_s": 0.4, "u_s": 0.002},
    )  # fmt: skip
    (fact,) = lag_facts(solved, [lag(0.03, spread_s=0.02)])
    assert (fact.kind, fact.figures["methods"]) == (AlignmentFact.LAGS_DISAGREE, ("knock", "dynamics"))
    assert fact.figures["lag_s"] == pytest.approx((0.03, 0.05))


@pytest.mark.parametrize(
    ("heavy_n", "heavy_inertia", "severity"),
    [(150.0, 9.0, None), (97.5, 7.0, None), (60.0, 9.0, Severity.CAUTION), (60.0, 4.0, Severity.SERIOUS)],
)
def test_more_load_that_asks_for_less_is_an_assisted_machine_or_swapped(heavy_n, heavy_inertia, severity):
    static, inertia = (np.outer(sizes, np.ones(5)) for sizes in ([100.0, heavy_n], [5.0, heavy_inertia]))
    facts = load_facts(np.array([20.0, 40.0]), static, inertia)
    assert [fact.severity for fact in facts] == ([] if severity is None else [severity])


def left_out(off_n, *, of=10, rows_off=5, raising=True):
    """Half-repetitions of ten rows, the first ones off by these forces over their middle."""
    run = np.repeat(np.arange(of), 10)
    q = np.tile(np.linspace(0.0, 0.9, 10), of)
    kept, residual = np.ones(run.size, dtype=bool), np.zeros(run.size)
    for k, apart_n in enumerate(off_n):
        where = (run == k) & (q > 0.25) & (q < 0.25 + 0.1 * rows_off)
        kept[where], residual[where] = False, apart_n
    rows = SimpleNamespace(
        run=run,
        q_rad=q,
        runs=[SimpleNamespace(direction=1 if raising else -1)] * of,
        aligned=SimpleNamespace(load_kg=40.0, force_step_s=0.0125),
    )
    solved = SimpleNamespace(
        sessions=(rows,),
        fit=SimpleNamespace(kept=(kept,), residuals_n=(residual,)),
        layout=SimpleNamespace(loads_kg=np.array([40.0]), loads_differ=False),
        gives=False,
    )
    return disagreement_facts(solved, 0.5, 200.0)


def test_half_repetitions_left_out_are_counted_with_their_place_and_force():
    (fact,) = left_out([30.0, 40.0], raising=False)
    assert (fact.kind, fact.severity) == (ProfileFact.HALF_REPETITIONS_LEFT_OUT, Severity.CAUTION)
    figures = dict(fact.figures)
    # Rows at 0.3 to 0.7 rad from a start stop at 0.5 rad.
    assert (figures.pop("low_rad"), figures.pop("high_rad")) == pytest.approx((0.8, 1.2))
    assert figures == {
        "way": "lowering",
        "count": 2,
        "of": 10,
        "apart_n": 35.0,
        "split": False,
        "gives": False,
    }


def test_from_three_in_ten_on_the_larger_group_is_in_doubt():
    (fact,) = left_out([30.0, 40.0, -50.0])
    assert (fact.severity, fact.figures["split"], fact.figures["way"]) == (Severity.SERIOUS, True, "raising")
    assert fact.figures["apart_n"] == 30.0


def test_a_single_one_is_told_from_ten_newtons_on_and_three_rows():
    assert left_out([9.9]) == left_out([-9.9]) == []
    assert kinds(left_out([-10.1])) == [ProfileFact.HALF_REPETITIONS_LEFT_OUT]
    assert left_out([9.9, 9.9])
    assert left_out([50.0], rows_off=2) == []
    assert left_out([50.0], rows_off=3)


@pytest.mark.parametrize(
    ("low_deg", "high_deg", "first_deg", "step_deg", "count"),
    [
        # The coarsest step that leaves 40 angles.
        (-0.3, 100.2, 0.0, 2.0, 51),
        (0.1, 60.0, 1.0, 1.0, 60),
        (-20.3, 0.0, -20.0, 0.5, 41),
        (5.0, 15.1, 5.0, 0.25, 41),
        (5.0, 6.0, 5.0, 0.25, 5),
        (0.0, 80.0, 0.0, 2.0, 41),
    ],
)
def test_round_angles_inside_the_travel(low_deg, high_deg, first_deg, step_deg, count):
    grid = np.degrees(angle_grid(np.radians(low_deg), np.radians(high_deg)))
    assert grid == pytest.approx(first_deg + step_deg * np.arange(count))
