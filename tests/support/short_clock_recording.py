"""A recording of an emulated machine whose boards have clocks of 16 bits in us, made over a host that stalls."""

from __future__ import annotations

import struct
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from feltload.acquisition import RecordingInfo, RecordingWriter, RigDescription, StreamDescription
from feltload.emulator import SimulatedRun

Spans = Sequence[tuple[float, float]]


def record_with_short_clocks(
    run: SimulatedRun,
    path: Path,
    *,
    stalls: Spans = (),
    holes: Spans = (),
    machine_toml: str | None = None,
    **stated: object,
) -> None:
    """Write what the boards sent.

    Parameters
    ----------
    run : SimulatedRun
    stalls : sequence of (float, float)
        Spans in which the host reads nothing; all of it comes at their end.
    holes : sequence of (float, float)
        Spans of which the inertial sensor's samples are lost.
    **stated
        Further keys of `RecordingInfo`.
    """
    force, inertial = run.scenario.sensors.force, run.scenario.sensors.inertial
    gyro = np.degrees(inertial.gyro_range_rad_s) / 32768.0
    clock = {"name": "device_time", "type": "u16", "unit": "us"}
    rig = RigDescription(
        name="short clocks (invented)",
        invented=True,
        streams=[
            StreamDescription(
                name="force",
                kind="force",
                framing="notification",
                rate_hz=force.rate_hz,
                fields=[clock, {"name": "force", "type": "i32", "unit": "N", "scale": force.count_n}],
            ),
            StreamDescription(
                name="inertial",
                kind="inertial",
                framing="notification",
                rate_hz=inertial.rate_hz,
                fields=[clock]
                + [{"name": f"gyro_{axis}", "type": "i16", "unit": "deg/s", "scale": gyro} for axis in "xyz"]
                + [
                    {
                        "name": f"accel_{axis}",
                        "type": "i16",
                        "unit": "m/s2",
                        "scale": inertial.accel_range_m_s2 / 32768.0,
                    }
                    for axis in "xyz"
                ],
            ),
        ],
    )
    messages = []
    for name, samples in (("force", run.force_samples), ("inertial", run.inertial_samples)):
        arrival = samples.arrival_s.copy()
        kept = samples.kept.copy()
        for start_s, stop_s in stalls:
            arrival[(arrival >= start_s) & (arrival < stop_s)] = stop_s
        for start_s, stop_s in holes if name == "inertial" else ():
            kept &= (samples.sample_s < start_s) | (samples.sample_s >= stop_s)
        for k in np.flatnonzero(kept):
            words = np.atleast_1d(samples.words[k]).tolist()
            code = "<Hi" if name == "force" else "<H6h"
            data = struct.pack(code, int(samples.device_us[k]) % 65_536, *words)
            messages.append((int(arrival[k] * 1e9), name, data))
    info = RecordingInfo(load_kg=run.load_kg, rig=rig, machine_toml=machine_toml, kind="machine", **stated)
    with RecordingWriter(path, info, start_ns=0) as writer:
        writer.mark("tare", 0, until_ns=2_000_000_000)
        for host_ns, name, data in sorted(messages, key=lambda message: message[0]):
            writer.write(name, host_ns, data)
