"""What a page shows of one result, whatever it is of."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING

from feltload.app.text.key_figure import KeyFigure

if TYPE_CHECKING:
    from feltload.app.pages.canvas import Drawing


class OutcomeKind(StrEnum):
    """What was measured."""

    MACHINE = "machine"
    STRENGTH = "strength"
    HELP = "help"


@dataclass(frozen=True)
class Outcome:
    """A result: answered in a sentence, in figures, and by what to do.

    Attributes
    ----------
    kind : OutcomeKind
    name : str
        Folder or file of it in the working folder.
    machine : str
        Name of the machine.
    headline : str
    key_figures : tuple of KeyFigure
    advice : tuple of str
        What to do about it.
    drawing : Drawing or None
    findings, doubts, cautions : tuple of str
        What it shows besides, what is wrong with the data behind it, and what goes with it.
    invented : bool
    sources : tuple of str
        Names of the recordings that it was made of.
    document : Path or None
        Its page in one file.
    arms : tuple of Outcome
        Of a machine with two arms, each by itself.
    """

    kind: OutcomeKind
    name: str
    machine: str
    headline: str
    key_figures: tuple[KeyFigure, ...]
    advice: tuple[str, ...] = ()
    drawing: Drawing | None = None
    findings: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    invented: bool = False
    sources: tuple[str, ...] = ()
    document: Path | None = None
    arms: tuple[Outcome, ...] = ()

    @property
    def documented(self) -> tuple[Outcome, ...]:
        """What has a page of its own: it, or its arms."""
        return tuple(one for one in (self, *self.arms) if one.document is not None)

    @property
    def is_of_a_person(self) -> bool:
        """Whether it is for those alone who measure."""
        return self.kind is not OutcomeKind.MACHINE
