"""``feltload health``: friction, play and flex of a machine, and what changed since it was measured before."""

from __future__ import annotations

from pathlib import Path

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions


def health(
    result: Path,
    /,
    *,
    log: Path | None = None,
    keep: bool = False,
    page: Path | None = None,
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Say how a machine does: friction by position, play, flex, left against right, and what changed.

    Compared are the last measurement in the machine's log and the first. With --keep this one is added; a log holds one
    machine alone.

    Example: feltload health row --log row-health.jsonl --keep --page row-health.html

    Parameters
    ----------
    result
        Directory that `feltload profile` wrote, also one with both arms.
    log
        Log of this machine; left out, health.jsonl beside the result's directory.
    keep
        Add this measurement to the log.
    page
        Page to write (.html): friction along the travel, what changed, the log over time, what to look at next.
    force_overwrite
        Replace a page that is there already.
    """
    from feltload.app.files.outputs import claim_page
    from feltload.app.jobs.upkeep.health import read_health
    from feltload.app.jobs.upkeep.log import LOG
    from feltload.app.jobs.upkeep.records import health_record
    from feltload.app.text.upkeep.health import describe_health
    from feltload.app.text.upkeep.next_looks import describe_next
    from feltload.core import write_file

    console = Console(common)
    if page is not None:
        claim_page(page, overwrite=force_overwrite)
    found = read_health(result, log or result.resolve().parent / LOG)
    for arm in found.arms:
        console.doubts(arm.estimate)
    if keep:
        found.keep()
    if page is not None:
        from feltload.app.pages.page import render_health
        from feltload.app.pages.upkeep.view import build_health

        write_file(page, render_health(build_health(found)))
    for line in (*describe_health(found), *describe_next(found)):
        console.say(line)
    for what, path in (("Log", found.path if keep else None), ("Page", page)):
        if path is not None:
            console.say(f"{what}: {path}")
    record = {**health_record(found), "log": str(found.path) if keep else None}
    console.result({**record, "page": None if page is None else str(page)})
    return 0
