"""Relative errors of a load cell worked by hand, from readings made to show each of them.

The cell gives 10 counts/N. Deflections depart from that by a pattern over the five loads that no line and no parabola
follows, so that the curve stays the straight line and each error can be read off the numbers.
"""

import math

import numpy as np
import pandas as pd
import pytest

from feltload.calibration.force.calibration import calibrate_readings
from feltload.calibration.force.facts import ForceCertificateFact as Missing, ForceSource
from feltload.calibration.force.fit import PolynomialFit
from feltload.calibration.force.readings import parse_readings
from feltload.calibration.force.relative_errors import hysteresis
from published_data import published

HEAD = (
    "# serial: T-1\n# date: 2026-03-02\n# mass uncertainty: 0.002 %\n"
    "series,direction,position_deg,force_n,reading{more}\n"
)
LOADS = (200.0, 400.0, 600.0, 800.0, 1000.0)
# Across a line and a parabola through five even steps: sums with 1, x and x^2 are zero.
PATTERN = (-1.0, 2.0, 0.0, -2.0, 1.0)


def certificate(rows, *, extra=(), allow_one_direction=True):
    lines = [",".join(map(str, row)) for row in rows]
    text = HEAD.format(more="".join(f",{name}" for name in extra)) + "\n".join(lines) + "\n"
    readings = parse_readings(text)
    return calibrate_readings(readings, readings.setup, allow_one_direction=allow_one_direction)


def ladder(series, position, *, bent=0.0, offset=0.0, gain=0.0, falling=None, closing=0.0):
    """One series: rising through the loads, perhaps falling again with an offset, and a last zero."""

    def counts(load, pattern, more):
        return round(10.0 * load * (1.0 + gain) + bent * pattern + offset + more, 3)

    rows = [(series, "rising", position, 0, 0)]
    rows += [(series, "rising", position, f, counts(f, p, 0.0)) for f, p in zip(LOADS, PATTERN, strict=True)]
    if falling is not None:
        back = list(zip(LOADS, PATTERN, strict=True))[-2::-1]
        rows += [(series, "falling", position, f, counts(f, p, falling)) for f, p in back]
    return [*rows, (series, "falling" if falling is not None else "rising", position, 0, closing)]


def test_reproducibility_repeatability_and_interpolation():
    # Twice at 0° (0.4 counts up, 0.4 down), then at 120° (1 up) and 240° (1 down).
    made = certificate(
        [
            *ladder(1, 0, bent=0.6, offset=0.4),
            *ladder(2, 0, bent=0.6, offset=-0.4),
            *ladder(3, 120, bent=0.6, offset=1.0),
            *ladder(4, 240, bent=0.6, offset=-1.0),
        ]
    )
    assert len(made.coefficients_n) == 2
    for step, load, pattern in zip(made.steps, LOADS, PATTERN, strict=True):
        plain = 10.0 * load + 0.6 * pattern
        # Of the three positions the highest less the lowest; of the two at 0° likewise.
        assert step.reproducibility_percent == pytest.approx(100 * 2.0 / (plain + 0.4 / 3.0), rel=1e-6)
        assert step.repeatability_percent == pytest.approx(100 * 0.8 / plain, rel=1e-6)
        # Mean of the three positions, a third of 0.4 counts high, less the line, over the line.
        expected = 100 * (0.6 * pattern + 0.4 / 3.0) / (10.0 * load)
        assert step.interpolation_percent == pytest.approx(expected, abs=5e-5)
    # b is 0.1 % at 200 N and 0.05 % at 400 N, f_c 0.033 % at 400 N: class 0.5 from there on.
    assert (made.classes[0].class_name, made.classes[0].from_n) == ("0.5", 400.0)


def test_reversibility_and_zero():
    # Falling lies 12 counts above rising at 120° and 12 below at 240°; the zero closes 8 counts off, then 5.
    made = certificate(
        [
            *ladder(1, 0, closing=-8.0),
            *ladder(2, 120, falling=12.0, closing=5.0),
            *ladder(3, 240, falling=-12.0),
        ]
    )
    for step, load in zip(made.steps[:-1], LOADS[:-1], strict=True):
        assert step.reversibility_percent == pytest.approx(100 * 12.0 / (10.0 * load), rel=1e-4)
    assert made.steps[-1].reversibility_percent is None
    for result in made.classes:
        assert result.zero_percent == pytest.approx(100 * -8.0 / 10000.0, rel=1e-6)


# A cell of 10 counts/N, known exactly, from 18 readings with two coefficients.
LINE = PolynomialFit(np.array([0.0, 0.1]), np.zeros((2, 2)), 0.0, 1.0, 0.05, 16)


def residuals(rows):
    """Readings (load, direction, counts beside 10 counts/N) as a table."""
    table = pd.DataFrame(rows, columns=["force", "direction", "off"])
    table["step"] = table["force"] / 1000.0
    table["deflection"] = 10.0 * table["force"] + table.pop("off")
    return table


def test_half_of_what_lies_between_the_directions_is_taken_off_before_scatter_is_judged():
    """Six counts either side, 0.6 N, at four loads of five, and one count, 0.1 N, between two series.

    18 readings of 0.1 N each, over 16 degrees of freedom less one for each load read both ways.
    """
    rows = []
    for series in (1.0, -1.0):
        rows += [(load, "rising", (-6.0 if load < 1000.0 else 0.0) + series) for load in LOADS]
        rows += [(load, "falling", 6.0 + series) for load in LOADS[:-1]]
    found = hysteresis(residuals(rows), LINE)
    assert found.largest_half_n == pytest.approx(0.6)
    assert found.scatter_n == pytest.approx(math.sqrt(18 * 0.1**2 / 12))


def test_without_a_load_read_both_ways_nothing_lies_between_the_directions():
    apart = hysteresis(residuals([(200.0, "rising", 3.0), (400.0, "falling", -4.0)]), LINE)
    assert apart.largest_half_n == 0.0
    assert apart.scatter_n == pytest.approx(math.sqrt((0.3**2 + 0.4**2) / 16))
    one_way = hysteresis(residuals([(200.0, "rising", 3.0), (400.0, "rising", -4.0)]), LINE)
    assert (one_way.largest_half_n, one_way.scatter_n) == (0.0, 0.05)


def test_no_series_both_ways_shows_no_reversibility():
    # One series rises and another falls: nothing says that the difference is not that of the series.
    both = ladder(1, 0, falling=12.0)
    rising = [row for row in both if row[1] == "rising"]
    falling = [(2, *row[1:]) for row in both if row[1] == "falling"]
    made = certificate([*rising, *falling], allow_one_direction=False)
    assert {step.reversibility_percent for step in made.steps} == {None}


def test_indication_and_its_spread():
    # Every series is judged by the curve of the others: gains of 0, +1e-4 and -1e-4 miss it by 0, ±1.5e-4.
    made = certificate(
        [
            *ladder(1, 0, bent=0.6),
            *ladder(2, 120, bent=0.6, gain=1e-4),
            *ladder(3, 240, bent=0.6, gain=-1e-4),
        ]
    )
    for step, load, pattern in zip(made.steps, LOADS, PATTERN, strict=True):
        assert step.indication_percent == pytest.approx(100 * 0.6 * pattern / (10.0 * load), abs=5e-5)
        assert step.indication_spread_percent == pytest.approx(0.03, rel=0.01)


def test_two_series_show_a_spread_of_what_each_shows_by_the_other():
    # Gains of +1e-4 and -1e-4: each misses the other's curve by 2e-4, one above and one below.
    made = certificate([*ladder(1, 0, gain=1e-4), *ladder(2, 120, gain=-1e-4)])
    for step in made.steps:
        assert step.indication_percent == pytest.approx(0.0, abs=1e-5)
        assert step.indication_spread_percent == pytest.approx(0.04, rel=1e-3)


def test_without_an_empty_cell_the_zero_is_where_the_line_begins():
    rows = [
        (k, "rising", 120 * k, load, 500.0 + 10.0 * load + 0.6 * pattern)
        for k in (1, 2, 3)
        for load, pattern in zip(LOADS, PATTERN, strict=True)
    ]
    made = certificate(rows)
    assert made.zero_reading == pytest.approx(500.0, abs=1e-6)
    assert {result.zero_percent for result in made.classes} == {None}
    assert made.force_n(500.0 + 10.0 * 600.0) == pytest.approx(600.0, abs=1e-6)
    assert Missing.NO_ZERO_AFTER in kinds(made.classes[0].missing)


def test_one_series_shows_neither_indication_nor_repeatability():
    made = certificate(ladder(1, 0))
    for step in made.steps:
        assert step.indication_percent is None
        assert step.indication_spread_percent is None
        assert step.repeatability_percent is None
        assert step.reproducibility_percent is None


def test_the_range_runs_from_the_least_to_the_greatest_load():
    made = certificate([row for k in range(3) for row in ladder(k + 1, 120 * k, bent=0.6)])
    assert (made.lowest_n, made.highest_n) == (200.0, 1000.0)
    assert [step.force_n for step in made.steps] == pytest.approx(LOADS)
    # Readings in thousandths of a count, which are 0.1 N: the lower limit follows from the scatter alone.
    assert made.lower_limit.factor_n == pytest.approx(2.4 * made.lower_limit.residual_sd_n)
    for step in made.steps:
        assert step.u95_n == pytest.approx(2.0 * float(made.u_force_n(step.force_n)))


@pytest.mark.parametrize(("bend", "terms"), [(2.0, 3), (0.5, 2)])
def test_a_bend_within_the_rounding_is_none(bend, terms):
    # A parabola of 2 counts departs from its line by 0.6 counts, rounding to whole ones by 0.29; one of 0.5 by 0.15.
    shares = [k / 10 for k in range(1, 11)]
    rows = [
        (series, "rising", 120 * series, 1000.0 * k, round(10000.0 * k + 4.0 * bend * k * (1.0 - k)))
        for series in (1, 2, 3)
        for k in (0.0, *shares)
    ]
    assert len(certificate(rows).coefficients_n) == terms


def test_readings_keep_their_place_and_direction():
    made = certificate(ladder(1, 0, falling=12.0))
    assert [reading.direction for reading in made.readings] == ["rising"] * 6 + ["falling"] * 5
    assert [reading.row for reading in made.readings] == list(range(5, 16))
    assert [reading.applied_n for reading in made.readings] == [0.0, *LOADS, *LOADS[-2::-1], 0.0]


def test_what_makes_up_the_uncertainty_by_hand():
    # Whole counts of 0.1 N; falling lies 12 counts above rising, half of that is 0.6 N.
    rows = [row for k in range(3) for row in ladder(k + 1, 120 * k, falling=12.0, closing=0)]
    rows = [(*row[:-1], round(row[-1])) for row in rows]
    budget = {line.source: line for line in certificate(rows, allow_one_direction=False).budget}
    assert budget[ForceSource.RESOLUTION].u_n == pytest.approx(0.1 / 12**0.5, rel=2e-3)
    assert budget[ForceSource.HYSTERESIS].u_n == pytest.approx(0.6 / 3**0.5, rel=2e-3)
    # 0.002 % of the weights is stated, and nothing else scatters: what is left is the bend between the directions.
    assert budget[ForceSource.APPLIED_FORCE].u_relative == pytest.approx(2e-5)
    assert budget[ForceSource.SCATTER].u_n < 0.2


@pytest.mark.parametrize(
    ("first_s", "last_s", "judged"), [(45, 270, True), (46, 320, False), (20, 269, False), (20, 320, True)]
)
def test_creep_needs_half_a_minute_and_five(first_s, last_s, judged):
    # One count in 100 s under 10000: 2.7 counts from 30 s to 300 s, as far as the readings reach.
    rows = [(*row, "") for k in range(3) for row in ladder(k + 1, 120 * k)]
    rows += [("hold", "hold", 0, 1000.0, 10000.0 + 0.01 * t, t) for t in (first_s, 100, 200, last_s)]
    made = certificate(rows, extra=("time_s",))
    parts = {line.source: line.u_relative for line in made.budget}
    if judged:
        seen = min(last_s, 300) - max(first_s, 30)
        assert made.classes[0].creep_percent == pytest.approx(100 * 0.01 * seen / 10000.0, rel=1e-4)
        # Anywhere within it, either way.
        assert parts[ForceSource.CREEP] == pytest.approx(0.01 * seen / 10000.0 / 3**0.5, rel=1e-4)
    else:
        assert made.classes[0].creep_percent is None
        assert ForceSource.CREEP not in parts


def kinds(facts):
    return {fact.kind for fact in facts}


@pytest.mark.parametrize(
    ("series", "positions", "missing"),
    [
        (3, (0, 120, 240), set()),
        (2, (0, 120, 240), {Missing.FEW_SERIES, Missing.NOT_TURNED}),
        (3, (0, 0, 120), {Missing.NOT_TURNED}),
    ],
)
def test_what_a_class_still_lacks(series, positions, missing):
    rows = [row for k in range(series) for row in ladder(k + 1, positions[k], falling=0.0)]
    made = certificate(rows, allow_one_direction=False)
    assert kinds(made.classes[1].missing) == missing
    assert kinds(made.classes[0].missing) == missing | {Missing.NO_CREEP}


def test_one_direction_and_no_closing_zero_are_said():
    rows = [row for k in range(3) for row in ladder(k + 1, 120 * k)[:-1]]
    assert kinds(certificate(rows).classes[1].missing) == {Missing.ONE_DIRECTION, Missing.NO_ZERO_AFTER}


@pytest.mark.parametrize(("loads", "series"), [(10, 3), (10, 2), (9, 4), (5, 3)])
def test_astm_e74_counts_readings_and_loads(loads, series):
    given = published("astm_e74")
    rows = [
        (
            s,
            "rising",
            120 * s,
            round(1000.0 * k / loads, 6),
            round(10000.0 * k / loads + ((k * s) % 3 - 1), 3),
        )
        for s in range(1, series + 1)
        for k in range(loads + 1)
    ]
    expected = {}
    if loads * series < given["fewest_readings"]:
        expected[Missing.FEW_READINGS] = (loads * series, given["fewest_readings"])
    if loads < given["fewest_loads"]:
        expected[Missing.FEW_LOADS] = (loads, given["fewest_loads"])
    missing = certificate(rows).lower_limit.missing
    assert {fact.kind: (fact.figure("count"), fact.figure("needed")) for fact in missing} == expected


@pytest.mark.parametrize(("warmest", "warned"), [(22.0, False), (22.1, True)])
def test_a_temperature_that_moved_is_reported(warmest, warned):
    # ISO 376 asks for a temperature steady to ±1 °C (from memory).
    rows = [row for k in range(3) for row in ladder(k + 1, 120 * k)]
    rows = [(*row, 20.0 + (warmest - 20.0) * i / (len(rows) - 1)) for i, row in enumerate(rows)]
    warnings = certificate(rows, extra=("temperature_c",)).warnings
    moved = [fact.figure("change_k") for fact in warnings if fact.kind == Missing.TEMPERATURE_MOVED]
    assert moved == ([pytest.approx(2.1)] if warned else [])
