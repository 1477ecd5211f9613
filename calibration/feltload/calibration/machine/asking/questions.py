"""The questions of each kind of mechanism, in the order in which they are asked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from feltload.calibration.machine.asking.question import (
    AnswerKind,
    NeededFor,
    Owner,
    PartToAsk,
    Question,
    quantity_question,
)
from feltload.calibration.machine.mechanisms import KINEMATICS, MECHANISMS
from feltload.calibration.machine.mechanisms.masses import RidingMass
from feltload.calibration.machine.tables import Header

_PROFILE, _CHECK = NeededFor.PROFILE, NeededFor.CHECK

_NAME: Final = Question("name", Owner.HEADER, AnswerKind.WORDS, "row by the window", _PROFILE)
_DIMENSIONS: Final[Mapping[str, tuple[tuple[str, str, NeededFor, bool, str], ...]]] = {
    "lever": (
        ("handle_radius", "655(2) mm", _PROFILE, False, ""),
        ("hinge_inclination", "0(0.5) deg", _PROFILE, True, ""),
        ("pull_direction", "80(1) deg", _PROFILE, True, ""),
        ("pull_angle", "80(1) deg", _PROFILE, True, "pull_direction"),
    ),
    "four-bar": (
        ("handle_radius", "700(3) mm", _PROFILE, False, ""),
        ("ground_length", "600(2) mm", _PROFILE, False, ""),
        ("ground_angle", "-10(0.5) deg", _PROFILE, False, ""),
        ("input_length", "250(2) mm", _PROFILE, False, ""),
        ("input_angle", "70(0.5) deg", _PROFILE, False, ""),
        ("coupler_length", "520(2) mm", _PROFILE, False, ""),
        ("rocker_length", "400(2) mm", _PROFILE, False, ""),
        ("hinge_inclination", "0(0.5) deg", _PROFILE, True, ""),
    ),
    "cable": (
        ("handle_radius", "350(2) mm", _PROFILE, False, ""),
        ("drum_radius", "90(1) mm", _CHECK, True, ""),
        ("pulley_ratio", "2", _CHECK, True, ""),
        ("efficiency", "0.95(0.02)", _CHECK, True, ""),
    ),
    "straight-pull": (
        ("pulley_radius", "50(0.5) mm", _PROFILE, False, ""),
        ("rope_direction", "10(2) deg", _CHECK, True, ""),
        ("pulley_efficiency", "0.97(0.01)", _CHECK, True, ""),
    ),
    "sled": (
        ("wheel_radius", "50(0.5) mm", _PROFILE, False, ""),
        ("incline", "45(0.5) deg", _PROFILE, False, ""),
        ("handle_ratio", "1", _PROFILE, True, ""),
        ("rail_friction", "0.01(0.005)", _CHECK, True, ""),
    ),
}
"""Kind -> key, example, what for, optional, unless."""

_BEFORE: Final[Mapping[str, tuple[Question, ...]]] = {
    "four-bar": (
        Question(
            "handle_on",
            Owner.MECHANISM,
            AnswerKind.CHOICE,
            "input",
            _PROFILE,
            choices=("input", "coupler", "rocker"),
        ),
    ),
    "straight-pull": (
        Question(
            "advantage",
            Owner.MECHANISM,
            AnswerKind.CHOICE,
            "1:1",
            _PROFILE,
            choices=("1:1", "2:1", "1:2", "3:1", "4:1", "5:1", "6:1"),
        ),
        Question(
            "sensor_on",
            Owner.MECHANISM,
            AnswerKind.CHOICE,
            "fixed pulley",
            _PROFILE,
            choices=("fixed pulley", "travelling pulley"),
            only_with=("advantage", "2:1", "1:2"),
        ),
        Question(
            "pulleys", Owner.MECHANISM, AnswerKind.CHOICE, "1", _CHECK, choices=("1", "2", "3", "4", "5", "6")
        ),
    ),
}
"""What is asked before a kind's dimensions."""
_AFTER: Final[Mapping[str, tuple[Question, ...]]] = {
    "four-bar": (
        Question("branch", Owner.MECHANISM, AnswerKind.CHOICE, "open", _PROFILE, choices=("open", "crossed")),
    ),
    "cable": (
        Question(
            "cam",
            Owner.MECHANISM,
            AnswerKind.TABLE,
            "0 deg: 80(1) mm, 45 deg: 94(1) mm, 90 deg: 90(1) mm",
            _CHECK,
            unless="drum_radius",
        ),
    ),
}
"""What is asked after them."""
_START_ANGLE: Final[Mapping[str, str]] = {
    "lever": "-25(0.3) deg",
    "four-bar": "20(0.3) deg",
    "cable": "-60(0.5) deg",
}
"""Kind -> example of its start angle, where its handle has one."""

_PARTS: Final[Mapping[str, tuple[PartToAsk, ...]]] = {
    "lever": (PartToAsk("plates", "arm", is_load=True), PartToAsk("arm", "arm")),
    "four-bar": (
        PartToAsk("plates", "rocker", is_load=True),
        PartToAsk("loaded arm", "rocker"),
        PartToAsk("handle arm", "input"),
        PartToAsk("coupler bar", "coupler"),
    ),
    "cable": (PartToAsk("stack", "stack", is_load=True), PartToAsk("handle arm", "drum")),
    "straight-pull": (PartToAsk("stack", "weight", is_load=True), PartToAsk("carriage", "weight")),
    "sled": (PartToAsk("plates", "sled", is_load=True), PartToAsk("sled", "sled")),
}


def mechanism_kinds() -> tuple[str, ...]:
    """Kinds of mechanism that can be asked about, the most frequent first."""
    return tuple(_DIMENSIONS)


def machine_questions(kind: str) -> tuple[Question, ...]:
    """Questions about a machine of a kind, but for its parts: what a profile needs first, then what a check needs.

    Parameters
    ----------
    kind : str
        One of `mechanism_kinds`.
    """
    section = MECHANISMS[kind]
    start = (
        (quantity_question(Header, "start_angle", Owner.HEADER, _START_ANGLE[kind], _PROFILE),)
        if kind in _START_ANGLE
        else ()
    )
    dimensions = tuple(
        quantity_question(section, key, Owner.MECHANISM, example, needed, optional=optional, unless=unless)
        for key, example, needed, optional, unless in _DIMENSIONS[kind]
    )
    asked = (_NAME, *start, *_BEFORE.get(kind, ()), *dimensions, *_AFTER.get(kind, ()))
    return tuple(sorted(asked, key=lambda question: question.needed_for is _CHECK))


def parts_to_ask(kind: str) -> tuple[PartToAsk, ...]:
    """Parts with a mass that machines of a kind usually have, the load first."""
    return _PARTS[kind]


def part_questions(kind: str, link: str, *, is_load: bool) -> tuple[Question, ...]:
    """Questions about one part that rides on `link` of a machine of a kind."""

    def ask(key: str, example: str) -> Question:
        return quantity_question(RidingMass, key, Owner.PART, example, _CHECK)

    mass = () if is_load else (ask("mass", "9.5(0.1) kg"),)
    place = (
        () if link in KINEMATICS[kind].sliding else (ask("radius", "270(3) mm"), ask("angle", "13(1) deg"))
    )
    return (*mass, *place)


def part_links(kind: str) -> tuple[str, ...]:
    """Links of a kind that a part can ride on, the usual one first."""
    return KINEMATICS[kind].links
