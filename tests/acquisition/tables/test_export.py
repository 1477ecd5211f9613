import importlib.metadata
import json
import struct

import numpy as np
import pandas as pd
import pytest

from feltload.acquisition import (
    RecordingInfo,
    RecordingWriter,
    RigDescription,
    export_recording,
    read_recording,
)
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from feltload.core import InputError

MACHINE = 'name = "invented"\nmechanism = "lever"\n'


@pytest.fixture
def recording(tmp_path):
    cell = StreamDescription(
        name="cell",
        kind="force",
        framing="notification",
        fields=[
            {"name": "device_time", "type": "u32", "unit": "us"},
            {"name": "force", "type": "f64", "unit": "N"},
        ],
    )
    info = RecordingInfo(load_kg=40.0, rig=RigDescription(streams=(cell,)), machine_toml=MACHINE)
    with RecordingWriter(tmp_path / "a.mcap", info) as writer:
        for k in range(100):
            writer.write("cell", k * 10_000_000, struct.pack("<Id", k * 10_000, 100 * np.sin(k)))
        writer.mark("knock", 500_000_000)
    return read_recording(tmp_path / "a.mcap")


@pytest.mark.parametrize("format, read", [("csv", pd.read_csv), ("parquet", pd.read_parquet)])
def test_tables_read_back(recording, tmp_path, format, read):
    files = export_recording(recording, tmp_path / "out", format=format)
    table = read(files[0])
    assert table["force_n"].tolist() == pytest.approx((100 * np.sin(np.arange(100))).tolist(), rel=1e-8)
    assert pd.read_csv(tmp_path / "out" / "marks.csv")["kind"].tolist() == ["knock"]
    with pytest.raises(InputError, match="exists already"):
        export_recording(recording, tmp_path / "out", format=format)


def test_the_session_is_said_in_full(recording, tmp_path):
    export_recording(recording, tmp_path / "out", joined={"joined.csv": {"rate_hz": 100.0}})
    said = json.loads((tmp_path / "out" / "recording.json").read_text())
    assert said["software"] == {"name": "feltload", "version": importlib.metadata.version("feltload")}
    assert said["samples_sha256"] == recording.samples_sha256
    assert said["load_kg"] == 40.0
    assert said["rig"]["streams"][0]["fields"][1] == {"name": "force", "type": "f64", "unit": "N"}
    # The machine file as it was given, and its values for who reads no TOML.
    assert said["machine"]["toml"] == MACHINE
    assert said["machine"]["values"]["name"] == "invented"
    assert said["clocks"] == {
        "cell": {
            "host_s": "arrival",
            "device_s": "sensor-clock",
            "device_tick_s": 1e-6,
            "device_wrap": 1 << 32,
            "seq": None,
            "seq_wrap": None,
        }
    }
    assert said["health"]["cell"]["lost"] == 0
    assert said["joined"] == {"joined.csv": {"rate_hz": 100.0}}
