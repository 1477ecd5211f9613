"""The questions of a machine file in their order: the kind, what a profile needs, then what a check needs."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from feltload.app.asking.answers import Answers, WentBackError
from feltload.app.errors import UsageError
from feltload.app.text.machine import dialogue as words
from feltload.app.text.machine.questions import part_text
from feltload.calibration import (
    AnswerKind,
    DraftPart,
    MachineDraft,
    MachineError,
    NeededFor,
    Question,
    mechanism_kinds,
    part_links,
    part_questions,
    parts_to_ask,
    read_answer,
)


def ask_machine(answers: Answers, redraw: Callable[[MachineDraft], None]) -> MachineDraft:
    """Ask until the machine file is whole.

    Parameters
    ----------
    answers : Answers
        Where questions go and answers come from.
    redraw : callable
        Called with the machine so far after each answer of a person that changes it.

    Raises
    ------
    UsageError
        A list of answers that cannot be used.
    """
    while True:
        try:
            draft = _ask_all(answers, redraw)
        except WentBackError:
            answers.begin_again()
            continue
        answers.require_all_used()
        return draft


def _ask_all(answers: Answers, redraw: Callable[[MachineDraft], None]) -> MachineDraft:
    kinds = mechanism_kinds()
    kind = answers.ask(words.kind_lines(kinds), words.NUMBER_PROMPT, lambda text: _chosen(text, kinds))
    draft = MachineDraft(kind)
    redraw(draft)
    answers.say(words.ANGLES)
    draft = _ask_machine(answers, draft, NeededFor.PROFILE, redraw)
    more = answers.ask((words.ENOUGH_FOR_A_PROFILE,), words.NO_PROMPT, lambda text: _yes(text, usual=False))
    if not more:
        return draft
    draft = _ask_machine(answers, draft, NeededFor.CHECK, redraw)
    return _ask_parts(answers, draft, redraw)


def _ask_machine(
    answers: Answers, draft: MachineDraft, use: NeededFor, redraw: Callable[[MachineDraft], None]
) -> MachineDraft:
    """Ask what a use needs, again and again until the lengths fit together."""
    asked: list[Question] = []
    while open_questions := draft.open_questions(use):
        draft = _ask_one(answers, draft, open_questions[0])
        asked.append(open_questions[0])
        if draft.answers[asked[-1].key] and asked[-1].answer is not AnswerKind.WORDS:
            redraw(draft)
    while True:
        try:
            draft.machine()
        except MachineError as error:
            if not asked or not answers.from_person:
                raise UsageError(error.what, where=error.where or "", remedy=error.remedy) from error
            answers.say(words.does_not_fit(error))
            for question in asked:
                draft = _ask_one(answers, draft, question)
            redraw(draft)
            continue
        return draft


def _ask_one(answers: Answers, draft: MachineDraft, question: Question) -> MachineDraft:
    before = draft.answers.get(question.key)

    def accept(text: str) -> MachineDraft:
        if question.answer is AnswerKind.CHOICE:
            text = _chosen(text or before or question.choices[0], question.choices)
        return draft.with_answer(question, text or before or "")

    return answers.ask(words.question_lines(question), words.prompt(question, before), accept)


def _ask_parts(answers: Answers, draft: MachineDraft, redraw: Callable[[MachineDraft], None]) -> MachineDraft:
    for usual in parts_to_ask(draft.kind):
        if not usual.is_load and not answers.ask(
            (part_text(usual),), words.YES_PROMPT, lambda text: _yes(text, usual=True)
        ):
            continue
        if usual.is_load:
            answers.say(part_text(usual))
        draft = _ask_part(answers, draft, DraftPart(usual.name, usual.link, usual.is_load))
        redraw(draft)
    while (further := _ask_further(answers, draft)) is not None:
        draft = further
        redraw(draft)
    return draft


def _ask_further(answers: Answers, draft: MachineDraft) -> MachineDraft | None:
    """One more part, of any name; None where there is none."""
    name = answers.ask((words.ANOTHER_PART,), words.ANOTHER_PROMPT, lambda text: _new_name(text, draft))
    if not name:
        return None
    links = part_links(draft.kind)
    link = links[0]
    if len(links) > 1:
        link = answers.ask(
            words.link_lines(name, links), words.link_prompt(), lambda text: _chosen(text or links[0], links)
        )
    return _ask_part(answers, draft, DraftPart(name, link))


def _ask_part(answers: Answers, draft: MachineDraft, part: DraftPart) -> MachineDraft:
    given = {}
    for question in part_questions(draft.kind, part.link, is_load=part.is_load):
        given[question.key] = answers.ask(
            words.question_lines(question, part.name),
            words.prompt(question),
            lambda text, question=question: read_answer(draft.kind, question, text),  # type: ignore[misc]
        )
    return draft.with_part(replace(part, answers=given))


def _chosen(text: str, choices: Sequence[str]) -> str:
    """One of the choices, by its number or its name."""
    if text.isdecimal() and 1 <= int(text) <= len(choices):
        return choices[int(text) - 1]
    if text in choices:
        return text
    raise UsageError(f'"{text}" is none of the answers', remedy=f"type a number from 1 to {len(choices)}")


def _yes(text: str, *, usual: bool) -> bool:
    if text.lower() in ("y", "yes", "n", "no", ""):
        return text.lower().startswith("y") if text else usual
    raise UsageError(f'"{text}" is neither yes nor no', remedy='type "y" or "n"')


def _new_name(text: str, draft: MachineDraft) -> str:
    if text in [part.name for part in draft.parts]:
        raise UsageError(f'there is a "{text}" already', remedy="give every part its own name")
    if "." in text:
        raise UsageError("a part's name must not hold a point")
    return text
