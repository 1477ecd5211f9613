"""``feltload client pain``: mark a range that hurts, or remove a mark on purpose, without measuring anything."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from feltload.app.commands.client.arguments import AngleTexts
from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions


def pain(
    folder: Path,
    /,
    *,
    painful: AngleTexts = None,
    no_longer_painful: AngleTexts = None,
    result: Path | None = None,
    machine: Path | None = None,
    side: Literal["left", "right"] | None = None,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Mark a range of a machine that hurts a client, or remove the mark on purpose; both stay in the history.

    Example: feltload client pain clients/K7QW3D --result row --painful "20:40 deg"

    Example: feltload client pain clients/K7QW3D --machine row.toml --no-longer-painful "20:40 deg"

    Parameters
    ----------
    folder
        The client's folder.
    painful
        Range that hurts, such as "20:40 deg", "30:45 cm" from the start stop or, with --result, "60:90 %"; every
        command that is given --client keeps the client out of it.
    no_longer_painful
        Range whose mark is removed, named as it was marked: only as a licensed clinician allows.
    result
        Directory that `feltload profile` wrote, which says which machine it is.
    machine
        Machine file, in place of --result.
    side
        Side of the body that it concerns; both when left out.
    """
    from feltload.app.errors import UsageError
    from feltload.app.jobs.painful import PainKeeper, named_machine, read_spans
    from feltload.app.text.cautions import CAUTIONS
    from feltload.app.text.person.strength import describe_added, describe_removed, describe_standing
    from feltload.coaching import Caution, ClientFolder, pain_record, standing_spans

    console = Console(common)
    if not painful and not no_longer_painful:
        raise UsageError(
            "nothing to mark and no mark to remove",
            where="--painful, --no-longer-painful",
            remedy='name a range, such as --painful "20:40 deg"; feltload client history lists the marks',
        )
    opened = ClientFolder.open(folder)
    name, travel = named_machine(result, machine)
    keeper, measured = (
        PainKeeper(tuple(painful or ()), tuple(no_longer_painful or ()), opened),
        result is not None,
    )
    marks = keeper.marks(name, side, (), travel, measured=measured)
    opened.mark(name, side, marks)
    for span in read_spans(painful, "--painful", travel, measured=measured):
        console.say(describe_added(span, name, travel))
    for span in keeper.removed_spans(travel, measured=measured):
        console.say(describe_removed(span, travel))
    console.say(describe_standing(standing_spans(marks), name, travel))
    console.note(CAUTIONS[Caution.PAINFUL_RANGE])
    console.result({"machine": name, "side": side, "painful": [pain_record(mark) for mark in marks]})
    return 0
