"""A guided load-cell calibration in words: what to hang, and how its reading stands."""

from __future__ import annotations

from feltload.app.text.facts import describe
from feltload.calibration import ForceSession, LoadStep, Progress


def instruction_text(session: ForceSession) -> str:
    """What to hang now."""
    if session.step is None:
        return "All readings taken."
    turn = "" if session.turn_to_deg is None else f"Turn the cell to {session.turn_to_deg:g}°, then: "
    return turn + _step_text(session.step)


def progress_text(progress: Progress) -> str:
    """One line: wait, what moves, what is in doubt, or take it."""
    now = progress.steadiness
    if progress.doubt is not None:
        return describe(progress.doubt)
    if now.state == "waiting":
        return "wait"
    if now.state == "stable":
        return "stable: take it"
    drifting = now.state == "drifting"
    motion = (
        f"drifting by {now.change:+.3g} in {progress.window_s:g} s"
        if drifting
        else f"unstable, spread {now.spread:.3g}"
    )
    if not progress.waited_long:
        return f"{motion}: wait"
    advice = (
        "still settling or warming: has the cell been on for a quarter of an hour?"
        if drifting
        else "still the weight by hand from the side, close doors, check that nothing rubs"
    )
    return f"{motion}: {advice}"


def _step_text(step: LoadStep) -> str:
    if step.mass is None:
        return f"series {step.series}: nothing on the cell"
    return f"series {step.series}, {step.direction}: hang {step.mass.text} in all"
