"""Soak: two 1 kHz streams over real ptys with injected faults; every fault must show, every other sample be there.

    python benchmarks/soak_faults.py --seconds 600                real time, as two boards would send
    python benchmarks/soak_faults.py --seconds 3600 --fast        an hour of device time, as fast as the ptys carry it

The boards run in a process of their own and keep a ledger of what they did: frames left out, frames with a bit
turned, resets (clock and sequence start again), gaps of 200 frames. Every sample carries its running number,
so that afterwards the recording is compared with the ledger sample by sample. Ends with exit code 1 if
anything differs.
"""

from __future__ import annotations

import argparse
import asyncio
import json
import multiprocessing
import os
import resource
import sys
import tempfile
import time
import tty
from pathlib import Path
from typing import Any

import numpy as np

from feltload.acquisition import (
    RecordingInfo,
    RigDescription,
    load_stream_description,
    read_recording,
    record,
)
from rig_frames import RATE_HZ, frame

GAP = 200


class Board:
    """Makes the frames of one stream, and spoils some."""

    def __init__(self, kind: str, seed: int) -> None:
        self.kind = kind
        self.random = np.random.default_rng(seed)
        self.seq = self.number = 0
        self.ledger: dict[str, list[int]] = {"left out": [], "damaged": [], "resets": []}
        self.gap = 0

    def next(self) -> bytes:
        number, draw = self.number, self.random.random()
        self.number += 1
        # A reset comes well after the start of the recording or the reset before, as boards do.
        if draw < 2e-6 and self.seq > 60_000:
            self.seq = 0
            self.ledger["resets"].append(number)
        elif draw < 1e-5:
            self.gap = GAP
        seq, self.seq = self.seq, self.seq + 1
        data = frame(self.kind, seq, seq * 1_000_000 // RATE_HZ, number)
        if self.gap > 0:
            self.gap -= 1
            self.ledger["left out"].append(number)
            return b""
        if draw > 1 - 5e-4:
            self.ledger["left out"].append(number)
            return b""
        if draw > 1 - 1e-3:
            self.ledger["damaged"].append(number)
            at = int(self.random.integers(1, len(data) - 1))
            turned = data[at] ^ (1 << int(self.random.integers(8)))
            # No new zero: that would end the frame early and be two damaged frames.
            return data[:at] + bytes([turned or data[at] ^ 0xFF]) + data[at + 1 :]
        return data


def boards(ports: Any, seconds: float, fast: bool, seed: int, ready: Any, done: Any, results: Any) -> None:
    """Body of the boards' process."""
    pairs = []
    for kind in "FI":
        board_end, host_end = os.openpty()
        tty.setraw(host_end)
        pairs.append((Board(kind, seed + ord(kind)), board_end, host_end))
    ports.put([os.ttyname(host_end) for _, _, host_end in pairs])
    start, sent, total = time.monotonic(), 0, int(seconds * RATE_HZ)
    # Before the recorder is ready, whole frames flow at the real rate; its record starts somewhere in them.
    while sent < total:
        burst = 50 if fast and ready.is_set() else 1
        for board, board_end, _ in pairs:
            data = b"".join(board.next() for _ in range(min(burst, total - sent)))
            while data:
                data = data[os.write(board_end, data) :]
        sent += min(burst, total - sent)
        if not fast or not ready.is_set():
            time.sleep(max(0.0, start + sent / RATE_HZ - time.monotonic()))
    time.sleep(0.3)
    results.put({board.kind: {**board.ledger, "sent": board.number} for board, _, _ in pairs})
    done.wait(60)


def compare(name: str, path: Path, ledger: dict[str, Any]) -> list[str]:
    recording = read_recording(path)
    samples, health = recording.stream(name, raw=True), recording.health[name]
    if name == "force":
        numbers = samples["force_counts"].to_numpy().astype(np.int64)
    else:
        description = load_stream_description("reference-inertial")
        low, high = (
            np.round(
                samples[description.field(axis).column].to_numpy() / description.field(axis).si_factor
            ).astype(np.int64)
            & 0xFFFF
            for axis in ("gyro_x", "gyro_y")
        )
        numbers = low | (high << 16)
    first = int(numbers[0])
    spoiled = np.array(sorted(ledger["left out"] + ledger["damaged"]), dtype=np.int64)
    expected = np.setdiff1d(np.arange(first, ledger["sent"]), spoiled)
    damaged = sum(number >= first for number in ledger["damaged"])
    resets = sum(number > first for number in ledger["resets"])
    faults = []
    if not np.array_equal(numbers, expected):
        missing = np.setdiff1d(expected, numbers).size
        faults.append(f"{name}: {missing} samples missing, {np.setdiff1d(numbers, expected).size} too many")
    if health.bad_checksum + health.bad_frames != damaged:
        faults.append(
            f"{name}: {health.bad_checksum + health.bad_frames} damaged counted, {damaged} injected"
        )
    if health.resets != resets:
        faults.append(f"{name}: {health.resets} resets counted, {resets} injected")
    # What is lost right at a reset cannot be counted by the sequence.
    inside = spoiled[(spoiled > first) & (spoiled < numbers[-1])]
    uncounted = abs(health.lost - inside.size)
    if uncounted > GAP * resets or (resets == 0 and uncounted):
        faults.append(f"{name}: {health.lost} lost counted, {inside.size} injected")
    print(
        f"{name}: {numbers.size} samples, {damaged} damaged, {inside.size} lost (counted {health.lost} in "
        f"{health.gaps} gaps), {resets} resets, {health.dropped_messages} messages dropped"
    )
    return faults


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--seconds", type=float, default=600.0, help="device time")
    parser.add_argument("--fast", action="store_true", help="faster than real time")
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    context = multiprocessing.get_context("spawn")
    ports, results = context.Queue(), context.Queue()
    ready, done = context.Event(), context.Event()
    process = context.Process(
        target=boards, args=(ports, arguments.seconds, arguments.fast, arguments.seed, ready, done, results)
    )
    process.start()
    rig = RigDescription(
        streams=tuple(
            load_stream_description(f"reference-{name}", changes={"link": {"port": port}, "rate_hz": RATE_HZ})
            for name, port in zip(("force", "inertial"), ports.get(), strict=True)
        )
    )
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "soak.mcap"
        ledger: dict[str, Any] = {}
        started, cpu = time.monotonic(), time.process_time()

        async def run() -> None:
            stop = asyncio.Event()

            async def end() -> None:
                ledger.update(await asyncio.to_thread(results.get))
                await asyncio.sleep(0.3)
                stop.set()

            ending = asyncio.create_task(end())
            summary = await record(
                rig, RecordingInfo(0.0, rig), path, stop=stop, on_status=lambda status: _go(status, ready)
            )
            await ending
            print(json.dumps({"warnings of the recorder": summary.warnings()}, indent=1))

        asyncio.run(run())
        done.set()
        wall_s, cpu_s = time.monotonic() - started, time.process_time() - cpu
        peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(f"recorded {arguments.seconds:g} s of device time in {wall_s:.1f} s")
        share, cost_ms = 100 * cpu_s / wall_s, 1e3 * cpu_s / arguments.seconds
        print(f"recorder: {share:.1f} % of one core, {cost_ms:.2f} ms per second of data")
        print(f"peak memory {peak_mb:.0f} MB, file {path.stat().st_size / 1e6:.1f} MB")
        opened = time.monotonic()
        faults = compare("force", path, ledger["F"]) + compare("inertial", path, ledger["I"])
        print(f"read and compared in {time.monotonic() - opened:.1f} s")
    process.join()
    print(
        "\n".join(faults) if faults else "every injected fault is in the record, every other sample is there"
    )
    return 1 if faults else 0


def _go(status: Any, ready: Any) -> None:
    if status.phase != "connecting":
        ready.set()


if __name__ == "__main__":
    sys.exit(main())
