"""The client's page, written as one file: for the command and for the live pages."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from feltload.app.files.outputs import claim_page
from feltload.app.jobs.client_inputs import read_session
from feltload.app.jobs.painful import (
    NO_PAIN_KNOWN,
    KnownPain,
    SessionPain,
    read_marked_capacity,
    session_pain,
)
from feltload.app.jobs.quantities import read_ends_rad
from feltload.app.options import NOTHING_REPLACED, ReplacedFiles
from feltload.app.pages.client.page import render_sheet
from feltload.app.pages.client.view import SheetView, build_sheet
from feltload.app.people.fitting import MeasuredMachine, fit_client
from feltload.calibration import parse_machine
from feltload.coaching import Plates, delivered_help, plan_help
from feltload.core import Fact, write_file
from feltload.signal import ProfileEstimate


@dataclass(frozen=True)
class SheetAsked:
    """What the page is about.

    Attributes
    ----------
    profile, capacity : Path
    load : str or None
        Plates; those of the helped set, or of the only measured load, when left out.
    target : float or None
        Share of capacity that the plan of help aims at; as `plan_help` has it when left out.
    start, stop : str or None
        A later start and an earlier turn to speak about.
    session : Path or None
        Recording of a helped set.
    side : {"left", "right"} or None
        Arm to use in it.
    code : str
        Client's, where no folder says it.
    at_hand : Plates or None
        Only these are suggested.
    known : KnownPain
    """

    profile: Path
    capacity: Path
    load: str | None = None
    target: float | None = None
    start: str | None = None
    stop: str | None = None
    session: Path | None = None
    side: str | None = None
    code: str = ""
    at_hand: Plates | None = None
    known: KnownPain = NO_PAIN_KNOWN


@dataclass(frozen=True)
class WrittenSheet:
    """A page that was written.

    Attributes
    ----------
    path : Path
    profile : ProfileEstimate
        The machine that it is for.
    view : SheetView
        What it says.
    hurts : SessionPain or None
        Of the helped set.
    damage : tuple of Fact
        What its recording lost.
    """

    path: Path
    profile: ProfileEstimate
    view: SheetView
    hurts: SessionPain | None
    damage: tuple[Fact, ...]


def write_sheet(
    asked: SheetAsked, out: Path, *, replaced: ReplacedFiles = NOTHING_REPLACED, overwrite: bool = False
) -> WrittenSheet:
    """Write the page, for its owner alone, and note it in the client's folder.

    Raises
    ------
    FeltloadError
        A file cannot be used or written, belongs to another machine, or nothing is left beside what hurts.
    """
    claim_page(out, overwrite=overwrite, private=True)
    machine = MeasuredMachine.read(asked.profile)
    start_rad, stop_rad = read_ends_rad(asked.start, asked.stop, machine.line, machine.along)
    helped = (
        None
        if asked.session is None
        else read_session(asked.session, replaced=replaced, side=asked.side, profile=machine.profile)
    )
    fitting = fit_client(machine, asked.capacity, load=asked.load, known=asked.known, helped=helped)
    hurts = given = None
    plan_kg = fitting.match.load_kg
    if helped is not None:
        marked = read_marked_capacity(asked.capacity, machine.profile, asked.known)
        hurts = session_pain(helped, marked.painful_rad, machine.profile, capacity=marked)
        given = delivered_help(machine.profile, helped.motion, helped.load_kg)
        plan_kg = helped.load_kg
    machine_toml = machine.provenance.machine_toml
    view = build_sheet(
        machine.profile,
        machine.line,
        fitting.capacity,
        fitting.match,
        plan_help(machine.line, fitting.capacity, plan_kg, asked.target),
        start_rad=start_rad,
        stop_rad=stop_rad,
        given=given,
        hurts=hurts,
        code=asked.code or asked.known.code,
        machine=None if machine_toml is None else parse_machine(machine_toml, str(asked.profile)),
        at_hand=asked.at_hand,
        aim=asked.target,
        invented=fitting.invented or (helped is not None and helped.invented),
    )
    write_file(out, render_sheet(view), private=True)
    if asked.known.folder is not None:
        asked.known.folder.note_file(out)
    return WrittenSheet(out, machine.profile, view, hurts, () if helped is None else helped.damage)
