"""Options that every command shares."""

from __future__ import annotations

from dataclasses import dataclass

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
    """

    json: bool = False
    debug: bool = False


DEFAULTS = CommonOptions()
