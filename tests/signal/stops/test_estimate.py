"""Static profiles of emulated machines from readings by hand, against the truth, and what is said of odd readings."""

from __future__ import annotations

import warnings
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from feltload.core import STANDARD_GRAVITY_M_S2, Severity
from feltload.emulator import HandScaleErrors, read_by_hand, scenario, scenario_names
from feltload.signal.errors import ProfileError
from feltload.signal.movement.travel import AngleKind
from feltload.signal.profile.estimate import ProfileEstimate
from feltload.signal.profile.files.results import load_results, profile_summary, save_results
from feltload.signal.profile.findings import summarize_findings
from feltload.signal.profile.uncertainty.budget_item import BudgetSource
from feltload.signal.session import Reference
from feltload.signal.stops.estimate import estimate_at_stops
from feltload.signal.stops.facts import StopsFact
from feltload.signal.stops.scale import HandScale
from feltload.signal.stops.table import TableOptions, read_stops

EXACT = HandScaleErrors(0.001, 0.0, 0.0, 0.0, 0.0, 0.0)


def profile(
    folder: Path,
    table: pd.DataFrame,
    start_rad: float = 0.0,
    angle: AngleKind = AngleKind.LEVER,
    **known: float,
) -> ProfileEstimate:
    path = folder / "stops.csv"
    table.to_csv(path, index=False)
    reference = Reference("invented", start_rad, known.pop("u_start_rad", 0.0), angle=angle)
    readings = read_stops(path, reference, TableOptions(load_kg=40.0))
    return estimate_at_stops(readings, reference, HandScale(**known), where=str(path))


def kinds(estimate: ProfileEstimate) -> set[str]:
    return {fact.kind for fact in estimate.warnings}


@pytest.mark.parametrize("name", scenario_names())
def test_without_errors_it_is_the_machine(name, tmp_path):
    scene = scenario(name)
    table = read_by_hand(scene, 1, stops=11, errors=EXACT).table
    turns = np.ptp(table["rotation_deg"]) > 360.0
    estimate = profile(tmp_path, table, angle=AngleKind.ROTATION if turns else AngleKind.LEVER)
    truth = scene.static_force_n(estimate.angle_rad)
    # The band of the band-arm takes hold at once in mid-travel: a kink between two stops.
    apart = 0.03 if name == "band-arm" else 0.01
    assert np.max(np.abs(estimate.static_n[0] - truth)) < apart * np.max(np.abs(truth))
    inside = np.abs(estimate.static_n[0] - truth) <= estimate.static_u95_n[0]
    assert np.all(inside) or name == "band-arm"
    # Friction that varies along the travel is followed less closely than the force.
    rubbing = scene.friction_n(estimate.angle_rad)
    assert np.mean(np.abs(estimate.friction_n[0] - rubbing)) < 0.25 * np.mean(rubbing)


def test_drawn_errors_lie_within_the_band_about_as_often_as_it_says(tmp_path):
    """Twenty sessions on four machines; the study in benchmarks/ has a thousand."""
    inside, of_friction = [], []
    for seed in range(20):
        scene = scenario(("lever-row", "over-the-top", "four-bar", "cam-drum")[seed % 4])
        hand = read_by_hand(scene, seed)
        start = 0.2 + hand.start_angle_error_rad
        estimate = profile(tmp_path, hand.table, start, u_start_rad=HandScaleErrors().start_angle_sd_rad)
        error = estimate.static_n[0] - scene.static_force_n(estimate.angle_rad - 0.2)
        inside.append(np.mean(np.abs(error) <= estimate.static_u95_n[0]))
        rubbing = estimate.friction_n[0] - scene.friction_n(estimate.angle_rad - 0.2)
        of_friction.append(np.mean(np.abs(rubbing) <= estimate.friction_u95_n[0]))
    assert np.mean(inside) > 0.85
    assert np.mean(of_friction) > 0.85


def test_the_band_is_what_the_budget_adds_up_to(tmp_path):
    estimate = profile(tmp_path, read_by_hand(scenario("lever-row"), 3).table, u_start_rad=0.005)
    total = sum(item.curve_n**2 for item in estimate.budget)
    assert np.allclose(total.ravel(), np.diag(estimate.covariance_n2), rtol=1e-9)
    assert {item.source for item in estimate.budget} >= {
        BudgetSource.SCALE_RESOLUTION,
        BudgetSource.POSITION_READING,
        BudgetSource.BETWEEN_STOPS,
        BudgetSource.LINE_OF_PULL,
        BudgetSource.FORCE_GAIN,
        BudgetSource.START_ANGLE,
    }
    by_source = {item.source: item for item in estimate.budget}
    # Limits of 1 %: a rectangular distribution (JCGM 100:2008, 4.3.7).
    gain = by_source[BudgetSource.FORCE_GAIN]
    assert gain.curve_n == pytest.approx(estimate.static_n * 0.01 / np.sqrt(3.0))
    assert not gain.stated
    assert by_source[BudgetSource.FORCE_ZERO].curve_n == pytest.approx(
        0.1 * STANDARD_GRAVITY_M_S2 / np.sqrt(3.0)
    )


def test_a_way_that_was_not_noted_widens_the_band_and_is_said(tmp_path):
    table = read_by_hand(scenario("lever-row"), 4).table
    noted = profile(tmp_path, table)
    bare = profile(tmp_path, table.drop(columns="way"))
    assert StopsFact.FRICTION_NOT_SEPARATED in kinds(bare) and StopsFact.FRICTION_NOT_SEPARATED not in kinds(
        noted
    )
    assert np.all(bare.static_u95_n > 1.5 * noted.static_u95_n)
    assert np.all(np.isnan(bare.friction_n)) and np.all(np.isfinite(noted.friction_n))
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        said = {fact.kind for fact in summarize_findings(bare)}
    assert "profile-friction" not in said and "profile-inertia" not in said


def test_a_reading_written_down_wrong_is_named_by_its_row(tmp_path):
    table = read_by_hand(scenario("lever-row"), 5).table
    table.loc[6, "reading_kgf"] += 9.0
    (fact,) = [f for f in profile(tmp_path, table).warnings if f.kind == StopsFact.READING_OFF]
    assert fact.figures["row"] == 8
    assert fact.severity is Severity.SERIOUS and fact.figure("apart_n") > 0
    assert StopsFact.READING_OFF not in kinds(profile(tmp_path, read_by_hand(scenario("lever-row"), 5).table))


def test_swapped_ways_are_serious(tmp_path):
    table = read_by_hand(scenario("lever-row"), 6).table
    table["way"] = table["way"].map({"raising": "lowering", "lowering": "raising"})
    (fact,) = [f for f in profile(tmp_path, table).warnings if f.kind == StopsFact.WAYS_SWAPPED]
    assert fact.severity is Severity.SERIOUS


def test_a_wide_gap_is_said_and_the_band_is_wide_there(tmp_path):
    scene = scenario("lever-row")
    table = read_by_hand(scene, 7, stops=12).table
    travel = np.degrees(scene.machine.travel_rad)
    gap = table[~table["rotation_deg"].between(0.3 * travel, 0.75 * travel)]
    estimate = profile(tmp_path, gap)
    (fact,) = [f for f in estimate.warnings if f.kind == StopsFact.WIDE_GAP]
    assert 0.1 < fact.figure("low_share") < 0.35 and 0.7 < fact.figure("high_share") < 0.9
    between = next(item for item in estimate.budget if item.source is BudgetSource.BETWEEN_STOPS).curve_n[0]
    middle = between[np.abs(np.degrees(estimate.angle_rad) - 0.52 * travel) < 5.0].mean()
    assert middle > 1.5 * between[np.degrees(estimate.angle_rad) < 0.2 * travel].mean()


def test_repeated_readings_that_scatter_are_believed(tmp_path):
    steady = read_by_hand(scenario("lever-row"), 8, repeats=4)
    shaky = read_by_hand(
        scenario("lever-row"), 8, repeats=4, errors=replace(HandScaleErrors(), scatter_share=0.05)
    )

    def scatter(table: pd.DataFrame) -> float:
        budget = profile(tmp_path, table).budget
        return next(item.u_n for item in budget if item.source is BudgetSource.REPEATABILITY)

    assert scatter(shaky.table) > 3.0 * scatter(steady.table)


def test_two_loads_predict_others_and_share_the_scales_error(tmp_path):
    tables = []
    for load in (20.0, 40.0):
        table = read_by_hand(scenario("lever-row", load_kg=load), 9, errors=EXACT).table
        tables.append(table.assign(load=f"{load:g} kg"))
    estimate = profile(tmp_path, pd.concat(tables))
    truth = scenario("lever-row", load_kg=30.0).static_force_n(estimate.angle_rad)
    assert estimate.force_n(estimate.angle_rad, load_kg=30.0) == pytest.approx(truth, rel=0.01)
    u = np.sqrt(np.diag(estimate.covariance_n2))
    n = estimate.angle_rad.size
    assert estimate.covariance_n2[0, n] / (u[0] * u[n]) > 0.3


def test_nothing_is_said_of_motion(tmp_path):
    estimate = profile(tmp_path, read_by_hand(scenario("lever-row"), 10).table)
    assert not estimate.moved and estimate.lag is None
    assert np.isfinite(estimate.force_n(0.5))
    with pytest.raises(ProfileError, match="nothing of the machine in motion"):
        estimate.force_n(0.5, rate_rad_s=1.0)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        summary = profile_summary(estimate)
    assert (summary["method"], summary["inertia_n_per_rad_s2"], summary["lag_s"]) == ("stops", None, None)
    assert summary["repetitions"] == []


def test_it_is_kept_and_read_back_as_what_it_is(tmp_path):
    estimate = profile(tmp_path, read_by_hand(scenario("lever-row"), 11).table)
    save_results(tmp_path / "kept", estimate)
    again = load_results(tmp_path / "kept")
    assert (again.method, again.warnings, again.repetitions) == (estimate.method, estimate.warnings, ())
    assert np.array_equal(again.static_n, estimate.static_n)


def test_no_force_is_refused(tmp_path):
    table = read_by_hand(scenario("lever-row"), 12).table.assign(reading_kgf=0.0)
    with pytest.raises(ProfileError, match="hardly any force"):
        profile(tmp_path, table)
