"""Findings against the true machine; classes of curves after Kulig, Andrews & Hay 1984 (terms from memory)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.polynomial import Polynomial

from built_estimate import built_estimate
from feltload.signal.errors import ProfileError
from feltload.signal.profile.facts import FindingFact
from feltload.signal.profile.findings import (
    SMOOTH_PEAK_ACCELERATION,
    describe_shape,
    friction_share,
    inertia_at_tempo_n,
    summarize_findings,
)
from made_estimate import made_estimate


@pytest.mark.parametrize(
    ("curve", "shape"),
    [
        (lambda x: 100 + 80 * x, "ascending"),
        (lambda x: 180 - 80 * x, "descending"),
        (lambda x: 100 + 80 * np.sin(np.pi * x), "ascending-descending"),
        (lambda x: 180 - 80 * np.sin(np.pi * x), "descending-ascending"),
        (lambda x: 150 + 3 * np.sin(7 * x), "flat"),
        (lambda x: 100 + 80 * np.sin(0.55 * np.pi * x), "ascending"),
    ],
)
def test_shape_classes(curve, shape):
    x = np.linspace(0.0, 1.0, 60)
    assert describe_shape(built_estimate(x, curve(x))).shape == shape


def test_figures_of_a_shape_by_hand():
    shape = describe_shape(
        built_estimate(
            [0.1, 0.2, 0.3, 0.4], [[9.0, 9.0, 9.0, 9.0], [100.0, 200.0, 80.0, 150.0]], (20.0, 40.0)
        ),
        1,
    )
    assert (shape.load_kg, shape.peak_n, shape.peak_angle_rad) == (40.0, 200.0, 0.2)
    assert (shape.low_n, shape.low_angle_rad, shape.end_n) == (80.0, 0.3, 150.0)
    assert shape.drop_off_percent == pytest.approx(25.0)


@pytest.mark.parametrize(
    ("curve", "shape"),
    [
        # A limb counts from 8 % of the peak on.
        ([93.0, 97.0, 100.0], "flat"),
        ([91.0, 97.0, 100.0], "ascending"),
        ([100.0, 97.0, 91.0], "descending"),
        ([91.0, 100.0, 91.0], "ascending-descending"),
        ([80.0, 100.0, 93.0], "ascending"),
        ([100.0, 91.0, 100.0], "descending-ascending"),
        ([100.0, 80.0, 87.0], "descending"),
        # Both a top and a bottom inside: the larger of the smaller limbs decides.
        ([80.0, 100.0, 70.0, 75.0], "ascending-descending"),
        ([80.0, 100.0, 55.0, 65.0], "ascending-descending"),
        ([90.0, 100.0, 70.0, 88.0], "descending-ascending"),
    ],
)
def test_limbs_of_a_curve(curve, shape):
    assert describe_shape(built_estimate(np.arange(float(len(curve))), curve)).shape == shape


def test_peak_acceleration_of_a_smooth_movement():
    # Flash & Hogan (1985): from rest to rest along 10 t^3 - 15 t^4 + 6 t^5; its largest acceleration by polynomials.
    path = Polynomial([0.0, 0.0, 0.0, 10.0, -15.0, 6.0])
    largest = max(path.deriv(2)(root.real) for root in path.deriv(3).roots())
    assert pytest.approx(largest) == SMOOTH_PEAK_ACCELERATION


def test_force_that_starting_adds_at_the_persons_own_tempo():
    one = next(r for r in made_estimate().repetitions if r.load_kg == 40.0)
    sets = [
        replace(one, low_rad=0.1, high_rad=1.3, concentric_s=1.5),
        replace(one, low_rad=0.1, high_rad=1.1, concentric_s=1.0),
        replace(one, concentric_s=0.1, complete=False),
        replace(one, concentric_s=0.1, load_kg=20.0),
    ]
    made = built_estimate(
        [0.0, 0.5, 1.0], np.full((2, 3), 100.0), (20.0, 40.0),
        repetitions=tuple(sets), inertia_by_load_n_per_rad_s2=np.array([[1.0, 1.0, 1.0], [4.0, 6.0, 9.0]]),
    )  # fmt: skip
    # 10 / sqrt(3) (1.2 / 1.5^2 + 1.0 / 1.0^2) / 2 = 4.426 rad/s^2, times the median felt inertia of 6.
    assert inertia_at_tempo_n(made, 1) == pytest.approx(6.0 * 10.0 / np.sqrt(3.0) * (1.2 / 2.25 + 1.0) / 2.0)
    assert np.isnan(inertia_at_tempo_n(replace(made, repetitions=()), 1))


def test_a_drop_off_is_reported_from_eight_percent_of_the_peak_on():
    def kinds(end_n):
        return {
            fact.kind for fact in summarize_findings(built_estimate([0.0, 0.5, 1.0], [60.0, 100.0, end_n]))
        }

    assert FindingFact.DROP_OFF in kinds(91.9)
    assert FindingFact.DROP_OFF not in kinds(92.1)
    # Without a complete repetition nothing is said of tempo.
    assert FindingFact.INERTIA not in kinds(91.9)


def test_friction_share_is_of_the_size_of_the_force():
    made = built_estimate([0.0, 0.5, 1.0], [-100.0, 50.0, 150.0], friction_n=np.array([[3.0, 6.0, 9.0]]))
    assert friction_share(made) == pytest.approx(6.0 / 100.0)


def test_findings_are_those_of_the_true_machine(measure):
    found = measure("over-the-top", seed=13)
    made, scene = found.estimate, found.runs[0].scenario
    findings = {fact.kind: fact for fact in summarize_findings(made)}
    assert set(findings) == set(FindingFact) - {FindingFact.TIGHT_SPOT, FindingFact.FRICTION_BY_LOAD}
    q = made.angle_rad - made.start_angle_rad
    truth = scene.static_force_n(q)
    heaviest = findings[FindingFact.HEAVIEST]
    assert heaviest.figure("force_n") == pytest.approx(np.max(truth), rel=0.002)
    assert heaviest.figure("angle_rad") == pytest.approx(
        made.angle_rad[np.argmax(truth)], abs=np.radians(2.0)
    )
    assert findings[FindingFact.DROP_OFF].figure("share") == pytest.approx(
        1 - truth[-1] / np.max(truth), abs=0.01
    )
    assert friction_share(made) == pytest.approx(np.mean(scene.friction_n(q)) / np.mean(truth), rel=0.05)


def test_angles_that_a_load_did_not_cover_are_passed_over(measure):
    made = measure("lever-row", seed=11).estimate
    whole = describe_shape(made)
    gaps = np.zeros_like(made.static_n)
    gaps[:, :3] = gaps[:, -2:] = np.nan
    names = ("static_n", "static_u95_n", "friction_n")
    partly = replace(made, **{name: getattr(made, name) + gaps for name in names})
    shape = describe_shape(partly)
    assert shape.end_n == made.static_n[0, -3]
    assert shape.peak_n == np.max(made.static_n[0, 3:-2])
    assert shape.shape == whole.shape
    figures = [value for fact in summarize_findings(partly) for value in fact.figures.values()]
    assert all(np.isfinite(value) for value in figures if isinstance(value, float))
    with pytest.raises(ProfileError, match="moved nowhere"):
        describe_shape(replace(made, static_n=np.full_like(made.static_n, np.nan)))
