"""The questions of a machine file as they are put to a person."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from feltload.app.text.machine.measuring import how_to_measure
from feltload.calibration import AnswerKind, NeededFor, PartToAsk, Question

_KINDS: Final[Mapping[str, str]] = {
    "lever": "an arm that turns about one hinge; handle and weight are on that arm",
    "cable": "an arm or crank with the handle on it turns a drum or a cam, and its cable lifts the weight",
    "straight-pull": "the handle is at the end of a rope, which runs over pulleys to the weight",
    "sled": "a sled or carriage runs on straight rails",
    "four-bar": "the arm with the handle drives another arm through a rod (a linkage with four pivots)",
}
"""Kind of mechanism -> what a person sees."""

_CHOICES: Final[Mapping[str, str]] = {
    "input": "the arm that the inertial sensor is strapped to",
    "coupler": "the rod between the two arms",
    "rocker": "the other arm",
    "open": "rod and second arm lie on one side of the line between the fixed pivots",
    "crossed": "the rod crosses that line",
    "arm": "the arm",
    "stack": "the cable, going straight up and down",
    "drum": "the drum or the arm that turns with it",
    "sled": "the sled",
    "weight": "the weight, or what moves up and down with it",
    "handle": "the handle, going straight out",
    "pulley": "the pulley that carries the sensor",
    "fixed pulley": "one whose axle stays where it is",
    "travelling pulley": "the one that goes up and down with the weight, or out with the handle",
    "1:1": "the handle goes as far as the weight",
    "2:1": "twice as far: one travelling pulley at the weight",
    "1:2": "half as far: one travelling pulley at the handle",
    "3:1": "three times as far",
    "4:1": "four times as far",
    "5:1": "five times as far",
    "6:1": "six times as far",
    **{str(count): str(count) for count in range(1, 7)},
}
"""Answer of a choice, or link of a mechanism -> what a person sees."""

_ASKED: Final[Mapping[str, str]] = {
    "name": "What do you call this machine?",
    "start_angle": "How steep is the line from hinge to handle, on the start stop?",
    "handle_radius": "How far is the handle from the hinge or axle?",
    "hinge_inclination": "Is the hinge's axle inclined? By how much?",
    "pull_direction": "Does the hand pull through a strap to a fixed place? At which elevation?",
    "pull_angle": "Or at a fixed angle to the arm that is not square to it? At which?",
    "handle_on": "Which part is the handle on?",
    "ground_length": "How far apart are the two fixed pivots?",
    "ground_angle": "How steep is the line from the first fixed pivot (of the handle's arm) to the other?",
    "input_length": "How long is the first arm, from its fixed pivot to the rod's joint?",
    "input_angle": "How steep is that arm, on the start stop?",
    "coupler_length": "How long is the rod, joint to joint?",
    "rocker_length": "How long is the other arm, from the rod's joint to its fixed pivot?",
    "branch": "How do rod and second arm lie?",
    "drum_radius": "Is the drum round? What is its radius?",
    "cam": "Then how far is the cable from the axle, turn by turn?",
    "pulley_ratio": "How many times further than the weight does the cable at the drum go?",
    "efficiency": "How much of the force do the cable's pulleys pass on?",
    "advantage": "How far does the handle go, compared with the weight?",
    "sensor_on": "Which pulley carries the inertial sensor?",
    "pulley_radius": "What is the radius of that pulley, to the middle of the rope?",
    "rope_direction": "In which direction does the hand pull the rope?",
    "pulleys": "Over how many fixed pulleys does the rope run between weight and handle?",
    "pulley_efficiency": "How much of the force does each pulley pass on?",
    "wheel_radius": "What is the radius of the wheel that carries the inertial sensor?",
    "incline": "How steep are the rails?",
    "handle_ratio": "How many times further than the sled does the hand go?",
    "rail_friction": "What is the rails' coefficient of friction?",
    "mass": "What is its mass?",
    "radius": "How far is its centre from the pivot?",
    "angle": "How steep is the line from pivot to its centre, on the start stop?",
}
"""Key -> the question."""

_LEFT_OUT: Final[Mapping[str, str]] = {
    "hinge_inclination": "the axle is level",
    "pull_direction": "no, the hand pulls on the handle itself",
    "pull_angle": "no, square to the arm",
    "drum_radius": "it is a cam, or not known yet",
    "cam": "not known yet",
    "pulley_ratio": "as far, no movable pulley",
    "rope_direction": "level",
    "pulley_efficiency": "not known, treated as all of it",
    "efficiency": "not known, treated as all of it",
    "handle_ratio": "the hand moves with the sled",
    "rail_friction": "not known, treated as none",
}
"""Key of an optional question -> what an empty answer says."""

_NOT_MEASURED: Final[Mapping[str, str]] = {
    "name": "the name stands on every page about it",
    "handle_on": "look for the part that handle and hand are on",
    "advantage": "pull the handle out by 100 mm and see how far the weight goes",
    "sensor_on": "an inertial sensor needs a pulley that turns",
    "pulleys": "count those whose axles stay where they are",
    "branch": "look at the machine on its start stop",
}
"""Key -> how to answer what no tape measures."""

_NEEDED_FOR: Final[Mapping[NeededFor, str]] = {
    NeededFor.PROFILE: "for a measured profile",
    NeededFor.CHECK: "to check a measured profile against the machine",
}


def kind_text(kind: str) -> str:
    """What a kind of mechanism looks like."""
    return _KINDS[kind]


def choice_text(choice: str) -> str:
    """What an answer of a choice, or a link that a part rides on, is."""
    return _CHOICES[choice]


def question_text(question: Question) -> str:
    """The question."""
    return _ASKED[question.key]


def question_how(question: Question) -> str:
    """How to find the answer out."""
    return _NOT_MEASURED.get(question.key) or how_to_measure(question.key)


def question_example(question: Question) -> str:
    """An answer to copy the form of; with its uncertainty in parentheses where it is a quantity."""
    if question.answer is AnswerKind.CHOICE:
        return f"one of {', '.join(question.choices)}"
    return f"such as {question.example}"


def left_out_text(question: Question) -> str:
    """What an empty answer says; empty where one is needed."""
    return _LEFT_OUT.get(question.key, "")


def needed_for_text(needed_for: NeededFor) -> str:
    """What questions are asked for."""
    return _NEEDED_FOR[needed_for]


def part_text(part: PartToAsk) -> str:
    """A part that machines of a kind usually have, before it is asked about."""
    if part.is_load:
        return f"Where is what you load ({part.name})?"
    return f"Does the {part.name} have a weight that counts?"
