"""A whole study of one quantity: what is given, and what is said to be missing."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.coaching import RepeatabilityFact, analyse_quantity


def labels(machines: int, days: int, remounts: int) -> dict[str, list[str]]:
    at = [each.ravel() for each in np.indices((machines, days, remounts))]
    return {
        name: [f"{name[0]}{k}" for k in each]
        for name, each in zip(("machine", "day", "remount"), at, strict=True)
    }


def kinds(found) -> set[str]:
    return {fact.kind for fact in found.facts}


def drawn(rng, of: dict[str, list[str]], *, machine: float, day: float, remount: float) -> np.ndarray:
    total = np.full(len(of["machine"]), 250.0)
    for name, sd in (("machine", machine), ("day", day)):
        levels = {level: rng.normal(0, sd) for level in sorted(set(of[name]))}
        total += [levels[level] for level in of[name]]
    return total + rng.normal(0, remount, total.size)


def test_a_whole_study_gives_everything() -> None:
    of = labels(8, 2, 2)
    found = analyse_quantity(drawn(np.random.default_rng(1), of, machine=20, day=2, remount=1), of)
    assert [each.form for each in found.correlations] == ["1,1", "2,1", "3,1", "1,k", "2,k", "3,k"]
    assert found.sem.value > found.repeatability.value
    assert found.minimal_difference.value == pytest.approx(1.96 * 2**0.5 * found.sem.value)
    assert found.cv_percent.value == pytest.approx(100 * found.sem.value / found.mean)
    assert found.log_cv_percent.value == pytest.approx(found.cv_percent.value, rel=0.1)
    table = found.to_frame().set_index(["statistic", "form"])
    assert table.loc[("sem", ""), "upper95"] == found.sem.upper
    assert table.loc[("icc", "3,k"), "value"] == found.correlations[5].value
    assert len(table) == 12
    (pair,) = found.pairs
    assert (pair.factor, pair.limits.pairs, pair.averaged) == ("day", 8, 2)
    assert {"machine", "day"} <= set(found.mixed.variances)


def test_few_days_leave_the_error_of_a_new_day_wide_open() -> None:
    """Two days: 40 values of one machine do not narrow what one degree of freedom leaves open."""
    of = labels(1, 2, 20)
    found = analyse_quantity(drawn(np.random.default_rng(3), of, machine=0, day=3, remount=1), of)
    assert found.sem.upper > 5 * found.sem.value
    assert found.repeatability.upper < 1.5 * found.repeatability.value
    assert RepeatabilityFact.ONE_MACHINE in kinds(found) and found.correlations == () and found.pairs == ()


def test_one_measurement_of_each_machine() -> None:
    found = analyse_quantity([240.0, 250.0, 270.0], {"machine": ["a", "b", "c"]})
    assert kinds(found) == {RepeatabilityFact.NOTHING_REPEATED}
    assert found.mean == pytest.approx(253.333, abs=1e-3)
    assert found.sem is None and found.minimal_difference is None and found.components is None


def test_equal_values_are_no_scatter_and_values_below_zero_have_no_coefficient() -> None:
    of = labels(3, 2, 1)
    same = analyse_quantity([240.0, 240.0, 250.0, 250.0, 260.0, 260.0], of)
    assert RepeatabilityFact.NO_SCATTER in kinds(same) and same.sem is None
    below = analyse_quantity([-1.0, 2.0, 3.0, 4.5, 5.0, 7.0], of)
    assert (
        RepeatabilityFact.NOT_POSITIVE in kinds(below) and below.cv_percent is None and below.sem is not None
    )
    shares = analyse_quantity([-1.0, 2.0, 3.0, 4.5, 5.0, 7.0], of, ratio_scale=False)
    assert RepeatabilityFact.NOT_POSITIVE not in kinds(shares)


def test_missing_cells_leave_out_their_machine_and_say_so() -> None:
    of = labels(5, 2, 1)
    values = drawn(np.random.default_rng(7), of, machine=20, day=1, remount=1)
    short = {name: each[:-1] for name, each in of.items()}
    found = analyse_quantity(values[:-1], short)
    whole = analyse_quantity(values[:-2], {name: each[:-2] for name, each in of.items()})
    assert found.correlations == whole.correlations
    (left,) = [fact for fact in found.facts if fact.kind == RepeatabilityFact.MACHINES_LEFT_OUT]
    assert (left.figures["machines"], left.figures["kept"]) == ("m4", 4)
    assert RepeatabilityFact.UNBALANCED in kinds(found)


def test_days_of_their_own_give_the_one_way_correlation_alone() -> None:
    of = labels(6, 2, 2)
    values = drawn(np.random.default_rng(9), of, machine=20, day=1, remount=1)
    found = analyse_quantity(values, of, nested={"day": "machine"})
    assert [each.form for each in found.correlations] == ["1,1", "1,k"]
    assert RepeatabilityFact.ONLY_ONE_WAY in kinds(found)


def test_two_machines_give_no_limits_of_agreement_and_a_warning_of_their_number() -> None:
    of = labels(2, 2, 2)
    found = analyse_quantity(drawn(np.random.default_rng(11), of, machine=20, day=1, remount=1), of)
    (missing,) = [fact for fact in found.facts if fact.kind == RepeatabilityFact.NO_LIMITS]
    assert missing.figures == {"first": "day d0", "second": "day d1", "pairs": 2}
    assert RepeatabilityFact.FEW_MACHINES in kinds(found)


def test_any_design_gives_limits_around_its_value_or_says_why_not() -> None:
    """Designs drawn at random: unbalanced, aliased, one of each, nested, rounded values."""
    rng = np.random.default_rng(0)
    for _ in range(60):
        n = int(rng.integers(1, 25))
        of = {"machine": [f"m{k}" for k in rng.integers(0, rng.integers(1, 6), n)]}
        for factor in ("operator", "day", "remount"):
            if rng.random() < 0.6:
                of[factor] = [str(k) for k in rng.integers(0, rng.integers(1, 4), n)]
        values = np.round(rng.normal(5.0, 1.0, n), int(rng.integers(0, 4)))
        nested = {"day": "machine"} if "day" in of and rng.random() < 0.3 else {}
        found = analyse_quantity(values, of, nested=nested)
        if found.sem is None:
            assert kinds(found) & {RepeatabilityFact.NOTHING_REPEATED, RepeatabilityFact.NO_SCATTER}
        else:
            assert found.sem.lower <= found.sem.value <= found.sem.upper or found.sem.value == 0.0
