"""What is said around the questions of a machine file in a terminal."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from feltload.app.text.machine.questions import (
    choice_text,
    kind_text,
    left_out_text,
    question_example,
    question_how,
    question_text,
)
from feltload.calibration import AnswerKind, MachineDraft, Question
from feltload.core import FeltloadError

CAUTION: Final = (
    "Keep the machine unloaded or on its stop while a tape is near it; never stand under or reach into a loaded "
    "machine. The maker's instructions and local rules come first."
)
ANGLES: Final = (
    "Angles: stand where you see the lifting motion turn counter-clockwise. 0 deg points right, 90 deg up, 180 deg "
    "left, -90 deg down. Add how well you know each number, in parentheses: 655(2) mm is 655 mm, give or take 2 mm "
    "(standard uncertainty)."
)
ENOUGH_FOR_A_PROFILE: Final = (
    "That is enough to measure a profile. To predict the force and to check a measured profile, the machine's weights "
    "and their places are needed too: go on with those?"
)
ANOTHER_PART: Final = "Does anything else that moves have a weight, such as a counterweight?"
NUMBER_PROMPT: Final = "its number: "
YES_PROMPT: Final = "[Enter: yes] y or n: "
NO_PROMPT: Final = "[Enter: no] y or n: "
ANOTHER_PROMPT: Final = "[Enter: no] its name: "


def opening(out: Path, drawing: Path) -> str:
    """What the person needs to know before the first question."""
    return (
        f"Machine file: {out}. Its drawing, {drawing}, is drawn again after each answer. Enter takes what stands in "
        '[brackets]; "back" goes back one question; Ctrl-C leaves, and what was answered is kept.'
    )


def going_on(count: int, kept: Path) -> str:
    """Answers of an earlier session are there."""
    return f'Going on after {_answers(count)} kept in {kept}; "back" goes back through them.'


def left_after(count: int, kept: Path) -> str:
    """The person left before the end."""
    if not count:
        return "Left before the first answer; nothing was written."
    return f"Left after {_answers(count)}, kept in {kept}; the same command goes on with them."


def kind_lines(kinds: Sequence[str]) -> list[str]:
    """The first question."""
    return ["What kind of machine is it?", *_numbered([(kind_text(kind), kind) for kind in kinds])]


def question_lines(question: Question, part: str = "") -> list[str]:
    """A question, how to find its answer out, and an example; about a part, its name stands first."""
    asked = question_text(question)
    about = f"{part}: {asked[:1].lower()}{asked[1:]}" if part else asked
    how = question_how(question)
    if question.answer is AnswerKind.CHOICE:
        choices = _numbered([(choice_text(choice), "") for choice in question.choices])
        return [about, f"  {how[:1].upper()}{how[1:]}.", *choices]
    return [about, f"  {how[:1].upper()}{how[1:]}; {question_example(question)}."]


def link_lines(part: str, links: Sequence[str]) -> list[str]:
    """What a part rides on."""
    return [f"{part}: what does it ride on?", *_numbered([(choice_text(link), "") for link in links])]


def link_prompt() -> str:
    """Before the number of a link."""
    return "[Enter: 1] its number: "


def prompt(question: Question, before: str | None = None) -> str:
    """What stands before an answer; `before` is the one given earlier."""
    if before:
        return f"[Enter: {before}] > "
    if question.answer is AnswerKind.CHOICE:
        return "[Enter: 1] its number: "
    left_out = left_out_text(question)
    return f"[Enter: {left_out}] > " if left_out else "> "


def does_not_fit(error: FeltloadError) -> str:
    """The numbers make no machine; they are asked again."""
    return f"! {error}. Once more, then; Enter keeps a number."


def made_text(draft: MachineDraft, out: Path, drawing: Path) -> str:
    """The file is there, and what it is good for."""
    use = (
        "good for `profile`, `survey` and `check`"
        if draft.parts
        else "good for `profile`; `survey` and `check` need the machine's weights as well"
    )
    return f"Machine file: {out} ({use})\nDrawing: {drawing}"


def drawing_row(row: str, *, measured: bool) -> str:
    """A dimension under the drawing, marked where it is only the example of its question."""
    return row if measured else f"{row}  (example)"


def _answers(count: int) -> str:
    return "1 answer" if count == 1 else f"{count} answers"


def _numbered(rows: Sequence[tuple[str, str]]) -> list[str]:
    return [
        f"  {number}  {text}{f' ({name})' if name else ''}"
        for number, (text, name) in enumerate(rows, start=1)
    ]
