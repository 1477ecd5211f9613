"""``feltload client effort | delivered``: a set taken apart, and help by hand as it was given."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

from feltload.app.commands.client.arguments import NO_PAIN, MarksFile, PainOptions, ProfileFolder
from feltload.app.console import Console
from feltload.app.options import DEFAULTS, NOTHING_REPLACED, CommonOptions, OptionalShare, ReplacedFiles

if TYPE_CHECKING:
    from feltload.coaching import ComparedStretch, DeliveredHelp
    from feltload.signal import Travel


def effort(
    profile: ProfileFolder,
    recording: Path,
    /,
    *,
    side: Literal["left", "right"] | None = None,
    capacity: MarksFile = None,
    pain: PainOptions = NO_PAIN,
    replaced: ReplacedFiles = NOTHING_REPLACED,
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
    from feltload.app.jobs.painful import KnownPain, session_pain
    from feltload.app.text.person.hands import describe_set
    from feltload.app.text.person.travel import describe_reported, describe_session_pain
    from feltload.coaching import set_effort

    console = Console(common)
    measured = read_profile(profile)
    console.doubts(measured)
    along = measured.travel
    known = KnownPain.read(pain.painful, pain.client)
    with console.progress("Taking the set apart"):
        session = read_session(recording, replaced=replaced, side=side, profile=measured)
        motion, kg = session.motion, session.load_kg
        done = set_effort(measured, motion, kg)
        hurts = session_pain(session, known.with_capacity(capacity, measured, side), measured)
    for sentence in (*describe_session_pain(hurts, along), *describe_reported(hurts, profile, pain.client)):
        console.say(sentence)
    for sentence in describe_set(done):
        console.say(sentence)
    console.facts(session.damage)
    console.facts(motion.warnings)
    console.cautions(hurts.cautions)
    console.result(
        {
            "load_kg": kg,
            "invented": session.invented,
            **hurts.to_dict(),
            "speed_change": done.speed_change,
            "range_change": done.range_change,
            "by_momentum": [repetition.index + 1 for repetition in done.by_momentum],
            "repetitions": done.to_frame().to_dict("records"),
        }
    )
    return 0


def delivered(
    profile: ProfileFolder,
    recording: Path,
    /,
    *,
    capacity: Path | None = None,
    target: OptionalShare = None,
    side: Literal["left", "right"] | None = None,
    pain: PainOptions = NO_PAIN,
    replaced: ReplacedFiles = NOTHING_REPLACED,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Help that a partner gave, measured through the client's own handle.

    The profile must have been measured without help. With --capacity the help is compared
    with the plan, stretch by stretch: right, too much, too little, or the opposite.

    Example: feltload client delivered row helped.mcap --capacity capacity.json --target "70 %"

    Parameters
    ----------
    recording
        Recording of the helped set.
    capacity
        Capacity file, to compare the help with its plan.
    target
        Share of capacity that the plan aimed at, such as "70 %"; by default as `client plan` has it.
    side
        Arm to use, when the recording holds both.
    """
    from feltload.app.jobs.painful import KnownPain
    from feltload.app.people.help_given import measure_help
    from feltload.app.text.person.delivered import describe_delivered
    from feltload.app.text.person.travel import describe_reported, describe_session_pain
    from feltload.coaching import compare_with_plan

    console = Console(common)
    known = KnownPain.read(pain.painful, pain.client)
    with console.progress("Measuring the help"):
        helped = measure_help(
            profile, recording, known, capacity=capacity, target=target, side=side, replaced=replaced
        )
    console.doubts(helped.profile)
    hurts, given, plan, along = helped.hurts, helped.given, helped.plan, helped.along
    for sentence in (
        *describe_session_pain(hurts, along),
        *describe_reported(hurts, profile, pain.client),
        *describe_delivered(given, plan, along),
    ):
        console.say(sentence)
    console.facts(helped.doubts)
    console.cautions(helped.cautions)
    console.result(
        {
            "load_kg": helped.session.load_kg,
            "invented": helped.session.invented,
            **hurts.to_dict(),
            **_delivered_record(given, along),
            **(
                {}
                if plan is None
                else {"compared_with_plan": _compared_record(compare_with_plan(given, plan), along)}
            ),
        }
    )
    return 0


def _delivered_record(given: DeliveredHelp, along: Travel) -> dict[str, object]:
    import numpy as np

    from feltload.coaching import Phase

    def plain(values: np.ndarray) -> list[float | None]:
        return [None if not np.isfinite(value) else float(value) for value in values]

    return {
        "helped": given.helped,
        **{name: at.tolist() for name, at in along.columns(given.angle_rad).items()},
        **{f"{phase}_n": plain(given.mean_n(phase)) for phase in Phase},
        **{f"{phase}_u95_n": plain(given.u95_n(phase)) for phase in Phase},
        "pass_scatter_n": given.scatter_n,
        "angle_ahead_rad": given.ahead_rad,
        "angle_ahead_n": given.ahead_n,
        "passes": [
            {
                "repetition": half.repetition + 1,
                "phase": str(half.phase),
                "mean_n": half.mean_n,
                "help_n": plain(half.help_n),
                "u95_n": plain(given.u95_of(half)),
            }
            for half in given.half_repetitions
        ],
    }


def _compared_record(compared: tuple[ComparedStretch, ...], along: Travel) -> list[dict[str, object]]:
    import numpy as np

    def plain(value: float) -> float | None:
        return float(value) if np.isfinite(value) else None

    return [
        {
            "phase": str(each.phase),
            "from": along.record(each.planned.from_rad),
            "to": along.record(each.planned.to_rad),
            "planned_n": each.planned_n,
            "given_n": plain(each.given_n),
            "u95_n": plain(each.u95_n),
            "verdict": str(each.verdict),
            "partly_opposite": each.partly_opposite,
            "worst": along.record(each.worst_rad) if np.isfinite(each.worst_rad) else None,
            "worst_planned_n": plain(each.worst_planned_n),
            "worst_given_n": plain(each.worst_given_n),
        }
        for each in compared
    ]
