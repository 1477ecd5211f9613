"""A recording followed live: from a sample's arrival to its viewers, and what it costs beside the recorder.

    OPENBLAS_NUM_THREADS=1 python benchmarks/bench_live.py

The emulated rig sends 1000 force and 833 inertial samples a second over real ptys. Beside the page's process, in which
four viewers follow at 30 updates a second, three more listeners hang on the recorder; one of them never reads. Printed
are the times from the arrival of a sample at the recorder to the update that shows it, processor shares, what the
listeners lack of what is in the file, how long after its end the profile and its report were there, and the last band
while recording compared with the final one.
"""

from __future__ import annotations

import argparse
import asyncio
import json
import os
import tempfile
import time
from pathlib import Path

import numpy as np

from feltload.acquisition import read_recording
from feltload.app.live.recorder.client import RecorderClient
from feltload.app.live.recorder.messages import Arrived
from feltload.app.live.recorder.session_file import SessionFile
from feltload.app.live.sources.emulated import emulated_source
from feltload.app.live.state.live_session import LiveSession
from feltload.app.running.state import LivePhase
from feltload.signal import load_results

VIEWERS = 4
LEAVE_OUT_S = 5.0
"""At the start: the estimator's worker imports, and the zero is taken."""


def processor_s(pid: int) -> float:
    """Processor time of a process so far."""
    fields = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


async def viewer(live: LiveSession) -> tuple[list[float], int]:
    """Times from arrival to update, one for every millisecond of samples, and updates."""
    late: list[float] = []
    updates, shown_s = 0, None
    async for update in live.follow():
        updates += 1
        start_ns = live.state.start_ns
        if live.state.phase is not LivePhase.RECORDING or start_ns is None or not update.moving.arms:
            continue
        newest_s = update.moving.arms[0].time_s
        now_s = (time.monotonic_ns() - start_ns) * 1e-9
        if shown_s is not None and newest_s > shown_s and newest_s > LEAVE_OUT_S:
            late += (now_s - np.arange(shown_s, newest_s, 1e-3)).tolist()
        shown_s = newest_s
    return late, updates


async def listener(client: RecorderClient) -> dict[str, int]:
    """Messages heard of each channel."""
    heard: dict[str, int] = {}
    async for event in client.events():
        if isinstance(event, Arrived):
            heard[event.channel] = event.first + len(event.messages)
    return heard


async def measured(folder: Path, seconds: float) -> None:
    out = folder / "live.mcap"
    async with emulated_source(out, duration_s=seconds, words=("--sensors", "fast")) as source:
        live = await LiveSession.start(source.request)
        file = SessionFile.read(live.session_file)
        others = [await RecorderClient.attach(live.session_file) for _ in range(2)]
        _, dead = await asyncio.open_connection(file.host, file.port)
        dead.write(json.dumps({"token": file.token}).encode() + b"\n")
        viewers = [asyncio.create_task(viewer(live)) for _ in range(VIEWERS)]
        listeners = [asyncio.create_task(listener(each)) for each in others]
        async for update in live.follow():
            if update.state is not None and update.state.phase is LivePhase.RECORDING:
                break
        began_s, page_s, recorder_s = time.monotonic(), time.process_time(), processor_s(file.pid)
        await asyncio.sleep(seconds)
        lasted_s = time.monotonic() - began_s
        page_s, recorder_s = time.process_time() - page_s, processor_s(file.pid) - recorder_s
        online = live.state.enough
        stopped_s = time.monotonic()
        await live.stop()
        made = await live.make_result(folder / "result")
        result_s = time.monotonic() - stopped_s
        seen = await asyncio.gather(*viewers)
        heard = await asyncio.gather(*listeners)
        dead.close()
        for each in others:
            await each.close()
        await live.close()
    kept = read_recording(out)
    written = {name: len(kept.messages(name)) for name in ("force", "inertial")}
    late_ms = 1e3 * np.concatenate([late for late, _ in seen])
    final = load_results(made.directory)
    final_share = float(np.mean(final.static_u95_n)) / float(np.max(final.static_n))
    print(
        f"arrival to update: median {np.median(late_ms):.0f} ms, 95th percentile {np.percentile(late_ms, 95):.0f} ms"
    )
    print(f"updates a second and viewer: {np.mean([n for _, n in seen]) / lasted_s:.1f}")
    print(f"processor: page {page_s / lasted_s:.2f}, recorder {recorder_s / lasted_s:.2f} of a core")
    print(f"messages in the file {written}, heard by the others {[dict(each) for each in heard]}")
    print(f"samples lost: { {name: health.lost for name, health in kept.health.items()} }")
    print(f"profile and report {result_s:.1f} s after the end")
    if online is not None:
        print(
            f"last band while recording {100 * online.band_share:.2f} %, final {100 * final_share:.2f} % of the peak"
        )


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--seconds", type=float, default=40.0, help="length of the emulated person's session")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        asyncio.run(measured(Path(folder), given.seconds))


if __name__ == "__main__":
    main()
