"""One guided recording in the terminal: display, keys, and what is said at its end."""

from __future__ import annotations

from pathlib import Path

from feltload.acquisition.recorder import Recorder, stopped_by_interrupt
from feltload.acquisition.recording import RecordingInfo
from feltload.acquisition.recording_status import RecordingSummary
from feltload.acquisition.schema import RigDescription
from feltload.app.console import Console
from feltload.app.errors import AppError
from feltload.app.keys import can_read_keys, on_keys
from feltload.app.live_display import LiveDisplay
from feltload.app.swing import HARDLY_MOVED_DEG

ZERO_AFTER_S = 3.0
KEY_HELP = "Enter ends · k knock · n note · z zero after (hands off for 3 s)"


async def run_session(
    console: Console,
    rig: RigDescription,
    info: RecordingInfo,
    path: Path,
    *,
    duration_s: float | None,
    tare_s: float,
    overwrite: bool,
) -> RecordingSummary:
    """Record until the duration is over, Enter or Ctrl-C.

    Raises
    ------
    LinkError
        If a sensor is missing, busy or silent.
    AppError
        If the machine hardly moved; the file is kept.
    """
    with_keys = can_read_keys()
    display = LiveDisplay(console.screen, total_s=duration_s, keys=KEY_HELP if with_keys else "")
    recorder = Recorder(
        rig,
        info,
        path,
        duration_s=duration_s,
        tare_s=tare_s,
        on_status=display.update,
        overwrite=overwrite,
    )
    actions = {
        "\n": recorder.stop,
        "\r": recorder.stop,
        "q": recorder.stop,
        "k": lambda: recorder.mark("knock"),
        "n": lambda: recorder.mark("note", "marked by key"),
        "z": lambda: recorder.mark("zero-after", duration_s=ZERO_AFTER_S),
    }
    with display.running(), on_keys(actions), stopped_by_interrupt(recorder):
        summary = await recorder.run()
    if summary.fault is None and display.swing.widest_deg < HARDLY_MOVED_DEG and _has_motion(rig):
        raise AppError(
            f"the machine hardly moved (about {display.swing.widest_deg:.0f}°), so there is no range to measure",
            where=str(path),
            remedy="the file is kept; check that the inertial sensor is on the moving part and record again",
        )
    return summary


def _has_motion(rig: RigDescription) -> bool:
    return any(stream.kind == "inertial" for stream in rig.streams)
