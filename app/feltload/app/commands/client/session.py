"""``feltload client effort | delivered``: a set taken apart, and help by hand as it was given."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from feltload.app.commands.client.arguments import ProfileFolder
from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions


def effort(
    profile: ProfileFolder,
    recording: Path,
    /,
    *,
    side: Literal["left", "right"] | None = None,
    common: CommonOptions = DEFAULTS,
) -> int:
    """What a set felt like: each repetition's force taken apart, momentum, fatigue, range lost.

    Example: feltload client effort row set.mcap

    Parameters
    ----------
    recording
        Recording of the set.
    side
        Arm to use, when the recording holds both.
    """
    from feltload.app.jobs.client_inputs import read_profile, read_session
    from feltload.coaching import set_effort

    console = Console(common)
    measured = read_profile(profile)
    with console.progress("Taking the set apart"):
        session = read_session(recording, side=side, profile=measured)
        motion, kg = session.motion, session.load_kg
        found = set_effort(measured, motion, kg)
    for sentence in found.sentences():
        console.say(sentence)
    for warning in motion.warnings:
        console.note(f"Note: {warning}")
    console.result(
        {
            "load_kg": kg,
            "invented": session.invented,
            "speed_change": found.speed_change,
            "range_change": found.range_change,
            "by_momentum": [i + 1 for i in found.by_momentum],
            "repetitions": [
                {
                    "number": r.index + 1,
                    "concentric_s": r.duration_s,
                    "mean_felt_n": r.mean_felt_n,
                    "peak_felt_n": r.peak_felt_n,
                    "start_added_n": r.start_added_n,
                    "end_relieved_n": r.end_relieved_n,
                    "momentum_share": r.momentum_share,
                }
                for r in found.repetitions
            ],
        }
    )
    return 0


def delivered(
    profile: ProfileFolder,
    recording: Path,
    /,
    *,
    capacity: Path | None = None,
    target: float | None = None,
    side: Literal["left", "right"] | None = None,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Help that a partner gave, measured through the client's own handle.

    The profile must have been measured without help. With --capacity and --target the help is held against the plan.

    Example: feltload client delivered row helped.mcap --capacity capacity.json --target 0.7

    Parameters
    ----------
    recording
        Recording of the helped set.
    capacity
        Capacity file, to hold the help against its plan.
    target
        Fraction of capacity that the plan aimed at.
    side
        Arm to use, when the recording holds both.
    """
    import numpy as np

    from feltload.app.errors import UsageError
    from feltload.app.jobs.client_inputs import read_capacity, read_profile, read_session
    from feltload.app.text.client_words import delivered_sentences
    from feltload.coaching import HELP_BY_HAND, LoadLine, delivered_help, plan_help

    if (capacity is None) != (target is None):
        raise UsageError("a plan needs both", where="--capacity, --target", remedy="give both or neither")
    console = Console(common)
    measured = read_profile(profile)
    with console.progress("Measuring the help"):
        session = read_session(recording, side=side, profile=measured)
        motion, kg = session.motion, session.load_kg
        found = delivered_help(measured, motion, kg)
        wanted = (
            plan_help(LoadLine.of(measured), read_capacity(capacity, measured), kg, target)
            if capacity is not None and target is not None
            else None
        )
    for sentence in delivered_sentences(found, wanted):
        console.say(sentence)
    for warning in motion.warnings:
        console.note(f"Note: {warning}")
    console.note(HELP_BY_HAND)

    def plain(values: np.ndarray) -> list[float | None]:
        return [None if not np.isfinite(v) else float(v) for v in values]

    console.result(
        {
            "load_kg": kg,
            "invented": session.invented,
            "helped": found.helped,
            "angle_deg": np.rad2deg(found.angle_rad).tolist(),
            "concentric_n": plain(found.concentric_n),
            "eccentric_n": plain(found.eccentric_n),
            "concentric_u95_n": plain(found.concentric_u95_n),
            "eccentric_u95_n": plain(found.eccentric_u95_n),
            "pass_scatter_n": found.scatter_n,
            "passes": [
                {
                    "repetition": p.repetition + 1,
                    "phase": p.phase,
                    "mean_n": p.mean_n,
                    "help_n": plain(p.help_n),
                    "u95_n": plain(p.u95_n),
                }
                for p in found.passes
            ],
        }
    )
    return 0
