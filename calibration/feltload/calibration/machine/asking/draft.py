"""A machine file as far as it is answered: every answer is read by the file's own rules, one at a time."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final, get_args

import numpy as np
from pydantic import BeforeValidator
from pydantic_core import PydanticCustomError

from feltload.calibration.errors import MachineError
from feltload.calibration.machine.asking.question import AnswerKind, NeededFor, Owner, Question
from feltload.calibration.machine.asking.questions import machine_questions, part_questions
from feltload.calibration.machine.file import parse_machine
from feltload.calibration.machine.hints import one_of
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.mechanisms import KINEMATICS, MECHANISMS
from feltload.calibration.machine.mechanisms.masses import LOAD, RidingMass
from feltload.calibration.machine.parameters import Section, TableAngle, TableRadius
from feltload.calibration.machine.tables import Header

_START: Final = np.zeros(1)
_HEAD: Final = (
    '# A standard uncertainty stands in parentheses: "655(2) mm" is 655 mm with 2 mm. Angles are elevations on\n'
    "# the start stop, seen from the side on which the lifting motion turns counter-clockwise.\n"
)


@dataclass(frozen=True)
class DraftPart:
    """A part that rides on the mechanism.

    Attributes
    ----------
    name : str
        What it is called.
    link : str
        Link that it rides on.
    is_load : bool
        Whether its mass is what a recording says was loaded.
    answers : mapping
        Key -> answer as it was typed.
    """

    name: str
    link: str
    is_load: bool = False
    answers: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class MachineDraft:
    """A machine file that is being answered.

    Attributes
    ----------
    kind : str
        Kind of mechanism, one of `mechanism_kinds`.
    answers : mapping
        Key -> answer as it was typed; an empty one leaves the key out of the file.
    parts : tuple of DraftPart
        What rides on it.
    """

    kind: str
    answers: Mapping[str, str] = field(default_factory=dict)
    parts: tuple[DraftPart, ...] = ()

    def open_questions(self, needed_for: NeededFor = NeededFor.CHECK) -> tuple[Question, ...]:
        """Questions about the machine itself that a use needs and that have no answer yet, in their order."""
        return tuple(
            question
            for question in machine_questions(self.kind)
            if question.key not in self.answers
            and (needed_for is NeededFor.CHECK or question.needed_for is NeededFor.PROFILE)
            and question.applies(self.answers)
        )

    def with_answer(self, question: Question, text: str) -> MachineDraft:
        """The draft with one answer about the machine itself; an earlier one to the same question is replaced.

        Raises
        ------
        MachineError
            The answer cannot be used; in one line why, and what to type instead.
        """
        return replace(self, answers={**self.answers, question.key: read_answer(self.kind, question, text)})

    def with_part(self, part: DraftPart) -> MachineDraft:
        """The draft with one more part, or with another one of that name in its place.

        Raises
        ------
        MachineError
            It cannot have that name or ride there, or an answer about it is missing or cannot be used.
        """
        where = f'"{part.name}"'
        if not part.name.strip() or "." in part.name:
            raise MachineError("a part's name must not be empty or hold a point", where=where)
        if part.link not in KINEMATICS[self.kind].links:
            raise MachineError(
                f'"{part.link}" is not a link', where=where, remedy=one_of(KINEMATICS[self.kind].links)
            )
        asked = part_questions(self.kind, part.link, is_load=part.is_load)
        answers = {q.key: read_answer(self.kind, q, part.answers.get(q.key, "")) for q in asked}
        others = tuple(other for other in self.parts if other.name != part.name)
        return replace(self, parts=(*others, replace(part, name=part.name.strip(), answers=answers)))

    def text(self) -> str:
        """The machine file so far."""
        header = {q.key: self.answers.get(q.key, "") for q in self._owned_by(Owner.HEADER)}
        own = {q.key: self.answers.get(q.key, "") for q in self._owned_by(Owner.MECHANISM)}
        lines = [
            _HEAD.rstrip(),
            _line("name", header.pop("name")),
            _line("mechanism", self.kind),
            *(_line(key, answer) for key, answer in header.items() if answer),
            f"[{self.kind}]",
            *(_line(key, answer) for key, answer in own.items() if answer),
        ]
        for part in self.parts:
            lines += [f"[[{self.kind}.mass]]", _line("name", part.name)]
            lines += [_line("mass", LOAD)] if part.is_load else []
            lines += [_line(key, answer) for key, answer in part.answers.items()]
            lines += [_line("on", part.link)] if part.link != KINEMATICS[self.kind].links[0] else []
        return "\n".join(lines) + "\n"

    def machine(self) -> Machine:
        """The machine that the answers describe.

        Raises
        ------
        MachineError
            An answer that the file needs is missing.
        GeometryError
            The lengths do not fit together on the start stop.
        """
        machine = parse_machine(self.text(), "the answers")
        machine.terms(_START, 0.0)
        return machine

    def sketch(self) -> Machine:
        """The machine to draw, with the examples of the questions in place of the answers that the file still needs.

        Raises
        ------
        MachineError, GeometryError
            As `machine`.
        """
        needed = [q for q in machine_questions(self.kind) if not q.optional and not q.only_with]
        filled = {**{q.key: q.example for q in needed}, **self.answers}
        return replace(self, answers=filled).machine()

    def _owned_by(self, owner: Owner) -> list[Question]:
        return [q for q in machine_questions(self.kind) if q.owner is owner]


def read_answer(kind: str, question: Question, text: str) -> str:
    """An answer as it goes into the file, or why it cannot.

    Parameters
    ----------
    kind : str
        Kind of mechanism.
    question : Question
        One of its questions, or of a part's.
    text : str
        As it was typed.

    Raises
    ------
    MachineError
        The answer cannot be used; in one line why, and what to type instead.
    """
    text = text.strip()
    if not text:
        if question.optional or question.unless:
            return ""
        raise MachineError("an answer is needed", remedy=f"such as {question.example}")
    if question.answer is AnswerKind.CHOICE:
        if text not in question.choices:
            raise MachineError(f'"{text}" is none of the answers', remedy=one_of(question.choices))
        return text
    if question.answer is AnswerKind.TABLE:
        for row in _rows(text, question.example):
            for reader, cell in zip(_TABLE_READERS, row, strict=True):
                _read(reader, cell, question.example)
        return text
    if question.answer is AnswerKind.QUANTITY:
        _read(_reader(_section(kind, question.owner), question.key), text, question.example)
    return text


def _section(kind: str, owner: Owner) -> type[Section]:
    if owner is Owner.PART:
        # A kind may narrow what its parts can be.
        rows = MECHANISMS[kind].model_fields["mass"].annotation
        return next(iter(getattr(rows, "__args__", ())), RidingMass)
    return Header if owner is Owner.HEADER else MECHANISMS[kind]


def _reader(section: type[Section], key: str) -> Callable[[Any], Any]:
    return _validator(section.model_fields[key].metadata)


def _validator(metadata: Any) -> Callable[[Any], Any]:
    reader = next(entry for entry in metadata if isinstance(entry, BeforeValidator))
    return lambda written: reader.func(written)  # type: ignore[call-arg]


_TABLE_READERS: Final = tuple(_validator(get_args(row)) for row in (TableAngle, TableRadius))


def _read(reader: Callable[[Any], Any], text: str, example: str) -> None:
    try:
        reader(text)
    except PydanticCustomError as error:
        said = error.context or {}
        raise MachineError(
            str(said.get("what", "")), remedy=said.get("remedy") or f"such as {example}"
        ) from error


def _rows(text: str, example: str) -> list[list[str]]:
    """Rows of a table typed on one line, ``0 deg: 80 mm, 30 deg: 95 mm``."""
    rows = [[cell.strip() for cell in row.split(":")] for row in text.split(",")]
    if len(rows) < 2 or any(len(row) != 2 for row in rows):
        raise MachineError(f'"{text}" is not a list of two or more pairs', remedy=f"such as {example}")
    return rows


def _line(key: str, answer: str) -> str:
    value: object = _rows(answer, answer) if key == "cam" else answer
    return f"{key} = {json.dumps(value, ensure_ascii=False)}"
