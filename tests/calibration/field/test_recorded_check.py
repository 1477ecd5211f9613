"""A known weight hung while recording, and the zero's drift, from a file written as the recorder writes it."""

from __future__ import annotations

import datetime as dt
import struct

import numpy as np
import pytest

from feltload.acquisition import RecordingInfo, RecordingWriter, RigDescription, read_recording
from feltload.acquisition.certificates.certificate import ForceCertificate, LowerLimit, Uncertainty
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from feltload.calibration.field.check import FieldCheckFact
from feltload.calibration.field.recorded_check import recorded_checks, refuse_overload, weight_force
from feltload.calibration.weights.gravity import Gravity
from feltload.core import InputError, Severity
from feltload.signal import ZeroFact
from feltload.signal.session import Session

GRAVITY = Gravity(9.81, 0.0003, "stated")
COUNTS_PER_N = 100.0
RATE_HZ = 80


def cell(unit: str, name: str = "cell") -> StreamDescription:
    return StreamDescription(
        name=name,
        kind="force",
        framing="notification",
        rate_hz=RATE_HZ,
        rated_capacity_n=500.0,
        fields=[{"name": "seq", "type": "u16"}, {"name": "force", "type": "f64", "unit": unit}],
    )


MOTION = StreamDescription(
    name="arm",
    kind="inertial",
    framing="notification",
    rate_hz=RATE_HZ,
    fields=[
        *({"name": f"gyro_{axis}", "type": "f32", "unit": "rad/s"} for axis in "xyz"),
        *({"name": f"accel_{axis}", "type": "f32", "unit": "m/s2"} for axis in "xyz"),
    ],
)


def certificate() -> str:
    return ForceCertificate(
        serial="T-1",
        calibrated_on=dt.date(2026, 3, 2),
        expires_on=dt.date(2027, 3, 2),
        gravity_m_s2=9.81,
        gravity_u_m_s2=3e-4,
        reading_unit="counts",
        zero_reading=1000.0,
        reading_scale=COUNTS_PER_N * 1000.0,
        coefficients_n=[0.0, 1000.0],
        covariance_n2=[[0.0, 0.0], [0.0, 0.0]],
        lowest_n=20.0,
        highest_n=400.0,
        budget=[Uncertainty(source="scatter", u_n=0.05)],
        lower_limit=LowerLimit(residual_sd_n=0.05, factor_n=0.1),
    ).model_dump_json()


def write(
    path, *, unit="counts", gain=1.0, felt_kg=10.0, stated="10.000(0.001) kg", drift_n=0.0, certified=True
):
    """Hands off for 3 s, the weight from 4 s to 9 s, a rest, hands off again from 17 s to 20 s."""
    rng = np.random.default_rng(11)
    time_s = np.arange(0.0, 20.0, 1 / RATE_HZ)
    force_n = np.where((time_s > 4.0) & (time_s < 9.0), felt_kg * 9.81, 0.0) + drift_n * time_s / 20.0
    force_n = gain * force_n + rng.normal(0.0, 0.05, time_s.size)
    reading = 1234.0 + COUNTS_PER_N * force_n if unit == "counts" else force_n + 12.0
    rig = RigDescription(streams=(cell(unit), MOTION))
    info = RecordingInfo(
        load_kg=0.0,
        rig=rig,
        started_utc="2026-06-01T10:00:00+00:00",
        certificates={"cell": certificate()} if certified and unit == "counts" else {},
    )
    start = 7_000_000_000
    with RecordingWriter(path, info, start_ns=start) as writer:
        for number, (at_s, value) in enumerate(zip(time_s, reading, strict=True)):
            at_ns = start + round(at_s * 1e9)
            writer.write("cell", at_ns, struct.pack("<Hd", number, value))
            writer.write("arm", at_ns, struct.pack("<6f", *rng.normal(0, 0.003, 3), 0.0, 0.0, 9.81))
        for kind, begun_s, ended_s, text in (
            ("tare", 0, 3, ""),
            ("field-check", 5, 8, stated),
            ("zero-after", 17, 20, ""),
        ):
            writer.mark(kind, start + begun_s * 10**9, text, until_ns=start + ended_s * 10**9)
    return read_recording(path)


def test_a_sound_cell_agrees(tmp_path):
    (check,) = recorded_checks(write(tmp_path / "a.mcap"), gravity=GRAVITY)
    assert (check.stream, check.at_s) == ("cell", 5.0)
    assert check.applied_n == pytest.approx(98.1)
    assert check.measured_n == pytest.approx(98.1, abs=0.03)
    assert check.check.agrees
    assert check.fact.kind is FieldCheckFact.AGREES
    assert check.fact.figure("en") == check.check.en


def test_a_gain_that_changed_is_found(tmp_path):
    (check,) = recorded_checks(write(tmp_path / "a.mcap", gain=1.02), gravity=GRAVITY)
    assert check.measured_n == pytest.approx(1.02 * 98.1, abs=0.05)
    assert not check.check.agrees
    assert check.fact.kind is FieldCheckFact.DIFFERS
    assert check.fact.severity is Severity.SERIOUS


def test_without_certificate_and_out_of_range(tmp_path):
    (plain,) = recorded_checks(write(tmp_path / "a.mcap", unit="N", gain=1.02), gravity=GRAVITY)
    assert plain.check is None
    assert plain.measured_n == pytest.approx(1.02 * 98.1, abs=0.05)
    assert plain.fact.kind is FieldCheckFact.WITHOUT_CERTIFICATE
    (counts,) = recorded_checks(write(tmp_path / "b.mcap", certified=False), gravity=GRAVITY)
    assert counts.measured_n is None
    assert counts.fact.kind is FieldCheckFact.READING_ONLY
    assert counts.fact.figure("reading") == pytest.approx(98.1 * COUNTS_PER_N, abs=5)
    (heavy,) = recorded_checks(write(tmp_path / "c.mcap", stated="45 kg"), gravity=GRAVITY)
    assert heavy.check is None
    assert heavy.fact.kind is FieldCheckFact.OUT_OF_RANGE
    assert heavy.fact.figure("highest_n") == 400.0


def test_too_heavy_or_no_weight_is_refused_before_it_hangs():
    rig = RigDescription(streams=(cell("N"),))
    with pytest.raises(InputError, match="do not hang"):
        refuse_overload(weight_force("60 kg", where="--field-check").value, rig, where="--field-check")
    with pytest.raises(InputError, match="more than 0"):
        weight_force("0 kg", where="--field-check")
    # Unstated: a stamped plate, within 2.5 %, rectangular; gravity beside it.
    force = weight_force("10 kg", where="--field-check", gravity=GRAVITY)
    assert force.u == pytest.approx(98.1 * 0.025 / np.sqrt(3), rel=1e-3)


def test_zero_before_and_after_reach_the_session(tmp_path):
    """4 N of drift over 20 s: windows' middles are 17 s apart, so 3.4 N; taken off, a fifth of it left as doubt."""
    session = Session.from_recording(write(tmp_path / "a.mcap", drift_n=4.0))
    late = session.force["host_s"].between(17, 20)
    assert abs(session.force.loc[late, "force_n"].mean()) < 0.4
    assert session.force_uncertainty.drift_stated
    assert session.force_uncertainty.drift_n == pytest.approx(0.2 * 3.4, rel=0.1)
    (drifted,) = [fact for fact in session.warnings if fact.kind == ZeroFact.DRIFTED]
    assert drifted.figure("drift_n") == pytest.approx(3.4, abs=0.05)
    steady = Session.from_recording(write(tmp_path / "b.mcap"))
    assert steady.force_uncertainty.drift_n < 0.05
    assert not any(fact.kind == ZeroFact.DRIFTED for fact in steady.warnings)
