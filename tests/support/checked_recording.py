"""An emulated session in whose first rest a known weight hangs on the cell, written as the recorder writes it."""

from __future__ import annotations

import struct
from dataclasses import replace
from pathlib import Path

import numpy as np

from feltload.acquisition import RecordingInfo, RecordingWriter, RigDescription
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from feltload.calibration.force.calibration import calibrate_force
from feltload.emulator import TightSpot, scenario, simulate
from feltload.emulator.surveys import machine_toml

READINGS = Path(__file__).parents[2] / "recordings" / "cell-readings.csv"
GRAVITY_M_S2 = 9.80665
BEFORE_S = 12.0
CLOCK = {"name": "device_time", "type": "f64", "unit": "s"}
RIG = RigDescription(
    streams=(
        StreamDescription(
            name="cell",
            kind="force",
            framing="notification",
            rate_hz=80,
            fields=[CLOCK, {"name": "force", "type": "f64", "unit": "counts"}],
        ),
        StreamDescription(
            name="arm",
            kind="inertial",
            framing="notification",
            rate_hz=100,
            fields=[
                CLOCK,
                *({"name": f"gyro_{axis}", "type": "f64", "unit": "rad/s"} for axis in "xyz"),
                *({"name": f"accel_{axis}", "type": "f64", "unit": "m/s2"} for axis in "xyz"),
            ],
        ),
    )
)


def write_checked(
    path: Path,
    *,
    felt_kg: float,
    stated: str = "15.000(0.005) kg",
    seed: int = 6,
    spot: TightSpot | None = None,
    started_utc: str = "2026-06-01T10:00:00+00:00",
) -> None:
    """Hands off for 3 s, `felt_kg` from 4 s to 9 s, then a session of the emulated lever row at 40 kg.

    With `spot` the machine rubs more somewhere; its file does not say so.
    """
    cell = calibrate_force(READINGS)
    offset_n, newtons_per_scale = cell.coefficients_n
    scene = scenario("lever-row", load_kg=40.0)
    worn = scene.machine
    if spot is not None:
        worn = replace(worn, friction=replace(worn.friction, spots=(spot,)))
    run = simulate(replace(scene, machine=worn), seed=seed)
    rng = np.random.default_rng(2)
    rest = run.force["force_n"].to_numpy()[:80]
    ahead_s = np.arange(0.0, BEFORE_S, 1 / 80)
    hung = np.where((ahead_s > 4.0) & (ahead_s < 9.0), felt_kg * GRAVITY_M_S2, 0.0)
    force = np.concatenate([rng.choice(rest, ahead_s.size) + hung, run.force["force_n"]])
    counts = cell.zero_reading + cell.reading_scale * (force - offset_n) / newtons_per_scale
    still = run.inertial.iloc[:100, 3:].to_numpy()
    still_s = np.arange(0.0, BEFORE_S, 1 / 100)
    inertial = np.vstack(
        [still[rng.integers(0, len(still), still_s.size)], run.inertial.iloc[:, 3:].to_numpy()]
    )
    info = RecordingInfo(
        load_kg=40.0,
        load_u_kg=0.05,
        rig=RIG,
        started_utc=started_utc,
        notes="Invented: emulated rig",
        machine_toml=machine_toml(scene, start_angle_rad=run.stated["start_angle_rad"][0]),
        certificates={"cell": cell.model_dump_json()},
    )
    start = 7_000_000_000
    with RecordingWriter(path, info, start_ns=start) as writer:
        for name, before, frame, rows in (
            ("cell", ahead_s, run.force, counts[:, None]),
            ("arm", still_s, run.inertial, inertial),
        ):
            ends = frame[["host_s", "device_s"]].to_numpy()
            host = np.concatenate([before, BEFORE_S + ends[:, 0]])
            device = np.concatenate([before - BEFORE_S + ends[0, 1], ends[:, 1]])
            for host_s, device_s, row in zip(host, device, rows, strict=True):
                packed = struct.pack(f"<{1 + row.size}d", device_s, *row)
                writer.write(name, start + round(host_s * 1e9), packed)
        for kind, begun_s, ended_s, text in (("tare", 0, 3, ""), ("field-check", 5, 8, stated)):
            writer.mark(kind, start + begun_s * 10**9, text, until_ns=start + ended_s * 10**9)
