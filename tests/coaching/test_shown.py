"""Results show what they are in a notebook, with the figures that their tables have."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import xarray as xr
from matplotlib.figure import Figure

from feltload.calibration import (
    example_text,
    free_dimension,
    judge_profile,
    parse_machine,
    parse_target,
    plan_survey,
    predict_profile,
    propose_design,
)
from feltload.coaching import (
    LoadLine,
    analyse_quantity,
    curve_repeatability,
    limits_of_agreement,
    match_capacity,
    plan_help,
    profile_difference,
)
from feltload.core import InputError, Shown
from feltload.signal import profile_dataset
from lever_profile import lever_profile
from made_capacity import made_capacity


def curve_of(result: Shown) -> np.ndarray:
    """Both edges' midline of the first band drawn, at each x."""
    ax = result.plot(Figure().subplots())
    assert ax.get_xlabel() and ax.get_ylabel()
    assert ax.collections, "no band"
    return np.asarray(ax.lines[0].get_ydata())


def test_profile() -> None:
    # The lever of the support module: 9 kg at 0.38 m and 20 kg at 0.30 m, level at 0°, handle at 0.65 m.
    level_n = 9.80665 * (9.0 * 0.38 + 20.0 * 0.30) / 0.65
    profile = lever_profile()
    assert f"load 20 kg, greatest static force (95 %) {level_n:.1f} ± 1.0 N" in repr(profile)
    assert "measured through repetitions" in repr(profile)
    assert repr(profile).endswith("at 36 % of the travel (0°)>")
    assert curve_of(profile).max() == pytest.approx(level_n)
    lost = replace(profile, static_n=np.full_like(profile.static_n, np.nan))
    assert "greatest static force (95 %) not known" in repr(lost)


def test_named_axes_hold_what_the_table_holds() -> None:
    profile = lever_profile()
    data, table = profile_dataset(profile), profile.to_frame()
    heavy = table[table["load_kg"] == 40.0]
    assert data["static_n"].sel(load_kg=40.0).to_numpy() == pytest.approx(heavy["static_n"].to_numpy())
    assert data["angle_deg"].to_numpy() == pytest.approx(heavy["angle_deg"].to_numpy(), abs=1e-6)
    assert (data["static_n"].attrs["units"], data["travel_percent"].attrs["units"]) == ("N", "percent")
    assert data["covariance_n2"].attrs["units"] == "N2"
    assert data["covariance_n2"].shape == (2, 71, 2, 71)
    assert all({"units", "long_name"} <= set(variable.attrs) for variable in data.variables.values())
    assert data[data["static_n"].attrs["ancillary_variables"]].attrs["long_name"].startswith("half-width")


def test_named_axes_go_through_a_netcdf_file(tmp_path) -> None:
    """Written and read by scipy's netCDF 3, which is always there; a linkage's positions too."""
    for kind in ("lever", "four-bar"):
        machine = parse_machine(example_text(kind))
        found = predict_profile(machine, travel_rad=0.7, loads_kg=np.array([20.0, 40.0]), trials=20)
        data = profile_dataset(found.estimate)
        data.to_netcdf(tmp_path / "profile.nc", engine="scipy")
        with xr.open_dataset(tmp_path / "profile.nc", engine="scipy") as read:
            xr.testing.assert_equal(read.load(), data)
            assert set(read.coords) == set(data.coords)
            for name, variable in data.variables.items():
                assert read[name].attrs == variable.attrs
            assert read.attrs == data.attrs


def test_prediction_says_that_nothing_was_measured() -> None:
    machine = parse_machine(example_text("lever"))
    found = predict_profile(machine, travel_rad=1.0, loads_kg=np.array([20.0]), trials=50)
    assert repr(found).startswith("<Resistance profile predicted, not measured, ")
    assert found.to_frame()["static_n"].to_numpy() == pytest.approx(curve_of(found))


def test_difference() -> None:
    found = profile_difference(lever_profile(peg_deg=10.0), lever_profile())
    assert f"{-found.mean_n[1]:.1f} ± {found.mean_u95_n[1]:.1f} N>" in repr(found)
    assert curve_of(found) == pytest.approx(found.difference_n[0])


def test_capacity_and_match_shade_what_hurts() -> None:
    capacity = made_capacity().marked([(np.radians(30.0), np.radians(40.0))])
    assert repr(capacity).endswith(
        "greatest force (95 %) 420 ± 17 N, at start angle plus rotation −25°, ranges marked painful 1>"
    )
    assert "invented: an emulated person" in repr(replace(capacity, invented=True))
    match = match_capacity(LoadLine.of(lever_profile()), capacity, 40.0)
    assert f"greatest demand (95 %) {100 * match.limiting_demand:.1f} ±" in repr(match)
    assert curve_of(match) == pytest.approx(100.0 * match.demand)
    for result in (capacity, match):
        names = [t.get_text() for t in result.plot(Figure().subplots()).get_legend().get_texts()]
        assert "marked painful" in names


def test_positions_are_those_of_the_table() -> None:
    profile = lever_profile()
    table = profile.to_frame()
    for positions, column in (("travel", "travel_percent"), ("angle", "angle_deg")):
        ax = profile.plot(Figure().subplots(), positions=positions)
        assert ax.lines[0].get_xdata() == pytest.approx(table[column].to_numpy()[:71], abs=1e-5)
    with pytest.raises(InputError, match=r'use "travel" or "angle"'):
        profile.plot(positions="handle")
    match = match_capacity(LoadLine.of(profile), made_capacity(), 40.0)
    assert match.plot(Figure().subplots()).get_xlabel() == "part of the travel, %"


LEVER = parse_machine(example_text("lever"))
TRAVEL_RAD = float(np.radians(70.0))
FALLS = parse_target("falls 25(5) % from start to end")


def test_survey() -> None:
    plan = plan_survey(LEVER)
    assert repr(plan).startswith("<Survey of lever row (invented), 40 kg, predicted, not measured: 95 % band")
    assert f"± {plan.band_percent:.1f} % of the peak, wanted ± 2 %>" in repr(plan)
    assert curve_of(plan) == pytest.approx(plan.force_n)
    table = plan.to_frame()
    assert table["share"].sum() == pytest.approx(1.0)
    assert table.loc[0, ["dimension", "unit", "value"]].tolist() == ["plates.angle", "deg", 13.0]
    assert plan._repr_html_().count("<tr>") == 1 + len(table)


def test_judgement_of_ends_draws_no_line_between_them() -> None:
    found = predict_profile(LEVER, travel_rad=TRAVEL_RAD, loads_kg=np.array([20.0, 40.0]), trials=50)
    light, _ = judge_profile(found.estimate, FALLS)
    assert "<20 kg compared with the target: falls 25(5) % from start to end: target not met, probab" in repr(
        light
    )
    assert repr(light).endswith("N at 100 % of the travel (45°)>")
    ax = light.plot(Figure().subplots())
    assert ax.lines[0].get_linestyle() == "None"
    table = light.to_frame()
    assert ax.lines[0].get_ydata() == pytest.approx(table["force_n"].to_numpy())
    # 80 % of the force at the start is the most that falling by 25 ± 5 % leaves.
    assert table["high_n"].iloc[-1] == pytest.approx(0.8 * table["force_n"].iloc[0])


def test_proposal_shows_today_and_what_tolerances_leave() -> None:
    plates = next(each for each in LEVER.parameters if each.key.dotted == "plates.angle")
    free = free_dimension(plates, -1.0, 1.0)
    found = propose_design(LEVER, [free], FALLS, loads_kg=[40.0], travel_rad=TRAVEL_RAD)
    assert ": meets every target (largest distance " in repr(found)
    assert "1 dimension changed; " in repr(found)
    assert ">plates.angle</td>" in found._repr_html_()
    table = found.to_frame()
    assert curve_of(found) == pytest.approx(table["proposed_n"].to_numpy())
    assert table["proposed_n"].between(table["low95_n"], table["high95_n"]).all()
    assert 0.7 < table["proposed_n"].iloc[-1] / table["proposed_n"].iloc[0] < 0.8
    assert table["today_n"].iloc[-1] / table["today_n"].iloc[0] < 0.3


def test_help_by_hand() -> None:
    plan = plan_help(LoadLine.of(lever_profile()), made_capacity(), 60.0, 0.8)
    assert "<Help by hand with 60 kg for 80 % of capacity: phase raising, greatest help (95 %) " in repr(plan)
    assert curve_of(plan) == pytest.approx(plan.help_n)


def test_repeatability_in_its_unit() -> None:
    rng = np.random.default_rng(1)
    values = 240.0 + rng.normal(0.0, 15.0, (10, 1)) + rng.normal(0.0, 2.0, (10, 3))
    labels = {
        "machine": [f"machine {m}" for m in range(10) for _ in range(3)],
        "day": [f"day {d}" for _ in range(10) for d in range(3)],
    }
    found = analyse_quantity(values.ravel(), labels, unit="N")
    assert found.sem is not None
    said = f"standard error of measurement (95 % interval) {found.sem.said('N')}>"
    assert repr(found).endswith(said)
    ax = found.plot(Figure().subplots())
    assert ax.get_xlabel() == "N"
    assert ax.lines[0].get_xdata()[0] == pytest.approx(found.sem.value)
    nothing = analyse_quantity(values[:, 0], {"machine": labels["machine"][::3]}, unit="N")
    assert "nothing was repeated" in repr(nothing)
    assert nothing.plot(Figure().subplots()).get_xlabel() == "N"
    limits = limits_of_agreement(values[:, 0], values[:, 1], unit="N")
    assert limits.plot(Figure().subplots()).lines[0].get_xdata()[1] == pytest.approx(limits.bias.value)
    assert limits.to_frame()["value"].tolist() == [limits.lower.value, limits.bias.value, limits.upper.value]
    curves = curve_repeatability(np.repeat(values.reshape(-1, 1), 5, axis=1), labels["machine"], unit="N")
    assert curves.plot(Figure().subplots()).lines[0].get_ydata() == pytest.approx(
        curves.to_frame()["sem"].to_numpy()
    )
    assert "standard error of measurement, smallest" in repr(curves)
