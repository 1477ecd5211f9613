"""Variance components: handbook studies, a reference library, simulated truth."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.coaching import CoachingError, mixed_model, scatter_along, study_design, variance_components
from published_data import published, published_rows


def by_name(found) -> dict[str, float]:
    return {part.name: part.variance.value for part in found.parts}


def test_gauge_study_of_the_handbook() -> None:
    """NIST/SEMATECH e-Handbook, 2.6.3: readings in days in runs; six readings of the printed mean and spread."""
    given, rows = published("nist_gauge_study"), published_rows("nist_gauge_study")
    count = given["readings_a_day"]
    shape = np.linspace(-1, 1, count)
    shape /= shape.std(ddof=1)
    values = np.concatenate([row["average"] + row["stddev"] * shape for row in rows])
    wafer = np.repeat([row["wafer"] for row in rows], count)
    run = np.array([f"{row['wafer']}-{row['run']}" for row in rows]).repeat(count)
    day = np.repeat(np.arange(len(rows)), count)
    found = variance_components(values, {"wafer": wafer, "run": run, "day": day})
    _, runs, days, residual = found.parts
    assert found.exact
    levels = (residual.mean_square, days.mean_square / count, runs.mean_square / (6 * count))
    assert np.sqrt(levels) == pytest.approx(given["level_sd"], abs=5e-5)
    freedom = [part.degrees_of_freedom for part in (residual, days, runs)]
    assert freedom == given["level_degrees_of_freedom"]
    assert days.sd.value == pytest.approx(given["days_sd"], abs=5e-6)
    assert runs.sd.value == pytest.approx(given["runs_sd"], abs=5e-6)


def test_dyestuff_by_both_ways() -> None:
    """Davies & Goldsmith (1972): six batches of five."""
    given = published("dyestuff")
    values = np.array(given["yields"], float)
    batch = np.repeat(np.arange(6), 5)
    found = variance_components(values.ravel(), {"batch": batch})
    likely = mixed_model(values.ravel(), {"batch": batch})
    for variances in (by_name(found), likely.variances):
        assert variances["batch"] == pytest.approx(given["batch"], rel=2e-4)
        assert variances["residual"] == pytest.approx(given["residual"], rel=2e-4)
    # The limits of the residual are those of a variance with 24 degrees of freedom.
    assert found.parts[1].variance.lower == pytest.approx(24 * given["residual"] / 39.364, rel=0.02)
    assert found.parts[1].variance.upper == pytest.approx(24 * given["residual"] / 12.401, rel=0.02)


def test_crossed_study_by_hand_from_published_mean_squares() -> None:
    """Shrout & Fleiss (1979): (BMS - EMS) / 4 and (JMS - EMS) / 6, printed to two decimals."""
    given = published("shrout_fleiss")
    values = np.array(given["ratings"], float)
    target, judge = np.indices(values.shape)
    terms = {"machine": target.ravel(), "operator": judge.ravel()}
    found, likely = variance_components(values.ravel(), terms), mixed_model(values.ravel(), terms)
    error = given["error_mean_square"]
    expected = {
        "machine": (given["between_mean_square"] - error) / 4,
        "operator": (given["judges_mean_square"] - error) / 6,
        "residual": error,
    }
    assert by_name(found) == pytest.approx(expected, abs=0.006)
    assert likely.variances == pytest.approx(by_name(found), rel=2e-3)


def test_both_ways_agree_where_a_study_is_balanced() -> None:
    """Machines x operators, three remounts each, invented."""
    rng = np.random.default_rng(3)
    machine, operator, _ = (each.ravel() for each in np.indices((6, 3, 3)))
    cell = rng.normal(0, 1.0, (6, 3))[machine, operator]
    values = 250 + rng.normal(0, 6, 6)[machine] + rng.normal(0, 3, 3)[operator] + cell
    values = values + rng.normal(0, 1.0, values.size)
    labels = {"machine": machine.astype(str), "operator": operator.astype(str)}
    design = study_design(labels)
    assert list(design.terms) == ["machine", "operator", "machine x operator"]
    found, likely = variance_components(values, design.terms), mixed_model(values, design.terms)
    assert found.exact
    assert likely.variances == pytest.approx(by_name(found), rel=1e-4)


def test_mixed_model_agrees_with_a_reference_library_in_an_unbalanced_crossed_study() -> None:
    """statsmodels, the better of its optimisers; invented values."""
    from statsmodels.regression.mixed_linear_model import MixedLM, VCSpec

    rng = np.random.default_rng(17)
    machine, operator = rng.integers(0, 6, 40), rng.integers(0, 4, 40)
    values = rng.normal(0, 4, 6)[machine] + rng.normal(0, 2, 4)[operator] + rng.normal(0, 1, 40)
    found = mixed_model(values, {"machine": machine, "operator": operator})
    dummies = [np.eye(6)[machine], np.eye(4)[operator]]
    columns = [[f"{name}{k}" for k in range(each.shape[1])] for name, each in zip("mo", dummies, strict=True)]
    spec = VCSpec(["m", "o"], [[each] for each in columns], [[each] for each in dummies])
    theirs = MixedLM(values, np.ones((40, 1)), np.zeros(40), exog_vc=spec).fit(reml=True, method="powell")
    assert list(found.variances.values()) == pytest.approx([*theirs.vcomp, theirs.scale], rel=0.01)
    assert (found.mean, found.mean_u) == (
        pytest.approx(theirs.fe_params[0], abs=0.01),
        pytest.approx(theirs.bse_fe[0], rel=0.01),
    )


def test_a_component_below_zero_is_shown_and_the_mixed_model_has_it_at_zero() -> None:
    values = np.array([[1.0, 9.0], [8.8, 1.1], [1.2, 9.1]])
    batch = np.repeat(np.arange(3), 2)
    found, likely = (
        variance_components(values.ravel(), {"b": batch}),
        mixed_model(values.ravel(), {"b": batch}),
    )
    part = found.parts[0]
    assert part.variance.value < 0.0 and part.variance.lower == part.sd.value == 0.0
    assert likely.variances == {"b": 0.0, "residual": pytest.approx(values.var(ddof=1), rel=1e-4)}


def test_limits_hold_the_truth() -> None:
    """300 simulated gauge studies, crossed, with remounts; generalized limits are known to hold a little too much."""
    rng, studies = np.random.default_rng(21), 300
    machine, operator, _ = (each.ravel() for each in np.indices((5, 3, 2)))
    truth = {"machine": 25.0, "operator": 4.0, "machine x operator": 1.0, "residual": 2.0}
    terms = {"machine": machine, "operator": operator, "machine x operator": machine * 10 + operator}
    inside, total = dict.fromkeys(truth, 0), 0
    for seed in range(studies):
        values = rng.normal(0, 5, 5)[machine] + rng.normal(0, 2, 3)[operator]
        values = values + rng.normal(0, 1, (5, 3))[machine, operator] + rng.normal(0, 2**0.5, machine.size)
        found = variance_components(values, terms, draws=2000, seed=seed)
        for part in found.parts:
            inside[part.name] += part.variance.lower <= truth[part.name] <= part.variance.upper
        gauge = found.total(without=("machine",))
        total += gauge.lower <= 7.0 <= gauge.upper
    slack = 3 * (0.95 * 0.05 / studies) ** 0.5
    for name, held in {**inside, "gauge": total}.items():
        assert 0.95 - slack <= held / studies, name


def test_an_unbalanced_study_is_unbiased_and_says_that_its_limits_are_approximate() -> None:
    rng = np.random.default_rng(13)
    machine = np.repeat([0, 1, 2, 3, 4], [2, 3, 1, 4, 2])
    sums = np.zeros(2)
    for _ in range(400):
        values = rng.normal(0, 3, 5)[machine] + rng.normal(0, 1, machine.size)
        found = variance_components(values, {"machine": machine}, draws=10)
        sums += [part.variance.value for part in found.parts]
    assert not found.exact
    assert sums / 400 == pytest.approx([9.0, 1.0], rel=0.12)


def test_terms_that_cannot_be_separated_are_refused() -> None:
    day = np.array([0, 0, 1, 1])
    with pytest.raises(CoachingError, match="operator cannot be separated"):
        variance_components([1.0, 2.0, 3.0, 4.0], {"day": day, "operator": day})
    with pytest.raises(CoachingError, match="nothing for the residual"):
        variance_components([1.0, 2.0], {"day": [0, 1]})


@pytest.mark.parametrize(
    ("labels", "terms", "residual", "aliased"),
    [
        # One operator a day: who and when cannot be told apart.
        (
            {"machine": "aabbaabb", "operator": "xxxxyyyy", "day": "11112222"},
            ["machine", "operator", "machine x operator"],
            (),
            ["day"],
        ),
        # One value a cell: the interaction is the residual.
        ({"machine": "aabb", "day": "1212"}, ["machine", "day"], (), []),
        # Every remount once: its scatter is the residual.
        ({"machine": "aaabbb", "remount": "123123"}, ["machine"], ("remount",), []),
        # Two values a remount.
        ({"machine": "aaaabbbb", "remount": "11221122"}, ["machine", "remount"], (), []),
    ],
)
def test_sources_that_a_study_can_separate(labels, terms, residual, aliased) -> None:
    design = study_design({name: list(each) for name, each in labels.items()})
    assert list(design.terms) == terms
    assert design.residual == residual
    assert [fact.figures["factor"] for fact in design.facts] == aliased


def test_days_of_each_machine_are_days_of_their_own_where_said() -> None:
    labels = {"machine": list("aaaabbbb"), "day": list("11221122")}
    crossed, nested = study_design(labels), study_design(labels, nested={"day": "machine"})
    assert list(crossed.terms) == ["machine", "day", "machine x day"]
    assert list(nested.terms) == ["machine", "day"]
    with pytest.raises(CoachingError, match="operator cannot be nested"):
        study_design(labels, nested={"operator": "machine"})


def test_scatter_along_a_curve_is_that_of_each_position_by_itself() -> None:
    rng = np.random.default_rng(21)
    machine, day = (each.ravel() for each in np.indices((5, 3)))
    curves = rng.normal(0, 9, 5)[machine, None] + rng.normal(0, 2, (3, 4))[day] + rng.normal(0, 1, (15, 4))
    terms = {"machine": machine.astype(str), "day": day.astype(str)}
    value, lower, upper = scatter_along(curves, terms, without=("machine",), draws=20_000)
    for k in range(4):
        total = variance_components(curves[:, k], terms).total(without=("machine",))
        assert value[k] ** 2 == pytest.approx(total.value, rel=1e-9)
        assert (lower[k] ** 2, upper[k] ** 2) == (pytest.approx(total.lower), pytest.approx(total.upper))


def test_scatter_of_one_machine_holds_the_truth_at_each_position() -> None:
    """500 curves of one machine set up afresh four times: the limits are chi-squared."""
    rng, inside = np.random.default_rng(22), 0.0
    for _ in range(500):
        _, lower, upper = scatter_along(rng.normal(0, 2, (4, 3)), {}, without=())
        inside += float(np.mean((lower <= 2.0) & (upper >= 2.0)))
    assert inside / 500 == pytest.approx(0.95, abs=0.025)
