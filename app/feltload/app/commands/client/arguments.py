"""Arguments that several client commands take, and angles, which may begin with a minus sign."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

ProfileFolder = Annotated[Path, Parameter(help="Directory that `feltload profile` wrote.")]
CapacityFile = Annotated[Path, Parameter(help="Capacity file that `feltload client capacity` wrote.")]

AngleText = Annotated[str, Parameter(allow_leading_hyphen=True)]
OptionalAngleText = Annotated[str | None, Parameter(allow_leading_hyphen=True)]
AngleTexts = Annotated[list[str] | None, Parameter(allow_leading_hyphen=True)]
