"""The recordings that ship: whole, and what the emulated rig meant."""

from pathlib import Path

import numpy as np
import pytest

from feltload.acquisition.recording.recording import read_recording

FOLDER = Path(__file__).resolve().parents[3] / "recordings"
NAMES = (
    "lever-row-20kg",
    "lever-row-40kg",
    "peg-out-20kg",
    "peg-out-40kg",
    "client-holds",
    "partner-help-40kg",
)


@pytest.mark.parametrize("name", NAMES)
def test_shipped_recording_is_whole(name: str) -> None:
    recording = read_recording(FOLDER / f"{name}.mcap")
    assert recording.damage == ()
    assert recording.info.rig.invented
    assert recording.info.kind == {"client": "holds", "partner": "helped"}.get(name.split("-")[0], "machine")
    assert recording.info.machine_toml is not None and "peg" not in recording.info.machine_toml
    assert [mark.kind for mark in recording.marks] == ["tare"]
    force, inertial = recording.stream("force"), recording.stream("inertial")
    for stream, rate_hz in ((force, 80.0), (inertial, 100.0)):
        assert np.median(np.diff(stream["device_s"])) == pytest.approx(1.0 / rate_hz, rel=0.02)
        assert stream["host_s"].iloc[-1] > 35.0
        assert len(stream) > 0.99 * np.ptp(stream["seq"])
    rest = force[force["host_s"] < 2.0]["force_n"]
    assert rest.std() < 1.0
    assert 150.0 < force["force_n"].max() - rest.mean() < 800.0


def test_heavier_load_and_peg_further_out_pull_harder() -> None:
    middle = {}
    for name in NAMES[:4]:
        force = read_recording(FOLDER / f"{name}.mcap").stream("force")
        level = force["force_n"] - force.loc[force["host_s"] < 2.0, "force_n"].mean()
        middle[name] = float(level[level > 60.0].median())
    assert middle["lever-row-40kg"] > 1.4 * middle["lever-row-20kg"]
    assert middle["peg-out-40kg"] > middle["lever-row-40kg"]
