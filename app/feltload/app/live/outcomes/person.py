"""Recordings of a person to what they show: capacity by position, and help as it was given."""

from __future__ import annotations

from pathlib import Path

from feltload.app.jobs.capacity import MeasuredCapacity
from feltload.app.live.outcomes.carried_pain import CarriedPain
from feltload.app.live.outcomes.outcome import Outcome, OutcomeKind
from feltload.app.live.setup.contents import capacity_name, machine_of
from feltload.app.options import PersonOptions
from feltload.app.text.cautions import CAUTIONS
from feltload.app.text.facts import describe_fully
from feltload.app.text.live import result as words
from feltload.coaching import CapacityCurve, ClientFolder, capacity_from_json
from feltload.signal import AngleKind, PositionScale, Travel


def strength_of(recording: Path, client: Path | None) -> Outcome:
    """Measure a capacity from holds and write its file beside them.

    Raises
    ------
    FeltloadError
        There is none in them.
    """
    # Slow to import, here and below.
    from feltload.app.people.strength import write_capacity

    out = capacity_name(recording)
    folder = None if client is None else ClientFolder.open(client)
    measured, _ = write_capacity(recording, out, folder=folder)
    return _strength(measured, out, (recording.name,))


def opened_capacity(path: Path) -> Outcome:
    """A capacity that is there already.

    Raises
    ------
    FeltloadError
        It cannot be read.
    """
    curve, machine = capacity_from_json(path)
    return _strength(MeasuredCapacity(curve, machine, _along(curve)), path, ())


def _along(curve: CapacityCurve) -> Travel:
    return Travel(curve.angle_rad, curve.path_m, PositionScale(curve.angle or AngleKind.LEVER))


def _strength(measured: MeasuredCapacity, path: Path, sources: tuple[str, ...]) -> Outcome:
    from feltload.app.pages.client.figures import capacity_figure
    from feltload.app.text.person.strength import (
        describe_capacity,
        describe_strength_headline,
        strength_key_figures,
    )

    curve, held = measured.curve, measured.travel
    *pain, _, _ = describe_capacity(curve, held)
    return Outcome(
        OutcomeKind.STRENGTH,
        path.name,
        measured.machine,
        describe_strength_headline(curve, held),
        strength_key_figures(curve, held),
        advice=(*pain, words.AFTER_HOLDS),
        drawing=capacity_figure(curve, held),
        doubts=tuple(describe_fully(fact) for fact in curve.warnings),
        cautions=tuple(CAUTIONS[caution] for caution in dict.fromkeys(curve.cautions)),
        invented=curve.invented,
        sources=sources,
    )


def help_in(recording: Path, person: PersonOptions, pain: CarriedPain) -> Outcome:
    """Measure the help in a set, and compare it with the plan where there was one.

    Raises
    ------
    FeltloadError
        No profile was chosen, or help cannot be measured with it.
    """
    from feltload.app.errors import UsageError
    from feltload.app.pages.client.figures import help_figure
    from feltload.app.people.help_given import measure_help
    from feltload.app.text.person.delivered import (
        describe_delivered,
        describe_help_headline,
        help_key_figures,
    )
    from feltload.app.text.person.travel import describe_session_pain

    if person.result is None:
        raise UsageError(words.NO_PROFILE, where=recording.name, remedy=words.NO_PROFILE_REMEDY)
    helped = measure_help(
        person.result,
        recording,
        pain.known(machine_of(person.result), person.client),
        capacity=person.capacity,
        target=person.target,
    )
    given, plan, along, hurts = helped.given, helped.plan, helped.along, helped.hurts
    sore = describe_session_pain(hurts, along)
    verdict = describe_help_headline(given, plan, along)
    return Outcome(
        OutcomeKind.HELP,
        recording.name,
        helped.session.machine,
        # What hurts comes first.
        sore[0] if sore else verdict,
        help_key_figures(given, along),
        advice=(*((*sore[1:], verdict) if sore else ()), words.AFTER_HELP),
        drawing=None if plan is None else help_figure(plan, given, along),
        findings=tuple(describe_delivered(given, plan, along)),
        doubts=tuple(describe_fully(fact) for fact in helped.doubts),
        cautions=tuple(CAUTIONS[caution] for caution in dict.fromkeys(helped.cautions)),
        invented=helped.session.invented,
        sources=(recording.name,),
    )
