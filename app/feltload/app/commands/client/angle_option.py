"""Angles on the command line, which may begin with a minus sign."""

from __future__ import annotations

from typing import Annotated

from cyclopts import Parameter

AngleText = Annotated[str, Parameter(allow_leading_hyphen=True)]
OptionalAngleText = Annotated[str | None, Parameter(allow_leading_hyphen=True)]
AngleTexts = Annotated[list[str] | None, Parameter(allow_leading_hyphen=True)]
