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
from feltload.app.options import DEFAULTS, NOTHING_REPLACED, CommonOptions, ReplacedFiles, Share


def sheet(
    profile: ProfileFolder,
    capacity: CapacityFile,
    /,
    *,
    out: Path,
    load: str | None = None,
    target: Share = 0.7,
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
        Share of capacity that the plan of help aims at, such as "70 %".
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
    from feltload.app.files.outputs import claim_page
    from feltload.app.files.provenance import load_provenance
    from feltload.app.jobs.client_inputs import read_load_kg, read_profile, read_session
    from feltload.app.jobs.painful import KnownPain, read_marked_capacity, session_pain
    from feltload.app.jobs.quantities import read_ends_rad, read_plates
    from feltload.app.pages.client.page import render_sheet
    from feltload.app.pages.client.view import build_sheet
    from feltload.app.text.person.travel import describe_reported
    from feltload.calibration import parse_machine
    from feltload.coaching import LoadLine, delivered_help, match_capacity, plan_help
    from feltload.core import write_file

    console = Console(common)
    known = KnownPain.read(pain.painful, pain.client)
    at_hand = None if plates_available is None else read_plates(plates_available, "--plates-available")
    claim_page(out, overwrite=force_overwrite, private=True)
    with console.progress("Writing the page"):
        measured = read_profile(profile)
        line = LoadLine.of(measured)
        start_rad, stop_rad = read_ends_rad(ends.start, ends.stop, line, measured.travel)
        curve = read_marked_capacity(capacity, measured, known)
        given, session_kg, hurts = None, None, None
        source = load_provenance(profile)
        invented = source.invented or curve.invented
        if session is not None:
            helped = read_session(session, replaced=replaced, side=side, profile=measured)
            console.facts(helped.damage)
            session_kg = helped.load_kg
            hurts = session_pain(helped, curve.painful_rad, measured, capacity=curve)
            curve = curve.marked(helped.painful_rad)
            given = delivered_help(measured, helped.motion, session_kg)
            invented = invented or helped.invented
        kg = session_kg if load is None and session_kg is not None else read_load_kg(load, measured)
        view = build_sheet(
            measured,
            line,
            curve,
            match_capacity(line, curve, kg),
            plan_help(line, curve, kg if session_kg is None else session_kg, target),
            start_rad=start_rad,
            stop_rad=stop_rad,
            given=given,
            hurts=hurts,
            code=code or known.code,
            machine=None if source.machine_toml is None else parse_machine(source.machine_toml, str(profile)),
            at_hand=at_hand,
            invented=invented,
        )
        write_file(out, render_sheet(view), private=True)
    if known.folder is not None:
        known.folder.note_file(out)
    for sentence in view.sentences:
        console.say(sentence)
    for sentence in () if hurts is None else describe_reported(hurts, profile, pain.client):
        console.say(sentence)
    console.cautions(view.marked)
    console.say(f"Page: {out}")
    console.result({"sheet": str(out), "sentences": list(view.sentences), "invented": invented})
    return 0
