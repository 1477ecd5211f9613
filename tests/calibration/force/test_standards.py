"""Classes of the force standards at the edges of their tables, which live in tests/published/force.toml."""

import pytest

from feltload.acquisition.certificates.certificate import StepErrors
from feltload.calibration.force.fit import degree_factor
from feltload.calibration.force.standards import iso_376, iso_7500_1, lower_limit
from published_data import published

FORCES = (100.0, 200.0, 500.0, 1000.0)
ISO_376 = dict(published("iso_376").items())
ISO_7500_1 = dict(published("iso_7500_1").items())
FIELDS_376 = {
    "b": "reproducibility_percent",
    "b'": "repeatability_percent",
    "fc": "interpolation_percent",
    "v": "reversibility_percent",
}
WHOLE_376 = {"f0": "zero_percent", "c": "creep_percent", "applied": "applied_u95_percent"}
FIELDS_7500_1 = {"q": "indication_percent", "b": "indication_spread_percent", "v": "reversibility_percent"}


def steps(field=None, value=0.0, at=FORCES):
    """Steps without error, but for one of them at some of the forces."""
    return [StepErrors(force_n=f, u95_n=0.1, **({field: value} if field and f in at else {})) for f in FORCES]


def class_376(made, **whole):
    whole = {"zero_percent": 0.0, "creep_percent": None, "applied_u95_percent": 0.0, **whole}
    return iso_376(made, missing=[], **whole)


def class_7500_1(made, *, zero_percent=0.0, resolution_n=1e-6):
    return iso_7500_1(made, zero_percent=zero_percent, resolution_n=resolution_n, missing=[])


def next_after(table, name):
    names = [*table, None]
    return names[names.index(name) + 1]


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize("symbol", [*FIELDS_376, *WHOLE_376])
@pytest.mark.parametrize("name", ISO_376)
def test_each_limit_of_iso_376_ends_its_class(name, symbol, sign):
    def classed(percent):
        if symbol in WHOLE_376:
            return class_376(steps(), **{WHOLE_376[symbol]: percent}).class_name
        return class_376(steps(FIELDS_376[symbol], percent)).class_name

    limit = sign * ISO_376[name][symbol]
    assert classed(limit) == name
    assert classed(1.001 * limit) == next_after(ISO_376, name)


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize("symbol", [*FIELDS_7500_1, "f0"])
@pytest.mark.parametrize("name", ISO_7500_1)
def test_each_limit_of_iso_7500_1_ends_its_class(name, symbol, sign):
    def classed(percent):
        if symbol == "f0":
            return class_7500_1(steps(), zero_percent=percent).class_name
        return class_7500_1(steps(FIELDS_7500_1[symbol], percent)).class_name

    limit = sign * ISO_7500_1[name][symbol]
    assert classed(limit) == name
    assert classed(1.001 * limit) == next_after(ISO_7500_1, name)


@pytest.mark.parametrize("name", ISO_7500_1)
def test_resolution_ends_the_range_and_then_the_class_of_iso_7500_1(name):
    # The class must reach down to a fifth of 1000 N: a resolution of a % at 200 N is just enough, from there on.
    finest = ISO_7500_1[name]["a"] / 100.0 * 200.0
    enough = class_7500_1(steps(), resolution_n=finest)
    assert (enough.class_name, enough.from_n, enough.to_n) == (name, 200.0, 1000.0)
    assert enough.resolution_percent == pytest.approx(ISO_7500_1[name]["a"])
    assert class_7500_1(steps(), resolution_n=1.001 * finest).class_name == next_after(ISO_7500_1, name)


def test_twice_as_fine_a_resolution_reaches_twice_as_low():
    finest = ISO_7500_1["0.5"]["a"] / 100.0 * 200.0
    assert class_7500_1(steps(), resolution_n=finest / 2.0).from_n == 100.0


def test_iso_7500_1_reaches_down_to_a_fifth_and_iso_376_to_a_half():
    # An error of 0.8 % only at 200 N and below: not class 0.5, for the fifth is not reached.
    assert class_7500_1(steps("indication_percent", 0.8, at=(100.0, 200.0))).class_name == "1"
    above = class_7500_1(steps("indication_percent", 0.8, at=(100.0,)))
    assert (above.class_name, above.from_n) == ("0.5", 200.0)
    assert class_376(steps("repeatability_percent", 0.08, at=(100.0, 200.0, 500.0))).class_name == "1"
    above = class_376(steps("repeatability_percent", 0.08, at=(100.0, 200.0)))
    assert (above.class_name, above.from_n) == ("00", 500.0)


def test_an_error_in_the_middle_ends_the_range_above_it():
    # At 500 N only: what lies below it no longer counts.
    assert class_7500_1(steps("indication_percent", 2.5, at=(500.0,))).class_name == "3"


def test_lower_limit_of_astm_e74():
    given = published("astm_e74")
    factor = given["residual_sd_multiple"] * 0.1
    limit = lower_limit(0.1, 0.01, 50.0, 2000.0, [])
    assert limit.factor_n == pytest.approx(factor)
    assert limit.class_a_from_n == pytest.approx(given["class_a_multiple"] * factor)
    assert limit.class_aa_from_n == pytest.approx(given["class_aa_multiple"] * factor)
    # Never below the resolution, never below the lowest load, none beyond the highest.
    assert lower_limit(0.1, 0.5, 50.0, 2000.0, []).factor_n == 0.5
    assert lower_limit(0.01, 0.001, 50.0, 2000.0, []).class_a_from_n == 50.0
    assert lower_limit(1.0, 0.01, 50.0, 2000.0, []).class_aa_from_n is None


def test_degree_factor_of_astm_e74():
    # Ratio of residual standard deviations, F of 1 and 7 degrees of freedom at ten loads and degree two.
    point = published("astm_e74")["f_point_1_7"]
    assert degree_factor(10, 2) == pytest.approx((1.0 + (point - 1.0) / 8.0) ** 0.5, abs=2e-4)
