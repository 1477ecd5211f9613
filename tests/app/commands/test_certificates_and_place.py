"""`profile --certificate` on a recording made before the calibration, and gravity of the place in `check`."""

from __future__ import annotations

import json
from dataclasses import replace

import pandas as pd
import pytest

from feltload.acquisition.recording.recording import read_recording
from feltload.acquisition.recording.writer import RecordingWriter
from feltload.acquisition.wire.descriptions.schema import RigDescription
from published_data import published

GAIN = 1.02
"""The certificate of these tests says that the cell reads 2 % too little."""
COUNT_N = 0.005
"""Newtons per count as the rig file of the shipped recordings states them."""


def certificate(*, serial: str = "LC-1", expires: str = "2030-01-01") -> str:
    return json.dumps(
        {
            "kind": "force",
            "serial": serial,
            "calibrated_on": "2020-01-01",
            "expires_on": expires,
            "gravity_m_s2": 9.812,
            "gravity_u_m_s2": 0.0001,
            "reading_unit": "counts",
            "reading_scale": 1.0 / COUNT_N,
            "zero_reading": 0.0,
            "coefficients_n": [0.0, GAIN],
            "covariance_n2": [[0.0, 0.0], [0.0, 1e-6]],
            "lowest_n": 10.0,
            "highest_n": 500.0,
            "budget": [{"source": "weights", "u_relative": 0.0005}],
            "lower_limit": {"residual_sd_n": 0.01, "factor_n": 0.024},
        }
    )


@pytest.fixture(scope="module")
def in_counts(recordings, tmp_path_factory):
    """The bytes of a shipped recording under a rig file that does not know newtons."""
    read = read_recording(recordings / "lever-row-40kg.mcap")
    rig = json.loads(read.info.rig.model_dump_json())
    field = next(field for field in rig["streams"][0]["fields"] if field["name"] == "force")
    assert field["scale"] == COUNT_N
    field.update(unit="counts", scale=1.0)
    info = replace(read.info, rig=RigDescription.model_validate(rig))
    path = tmp_path_factory.mktemp("counts") / "row.mcap"
    tare = next(mark for mark in read.marks if mark.kind == "tare")
    with RecordingWriter(path, info, start_ns=read.origin_ns) as writer:
        for name in ("force", "inertial"):
            messages = read.messages(name)
            start = 0
            for host_ns, end in zip(messages.host_ns, messages.ends, strict=True):
                writer.write(name, int(host_ns), messages.data[start:end].tobytes())
                start = int(end)
        start, until = (read.origin_ns + round(1e9 * at) for at in (tare.start_s, tare.until_s))
        writer.mark("tare", start, until_ns=until)
    return path


@pytest.fixture(scope="module")
def plain(feltload, recordings, tmp_path_factory):
    out = tmp_path_factory.mktemp("plain") / "r"
    ran = feltload("profile", recordings / "lever-row-40kg.mcap", "--out", out)
    assert ran.code == 0, ran.err
    return out


def test_certificate_is_applied_to_an_old_recording(feltload, in_counts, plain, tmp_path):
    row, cell, out = in_counts, tmp_path / "cell.json", tmp_path / "r"
    feltload("profile", row, "--out", out).one_line_error("force", "certificate")
    cell.write_text(certificate(expires="2021-01-01"))
    before = row.read_bytes()
    line = feltload("profile", row, "--certificate", cell, "--out", out).one_line_error(
        "expired", "2021-01-01"
    )
    assert "accept" in line
    ran = feltload("profile", row, "--certificate", cell, "--accept-expired", "--out", out, "--json")
    assert ran.code == 0, ran.err
    bare, remark = json.loads(ran.out)["remarks"]
    assert bare["kind"] == "certificate-without-readings"
    assert (remark["kind"], remark["figures"]["serial"]) == ("certificate-had-expired", "LC-1")
    assert remark["figures"]["expired_on"] == "2021-01-01"
    assert "accepted on purpose" in (out / "report.html").read_text(encoding="utf-8")
    with_it, without = (pd.read_csv(folder / "profile.csv") for folder in (out, plain))
    assert (with_it["static_n"] / without["static_n"]).to_numpy() == pytest.approx(GAIN, rel=2e-3)
    assert row.read_bytes() == before


def test_gravity_of_the_place_is_used_and_said(feltload, recordings, plain):
    words = ("check", plain, "--machine", recordings / "lever-row.toml", "--force-overwrite", "--json")
    unstated = json.loads(feltload(*words).out)["gravity"]
    assert unstated["value_m_s2"] == 9.80665
    assert "not stated" in unstated["source"]
    ran = feltload(*words, "--latitude", "45 deg", "--height", "0 m")
    stated = json.loads(ran.out)["gravity"]
    # The program's WGS 84 and the published GRS 80 (Moritz 2000) part by 1.4e-6 m/s^2 there.
    at_45 = published("grs_80")["gravity_m_s2"][1]
    assert stated["value_m_s2"] == pytest.approx(at_45, abs=2e-6)
    assert stated["u_m_s2"] < unstated["u_m_s2"] / 10.0
    kept = json.loads((plain / "agreement.json").read_text())
    assert kept["g_m_s2"] == pytest.approx(stated["value_m_s2"], abs=1e-5)
    assert "9.8062 ± 0.0010 m/s²" in (plain / "check.html").read_text(encoding="utf-8")


def test_place_of_the_profile_is_taken_by_check(feltload, recordings, tmp_path):
    out, row = tmp_path / "r", recordings / "lever-row-40kg.mcap"
    ran = feltload("profile", row, "--latitude", "60 deg", "--out", out, "--json")
    assert ran.code == 0, ran.err
    stated = json.loads(ran.out)["gravity"]
    ran = feltload("check", out, "--machine", recordings / "lever-row.toml", "--json")
    assert json.loads(ran.out)["gravity"] == stated


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (("--latitude", "52 m"), "--latitude"),
        (("--latitude", "95 deg"), "pole"),
        (("--height", "100 m"), "latitude"),
    ],
)
def test_a_place_that_cannot_be(feltload, recordings, tmp_path, words, named):
    row = recordings / "lever-row-40kg.mcap"
    feltload("profile", row, "--out", tmp_path / "r", *words).one_line_error(named)


def test_import_takes_a_certificate_whatever_its_file_is_called(feltload, tmp_path):
    """By its kind, or for the stream it is given for; what does not fit is one line and leaves no recording."""
    time_s = [f"{k / 80:.4f}" for k in range(400)]
    rows = {
        "f.csv": ["time_s,force_counts", *(f"{t},20000" for t in time_s)],
        "i.csv": [
            "time_s," + ",".join([f"gyro_{a}_rad_s" for a in "xyz"] + [f"accel_{a}_m_s2" for a in "xyz"]),
            *(f"{t},0,0,0.1,0,0,9.81" for t in time_s),
        ],
    }
    for name, lines in rows.items():
        (tmp_path / name).write_text("\n".join(lines) + "\n")
    cell = tmp_path / "LC-1 of March.json"
    cell.write_text(certificate())
    out = tmp_path / "r.mcap"
    words = (
        "import",
        "--force",
        tmp_path / "f.csv",
        "--imu",
        tmp_path / "i.csv",
        "--load",
        "40 kg",
        "--out",
        out,
    )
    for given in (cell, f"force={cell}"):
        ran = feltload(*words, "--certificate", given, "--force-overwrite")
        assert ran.code == 0, ran.err
        assert read_recording(out).stream("force")["force_n"].iloc[5] == pytest.approx(20000 * COUNT_N * GAIN)
    out.unlink()
    for given, said in (
        (f"inertial={cell}", "for a force sensor, inertial is inertial"),
        (f"cell={cell}", 'there is no stream "cell"; the streams are force, inertial'),
        (f"force={tmp_path / 'none.json'}", "none.json: no such file"),
    ):
        feltload(*words, "--certificate", given).one_line_error(said)
        assert not out.exists()
