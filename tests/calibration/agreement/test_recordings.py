"""What a comparison says about the recordings themselves, from curves of three angles worked by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feltload.calibration.agreement.contrasts import ContrastTest
from feltload.calibration.agreement.explanation import CauseSet, CurvePoint, Explanation
from feltload.calibration.agreement.facts import AgreementFact
from feltload.calibration.agreement.loads import FittedLoad
from feltload.calibration.agreement.recordings import StrangeLoad, agreement_facts, strange_load
from feltload.calibration.agreement.result import Agreement
from feltload.calibration.machine.parameters import ParameterKey
from feltload.core import Severity
from feltload.signal import Travel

ANGLE = np.radians([10.0, 20.0, 30.0])
# A kilogram more is felt as 2, 3 and 4 N; nothing of that is in a pattern of 20, 50 and -47.5 N.
PER_KG = np.array([2.0, 3.0, 4.0])
LIGHT = np.array([100.0, 100.0, 100.0])
PATTERN = np.array([20.0, 50.0, -47.5])


def _agreement(difference_n: list[np.ndarray], loads_kg: tuple[float, ...] = (20.0, 40.0)) -> Agreement:
    model = np.concatenate([LIGHT + (load - 20.0) * PER_KG for load in loads_kg])
    return Agreement(
        load_kg=np.repeat(loads_kg, 3),
        angle_rad=np.tile(ANGLE, len(loads_kg)),
        measured_n=model + np.concatenate(difference_n),
        measured_u_n=np.ones(model.size),
        model_n=model,
        model_u_n=np.ones(model.size),
        fitted_model_n=model,
        fitted=(),
        explanation=Explanation(),
        test=ContrastTest(9.0, 2.5, 0.001),
        first_order=True,
        g_m_s2=9.81,
        g_u_m_s2=0.0,
        default_u=(),
        travel=Travel(ANGLE),
    )


@pytest.mark.parametrize(("strange", "fitting"), [(40.0, 20.0), (20.0, 40.0)])
def test_a_curve_of_another_machine_is_named_whatever_its_load_was(strange: float, fitting: float) -> None:
    # Both loads are wrong as well, by 1.5 kg and by -2 kg; that alone makes nothing strange.
    wrong = {fitting: 1.5 * PER_KG, strange: -2.0 * PER_KG}
    off = {fitting: 0.0, strange: PATTERN}
    assert strange_load(_agreement([wrong[20.0], wrong[40.0]])) is None
    found = strange_load(_agreement([wrong[load] + off[load] for load in (20.0, 40.0)]))
    assert found == StrangeLoad(strange, fitting, pytest.approx(50.0), pytest.approx(np.radians(20.0)))


def test_the_place_and_sign_are_those_of_the_largest_distance() -> None:
    found = strange_load(_agreement([0.0 * PER_KG, -2.0 * PATTERN]))
    assert (found.difference_n, found.angle_rad) == (pytest.approx(-100.0), pytest.approx(np.radians(20.0)))


# rms of the pattern: the root of (400 + 2500 + 2256.25) / 3, 41.458 N.
@pytest.mark.parametrize(("size", "strange"), [(1.0, False), (1.03, True)])
def test_strange_is_a_fifth_of_the_peak(size: float, strange: bool) -> None:
    """With 160 N at 20°: 41.458 s = 0.2 (160 + 50 s) where s = 1.017."""
    found = strange_load(_agreement([0.0 * PER_KG, size * PATTERN]))
    assert (found is not None) == strange


@pytest.mark.parametrize(("size", "strange"), [(0.27, True), (0.28, False)])
def test_none_is_strange_where_none_fits_within_a_tenth_of_its_peak(size: float, strange: bool) -> None:
    """With 100 N: 41.458 s = 0.1 (100 + 50 s) where s = 0.2743."""
    found = strange_load(_agreement([size * PATTERN, 2.0 * PATTERN]))
    assert (found is not None) == strange


def test_of_one_load_none_is_strange() -> None:
    assert strange_load(_agreement([PATTERN], loads_kg=(20.0,))) is None


PEG = ParameterKey("radius", "plates")
LOADS = (FittedLoad(20.0, 25.0, 0.5), FittedLoad(40.0, 42.0, 1.0))
LEFT = CurvePoint(20.0, 0.1, 5.0)


def test_other_loads_are_reported_with_their_band_and_what_would_explain_them_as_well() -> None:
    explanation = Explanation(loads=LOADS, tied=(CauseSet((PEG,)), CauseSet((), (40.0,))))
    facts = agreement_facts(replace(_agreement([PATTERN, PATTERN]), explanation=explanation))
    assert {fact.kind for fact in facts} == {AgreementFact.LOAD_LOOKS_LIKE}
    assert [fact.figures for fact in facts] == [
        {
            "stated_kg": 20.0,
            "looks_like_kg": 25.0,
            "u95_kg": pytest.approx(0.98),
            "tied": ("plates.radius",),
            "explained": True,
        },
        {
            "stated_kg": 40.0,
            "looks_like_kg": 42.0,
            "u95_kg": pytest.approx(1.96),
            "tied": ("plates.radius",),
            "explained": True,
        },
    ]


@pytest.mark.parametrize(("left", "kind"), [(0.31, "load-looks-like"), (0.32, "unlike-machine-file")])
def test_other_loads_that_explain_nine_tenths_are_enough(left: float, kind: str) -> None:
    """A part of 0.3162 of the difference is a tenth of its square."""
    agreement = _agreement([3.0 * PATTERN, 3.0 * PATTERN])
    agreement = replace(
        agreement,
        fitted_model_n=agreement.measured_n - left * (agreement.measured_n - agreement.model_n),
        explanation=Explanation(loads=LOADS, remaining=LEFT),
    )
    facts = agreement_facts(agreement)
    assert {str(fact.kind) for fact in facts} == {kind}
    # Something remains that they do not explain.
    assert all(fact.figures.get("explained", False) is False for fact in facts)


def _unexplained(before: float, after: float) -> Agreement:
    agreement = _agreement([before * PATTERN, 0.0 * PATTERN])
    left = np.concatenate([after * PATTERN, 0.0 * PATTERN])
    return replace(
        agreement, fitted_model_n=agreement.measured_n - left, explanation=Explanation(remaining=LEFT)
    )


# Over both loads: 41.458 s N over the root of two, a tenth of the 180 N of the heavier load where s = 0.614.
@pytest.mark.parametrize(
    ("before", "after", "reported"),
    [(0.63, 0.63, True), (0.60, 0.63, False), (0.63, 0.60, False), (0.60, 0.60, False)],
)
def test_a_tenth_of_the_peak_before_and_after_the_fit_is_another_machine(
    before: float, after: float, reported: bool
) -> None:
    facts = agreement_facts(_unexplained(before, after))
    expected = AgreementFact.UNLIKE_MACHINE if reported else AgreementFact.FILE_DIFFERS
    assert [fact.kind for fact in facts] == [expected]


def test_another_machine_is_shown_where_it_is_furthest_from_the_file() -> None:
    (fact,) = agreement_facts(_unexplained(-2.0, 1.0))
    assert fact.severity is Severity.SERIOUS
    assert fact.figures == {
        "difference_n": pytest.approx(-100.0),
        "angle_rad": pytest.approx(np.radians(20.0)),
        "travel_share": pytest.approx((np.radians(20.0) - ANGLE[0]) / np.ptp(ANGLE)),
        "load_kg": 20.0,
    }
    explained = replace(_unexplained(2.0, 2.0), explanation=Explanation())
    (fact,) = agreement_facts(explained)
    assert (fact.kind, fact.severity) == (AgreementFact.FILE_DIFFERS, Severity.CAUTION)
    assert fact.figures["explained"]
    assert agreement_facts(replace(explained, test=ContrastTest(1.0, 2.5, 0.5))) == []
