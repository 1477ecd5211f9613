import struct

import ezc3d
import numpy as np
import pandas as pd
import pytest

from feltload.acquisition import (
    RecordingInfo,
    RecordingWriter,
    RigDescription,
    export_recording,
    read_recording,
    write_c3d,
)
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from feltload.core import InputError


@pytest.fixture
def recording(tmp_path):
    cell = StreamDescription(
        name="cell",
        kind="force",
        framing="notification",
        fields=[{"name": "force", "type": "f64", "unit": "N"}],
    )
    with RecordingWriter(
        tmp_path / "a.mcap", RecordingInfo(load_kg=40.0, rig=RigDescription(streams=(cell,)))
    ) as writer:
        for k in range(100):
            writer.write("cell", k * 10_000_000, struct.pack("<d", 100 * np.sin(k)))
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


def test_c3d_read_back_by_an_independent_reader(tmp_path):
    angle = np.deg2rad(np.linspace(-25, 60, 500))
    force = 200 + 50 * np.cos(angle)
    write_c3d(tmp_path / "a.c3d", force, angle, rate_hz=100.0)
    back = ezc3d.c3d(str(tmp_path / "a.c3d"))
    assert back["parameters"]["ANALOG"]["LABELS"]["value"] == ["force", "angle"]
    assert back["parameters"]["ANALOG"]["UNITS"]["value"] == ["N", "deg"]
    assert back["parameters"]["ANALOG"]["RATE"]["value"][0] == 100.0
    analogs = back["data"]["analogs"][0]
    assert np.allclose(analogs[0], force, rtol=1e-6)
    assert np.allclose(analogs[1], np.rad2deg(angle), rtol=1e-5, atol=1e-5)
    with pytest.raises(InputError, match="equally long"):
        write_c3d(tmp_path / "b.c3d", force, angle[1:], rate_hz=100.0)
