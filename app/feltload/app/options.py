"""Options that every command shares."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Literal

from cyclopts import Parameter, Token

KEEPING = {"predict": "out", "design": "out", "study": "out", "batch": "out", "check": "result"}
"""Commands whose words are kept beside their results, and the option that names the folder of these."""


def _share(_: object, tokens: Sequence[Token]) -> float:
    from feltload.core import parse_share

    return parse_share(tokens[0].value, where=tokens[0].keyword or "")


Share = Annotated[float, Parameter(converter=_share)]
OptionalShare = Annotated[float | None, Parameter(converter=_share)]


@Parameter(name="*")
@dataclass(frozen=True)
class CommonOptions:
    """Options that every command takes.

    Attributes
    ----------
    json : bool
        Print the result as JSON on standard output, and nothing else there.
    quiet : bool
        Leave out which command comes next. Cautions, doubts and errors stay.
    debug : bool
        On an error, show the Python traceback as well.
    units : {"N", "kgf", "lbf"}, optional
        Unit of force to write in; files and JSON stay in N. A default goes into settings.toml as units = "kgf".
    """

    json: bool = False
    quiet: bool = False
    debug: bool = False
    units: Literal["N", "kgf", "lbf"] | None = None


DEFAULTS = CommonOptions()


@Parameter(name="*")
@dataclass(frozen=True)
class ReplacedFiles:
    """Files to use in place of those kept in a recording, which is not changed.

    Attributes
    ----------
    rig : Path
        Rig file to use in place of the sensors' description kept in the recording.
    machine : Path
        Machine file to use in place of the one kept in the recording.
    """

    rig: Path | None = None
    machine: Path | None = None


NOTHING_REPLACED = ReplacedFiles()


@Parameter(name="*")
@dataclass(frozen=True)
class BidsLabels:
    """What a recording is called in a BIDS dataset; letters and digits alone.

    Attributes
    ----------
    subject : str
        Machine or person that was recorded, for --format bids.
    task : str
        What was done, for --format bids.
    session : str
        Such as the day, for --format bids.
    acquisition : str
        Such as who measured, for --format bids.
    run : str
        Number of the recording, such as of the mounting, for --format bids.
    """

    subject: str | None = None
    task: str = "repetitions"
    session: str | None = None
    acquisition: str | None = None
    run: str | None = None


NO_LABELS = BidsLabels()


@Parameter(name="*")
@dataclass(frozen=True)
class PersonOptions:
    """What a recording of holds or of a helped set goes by.

    Attributes
    ----------
    result : Path
        Directory that `feltload profile` wrote, which the positions of holds or the partner's plan come from.
    capacity : Path
        Capacity file of the client, for the partner's plan.
    target : float
        Share of capacity that the partner's plan aims at, such as "70 %"; by default that, or what the load asks for at
        its hardest position where that is less.
    painful : list of str
        Range that hurts, such as "40:60 deg"; no hold is asked for there, and no help is planned.
    client : Path
        Client's folder, for the ranges marked painful there, and to note in it that the recording is of this client.
    """

    result: Path | None = None
    capacity: Path | None = None
    target: OptionalShare = None
    painful: Annotated[list[str] | None, Parameter(allow_leading_hyphen=True)] = None
    client: Path | None = None


NOBODY = PersonOptions()


@Parameter(name="*")
@dataclass(frozen=True)
class HandScaleOptions:
    """What is known of a scale that was read by hand at stops, for --readings.

    Attributes
    ----------
    scale_resolution : str
        Smallest step that the scale shows, such as "0.1 kgf"; without it, as the readings were written.
    scale_error : str
        Limits of the scale's error as a share of the reading, such as "1 %".
    position_uncertainty : str
        Standard uncertainty of a position, such as "1 deg", "5 mm" or "2 %".
    travel : str
        Turn of the arm from stop to stop, such as "85 deg", where positions are in percent of it.
    """

    scale_resolution: str | None = None
    scale_error: str | None = None
    position_uncertainty: str | None = None
    travel: str | None = None


NO_HAND_SCALE = HandScaleOptions()
