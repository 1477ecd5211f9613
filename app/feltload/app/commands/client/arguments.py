"""Arguments that several client commands take: files, painful ranges, and angles, which may begin with a minus sign."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

ProfileFolder = Annotated[Path, Parameter(help="Directory that `feltload profile` wrote.")]
CapacityFile = Annotated[Path, Parameter(help="Capacity file that `feltload client capacity` wrote.")]

AngleText = Annotated[str, Parameter(allow_leading_hyphen=True)]
OptionalAngleText = Annotated[str | None, Parameter(allow_leading_hyphen=True)]
AngleTexts = Annotated[list[str] | None, Parameter(allow_leading_hyphen=True)]
MarksFile = Annotated[
    Path | None, Parameter(help="Capacity file of the client, for the ranges marked painful in it.")
]


@Parameter(name="*")
@dataclass(frozen=True)
class PainOptions:
    """What else is known to hurt this client on this machine, beside the marks in a capacity file.

    Attributes
    ----------
    painful : list of str
        Range that hurts, such as "20:40 deg", "30:45 cm" or "60:90 %" of the travel; the client never works in it.
    client : Path
        Client's folder, for the ranges marked painful there.
    """

    painful: AngleTexts = None
    client: Path | None = None


NO_PAIN = PainOptions()


@Parameter(name="*")
@dataclass(frozen=True)
class EndOptions:
    """Where each repetition begins and turns, on a machine with a seat or stops.

    Attributes
    ----------
    start : str
        A later start: a part of the travel such as "20 %", a way of the handle such as "12 cm", or an angle such as
        "-10 deg".
    stop : str
        An earlier turn, such as "80 %", "50 cm" or "25 deg".
    """

    start: OptionalAngleText = None
    stop: OptionalAngleText = None


WHOLE = EndOptions()
