"""C3D files as two readers that share no code see them: ezc3d, whose library wrote them, and the package c3d."""

from __future__ import annotations

import importlib.metadata

import c3d
import ezc3d
import numpy as np
import pytest

from feltload.acquisition import AnalogChannel, C3dEvent, C3dSession, write_c3d
from feltload.core import InputError

RATE_HZ = 100.0
ANGLE_DEG = np.linspace(-25.0, 60.0, 500)
FORCE_N = 200.0 + 50.0 * np.cos(np.deg2rad(ANGLE_DEG))
CHANNELS = [
    AnalogChannel("force", "N", FORCE_N, "at the handle"),
    AnalogChannel("angle", "deg", np.where(np.arange(500) == 7, np.nan, ANGLE_DEG)),
]


@pytest.fixture
def path(tmp_path):
    write_c3d(
        tmp_path / "a.c3d",
        CHANNELS,
        rate_hz=RATE_HZ,
        events=[C3dEvent("concentric start", 0.5, "repetition 1"), C3dEvent("concentric end", 62.25)],
        session=C3dSession(
            side="left", numbers={"LOAD_KG": 40.0, "LAG_S": float("nan")}, texts={"KIND": "machine"}
        ),
    )
    return tmp_path / "a.c3d"


def test_values_and_units_in_the_library_that_wrote_it(path):
    back = ezc3d.c3d(str(path))
    analog = back["parameters"]["ANALOG"]
    assert analog["LABELS"]["value"] == ["force", "angle"]
    assert analog["UNITS"]["value"] == ["N", "deg"]
    assert analog["RATE"]["value"][0] == RATE_HZ
    values = back["data"]["analogs"][0]
    assert np.allclose(values[0], FORCE_N, rtol=1e-6)
    assert np.isnan(values[1]).tolist() == (np.arange(500) == 7).tolist()
    events = back["parameters"]["EVENT"]
    assert events["USED"]["value"][0] == 2
    assert events["LABELS"]["value"] == ["concentric start", "concentric end"]
    assert events["CONTEXTS"]["value"] == ["Left", "Left"]
    # Minutes, and seconds beyond them.
    assert np.allclose(events["TIMES"]["value"], [[0.0, 1.0], [0.5, 2.25]])
    assert back["parameters"]["FELTLOAD"]["LOAD_KG"]["value"][0] == 40.0
    assert "LAG_S" not in back["parameters"]["FELTLOAD"]


@pytest.mark.filterwarnings("ignore:No point data")
def test_values_and_session_in_a_reader_of_its_own(path):
    with path.open("rb") as stream:
        back = c3d.Reader(stream)
        assert back.analog_rate == RATE_HZ
        assert [label.strip() for label in back.analog_labels] == ["force", "angle"]
        values = np.concatenate([analog for _, _, analog in back.read_frames(copy=True)], axis=1)
        assert np.allclose(values[0], FORCE_N, rtol=1e-6)
        assert np.allclose(np.delete(values[1], 7), np.delete(ANGLE_DEG, 7), rtol=1e-6)
        assert np.isnan(values[1][7])
        assert back.get("MANUFACTURER:SOFTWARE").string_array[0].strip() == "feltload"
        assert back.get("MANUFACTURER:VERSION_LABEL").string_array[0].strip() == importlib.metadata.version(
            "feltload"
        )
        assert back.get("FELTLOAD:LOAD_KG").float_value == 40.0
        assert back.get("FELTLOAD:KIND").string_array[0].strip() == "machine"
        assert [label.strip() for label in back.get("EVENT:LABELS").string_array] == [
            "concentric start",
            "concentric end",
        ]


def test_more_events_than_one_list_can_hold_go_on_in_the_next(tmp_path):
    events = [C3dEvent(f"e{number}", 0.01 * number) for number in range(300)]
    write_c3d(tmp_path / "a.c3d", CHANNELS, rate_hz=RATE_HZ, events=events)
    stored = ezc3d.c3d(str(tmp_path / "a.c3d"))["parameters"]["EVENT"]
    assert stored["USED"]["value"][0] == 300
    assert [*stored["LABELS"]["value"], *stored["LABELS2"]["value"]] == [event.label for event in events]


def test_channels_that_do_not_fit_are_refused(tmp_path):
    with pytest.raises(InputError, match="equally long"):
        write_c3d(tmp_path / "b.c3d", [CHANNELS[0], AnalogChannel("x", "", np.zeros(3))], rate_hz=RATE_HZ)
    with pytest.raises(InputError, match="no finite values"):
        write_c3d(tmp_path / "b.c3d", [AnalogChannel("x", "", np.full(3, np.nan))], rate_hz=RATE_HZ)
    assert not (tmp_path / "b.c3d").exists()
