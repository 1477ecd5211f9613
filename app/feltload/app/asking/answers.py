"""One question after another, answered by a person or from a list; every accepted answer is kept as it comes.

The answers alone determine the way through the questions: answers kept earlier are given again, in the same order, and
going back one question is giving all but the last again.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final, TypeVar

from feltload.app.errors import UsageError
from feltload.core import FeltloadError

Value = TypeVar("Value")

BACK: Final = "back"
_COMMENT: Final = "#"


class WentBackError(Exception):
    """The person wants the question before once more: the questions begin again, with one answer fewer."""


class Answers:
    """Answers in the order of their questions.

    Parameters
    ----------
    given : sequence of str
        Answers that are there already.
    read : callable, optional
        Reads the next one from a person, given the prompt; without it the list is all there is.
    say : callable
        Shows a line to the person.
    keep : callable
        Called with all answers after each new one.
    where : str
        What the list is called in errors.
    """

    def __init__(
        self,
        given: Sequence[str],
        *,
        read: Callable[[str], str] | None,
        say: Callable[[str], None],
        keep: Callable[[Sequence[str]], None],
        where: str,
    ) -> None:
        self._given = list(given)
        self._at = 0
        self._read = read
        self._say = say
        self._keep = keep
        self._where = where

    @property
    def count(self) -> int:
        """How many answers there are."""
        return len(self._given)

    @property
    def from_person(self) -> bool:
        """Whether a person is there to answer what the answers so far do not."""
        return self._read is not None

    @property
    def live(self) -> bool:
        """Whether the next answer comes from a person."""
        return self._read is not None and self._at == len(self._given)

    def begin_again(self) -> None:
        """Start from the first question."""
        self._at = 0

    def say(self, text: str) -> None:
        """Show a remark, where the person has not seen it yet."""
        if self.live:
            self._say(text)

    def ask(self, lines: Sequence[str], prompt: str, accept: Callable[[str], Value]) -> Value:
        """Put one question until its answer can be used.

        Parameters
        ----------
        lines : sequence of str
            The question, and how to find the answer out.
        prompt : str
            What stands before the answer.
        accept : callable
            Turns the text typed into what it means; raises a `FeltloadError` where it cannot.

        Raises
        ------
        WentBackError
            The person went one question back.
        UsageError
            An answer of the list cannot be used, or the list ends before a question that needs an answer.
        """
        if self._at < len(self._given):
            return self._accept_given(lines, accept)
        if self._read is None:
            return self._accept_nothing(lines, accept)
        for line in lines:
            self._say(line)
        while True:
            text = self._read(prompt).strip()
            if text == BACK:
                if not self._given:
                    self._say("This is the first question.")
                    continue
                self._given.pop()
                self._keep(self._given)
                raise WentBackError
            try:
                value = accept(_typed(text))
            except FeltloadError as error:
                self._say(f"! {error}")
                self._say(lines[0])
                continue
            self._given.append(text)
            self._at += 1
            self._keep(self._given)
            return value

    def require_all_used(self) -> None:
        """Refuse answers that no question asked for.

        Raises
        ------
        UsageError
            Names the first of them.
        """
        if self._at < len(self._given):
            raise UsageError(
                f'"{self._given[self._at]}" answers no question: all {self._at} are answered',
                where=f"{self._where}: answer {self._at + 1}",
                remedy="remove it, or check the answers before it",
            )

    def _accept_given(self, lines: Sequence[str], accept: Callable[[str], Value]) -> Value:
        try:
            value = accept(self._given[self._at])
        except FeltloadError as error:
            where = f"{self._where}: answer {self._at + 1} ({lines[0]})"
            raise UsageError(error.what, where=where, remedy=error.remedy) from error
        self._at += 1
        return value

    def _accept_nothing(self, lines: Sequence[str], accept: Callable[[str], Value]) -> Value:
        try:
            return accept("")
        except FeltloadError as error:
            raise UsageError(
                f'the answers end before "{lines[0]}"', where=self._where, remedy="add the answer as a line"
            ) from error


def _typed(text: str) -> str:
    if not text.isprintable():
        raise UsageError("arrow and control keys type nothing here", remedy="type the whole answer again")
    return text


def read_answers(text: str) -> list[str]:
    """Answers of a text, one a line; lines that begin with # are remarks, an empty line is an empty answer."""
    return [line.strip() for line in text.splitlines() if not line.lstrip().startswith(_COMMENT)]


def answers_text(answers: Sequence[str]) -> str:
    """The text that `read_answers` reads back."""
    return f"{_COMMENT} Answers to the questions, one a line; an empty line is an empty answer.\n" + "".join(
        f"{answer}\n" for answer in answers
    )
