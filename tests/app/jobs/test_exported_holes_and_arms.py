"""What leaves for other programs of a recording with holes and of one with two arms, as independent readers see it."""

from __future__ import annotations

import tomllib
from pathlib import Path

import ezc3d
import numpy as np
import pandas as pd
import pytest
from bids_validator import BIDSValidator

from feltload.acquisition import RecordingInfo, RecordingWriter
from feltload.acquisition.wire.descriptions.schema import RigDescription
from feltload.app.cli import main
from feltload.emulator import Person, cut_recording, machine_toml, scenario, simulate
from feltload.emulator.boards.board import sent
from feltload.emulator.boards.faults import Faults
from feltload.emulator.boards.protocols import PROTOCOLS
from feltload.emulator.boards.rig_file import rig_toml

ROW = Path(__file__).parents[3] / "recordings" / "lever-row-40kg.mcap"
START_NS = 7_000_000_000
RUN = ("--format", "bids", "--subject", "A", "--session", "1", "--run", "1")


def test_what_a_hole_took_is_missing_in_c3d_and_bids(tmp_path):
    """Two seconds of force and 0.6 s of motion: no value is put in their place, at 100 samples a second."""
    holes = {"sensor/force": [(10.0, 12.0)], "sensor/inertial": [(20.0, 20.6)]}
    cut_recording(ROW, tmp_path / "holes.mcap", holes)
    assert (
        main(["export", str(tmp_path / "holes.mcap"), "--out", str(tmp_path / "c3d"), "--format", "c3d"]) == 0
    )
    values = ezc3d.c3d(str(tmp_path / "c3d" / "holes.c3d"))["data"]["analogs"][0]
    missing = np.isnan(values).sum(axis=1)
    assert missing[0] == pytest.approx(200, abs=5)
    assert missing[1:] == pytest.approx([62] * 3, abs=5)
    assert main(["export", str(tmp_path / "holes.mcap"), "--out", str(tmp_path / "bids"), *RUN]) == 0
    (path,) = (tmp_path / "bids").rglob("*_motion.tsv")
    columns = pd.read_csv(path.with_name(path.name.replace("_motion", "_channels")), sep="\t")[
        "name"
    ].tolist()
    motion = pd.read_csv(path, sep="\t", header=None, names=columns, na_values="n/a")
    assert motion["force"].isna().sum() == missing[0] and motion["angle"].isna().sum() == missing[1]


@pytest.fixture(scope="module")
def both(tmp_path_factory) -> Path:
    """Two arms of an invented machine in one recording, a session of its own on each."""
    scene = scenario("lever-row", person=Person(repetitions=3))
    protocol = PROTOCOLS["reference"]
    streams = []
    for side in ("left", "right"):
        head, *parts = rig_toml(scene, protocol, f"force of {side}", f"inertial of {side}").split(
            "[[streams]]"
        )
        for kind, part in zip(("force", "inertial"), parts, strict=True):
            named = f'name = "{kind}-{side}"\nside = "{side}"'
            streams.append("[[streams]]" + part.replace(f'name = "{kind}"', named, 1))
    info = RecordingInfo(
        load_kg=40.0,
        rig=RigDescription.model_validate(tomllib.loads(head + "\n".join(streams))),
        kind="machine",
        started_utc="2026-03-10T09:00:00+00:00",
        machine_toml=machine_toml(scene),
    )
    path = tmp_path_factory.mktemp("arms") / "both.mcap"
    with RecordingWriter(path, info, start_ns=START_NS) as writer:
        for seed, side in enumerate(("left", "right")):
            for at_s, data, board in sent(simulate(scene, seed=seed), Faults(), protocol):
                writer.write(f"{board}-{side}", START_NS + round(at_s * 1e9), data)
        writer.mark("tare", START_NS, until_ns=START_NS + 2_500_000_000)
    return path


def test_an_arm_at_a_time_with_its_side_in_the_events(both, tmp_path, capsys):
    assert main(["export", str(both), "--out", str(tmp_path / "c3d"), "--format", "c3d"]) == 2
    assert "say which side: left or right" in capsys.readouterr().err
    assert not (tmp_path / "c3d").exists()
    angles = []
    for side, context in (("left", "Left"), ("right", "Right")):
        out = tmp_path / side
        assert main(["export", str(both), "--out", str(out), "--format", "c3d", "--side", side]) == 0
        back = ezc3d.c3d(str(out / "both.c3d"))
        events = back["parameters"]["EVENT"]
        assert set(events["CONTEXTS"]["value"]) == {context}
        assert events["LABELS"]["value"].count("concentric start") == 3
        assert back["parameters"]["ANALOG"]["UNITS"]["value"] == ["N", "deg", "rad/s", "rad/s2"]
        angles.append(back["data"]["analogs"][0][1])
    shorter = min(map(len, angles))
    assert np.nanmax(np.abs(angles[0][:shorter] - angles[1][:shorter])) > 10.0


def test_both_arms_go_into_one_dataset_as_acquisitions(both, tmp_path):
    for side in ("left", "right"):
        words = ("--side", side, "--acquisition", side)
        assert main(["export", str(both), "--out", str(tmp_path / "bids"), *RUN, *words]) == 0
    names = [
        f"/{path.relative_to(tmp_path / 'bids').as_posix()}" for path in (tmp_path / "bids").rglob("*.*")
    ]
    assert sum("_motion.tsv" in name for name in names) == 2
    assert [name for name in names if not BIDSValidator().is_bids(name)] == []
