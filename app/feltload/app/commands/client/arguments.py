"""Arguments that several client commands take, and angles, which may begin with a minus sign."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter, Token

ProfileFolder = Annotated[Path, Parameter(help="Directory that `feltload profile` wrote.")]
CapacityFile = Annotated[Path, Parameter(help="Capacity file that `feltload client capacity` wrote.")]


def _share(_: object, tokens: Sequence[Token]) -> float:
    from feltload.core import parse_share

    return parse_share(tokens[0].value, where=tokens[0].keyword or "")


Share = Annotated[float, Parameter(converter=_share)]
OptionalShare = Annotated[float | None, Parameter(converter=_share)]

AngleText = Annotated[str, Parameter(allow_leading_hyphen=True)]
OptionalAngleText = Annotated[str | None, Parameter(allow_leading_hyphen=True)]
AngleTexts = Annotated[list[str] | None, Parameter(allow_leading_hyphen=True)]
