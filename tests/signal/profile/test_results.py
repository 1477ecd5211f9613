"""Results on disk: the promised columns and keys, whole files, faithful return."""

from __future__ import annotations

import errno
import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from built_estimate import built_estimate
from feltload.core import CommonFact
from feltload.signal.errors import ResultsError
from feltload.signal.profile.files.older_formats import present_meta
from feltload.signal.profile.files.results import load_results, save_results
from feltload.signal.profile.files.summary import FORMAT, profile_summary
from feltload.signal.profile.health import ProfileHealth
from feltload.signal.profile.uncertainty.budget_item import BudgetBasis, BudgetSource
from made_estimate import made_estimate

COLUMNS = [
    "angle_deg", "travel_percent", "static_n", "static_u95_n", "raising_n", "lowering_n", "friction_n",
    "friction_u95_n", "passes_raising", "passes_lowering",
]  # fmt: skip
KEYS = {
    "machine", "load_kg", "repetitions", "lag_s", "lag_u95_s", "inertia_n_per_rad_s2", "viscous_n_per_rad_s",
    "friction", "angle_rms_u_deg", "peak", "drop_off_percent", "shape", "budget", "health", "warnings",
}  # fmt: skip


def test_one_load(measure, tmp_path):
    made = measure("lever-row", seed=11).estimate
    save_results(tmp_path / "out", made)
    table = pd.read_csv(tmp_path / "out" / "profile.csv")
    assert list(table.columns) == COLUMNS
    assert np.all(np.diff(table["angle_deg"]) > 0)
    assert table["static_n"].to_numpy() == pytest.approx(made.static_n[0], rel=1e-5)
    summary = json.loads((tmp_path / "out" / "profile.json").read_text())
    assert set(summary) >= KEYS
    assert set(summary["peak"]) == {"angle_deg", "travel_percent", "force_n"}
    assert {"start_s", "range_deg", "concentric_s", "eccentric_s", "peak_n", "work_j"} <= set(
        summary["repetitions"][0]
    )
    assert {"source", "session", "u_n", "share"} <= set(summary["budget"][0])
    assert {line["source"] for line in summary["budget"]} <= {str(source) for source in BudgetSource}
    assert sum(line["share"] for line in summary["budget"]) == pytest.approx(1.0)
    assert not list((tmp_path / "out").glob(".*"))


def test_several_loads_come_as_blocks_and_come_back_whole(measure, tmp_path):
    made = measure("lever-row", loads=(20.0, 40.0), seed=12).estimate
    save_results(tmp_path, made)
    table = pd.read_csv(tmp_path / "profile.csv")
    assert list(table.columns) == ["load_kg", *COLUMNS]
    assert list(table["load_kg"].unique()) == [20.0, 40.0]
    back = load_results(tmp_path)
    assert np.array_equal(back.covariance_n2, made.covariance_n2)
    assert back.repetitions == made.repetitions
    assert back.lags == made.lags
    assert back.warnings == made.warnings
    assert back.force_n(0.1, 0.5, 1.0, 30.0) == pytest.approx(made.force_n(0.1, 0.5, 1.0, 30.0))
    assert [(item.source, item.session, item.basis, item.figures) for item in back.budget] == [
        (item.source, item.session, item.basis, item.figures) for item in made.budget
    ]
    assert back.health == made.health
    assert np.array_equal(back.friction_band.covariance_n2, made.friction_band.covariance_n2)
    assert np.array_equal(back.friction_u95_n, made.friction_u95_n)
    pd.testing.assert_frame_equal(back.to_frame(), made.to_frame())


def test_nothing_is_overwritten_unasked(measure, tmp_path):
    made = measure("lever-row", seed=11).estimate
    (tmp_path / "profile.csv").write_text("mine")
    with pytest.raises(ResultsError, match="already there"):
        save_results(tmp_path, made)
    assert (tmp_path / "profile.csv").read_text() == "mine"
    assert not (tmp_path / "model.npz").exists()
    save_results(tmp_path, made, overwrite=True)
    assert (tmp_path / "profile.csv").read_text().startswith("angle_deg")


def test_missing_and_cut_results_are_errors(measure, tmp_path):
    with pytest.raises(ResultsError, match="no profile here"):
        load_results(tmp_path)
    save_results(tmp_path, measure("lever-row", seed=11).estimate)
    content = (tmp_path / "model.npz").read_bytes()
    (tmp_path / "model.npz").write_bytes(content[: len(content) // 2])
    with pytest.raises(ResultsError, match="damaged"):
        load_results(tmp_path)


def test_a_profile_of_the_first_format_is_still_read():
    # Stored by the version before the squared rate's factor was given per load; figures are what that version read.
    back = load_results(Path(__file__).parents[1] / "stored" / "profile_format_1")
    assert np.array_equal(back.model.speed_n_per_rad2_s2_per_kg, np.zeros(54))
    assert back.static_n[1, 10] == pytest.approx(177.3077647345204, rel=1e-12)
    angles = np.radians([-15.0, -5.0, 5.0])
    assert back.force_n(angles, 1.5, 2.0, 0.0) == pytest.approx(
        [70.6155322199456, 73.6986815485416, 74.0464953072216], rel=1e-12
    )
    assert back.force_n(angles, 1.5, 2.0, 30.0) == pytest.approx(
        [171.12610549838956, 192.54957403716898, 206.06812532081216], rel=1e-12
    )


def test_a_profile_of_the_third_format_is_still_read():
    # Stored by the last version that kept no band of the friction; figures are what it read.
    back = load_results(Path(__file__).parents[1] / "stored" / "profile_format_3")
    assert back.static_n[1, 10] == pytest.approx(221.5254736277754, rel=1e-12)
    assert back.friction_n[1, 10] == pytest.approx(12.074488653561488, rel=1e-12)
    assert back.friction_band is None
    assert np.all(np.isnan(back.friction_u95_n))
    assert np.all(np.isnan(back.to_frame()["friction_u95_n"]))
    said = profile_summary(back)["friction"]
    assert [one["tight_spots"] for one in said] == [[], []]
    assert said[1]["mean_n"] == pytest.approx(np.mean(back.friction_n[1]))


def test_a_profile_of_the_second_format_is_still_read():
    # Stored by the last version that put its warnings, sources and field checks in words; figures are what it wrote.
    back = load_results(Path(__file__).parents[1] / "stored" / "profile_format_2")
    assert {fact.kind for fact in back.warnings} == {CommonFact.SAID}
    assert "passed only once one way" in str(back.warnings[0].figures["text"])
    assert {item.source for item in back.budget} >= {BudgetSource.REPEATABILITY, BudgetSource.FORCE_GAIN}
    assert {item.basis for item in back.budget} == {BudgetBasis.OLDER_FORMAT}
    assert back.health.field_checks == ()
    assert back.health.movements == 3
    again = profile_summary(back)
    assert [line["share"] for line in again["budget"]] == sorted(
        (line["share"] for line in again["budget"]), reverse=True
    )
    assert back.raising_n[0, 0] == pytest.approx(226.47661652362723, rel=1e-12)


def test_field_checks_under_built_keys_become_records():
    # Keys as the second format had them: a sentence, and where it could be judged whether it agrees.
    meta = present_meta(
        {
            "format": 2,
            "budget": [{"source": "force zero (row-20kg)", "stated": True, "note": "tare"}],
            "lags": [],
            "repetitions": [],
            "health": {
                "residual_n": 0.5,
                "rows_used": 10,
                "rows_rejected_percent": 1.0,
                "movements": 8,
                "cutoff_hz": 6.0,
                "field_check_row-20kg": "Field check with 10 kg: E_n is 0.3",
                "field_check_row-20kg_agrees": True,
                "field_check_row-20kg_2": "Field check with 10 kg: no certificate",
            },
        }
    )
    (zero,) = meta["budget"]
    assert (zero["source"], zero["session"]) == (BudgetSource.FORCE_ZERO, "row-20kg")
    checks = ProfileHealth.from_dict(meta["health"]).field_checks
    assert [(check.session, check.agrees) for check in checks] == [("row-20kg", True), ("row-20kg_2", None)]


def test_a_profile_lacking_a_term_is_damaged_not_taken_for_an_old_one(measure, tmp_path):
    save_results(tmp_path, measure("lever-row", loads=(20.0, 40.0), seed=12).estimate)
    with np.load(tmp_path / "model.npz") as store:
        kept = {name: store[name] for name in store.files if name != "model_speed_n_per_rad2_s2_per_kg"}
    np.savez(tmp_path / "model.npz", **kept)
    with pytest.raises(ResultsError, match="damaged"):
        load_results(tmp_path)


class Touch:
    """Something that acts when it is unpickled."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def __reduce__(self) -> tuple[object, tuple[Path]]:
        return Path.touch, (self.path,)


def test_a_profile_from_somebody_else_runs_nothing(tmp_path):
    meta = np.array([Touch(tmp_path / "touched")], dtype=object)
    np.savez(tmp_path / "model.npz", meta=meta)
    with pytest.raises(ResultsError, match="damaged or not a profile"):
        load_results(tmp_path)
    assert not (tmp_path / "touched").exists()


def test_a_profile_of_a_newer_format_is_refused(tmp_path):
    np.savez(tmp_path / "model.npz", meta=np.array(json.dumps({"format": FORMAT + 1})))
    with pytest.raises(ResultsError, match=f"format {FORMAT + 1} is newer than this program reads; update"):
        load_results(tmp_path)


def test_a_place_that_cannot_be_written_is_said_so(tmp_path):
    (tmp_path / "file").write_text("no folder")
    with pytest.raises(
        ResultsError, match=r"file/out: cannot write results: Not a directory; check the path"
    ):
        save_results(tmp_path / "file" / "out", made_estimate())


def test_the_summary_in_the_units_of_its_names():
    """Figures written down in `made_estimate`: 75° of travel, a lag good to 1 ms, 0.6 mrad of angle."""
    summary = profile_summary(made_estimate())
    assert summary["format"] == FORMAT
    assert summary["load_kg"] == [20.0, 40.0]
    first = summary["repetitions"][0]
    assert first == {
        "start_s": 6.0,
        "range_deg": pytest.approx(math.degrees(1.31)),
        "concentric_s": 2.4,
        "eccentric_s": 3.0,
        "peak_n": 141.0,
        "work_j": pytest.approx(126.9),
        "session": "lever-20kg",
        "load_kg": 20.0,
        "complete": True,
    }
    assert (summary["lag_s"], summary["lag_u95_s"]) == (0.024, pytest.approx(0.00196))
    assert summary["angle_rms_u_deg"] == pytest.approx(0.0006 * 180.0 / math.pi)
    assert summary["inertia_n_per_rad_s2"] == [6.0, 6.0]
    # Peaks of 9.81 / 0.655 times 3.61 cos(q - 21°) + 0.27 kg cos(q - 31°), nearest half degree.
    for load, peak in zip((20.0, 40.0), summary["peak"], strict=True):
        moments = 9.81 * np.array([9.5 * 0.38, 0.27 * load])
        angles = np.radians([-21.0, -31.0])
        along, across = moments @ np.cos(angles), moments @ np.sin(angles)
        assert peak["force_n"] == pytest.approx(math.hypot(along, across) / 0.655, rel=1e-4)
        assert peak["angle_deg"] == pytest.approx(-25.0 - math.degrees(math.atan2(across, along)), abs=0.26)


def test_one_load_has_values_instead_of_lists_and_what_is_unknown_is_null(tmp_path):
    two = made_estimate()
    unknown = replace(two.repetitions[0], work_j=math.nan)
    one = built_estimate(
        two.angle_rad,
        two.static_n[:1],
        two.loads_kg[:1],
        repetitions=(unknown,),
        inertia_by_load_n_per_rad_s2=np.where(two.angle_rad < 0.0, np.nan, 7.0)[None, :],
    )
    save_results(tmp_path, one)
    summary = json.loads((tmp_path / "profile.json").read_text(), parse_constant=pytest.fail)
    assert (summary["load_kg"], summary["inertia_n_per_rad_s2"]) == (20.0, 7.0)
    assert set(summary["peak"]) == {"angle_deg", "travel_percent", "force_n"}
    assert isinstance(summary["drop_off_percent"], float)
    assert summary["repetitions"][0]["work_j"] is None
    assert summary["repetitions"][0]["peak_n"] == 141.0


@pytest.mark.parametrize(
    ("name", "changed"),
    [
        ("static_n", lambda array: array[:, :-1]),
        ("static_n", lambda array: np.array("a")),
        ("covariance_n2", lambda array: array * np.nan),
        ("loads_kg", lambda array: array[:0]),
    ],
    ids=["short", "text", "nan", "empty"],
)
def test_arrays_that_do_not_fit_one_another_are_damage(name, changed, tmp_path):
    save_results(tmp_path, made_estimate())
    with np.load(tmp_path / "model.npz") as stored:
        arrays = dict(stored)
    np.savez(tmp_path / "model.npz", **{**arrays, name: changed(arrays[name])})
    with pytest.raises(ResultsError, match="damaged or not a profile"):
        load_results(tmp_path)


def test_a_disk_that_fills_leaves_the_results_that_were_there(tmp_path, monkeypatch):
    """Stands in for a full disk, which only an administrator can make: the last of the three files has no room."""
    from feltload.signal.profile.files import results

    save_results(tmp_path, made_estimate())
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}

    def full(estimate):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(results, "_packed", full)
    with pytest.raises(ResultsError, match="No space left on device; make room on the disk"):
        save_results(tmp_path, replace(made_estimate(), machine_name="another"), overwrite=True)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before
