"""Findings against the true machine; classes of curves after Kulig, Andrews & Hay 1984 (terms from memory)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feltload.signal.errors import ProfileError
from feltload.signal.profile.facts import FindingFact
from feltload.signal.profile.findings import describe_shape, friction_share, summarize_findings


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
def test_shape_classes(measure, curve, shape):
    made = measure("lever-row", seed=11).estimate
    x = np.linspace(0.0, 1.0, made.angle_rad.size)
    assert describe_shape(replace(made, static_n=curve(x)[None, :])).shape == shape


def test_findings_are_those_of_the_true_machine(measure):
    found = measure("over-the-top", seed=13)
    made, scene = found.estimate, found.runs[0].scenario
    findings = {fact.kind: fact for fact in summarize_findings(made)}
    assert set(findings) == set(FindingFact)
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
