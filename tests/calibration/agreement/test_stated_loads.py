"""Loads that are not the stated ones, on drawn machines, surveys and measurements: named when wrong, never when right.

The truth is drawn (benchmarks/study_agreement.py): a survey with errors of its stated size, a profile with the
correlated errors of a real session. Loads go from 10 to 80 kg, wrong by 2.5 to 20 kg.
"""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

import rig_agreement as chain
import study_agreement as study
from feltload.calibration import Machine, agreement_facts, check_agreement, parse_machine
from feltload.calibration.agreement.facts import AgreementFact
from feltload.calibration.machine.parameters import START_ANGLE
from feltload.core import Fact
from feltload.signal import ProfileEstimate

NOMINAL = parse_machine(study.LEVER)


def measured(seed: int, loads_kg: tuple[float, ...]) -> tuple[ProfileEstimate, Machine]:
    """A drawn machine measured with `loads_kg`, and its survey."""
    rng = np.random.default_rng(seed)
    truth = NOMINAL.with_parameters(
        {p.key: p.value + p.u * rng.standard_normal() for p in NOMINAL.parameters}
    )
    survey = study.surveyed(truth, NOMINAL, rng, 0.0)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(study, "LOADS_KG", np.array(loads_kg))
        return study.measured(truth, survey.values[START_ANGLE], rng, angles=31), survey


def facts_of(estimate: ProfileEstimate, survey: Machine, stated_kg: tuple[float, ...]) -> list[Fact]:
    said = dataclasses.replace(estimate, loads_kg=np.array(stated_kg))
    return agreement_facts(check_agreement(said, survey, gravity=chain.GRAVITY, trials=40))


@pytest.mark.parametrize(
    ("there_kg", "wrong_by_kg"),
    [(10.0, 2.5), (10.0, 20.0), (20.0, -2.5), (30.0, 5.0), (40.0, -20.0), (60.0, 10.0), (80.0, -10.0)],
)
def test_a_wrong_load_alone_is_named_with_its_band(there_kg, wrong_by_kg):
    for seed in range(3):
        stated = there_kg + wrong_by_kg
        (fact,) = facts_of(*measured(seed, (there_kg,)), (stated,))
        assert fact.kind == AgreementFact.LOAD_LOOKS_LIKE
        assert fact.figure("stated_kg") == stated
        # Three 95 % bands: a matter of a factor, not of luck.
        assert abs(fact.figure("looks_like_kg") - there_kg) < 3.0 * fact.figure("u95_kg")
        assert fact.figure("u95_kg") < 0.08 * there_kg


@pytest.mark.parametrize("stated_kg", [(22.5, 40.0), (20.0, 45.0), (40.0, 40.5), (20.0, 60.0)])
def test_of_two_loads_the_wrong_one_is_named(stated_kg):
    facts = facts_of(*measured(11, (20.0, 40.0)), stated_kg)
    wrong = [
        said for said, there in zip(stated_kg, (20.0, 40.0), strict=True) if said != there and said != 40.5
    ]
    wrong = wrong or [40.0]
    assert {fact.kind for fact in facts} == {AgreementFact.LOAD_LOOKS_LIKE}
    assert [fact.figure("stated_kg") for fact in facts] == wrong


def test_bands_hold_and_right_loads_are_not_accused():
    """At most the level of the test (5 %) of right loads is accused; the band of a wrong one covers the true load."""
    accused, inside = 0, 0
    for seed in range(100, 114):
        there = 10.0 + 70.0 * (seed - 100) / 13.0
        estimate, survey = measured(seed, (there,))
        right = facts_of(estimate, survey, (there,))
        accused += any(fact.kind == AgreementFact.LOAD_LOOKS_LIKE for fact in right)
        (fact,) = facts_of(estimate, survey, (there + 10.0,))
        inside += abs(fact.figure("looks_like_kg") - there) <= fact.figure("u95_kg")
    assert accused <= 1
    # 14 draws at 95 %: 13.3 expected, standard deviation 0.8.
    assert inside >= 11


def test_a_difference_smaller_than_a_pair_of_plates_is_no_other_load():
    facts = facts_of(*measured(5, (40.0,)), (41.5,))
    assert not [fact for fact in facts if fact.kind == AgreementFact.LOAD_LOOKS_LIKE]


def test_a_peg_is_not_moved_further_than_a_survey_gets_wrong():
    agreement = check_agreement(
        dataclasses.replace(measured(3, (40.0,))[0], loads_kg=np.array([20.0])), measured(3, (40.0,))[1]
    )
    assert agreement.explanation.loads
    assert not agreement.explanation.causes
    for tied in agreement.explanation.tied:
        assert not tied.dimensions


def test_help_by_hand_is_no_load_and_no_dimension():
    estimate, survey = measured(8, (40.0,))
    share = (estimate.angle_rad - estimate.angle_rad[0]) / np.ptp(estimate.angle_rad)
    helped = estimate.static_n - 90.0 * np.sin(np.pi * np.clip(3.0 * share - 1.0, 0.0, 1.0))
    facts = facts_of(dataclasses.replace(estimate, static_n=helped), survey, (40.0,))
    assert [fact.kind for fact in facts] == [AgreementFact.UNLIKE_MACHINE]
