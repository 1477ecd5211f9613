"""Recording two sensors: the recorder against the loop that a user would otherwise write.

    python benchmarks/bench_record.py

Both sides take the same samples of two sensors from real ptys in one run: the recorder as COBS frames with
checksum into a recording, the other side as text lines with `readline`, `split`, `float` and a csv writer, a
thread per port. Printed is the processor time per million samples and its ratio. The other side checks and
flushes nothing, so the comparison favours it.
"""

from __future__ import annotations

import argparse
import asyncio
import csv
import multiprocessing
import os
import tempfile
import threading
import time
import tty
from pathlib import Path
from typing import Any

import serial

from feltload.acquisition import (
    RecordingInfo,
    RigDescription,
    load_stream_description,
    read_recording,
    record,
)
from rig_frames import frame

SAMPLES = 50_000
BURST = 50


def text_line(kind: str, seq: int) -> bytes:
    values = f"{seq}" if kind == "F" else f"{seq},1,2,3,4,5"
    return f"{seq},{seq * 1000},{values}\n".encode()


def boards(ports: Any, go: Any, done: Any, text: bool) -> None:
    """Send the same samples from both boards once told to; a few before, so that they are recognised."""
    pairs = []
    for kind in "FI":
        board_end, host_end = os.openpty()
        tty.setraw(host_end)
        pairs.append((kind, board_end, host_end))
    ports.put([os.ttyname(host_end) for _, _, host_end in pairs])
    seq = 0
    while seq < SAMPLES:
        started = go.is_set()
        for kind, board_end, _ in pairs:
            numbers = range(seq, seq + (BURST if started else 1))
            data = b"".join(text_line(kind, n) if text else frame(kind, n, n * 1000, n) for n in numbers)
            while data:
                data = data[os.write(board_end, data) :]
        seq += BURST if started else 1
        if not started:
            time.sleep(0.001)
    done.wait(120)


def started_boards(text: bool) -> tuple[Any, list[str], Any, Any]:
    context = multiprocessing.get_context("spawn")
    ports, go, done = context.Queue(), context.Event(), context.Event()
    process = context.Process(target=boards, args=(ports, go, done, text), daemon=True)
    process.start()
    return process, ports.get(), go, done


def recorder_side(path: Path) -> tuple[float, int]:
    process, ports, go, done = started_boards(text=False)
    rig = RigDescription(
        streams=tuple(
            load_stream_description(f"reference-{name}", changes={"link": {"port": port}, "rate_hz": 1000.0})
            for name, port in zip(("force", "inertial"), ports, strict=True)
        )
    )
    cpu = time.process_time()

    async def run() -> int:
        stop = asyncio.Event()
        counted, changed_s = 0, 0.0

        def look(status: Any) -> None:
            nonlocal counted, changed_s
            if status.phase == "connecting":
                return
            go.set()
            total = sum(stream.health.samples for stream in status.streams)
            if total != counted:
                counted, changed_s = total, status.elapsed_s
            elif counted > SAMPLES and status.elapsed_s - changed_s > 1.2:
                stop.set()  # the boards are through

        await record(rig, RecordingInfo(0.0, rig), path, stop=stop, on_status=look)
        return counted

    asyncio.run(run())
    # The wait for the end is in both sides' time and costs next to nothing.
    cpu = time.process_time() - cpu
    done.set()
    process.terminate()
    recording = read_recording(path)
    return cpu, sum(health.samples for health in recording.health.values())


def user_side(folder: Path) -> tuple[float, int]:
    process, ports, go, done = started_boards(text=True)
    counts = [0, 0]

    def read(index: int, name: str) -> None:
        with (
            serial.Serial(name, timeout=1.0) as port,
            (folder / f"{index}.csv").open("w", newline="") as file,
        ):
            writer = csv.writer(file)
            while line := port.readline():
                try:
                    values = [float(part) for part in line.decode().split(",")]
                except ValueError:
                    continue
                writer.writerow([time.monotonic(), *values])
                counts[index] += 1

    cpu = time.process_time()
    go.set()
    threads = [threading.Thread(target=read, args=(index, name)) for index, name in enumerate(ports)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    cpu = time.process_time() - cpu
    done.set()
    process.terminate()
    return cpu, sum(counts)


def main() -> None:
    argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter).parse_args()
    with tempfile.TemporaryDirectory() as folder:
        ours_s, ours = recorder_side(Path(folder) / "bench.mcap")
        theirs_s, theirs = user_side(Path(folder))
    print(f"recorder: {ours} samples, {1e6 * ours_s / ours:.2f} s of processor time per million")
    print(f"readline, split, float, csv: {theirs} samples, {1e6 * theirs_s / theirs:.2f} s per million")
    print(f"ratio {(theirs_s / theirs) / (ours_s / ours):.1f}")


if __name__ == "__main__":
    main()
