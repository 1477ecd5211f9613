"""One guided recording in the terminal: display, keys, and what is said at its end."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

from feltload.acquisition import (
    Recorder,
    RecordingInfo,
    RecordingSummary,
    RigDescription,
    stopped_by_interrupt,
)
from feltload.app.console import Console
from feltload.app.errors import AppError, UsageError
from feltload.app.sessions.keys import can_read_keys, on_keys
from feltload.app.sessions.known_weight import HANG_S, KEY, KnownWeight
from feltload.app.sessions.live_display import LiveDisplay
from feltload.app.sessions.swing import HARDLY_MOVED_DEG

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
    known_weight: str | None = None,
) -> RecordingSummary:
    """Record until the duration is over, Enter or Ctrl-C.

    Raises
    ------
    UsageError
        If a known weight is to be hung, but no key can be read.
    LinkError
        If a sensor is missing, busy or silent.
    AppError
        If the machine hardly moved; the file is kept.
    """
    with_keys = can_read_keys()
    if known_weight is not None and not with_keys:
        raise UsageError(
            f"needs a terminal: the key {KEY} says when the weight hangs still",
            where="--field-check",
            remedy="run it in a terminal, without piping into it",
        )
    step = None if known_weight is None else KnownWeight(known_weight)
    keys = KEY_HELP if step is None else f"{KEY} weight hangs still · {KEY_HELP}"
    display = LiveDisplay(
        console.screen,
        total_s=duration_s,
        keys=keys if with_keys else "",
        ask=None if step is None else step.ask,
    )
    recorder = Recorder(
        rig,
        info,
        path,
        duration_s=duration_s,
        tare_s=tare_s,
        on_status=display.update,
        overwrite=overwrite,
    )
    actions: dict[str, Callable[[], None]] = {
        "\n": recorder.stop,
        "\r": recorder.stop,
        "q": recorder.stop,
        "k": lambda: recorder.mark("knock"),
        "n": lambda: recorder.mark("note", "marked by key"),
        "z": lambda: recorder.mark("zero-after", duration_s=ZERO_AFTER_S),
    }
    if step is not None:
        hangs = partial(recorder.mark, "field-check", step.weight, duration_s=HANG_S)
        actions[KEY] = partial(step.press, hangs)
    with display.running(), on_keys(actions), stopped_by_interrupt(recorder.stop):
        summary = await recorder.run()
    if summary.fault is None and display.swing.widest_deg < HARDLY_MOVED_DEG and _has_motion(rig):
        raise AppError(
            f"the machine hardly moved (about {display.swing.widest_deg:.0f}°), so there is no range to measure",
            where=str(summary.path),
            remedy="the file is kept; check that the inertial sensor is on the moving part and record again",
        )
    return summary


def _has_motion(rig: RigDescription) -> bool:
    return any(stream.kind == "inertial" for stream in rig.streams)
