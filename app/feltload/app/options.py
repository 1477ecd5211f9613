"""Options that every command shares."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from cyclopts import Parameter


@Parameter(name="*")
@dataclass(frozen=True)
class CommonOptions:
    """Options that every command takes.

    Attributes
    ----------
    json : bool
        Print the result as JSON on standard output, and nothing else there.
    debug : bool
        On an error, show the Python traceback as well.
    units : {"N", "kgf", "lbf"}, optional
        Unit of force to write in; files and JSON stay in N. A default goes into settings.toml as units = "kgf".
    """

    json: bool = False
    debug: bool = False
    units: Literal["N", "kgf", "lbf"] | None = None


DEFAULTS = CommonOptions()
