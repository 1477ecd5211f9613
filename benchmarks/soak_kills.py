"""Kills a recorder of two 1 kHz streams at random instants: each file must open, and lack at most the last second.

    python benchmarks/soak_kills.py --kills 200

The boards send through real ptys all the while; every frame carries a running number, so what a file lacks at its
end is known to the millisecond. Ends with exit code 1 if a file does not open, lacks more than a second, or has a
hole.
"""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import os
import subprocess
import sys
import tempfile
import threading
import time
import tty
from pathlib import Path

import numpy as np

from feltload.acquisition import (
    RecordingError,
    RecordingInfo,
    RigDescription,
    load_stream_description,
    read_recording,
    record,
)
from rig_frames import RATE_HZ, frame


class Boards(threading.Thread):
    """Sends both streams at the real rate until stopped."""

    def __init__(self) -> None:
        super().__init__(daemon=True)
        self.pairs = []
        for _ in "FI":
            board_end, host_end = os.openpty()
            tty.setraw(host_end)
            os.set_blocking(board_end, False)
            self.pairs.append((board_end, host_end))
        self.ports = [os.ttyname(host_end) for _, host_end in self.pairs]
        self.number = 0
        self.running = True

    def run(self) -> None:
        start = time.monotonic()
        while self.running:
            upto = int((time.monotonic() - start) * RATE_HZ)
            for kind, (board_end, _) in zip("FI", self.pairs, strict=True):
                data = b"".join(frame(kind, n, n * 1_000_000 // RATE_HZ, n) for n in range(self.number, upto))
                # Nobody may be reading at present: a board's port overflows as well.
                with contextlib.suppress(BlockingIOError):
                    os.write(board_end, data)
            self.number = max(self.number, upto)
            time.sleep(0.005)


def recorder(path: str) -> None:
    """Body of the process that is killed."""
    rig = RigDescription.model_validate_json(sys.stdin.readline())
    asyncio.run(record(rig, RecordingInfo(0.0, rig), path, tare_s=0.0))


def one(boards: Boards, rig: RigDescription, path: Path, after_s: float) -> tuple[float, str | None]:
    """Record, kill, read: what is lacking in seconds, and a fault."""
    with subprocess.Popen(
        [sys.executable, __file__, "--record", str(path)], stdin=subprocess.PIPE
    ) as process:
        try:
            if process.stdin is None:
                raise RuntimeError("started without a pipe")
            process.stdin.write(rig.model_dump_json().encode() + b"\n")
            process.stdin.flush()
            until = time.monotonic() + 30.0
            while not path.exists() and time.monotonic() < until and process.poll() is None:
                time.sleep(0.001)
            made = boards.number
            time.sleep(after_s)
        finally:
            process.kill()
            sent = boards.number
    try:
        recording = read_recording(path)
    except RecordingError as error:
        return (sent - made) / RATE_HZ, None if "before anything" in str(error) else str(error)
    lacking = 0.0
    for name in ("force", "inertial"):
        seq = recording.stream(name, raw=True)["seq"].to_numpy()
        if seq.size == 0:
            lacking = max(lacking, (sent - made) / RATE_HZ)
            continue
        if recording.health[name].lost or (np.diff(seq) != 1).any():
            return 0.0, f"{name}: a hole in the middle"
        # The sequence number is the running number, of which 16 bits are sent.
        lacking = max(lacking, ((sent - int(seq[-1])) & 0xFFFF) / RATE_HZ)
    return lacking, None if recording.damage else "the cut is not reported"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--record", metavar="FILE", help=argparse.SUPPRESS)
    arguments = parser.parse_args()
    if arguments.record:
        recorder(arguments.record)
        return 0
    boards = Boards()
    boards.start()
    rig = RigDescription(
        streams=tuple(
            load_stream_description(f"reference-{name}", changes={"link": {"port": port}, "rate_hz": RATE_HZ})
            for name, port in zip(("force", "inertial"), boards.ports, strict=True)
        )
    )
    random, lackings, faults = np.random.default_rng(arguments.seed), [], []
    with tempfile.TemporaryDirectory() as folder:
        for number in range(arguments.kills):
            lacking, fault = one(
                boards, rig, Path(folder) / f"{number}.mcap", float(random.uniform(0.0, 2.5))
            )
            lackings.append(lacking)
            if fault is None and lacking > 1.0:
                fault = f"lacks {lacking:.2f} s"
            if fault is not None:
                faults.append(f"kill {number}: {fault}")
    boards.running = False
    boards.join()
    print(
        f"{len(lackings)} kills: lacking at the end {np.mean(lackings):.2f} s on average, {max(lackings):.2f} s at most"
    )
    print("\n".join(faults) if faults else "every file opens and has no hole")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
