"""Every question of a machine file has its words, and says how to find the answer out."""

from __future__ import annotations

import pytest

from feltload.app.text.machine.questions import (
    choice_text,
    kind_text,
    left_out_text,
    needed_for_text,
    part_text,
    question_example,
    question_how,
    question_text,
)
from feltload.calibration import (
    NeededFor,
    Question,
    machine_questions,
    mechanism_kinds,
    part_links,
    part_questions,
    parts_to_ask,
)

ALL = [(kind, question) for kind in mechanism_kinds() for question in machine_questions(kind)] + [
    (kind, question)
    for kind in mechanism_kinds()
    for link in part_links(kind)
    for question in part_questions(kind, link, is_load=False)
]


@pytest.mark.parametrize(("kind", "question"), ALL, ids=lambda value: getattr(value, "key", value))
def test_every_question_has_words_a_way_to_measure_and_an_example(kind: str, question: Question) -> None:
    assert question_text(question).endswith("?")
    assert "data sheet" not in question_how(question)
    assert question.example in question_example(question)
    assert bool(left_out_text(question)) is (question.optional or bool(question.unless))
    assert all(choice_text(choice) for choice in question.choices)


def test_kinds_links_parts_and_uses_have_words() -> None:
    for kind in mechanism_kinds():
        assert kind not in kind_text(kind).split()[:1]
        assert all(choice_text(link) for link in part_links(kind))
        assert all(part.name in part_text(part) for part in parts_to_ask(kind))
    assert all(needed_for_text(use) for use in NeededFor)
