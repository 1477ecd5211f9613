"""One guided recording in the terminal: display, keys, script, and what is said at its end."""

from __future__ import annotations

import asyncio
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
from feltload.app.scripts.swing import HARDLY_MOVED_DEG
from feltload.app.sessions.keys import can_read_keys, on_keys
from feltload.app.sessions.known_weight import HANG_S, KEY, KnownWeight
from feltload.app.sessions.live_display import LiveDisplay
from feltload.app.sessions.recording_keys import GO_ON, RecordingKeys
from feltload.app.sessions.script_choice import PreparedScript, plain_script

GO_ON_HELP = "Space next"
KEY_HELP = "p PAIN · Enter ends (asks once) · n note · k knock · z zero after (hands off for 3 s)"


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
    prepared: PreparedScript | None = None,
) -> RecordingSummary:
    """Record until the duration is over, the person ends it, or Ctrl-C.

    Raises
    ------
    UsageError
        If a known weight is to be hung or the script asks something, but no key can be read.
    KeyboardInterrupt
        If the script's question is not answered by its key: nothing was connected.
    LinkError
        If a sensor is missing, busy or silent.
    AppError
        If the machine hardly moved; the file is kept.
    """
    if known_weight is not None:
        _require_keys("--field-check", f"the key {KEY} says when the weight hangs still")
    prepared = prepared or plain_script()
    script = prepared.script
    step = None if known_weight is None else KnownWeight(known_weight)
    own = (None if step is None else f"{KEY} weight hangs still", GO_ON_HELP, KEY_HELP)
    display = LiveDisplay(
        console.screen,
        prepared,
        total_s=duration_s,
        keys=" · ".join(filter(None, own)) if can_read_keys() else "",
        ask=None if step is None else step.ask,
    )
    recorder = Recorder(
        rig,
        info,
        path,
        duration_s=duration_s,
        tare_s=tare_s,
        on_status=display.update,
        on_end=lambda: keys.keep_note(),
        overwrite=overwrite,
    )
    actions = {}
    if step is not None:
        hangs = partial(recorder.mark, "field-check", step.weight, duration_s=HANG_S)
        actions[KEY] = partial(step.press, hangs)
    keys = RecordingKeys(recorder, script, actions)

    def press(key: str) -> None:
        # Before the sensors send there is no recording to mark or to end.
        if display.recording:
            keys.press(key)
            display.prompt = keys.prompt
            display.redraw()

    if prepared.question:
        _require_keys("--kind", "keys say when to go on")
        console.note(prepared.question)
        if not await _is_confirmed():
            raise KeyboardInterrupt
    with display.running(), on_keys(press), stopped_by_interrupt(recorder.stop):
        summary = await recorder.run()
    moved = display.swing.widest_deg >= HARDLY_MOVED_DEG or not script.moves
    if summary.fault is None and not moved and _has_motion(rig):
        raise AppError(
            f"the machine hardly moved (about {display.swing.widest_deg:.0f}°), so there is no range to measure",
            where=str(summary.path),
            remedy="the file is kept; check that the inertial sensor is on the moving part and record again",
        )
    return summary


def _require_keys(where: str, why: str) -> None:
    """Make sure that keys can be read.

    Raises
    ------
    UsageError
        Without a terminal.
    """
    if not can_read_keys():
        raise UsageError(
            f"needs a terminal: {why}", where=where, remedy="run it in a terminal, without piping into it"
        )


async def _is_confirmed() -> bool:
    """Whether the next key says to go on."""
    pressed: asyncio.Future[str] = asyncio.get_running_loop().create_future()

    def press(typed: str) -> None:
        if not pressed.done():
            pressed.set_result(typed)

    with on_keys(press):
        return await pressed == GO_ON


def _has_motion(rig: RigDescription) -> bool:
    return any(stream.kind == "inertial" for stream in rig.streams)
