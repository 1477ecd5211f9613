"""What the person recording is told to do next."""

from __future__ import annotations

import math

from feltload.acquisition import RecordingStatus
from feltload.app.sessions.swing import HARDLY_MOVED_DEG, Swing

SLOW_REPETITIONS = 3
"""Slow ones asked for first; brisk ones after them make inertia and lag visible."""

WAITED_LONG_S = 12.0
CUE_S = 3.0
"""Slow tempo: seconds up, and the same down."""


def advice(status: RecordingStatus, swing: Swing) -> str:
    """One sentence for the moment.

    Parameters
    ----------
    status : RecordingStatus
        As the recorder reports it.
    swing : Swing
        What has been covered so far.
    """
    if any(stream.overloaded for stream in status.streams):
        return "Over the rated capacity of the cell: let the load down now."
    if status.phase == "connecting":
        return "Connecting to the sensors …"
    if status.phase == "tare":
        left = math.ceil(status.remaining_s or 0.0)
        return f"Hands off, arm on its stop: {left} s of rest."
    if swing.widest_deg < HARDLY_MOVED_DEG:
        if status.elapsed_s > WAITED_LONG_S:
            return "No movement seen yet. Is the inertial sensor on the moving part?"
        return "Now repeat slowly through the whole range, stop to stop."
    if swing.turns < SLOW_REPETITIONS:
        return f"Slow repetitions, {CUE_S:.0f} s up and {CUE_S:.0f} s down: {_cue(status.elapsed_s)}."
    return "Now some brisk ones, still stop to stop. Then rest on the stop, hands off."


def _cue(elapsed_s: float) -> str:
    beat = elapsed_s % (2.0 * CUE_S)
    word = "up" if beat < CUE_S else "down"
    return f"{word} {int(beat % CUE_S) + 1}"
