"""Motion as a BIDS dataset: names by the standard's own checker, contents by pandas and json."""

from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from bids_validator import BIDSValidator

from feltload.app.cli import main
from feltload.app.files.recordings import open_recording
from feltload.app.jobs.exporting.joined import joined_of

ROW = Path(__file__).parents[3] / "recordings" / "lever-row-40kg.mcap"
STEM = "sub-rowA/ses-1/motion/sub-rowA_ses-1_task-repetitions_tracksys-arm_acq-kim_run-1"


def export(dataset: Path, *labels: str) -> int:
    return main(["export", str(ROW), "--out", str(dataset), "--format", "bids", *labels])


@pytest.fixture(scope="module")
def dataset(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("bids") / "rows"
    for run in ("1", "2"):
        labels = ("--subject", "rowA", "--session", "1", "--acquisition", "kim", "--run", run)
        assert export(folder, *labels) == 0
    return folder


def test_every_name_is_one_of_the_standard(dataset) -> None:
    names = [f"/{path.relative_to(dataset).as_posix()}" for path in dataset.rglob("*") if path.is_file()]
    assert len(names) == 2 * 6 + 4
    assert [name for name in names if not BIDSValidator().is_bids(name)] == []


def test_motion_is_the_joined_table(dataset) -> None:
    columns = pd.read_csv(dataset / f"{STEM}_channels.tsv", sep="\t", keep_default_na=False)
    assert list(columns.columns[:5]) == ["name", "component", "type", "tracked_point", "units"]
    motion = pd.read_csv(dataset / f"{STEM}_motion.tsv", sep="\t", header=None, na_values="n/a")
    motion.columns = list(columns["name"])
    joined = joined_of(open_recording(ROW), side=None, rate_hz=100.0).frame
    for name, theirs, scale in (
        ("force", "force_n", 1.0),
        ("angle", "angle_rad", 1.0),
        ("rate", "rate_rad_s", 1.0),
        ("acceleration", "accel_rad_s2", 1.0),
        ("travel", "handle_travel_mm", 1e-3),
    ):
        assert np.allclose(motion[name], scale * joined[theirs], rtol=1e-7, equal_nan=True)
    assert dict(zip(columns["name"], columns["units"], strict=True))["acceleration"] == "rad/s^2"


def test_sidecar_says_what_the_standard_requires(dataset) -> None:
    said = json.loads((dataset / f"{STEM}_motion.json").read_text(encoding="utf-8"))
    assert {"TaskName", "SamplingFrequency", "TrackingSystemName"} <= set(said)
    columns = pd.read_csv(dataset / f"{STEM}_channels.tsv", sep="\t")
    assert (
        said["MotionChannelCount"]
        == len(columns)
        == sum(
            count
            for name, count in said.items()
            if name.endswith("ChannelCount") and not name.startswith("Motion")
        )
    )
    assert said["LoadKilograms"] == 40.0 and said["InventedData"] is True
    assert re.fullmatch(r"[0-9a-f]{64}", said["SamplesSHA256"])


def test_events_are_marks_and_turning_points(dataset) -> None:
    events = pd.read_csv(dataset / f"{STEM}_events.tsv", sep="\t", keep_default_na=False)
    assert list(events.columns[:3]) == ["onset", "duration", "trial_type"]
    assert events["trial_type"].value_counts().to_dict() == {"concentric": 5, "eccentric": 5, "tare": 1}
    joined = joined_of(open_recording(ROW), side=None, rate_hz=100.0)
    first = joined.repetitions[0]
    zero_s = joined.frame["time_s"].iloc[0]
    concentric = events[events["trial_type"] == "concentric"].iloc[0]
    assert concentric["onset"] == pytest.approx(first.start_s - zero_s, abs=1e-4)
    assert concentric["onset"] + concentric["duration"] == pytest.approx(first.turn_s - zero_s, abs=2e-4)


def test_recordings_are_listed_once_each(dataset) -> None:
    scans = pd.read_csv(dataset / "sub-rowA" / "ses-1" / "sub-rowA_ses-1_scans.tsv", sep="\t")
    assert scans["filename"].tolist() == [
        f"motion/sub-rowA_ses-1_task-repetitions_tracksys-arm_acq-kim_run-{run}_motion.tsv" for run in "12"
    ]
    assert scans["acq_time"].str.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z").all()
    assert (dataset / "participants.tsv").read_text(encoding="utf-8") == "participant_id\nsub-rowA\n"
    described = json.loads((dataset / "dataset_description.json").read_text(encoding="utf-8"))
    assert (described["Name"], described["DatasetType"]) == ("rows", "raw")


@pytest.mark.parametrize(
    ("labels", "said"),
    [
        ((), "needs the name of what was recorded"),
        (("--subject", "row A"), '"row A" is no subject of a BIDS name'),
        (("--subject", "rowA", "--run", "b"), '"b" is no run of a BIDS name'),
        (("--subject", "rowA", "--session", "1", "--acquisition", "kim", "--run", "1"), "already exists"),
    ],
)
def test_bad_names_are_one_line_and_what_is_there_stays(dataset, labels, said, capsys) -> None:
    before = (dataset / f"{STEM}_motion.tsv").read_bytes()
    assert export(dataset, *labels) == 2
    err = capsys.readouterr().err
    assert said in err and err.count("\n") == 1
    assert (dataset / f"{STEM}_motion.tsv").read_bytes() == before


def test_when_a_person_was_measured_is_not_told(tmp_path) -> None:
    holds = ROW.with_name("client-holds.mcap")
    out = tmp_path / "people"
    assert (
        main(
            [
                "export",
                str(holds),
                "--out",
                str(out),
                "--format",
                "bids",
                "--subject",
                "01",
                "--task",
                "holds",
            ]
        )
        == 0
    )
    scans = out / "sub-01" / "sub-01_scans.tsv"
    assert scans.read_text(encoding="utf-8").splitlines()[1].endswith("\tn/a")
    assert scans.stat().st_mode & 0o077 == 0
