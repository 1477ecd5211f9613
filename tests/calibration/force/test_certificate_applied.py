"""A certificate made after the fact, applied to a recording in counts: from dead weights to the profile's budget."""

import datetime as dt

import numpy as np
import pandas as pd
import pytest

from feltload.acquisition.errors import CertificateError
from feltload.acquisition.loggers.importer import import_csv
from feltload.acquisition.recording.recording import read_recording
from feltload.app.cli import main
from feltload.app.text.machine.profile import describe_budget
from feltload.calibration.machine.file import parse_machine
from feltload.calibration.machine.parameters import START_ANGLE
from feltload.emulator import Person, machine_toml, scenario, simulate
from feltload.signal import BudgetBasis, BudgetSource
from feltload.signal.force_uncertainty import DEFAULT_GAIN_U
from feltload.signal.pipeline import estimate
from feltload.signal.session import Reference, Session

ZERO, PER_N, BENT = 20000.0, 800.0, 0.002
TODAY = dt.datetime.now(dt.UTC).date()


def counts(force_n):
    """A cell that is bent by 0.05 % of its reading at 200 N."""
    force = np.asarray(force_n)
    return ZERO + PER_N * force + BENT * force**2


def readings_file(path, date):
    rng = np.random.default_rng(8)
    lines = [
        f"# serial: C-9\n# date: {date}\n# latitude: 52.2 deg\n# height: 20 m\n# mass uncertainty: 0.02 %",
        "# weight density: 8000(50) kg/m3\n# rated capacity: 2 kN",
        "series,direction,position_deg,mass,reading",
    ]
    for series in (1, 2, 3):
        up = [0, 5, 10, 20, 30, 40, 50, 60, 80, 100]
        for direction, masses in (("rising", up), ("falling", up[-2::-1])):
            lines += [
                f"{series},{direction},{120 * series},{kg} kg,"
                f"{counts(kg * 9.81259 * (1 - 1.2 / 8000)) + rng.normal(0, 10):.0f}"
                for kg in masses
            ]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def session(tmp_path_factory):
    """An emulated session, logged in counts and imported without any certificate."""
    folder = tmp_path_factory.mktemp("counts")
    scene = scenario("lever-row", load_kg=40.0, person=Person(repetitions=6))
    run = simulate(scene, seed=21)
    force = run.force.rename(
        columns={"device_s": "time_s", "host_s": "host_time_s", "force_n": "force_counts"}
    )
    force = force.assign(force_counts=np.round(counts(force["force_counts"])))
    force[["time_s", "host_time_s", "force_counts"]].to_csv(folder / "force.csv", index=False)
    inertial = run.inertial.rename(columns={"device_s": "time_s", "host_s": "host_time_s"})
    inertial.drop(columns="seq").to_csv(folder / "imu.csv", index=False)
    import_csv(folder / "force.csv", folder / "imu.csv", folder / "old.mcap", load_kg=40.0, load_u_kg=0.02)
    return folder, run


def certificate_of(folder, date=TODAY, name="force"):
    out = folder / f"{name}.json"
    readings = readings_file(folder / f"{name}-readings.csv", date)
    assert main(["calibrate", "force", str(readings), "--out", str(out), "--force-overwrite"]) == 0
    return out.read_text(encoding="utf-8")


def test_counts_alone_are_no_force(session):
    folder, _ = session
    with pytest.raises(CertificateError, match="there is no certificate to make force of it"):
        read_recording(folder / "old.mcap").stream("force")


def test_newtons_come_out_and_the_recording_stays_as_it_is(session):
    folder, run = session
    before = (folder / "old.mcap").read_bytes()
    recording = read_recording(folder / "old.mcap", certificates={"force": certificate_of(folder)})
    got = recording.stream("force")["force_n"].to_numpy()
    error = (got - got[:40].mean()) - (run.force["force_n"] - run.force["force_n"][:40].mean()).to_numpy()
    # Counts were rounded, and the curve carries its own uncertainty.
    u = recording.certificate("force").u_force_n(np.maximum(np.abs(got), 50.0))
    assert np.all(np.abs(error) < 3 * u)
    assert (folder / "old.mcap").read_bytes() == before
    assert "force_counts" in read_recording(folder / "old.mcap").stream("force", raw=True)


def test_the_budget_shows_what_the_certificate_states(session):
    folder, run = session
    machine = parse_machine(machine_toml(run.scenario), "machine.toml")
    start = machine.parameter(START_ANGLE)
    reference = Reference(machine.name, start.value, start.u)
    recording = read_recording(folder / "old.mcap", certificates={"force": certificate_of(folder)})
    calibrated = Session.from_recording(recording)
    assert calibrated.force_uncertainty.gain_stated
    assert calibrated.force_uncertainty.certificate_serial == "C-9"
    high = float(np.percentile(np.abs(calibrated.force["force_n"]), 95))
    stated = float(recording.certificate("force").u_force_n(high)) / high
    assert calibrated.force_uncertainty.gain == pytest.approx(stated)
    assert stated < DEFAULT_GAIN_U / 5
    profile = estimate([calibrated], reference=reference)
    gain = next(item for item in profile.budget if item.source is BudgetSource.FORCE_GAIN)
    assert gain.stated
    assert (gain.basis, gain.figures["serial"]) == (BudgetBasis.CERTIFICATE, "C-9")
    assert "Nobody stated" not in describe_budget(profile)
    # One standard uncertainty of the gain moves every force by that share of it.
    assert np.abs(gain.curve_n) == pytest.approx(stated * np.abs(profile.static_n), rel=0.01, abs=0.001)


def test_by_command(session, tmp_path, capsys):
    folder, run = session
    (tmp_path / "m.toml").write_text(machine_toml(run.scenario), encoding="utf-8")
    (tmp_path / "cell.json").write_text(certificate_of(folder), encoding="utf-8")
    before = (folder / "old.mcap").read_bytes()
    old = [str(folder / "old.mcap"), "--machine", str(tmp_path / "m.toml")]
    assert main(["profile", *old, "--out", str(tmp_path / "without")]) == 2
    assert "give the sensor's certificate" in capsys.readouterr().err
    certificate = ["--certificate", str(tmp_path / "cell.json")]
    assert main(["profile", *old, *certificate, "--out", str(tmp_path / "with")]) == 0
    assert (folder / "old.mcap").read_bytes() == before
    profile = pd.read_csv(tmp_path / "with" / "profile.csv")
    q_rad = np.radians(profile["angle_deg"].to_numpy()) - run.start_angle_rad
    truth = run.scenario.static_force_n(q_rad)
    inner = slice(5, -5)
    assert profile["static_n"].to_numpy()[inner] == pytest.approx(truth[inner], rel=0.01)


def test_expired_is_refused_with_a_way_out(session):
    folder, _ = session
    text = certificate_of(folder, TODAY - dt.timedelta(days=800), "late")
    with pytest.raises(CertificateError, match=r"expired on .*calibrate again.*or accept the expired one"):
        read_recording(folder / "old.mcap", certificates={"force": text}).stream("force")
    accepted = read_recording(folder / "old.mcap", certificates={"force": text}, accept_expired=True)
    assert "force_n" in accepted.stream("force")
