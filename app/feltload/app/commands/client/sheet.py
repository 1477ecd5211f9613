"""``feltload client sheet``: one page for the client."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from feltload.app.commands.client.arguments import (
    NO_PAIN,
    WHOLE,
    CapacityFile,
    EndOptions,
    PainOptions,
    ProfileFolder,
)
from feltload.app.console import Console
from feltload.app.options import DEFAULTS, NOTHING_REPLACED, CommonOptions, OptionalShare, ReplacedFiles


def sheet(
    profile: ProfileFolder,
    capacity: CapacityFile,
    /,
    *,
    out: Path,
    load: str | None = None,
    target: OptionalShare = None,
    ends: EndOptions = WHOLE,
    session: Path | None = None,
    side: Literal["left", "right"] | None = None,
    code: str = "",
    plates_available: str | None = None,
    pain: PainOptions = NO_PAIN,
    replaced: ReplacedFiles = NOTHING_REPLACED,
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """One page in plain words: where this client runs out, what would change it, and the help given.

    Example: feltload client sheet row capacity.json --load "30 kg" --session helped.mcap --out sheet.html

    Parameters
    ----------
    out
        Page to write (.html).
    load
        Plates, such as "30 kg"; those of the helped set when left out.
    target
        Share of capacity that the plan of help aims at, such as "70 %"; by default that, or what the load asks for at
        its hardest position where that is less.
    session
        Recording of a helped set, to show what was given by hand against a plan for its plates.
    side
        Arm to use, when the recording holds both.
    code
        Client's code to print on the page; that of --client when left out.
    plates_available
        Sizes of the plates at hand, such as "2.5 5 10 kg": only they are suggested.
    force_overwrite
        Replace a page that is there already.
    """
    from feltload.app.jobs.painful import KnownPain
    from feltload.app.jobs.quantities import read_plates
    from feltload.app.people.sheet import SheetAsked, write_sheet
    from feltload.app.text.person.travel import describe_reported

    console = Console(common)
    asked = SheetAsked(
        profile,
        capacity,
        load,
        target,
        ends.start,
        ends.stop,
        session,
        side,
        code,
        None if plates_available is None else read_plates(plates_available, "--plates-available"),
        KnownPain.read(pain.painful, pain.client),
    )
    with console.progress("Writing the page"):
        written = write_sheet(asked, out, replaced=replaced, overwrite=force_overwrite)
    console.doubts(written.profile)
    view = written.view
    console.facts(written.damage)
    for sentence in view.sentences:
        console.say(sentence)
    for sentence in () if written.hurts is None else describe_reported(written.hurts, profile, pain.client):
        console.say(sentence)
    console.cautions(view.marked)
    console.say(f"Page: {out}")
    console.result({"sheet": str(out), "sentences": list(view.sentences), "invented": view.invented})
    return 0
