"""``feltload client capacity``: what a person can produce, by position."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

from feltload.app.commands.client.arguments import AngleTexts
from feltload.app.console import Console
from feltload.app.options import DEFAULTS, NOTHING_REPLACED, CommonOptions, ReplacedFiles

if TYPE_CHECKING:
    from feltload.app.jobs.capacity import MeasuredCapacity


def capacity(
    source: Path,
    /,
    *,
    out: Path,
    replaced: ReplacedFiles = NOTHING_REPLACED,
    side: Literal["left", "right"] | None = None,
    kind: Literal["holds", "repetitions"] = "holds",
    maximal: bool = False,
    painful: AngleTexts = None,
    no_longer_painful: AngleTexts = None,
    client: Path | None = None,
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Capacity of a person from steady holds, maximal slow repetitions, or a table.

    SOURCE is a recording, or a CSV with the columns angle_deg, force_n and optionally u_n.

    Example: feltload client capacity holds.mcap --out capacity.json

    Parameters
    ----------
    source
        Recording of the holds or repetitions, or a CSV table.
    out
        Capacity file to write (.json).
    side
        Arm to measure, when the recording holds both.
    kind
        What the recording holds: isometric holds, or maximal slow repetitions.
    maximal
        Each repetition was done as hard as the client could: needed for repetitions, asked for on a terminal.
    painful
        Range that hurts, such as "40:60 deg" or "30:45 cm"; the mark is kept, and every later command keeps the client
        out of it.
    no_longer_painful
        Range whose mark is removed on purpose, named as it was marked; the history keeps it.
    client
        Client's folder to keep the result and the marks in as well; its marks of before hold on.
    force_overwrite
        Replace a capacity file that is there already.
    """
    from feltload.app.people.strength import Marks, write_capacity
    from feltload.app.text.cautions import INVENTED_DATA
    from feltload.app.text.person.strength import describe_capacity, describe_removed
    from feltload.coaching import ClientFolder

    console = Console(common)
    folder = None if client is None else ClientFolder.open(client)
    if kind == "repetitions" and source.suffix.lower() != ".csv" and not maximal:
        console.require_yes(
            "Was every repetition done slowly and as hard as the client could?",
            "an ordinary set shows what the machine asks for, not what the client can",
            where="--kind repetitions",
            option="--maximal",
        )
    with console.progress("Reading the efforts"):
        measured, keeper = write_capacity(
            source,
            out,
            replaced=replaced,
            side=side,
            effort=kind,
            marks=Marks(painful or (), no_longer_painful or ()),
            folder=folder,
            overwrite=force_overwrite,
        )
    curve = measured.curve
    for span in keeper.removed_spans(measured.whole):
        console.say(describe_removed(span, measured.whole or measured.travel))
    for sentence in describe_capacity(curve, measured.travel):
        console.say(sentence)
    console.facts(curve.warnings)
    if curve.invented:
        console.note(INVENTED_DATA)
    console.cautions(curve.cautions)
    console.say(f"Capacity: {out}")
    console.result({"capacity": str(out), **_record(measured)})
    return 0


def _record(measured: MeasuredCapacity) -> dict[str, object]:
    from feltload.coaching import pain_record

    curve = measured.curve
    return {
        "machine": measured.machine,
        **{name: at.tolist() for name, at in measured.travel.columns(curve.angle_rad).items()},
        "force_n": curve.force_n.tolist(),
        "u95_n": curve.u95_n.tolist(),
        "warnings": [fact.to_dict() for fact in curve.warnings],
        "painful": [pain_record(mark) for mark in curve.painful],
        "invented": curve.invented,
    }
