"""What a question of a machine file is: its key, the kind of answer, and what it is needed for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum, auto

from feltload.calibration.machine.parameters import Measures, Section
from feltload.core import Dimension


class AnswerKind(StrEnum):
    """How a question is answered."""

    WORDS = auto()
    CHOICE = auto()
    QUANTITY = auto()
    TABLE = auto()


class NeededFor(StrEnum):
    """What a question is asked for; what `PROFILE` needs, `CHECK` needs too."""

    PROFILE = auto()
    CHECK = auto()


class Owner(StrEnum):
    """Which table of the machine file an answer goes to."""

    HEADER = auto()
    MECHANISM = auto()
    PART = auto()


@dataclass(frozen=True)
class Question:
    """One question of a machine file.

    Attributes
    ----------
    key : str
        Key in its table of the machine file, such as "handle_radius".
    owner : Owner
        That table: the head of the file, the mechanism's, or that of a part which rides on it.
    answer : AnswerKind
        How it is answered.
    example : str
        An answer as a person types it, with its uncertainty.
    needed_for : NeededFor
        The first use that needs it.
    dimension : str or None
        Dimension of a quantity.
    optional : bool
        Whether an empty answer leaves the key out of the file.
    choices : tuple of str
        Answers of a choice, the usual one first.
    unless : str
        Key of the same table: the question falls away once that one has an answer; empty for none.
    only_with : tuple of str
        A key and answers to it: the question is asked only after one of those; empty for always.
    """

    key: str
    owner: Owner
    answer: AnswerKind
    example: str
    needed_for: NeededFor
    dimension: Dimension | None = None
    optional: bool = False
    choices: tuple[str, ...] = ()
    unless: str = ""
    only_with: tuple[str, ...] = ()

    def applies(self, answers: Mapping[str, str]) -> bool:
        """Whether it is asked at all, after these answers."""
        key, *values = self.only_with or ("",)
        return not answers.get(self.unless) and (not key or answers.get(key) in values)


@dataclass(frozen=True)
class PartToAsk:
    """A part that machines of a kind usually have.

    Attributes
    ----------
    name : str
        What it is called unless the person says otherwise.
    link : str
        Link that it usually rides on.
    is_load : bool
        Whether it is what the person loads: its mass is the recording's, and not asked for.
    """

    name: str
    link: str
    is_load: bool = False


def quantity_question(
    section: type[Section],
    key: str,
    owner: Owner,
    example: str,
    needed_for: NeededFor,
    *,
    optional: bool = False,
    unless: str = "",
) -> Question:
    """Question after a quantity of a table; its dimension is the table's."""
    measures = next(m for m in section.model_fields[key].metadata if isinstance(m, Measures))
    return Question(
        key, owner, AnswerKind.QUANTITY, example, needed_for, measures.dimension, optional, (), unless
    )
