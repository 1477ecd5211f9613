"""Results show what they are in a notebook, with the figures that their tables have."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from matplotlib.figure import Figure

from feltload.calibration import example_text, parse_machine, predict_profile
from feltload.coaching import LoadLine, match_capacity, profile_difference
from feltload.core import Shown
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
