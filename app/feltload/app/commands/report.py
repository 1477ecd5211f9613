"""``feltload report``: the page of a result, drawn if it is not there, and shown."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions


def report(
    result: Path,
    /,
    *,
    show: Annotated[bool, Parameter(name="--open")] = False,
    target: list[str] | None = None,
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Show the report of a result, or draw it again.

    The page is drawn from the result's own files where it is missing, and with --force-overwrite in any case, for
    example in other units. Where the result was compared with its machine file later, that page is shown.

    Example: feltload report row --open

    Example: feltload report row --target "falls 25(5) % from start to end"

    Example: feltload report row --units kgf --force-overwrite --open

    Parameters
    ----------
    result
        Directory that `feltload profile` or `feltload predict` wrote.
    show
        Open the page in the browser.
    target
        Wanted force to compare it with: a phrase such as "falls 25(5) % from start to end", a table (.csv), or
        "proportional to capacity.json within 10 %". May be repeated; the report is drawn again.
    force_overwrite
        Draw it again though it is there.
    """
    from feltload.app.jobs.predicting.targets import read_targets
    from feltload.app.pages.showing import newest_page, show_page

    console = Console(common)
    targets = read_targets(target or [])
    with console.progress("Drawing the report"):
        page = newest_page(result, again=force_overwrite, targets=targets)
    console.say(f"Report: {page}")
    shown = show and show_page(page)
    if show and not shown:
        console.note("Note: the system names no browser; open the file in one, or copy it to a phone")
    console.result({"report": str(page), "shown": shown})
    return 0
