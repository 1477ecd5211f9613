"""A machine file made by asking: one answer at a time by the file's own rules, and a file that reads back."""

from __future__ import annotations

import math

import numpy as np
import pytest

from feltload.calibration import (
    DraftPart,
    GeometryError,
    MachineDraft,
    MachineError,
    NeededFor,
    ParameterKey,
    Question,
    machine_questions,
    mechanism_kinds,
    parse_machine,
    part_links,
    part_questions,
    parts_to_ask,
    reference_of,
)
from feltload.calibration.machine.mechanisms import MECHANISMS
from feltload.signal import Reference


def answered(kind: str, needed_for: NeededFor = NeededFor.CHECK) -> MachineDraft:
    """A draft with the example of every question that such a use needs."""
    draft = MachineDraft(kind)
    while asked := draft.open_questions(needed_for):
        draft = draft.with_answer(asked[0], asked[0].example)
    return draft


def question(kind: str, key: str) -> Question:
    return next(q for q in machine_questions(kind) if q.key == key)


def test_every_mechanism_can_be_asked_about() -> None:
    assert set(mechanism_kinds()) == set(MECHANISMS)


@pytest.mark.parametrize("kind", mechanism_kinds())
def test_what_a_profile_needs_comes_first_and_is_enough_for_one(kind: str) -> None:
    needs = [asked.needed_for for asked in machine_questions(kind)]
    assert needs == sorted(needs, key=[NeededFor.PROFILE, NeededFor.CHECK].index)
    reference = reference_of(answered(kind, NeededFor.PROFILE).machine())
    assert isinstance(reference, Reference)
    assert reference.handle_travel is not None


@pytest.mark.parametrize("kind", mechanism_kinds())
def test_only_required_answers_are_enough_too(kind: str) -> None:
    draft = MachineDraft(kind)
    while asked := draft.open_questions():
        draft = draft.with_answer(asked[0], "" if asked[0].optional or asked[0].unless else asked[0].example)
    assert draft.machine().mechanism.kind == kind


@pytest.mark.parametrize("kind", mechanism_kinds())
def test_the_file_with_its_usual_parts_predicts_a_force(kind: str) -> None:
    draft = answered(kind)
    for part in parts_to_ask(kind):
        assert part.link in part_links(kind)
        asked = part_questions(kind, part.link, is_load=part.is_load)
        answers = {q.key: q.example for q in asked}
        draft = draft.with_part(DraftPart(part.name, part.link, part.is_load, answers))
    machine = parse_machine(draft.text())
    machine.require_masses([40.0])
    heavier, lighter = (machine.static_force_n(np.array([0.2]), load)[0] for load in (60.0, 40.0))
    assert heavier > lighter > 0.0


def test_answers_reach_the_file_as_they_were_typed() -> None:
    draft = answered("lever").with_answer(question("lever", "handle_radius"), " 24 3/8 in ± 1/16 in ")
    radius = draft.machine().parameter(ParameterKey("handle_radius"))
    assert radius.value == pytest.approx(24.375 * 0.0254)
    assert radius.u == pytest.approx(0.0254 / 16.0)


def test_a_cam_is_typed_on_one_line() -> None:
    cable = answered("cable").with_answer(question("cable", "drum_radius"), "")
    assert [asked.key for asked in cable.open_questions()] == ["cam"]
    cam = cable.with_answer(question("cable", "cam"), "0 deg: 80(1) mm, 90 deg: 100(1) mm")
    part = DraftPart("stack", "stack", is_load=True)
    force = cam.with_part(part).machine().static_force_n(np.array([0.0, math.pi / 2.0]), 10.0)
    assert force[1] / force[0] == pytest.approx(100.0 / 80.0)


@pytest.mark.parametrize(
    ("kind", "key", "text", "said"),
    [
        ("lever", "handle_radius", "655", "has no unit"),
        ("lever", "handle_radius", "655 m", "cannot be"),
        ("lever", "handle_radius", "", "an answer is needed"),
        ("lever", "start_angle", "12 kg", "is not an angle"),
        ("lever", "hinge_inclination", "90 deg", "upright"),
        ("four-bar", "handle_on", "seat", 'known are "input"'),
        ("cable", "efficiency", "150 %", "cannot be"),
        ("cable", "cam", "80 mm", "two or more pairs"),
        ("cable", "cam", "0 deg: 80 mm, 30 deg: 95 kg", "is not a length"),
        ("sled", "incline", "95 deg", "cannot be"),
    ],
)
def test_a_wrong_answer_is_refused_with_its_reason(kind: str, key: str, text: str, said: str) -> None:
    with pytest.raises(MachineError, match=said) as caught:
        MachineDraft(kind).with_answer(question(kind, key), text)
    assert "\n" not in str(caught.value)


def test_parts_need_a_name_a_link_and_their_answers() -> None:
    draft = answered("lever")
    for part, said in (
        (DraftPart(" ", "arm"), "must not be empty"),
        (DraftPart("plates", "sled"), "is not a link"),
        (DraftPart("plates", "arm", is_load=True), "an answer is needed"),
        (
            DraftPart("plates", "arm", is_load=True, answers={"radius": "5 m", "angle": "0 deg"}),
            "further than 3 m",
        ),
    ):
        with pytest.raises(MachineError, match=said):
            draft.with_part(part)


def test_a_part_asked_about_again_takes_its_own_place() -> None:
    draft = answered("lever")
    for radius in ("270(3) mm", "300(3) mm"):
        draft = draft.with_part(DraftPart("plates", "arm", True, {"radius": radius, "angle": "13 deg"}))
    machine = draft.machine()
    assert len(machine.riders) == 1
    assert machine.values[ParameterKey("radius", "plates")] == pytest.approx(0.3)


def test_lengths_that_do_not_fit_together_are_found_before_anything_is_written() -> None:
    draft = answered("four-bar").with_answer(question("four-bar", "ground_length"), "1.8(0.002) m")
    with pytest.raises(GeometryError):
        draft.machine()


@pytest.mark.parametrize("kind", mechanism_kinds())
def test_a_sketch_needs_no_answer(kind: str) -> None:
    assert MachineDraft(kind).sketch().mechanism.outline(0.1, MachineDraft(kind).sketch().values)
