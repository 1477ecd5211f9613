"""``feltload health``: friction, play and flex of a machine, and what changed since it was measured last."""

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
    common: CommonOptions = DEFAULTS,
) -> int:
    """Say how a machine does: friction, play, flex, and their change since the last measurement.

    With --keep the measurement is added to the machine's log, which holds one machine alone.

    Example: feltload health row --log row-health.jsonl --keep

    Parameters
    ----------
    result
        Directory that `feltload profile` wrote.
    log
        Log of this machine; left out, health.jsonl beside the result's directory.
    keep
        Add this measurement to the log.
    """
    from feltload.app.jobs.upkeep.health import LOG, append_entry, read_health
    from feltload.app.text.upkeep.health import describe_health

    console = Console(common)
    found = read_health(result, log or result.resolve().parent / LOG)
    if keep:
        append_entry(found)
    for line in describe_health(found):
        console.say(line)
    if keep:
        console.say(f"Log: {found.log}")
    console.result(
        {
            **found.entry.model_dump(mode="json"),
            "before": None if found.before is None else found.before.model_dump(mode="json"),
            "changes": [
                {
                    "kind": change.now.kind,
                    "load_kg": change.now.load_kg,
                    "difference": change.difference,
                    "u95": change.u95,
                    "changed": change.established,
                }
                for change in found.changes
                if change.before is not None
            ],
            "log": str(found.log) if keep else None,
        }
    )
    return 0
