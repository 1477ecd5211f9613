"""What the estimator's worker is asked, and what it answers: one JSON object a line."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, TypeAdapter

from feltload.app.live.recorder.request import PLAIN
from feltload.app.running.enough import Enough
from feltload.app.running.marked import Trouble


@dataclass(frozen=True)
class Assess:
    """Whether recordings suffice so far.

    Attributes
    ----------
    earlier : tuple of Path
        Whole recordings of the same machine, with other loads.
    growing : Path
        The one that is being made, or replayed.
    until_ns : int
        Host time up to which it counts.
    sides : tuple
        An `Enough` for each; None where the machine has one arm.
    """

    earlier: tuple[Path, ...]
    growing: Path
    until_ns: int
    sides: tuple[str | None, ...] = (None,)
    type: Literal["assess"] = "assess"


@dataclass(frozen=True)
class Assessed:
    """The answer, in the order of `Assess.sides`."""

    enough: tuple[Enough, ...]
    type: Literal["assessed"] = "assessed"


@dataclass(frozen=True)
class MakeResult:
    """Measure recordings and write the folder of the result.

    Attributes
    ----------
    recordings : tuple of Path
    directory : Path
        Must not hold a result yet.
    side : str or None
        Arm, where the recordings hold both.
    """

    recordings: tuple[Path, ...]
    directory: Path
    side: str | None = None
    type: Literal["make-result"] = "make-result"


@dataclass(frozen=True)
class ResultMade:
    """The answer.

    Attributes
    ----------
    directory, report : Path
    """

    directory: Path
    report: Path
    type: Literal["result-made"] = "result-made"


@dataclass(frozen=True)
class NotDone:
    """The answer where it cannot be done."""

    trouble: Trouble
    type: Literal["not-done"] = "not-done"


Job = Assess | MakeResult
Answer = Assessed | ResultMade | NotDone

JOBS: TypeAdapter[Job] = TypeAdapter(Annotated[Job, Field(discriminator="type")], config=PLAIN)
ANSWERS: TypeAdapter[Answer] = TypeAdapter(Annotated[Answer, Field(discriminator="type")], config=PLAIN)
