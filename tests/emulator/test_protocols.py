"""Every protocol of the emulated boards over real ptys: recorded by its own rig file, with damage; and found out."""

from __future__ import annotations

import asyncio
import contextlib
import threading

import numpy as np
import pytest

from feltload.acquisition import (
    RecordingInfo,
    RigDescription,
    SerialLinkConfig,
    load_rig,
    read_recording,
    record,
    rig_text,
    sample_link,
)
from feltload.emulator import scenario, simulate
from feltload.emulator.boards.board import Boards, Port, play
from feltload.emulator.boards.faults import Faults
from feltload.emulator.boards.protocols import PROTOCOLS, protocol_names
from feltload.emulator.boards.rig_file import rig_toml

pytestmark = pytest.mark.needs("pty")
SCENE = scenario("lever-row", tempo="slow", load_kg=40.0)


@contextlib.contextmanager
def playing(names, faults):
    """Boards of several protocols that send one session at once."""
    run = simulate(SCENE, seed=3)
    boards = {name: Boards(Port(), Port()) for name in names}
    stop = threading.Event()
    threads = []
    for name, pair in boards.items():

        def send(pair=pair, protocol=PROTOCOLS[name]):
            with contextlib.suppress(OSError):
                play(run, pair, faults, protocol, speed=1.0)
            stop.wait()

        threads.append(threading.Thread(target=send, daemon=True))
        threads[-1].start()
    yield boards
    stop.set()
    for pair in boards.values():
        pair.force.close()
        pair.inertial.close()
    for thread in threads:
        thread.join(5.0)


def recorded(streams, path, duration_s):
    rig = RigDescription(streams=streams, invented=True)
    asyncio.run(record(rig, RecordingInfo(load_kg=40.0, rig=rig), path, duration_s=duration_s, tare_s=0.0))
    return read_recording(path)


def gravity(frame):
    axes = frame[[f"accel_{axis}_m_s2" for axis in "xyz"]].to_numpy()
    return float(np.median(np.linalg.norm(axes, axis=1)))


def test_recorded_with_damage_by_their_own_rig_files(tmp_path):
    streams = []
    with playing(protocol_names(), Faults(corrupt=0.05)) as boards:
        for name, pair in boards.items():
            path = tmp_path / f"{name}.toml"
            path.write_text(rig_toml(SCENE, PROTOCOLS[name], pair.force.path, pair.inertial.path))
            streams += [
                stream.model_copy(update={"name": f"{name}-{stream.name}"})
                for stream in load_rig(path).streams
            ]
        recording = recorded(tuple(streams), tmp_path / "a.mcap", 3.0)
    for stream in streams:
        frame, health = recording.stream(stream.name), recording.health[stream.name]
        sent = len(frame) + health.bad_checksum + health.bad_frames
        assert 0 < sent - len(frame) < 0.12 * sent, stream.name
        assert (health.resets, health.clock_jumps) == (0, 0), stream.name
        if stream.kind == "force":
            assert frame["force_n"].abs().max() < 3000.0, stream.name
        else:
            assert gravity(frame) == pytest.approx(9.8, abs=0.5), stream.name
    counts = [len(recording.stream(stream.name)) for stream in streams if stream.kind == "inertial"]
    assert min(counts) > 0.85 * max(counts) > 150


def test_found_out_and_recorded_by_what_was_found(tmp_path):
    names = [name for name in protocol_names() if name != "reference"]
    with playing(names, Faults()) as boards:
        ports = [getattr(pair, kind).path for pair in boards.values() for kind in ("force", "inertial")]
        links = [SerialLinkConfig(port=port) for port in ports]

        async def listen():
            return await asyncio.gather(*(sample_link(link, seconds=6.0) for link in links))

        guesses = [guess for guess, _ in asyncio.run(listen())]
        assert [[stream.description.kind for stream in guess.streams] for guess in guesses] == [
            ["force"], ["inertial"],
        ] * len(names)  # fmt: skip
        path = tmp_path / "rig.toml"
        sensors = [(link, guess.streams[0]) for link, guess in zip(links, guesses, strict=True)]
        path.write_text(rig_text(sensors, {}))
        recording = recorded(load_rig(path).streams, tmp_path / "a.mcap", 1.5)
    for stream in load_rig(path).streams:
        # Counts of a force need a certificate; they are all there.
        decoded = recording.decoded(stream.name)
        frame, health = decoded.frame, decoded.health
        assert health.samples > 75, stream.name
        assert (health.bad_checksum, health.bad_frames, health.resets) == (0, 0, 0), stream.name
        if stream.kind == "inertial":
            assert gravity(frame) == pytest.approx(9.8, abs=0.5), stream.name
            # Turned on a lever meanwhile, so the gyro's scale is found too: 1000 deg/s, or deg/s themselves.
            assert stream.field("gyro_x").unit == "deg/s", stream.name
            assert stream.field("gyro_x").scale in (1.0, pytest.approx(1000 / 32768))
