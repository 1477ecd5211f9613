"""A machine file made in the terminal: what is kept while it is answered, its drawing, and what is written."""

from __future__ import annotations

import contextlib
import math
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from feltload.app.asking.answers import Answers, answers_text, read_answers
from feltload.app.asking.machine_dialogue import ask_machine
from feltload.app.console import Console
from feltload.app.errors import UsageError
from feltload.app.files.outputs import claim_file, claimed_file
from feltload.app.text.machine import dialogue as words
from feltload.app.text.machine.dimensions import dimension_name, dimension_value
from feltload.calibration import Machine, MachineDraft, MachineError, save_drawing
from feltload.core import read_text, write_file

_KEPT: Final = ".answers"
_SHOWN_TRAVEL_RAD: Final = math.radians(60.0)
_SHOWN_LOAD_KG: Final = 20.0


@dataclass(frozen=True)
class MachineFiles:
    """The files of one machine: its file, its drawing, and the answers while they are given.

    Attributes
    ----------
    machine, drawing : Path
        What is made.
    """

    machine: Path
    drawing: Path

    @property
    def kept(self) -> Path:
        """Answers so far; gone once the machine file is written."""
        return self.machine.with_name(self.machine.name + _KEPT)


def make_machine(
    console: Console, files: MachineFiles, answers: str | None, *, overwrite: bool
) -> MachineDraft | None:
    """Ask for a machine file and write it with its drawing; None where the person left before the end.

    Parameters
    ----------
    console : Console
        Where the questions go.
    files : MachineFiles
        What is written.
    answers : str, optional
        File with the answers, "-" for standard input; without it a person is asked.
    overwrite : bool
        Whether a machine file and a drawing that are there may be replaced.

    Raises
    ------
    UsageError
        Nobody is there to answer, or a list of answers cannot be used.
    OutputExistsError
        One of the files is there already.
    """
    # A session that was left has drawn already: its own drawing is no stranger's.
    claim_file(files.drawing, overwrite=overwrite or files.kept.exists())
    with claimed_file(files.machine, overwrite=overwrite):
        if answers is None:
            return _ask_person(console, files)
        where = "standard input" if answers == "-" else answers
        text = (
            sys.stdin.read()
            if answers == "-"
            else read_text(Path(answers), UsageError, missing="no such file")
        )
        given = Answers(read_answers(text), read=None, say=console.note, keep=_forget, where=where)
        return _write(files, ask_machine(given, _forget))


def _ask_person(console: Console, files: MachineFiles) -> MachineDraft | None:
    if not sys.stdin.isatty():
        raise UsageError(
            "the questions need a terminal with a keyboard",
            remedy="run it in one, or give the answers, one a line, with --answers FILE",
        )
    given = read_answers(read_text(files.kept, UsageError)) if files.kept.exists() else []
    console.note(words.opening(files.machine, files.drawing))
    console.note(words.CAUTION)
    if given:
        console.note(words.going_on(len(given), files.kept))
    answers = Answers(
        given,
        read=lambda prompt: console.screen.input(prompt, markup=False),
        say=console.note,
        keep=lambda all_of_them: _keep(files.kept, all_of_them),
        where=str(files.kept),
    )
    try:
        draft = ask_machine(answers, lambda draft: _draw(files, draft) if answers.live else None)
    except (KeyboardInterrupt, EOFError):
        # One that was stopped in the middle of a line may never write again.
        fresh = Console(console.options)
        fresh.note("")
        fresh.note(words.left_after(answers.count, files.kept))
        return None
    made = _write(files, draft)
    files.kept.unlink(missing_ok=True)
    return made


def _keep(kept: Path, answers: Sequence[str]) -> None:
    write_file(kept, answers_text(answers))


def _forget(_: object) -> None:
    """Answers of a list are kept where they come from."""


def _write(files: MachineFiles, draft: MachineDraft) -> MachineDraft:
    machine = draft.machine()
    write_file(files.machine, draft.text())
    _save(files, machine, draft)
    return draft


def _draw(files: MachineFiles, draft: MachineDraft) -> None:
    """Draw the machine so far; where the numbers make none yet, the drawing before stays."""
    with contextlib.suppress(MachineError):
        _save(files, draft.sketch(), draft)


def _save(files: MachineFiles, machine: Machine, draft: MachineDraft) -> None:
    rows = [
        words.drawing_row(
            f"{dimension_name(p.key)}  {dimension_value(p)}",
            measured=bool(p.key.part or draft.answers.get(p.key.dimension)),
        )
        for p in machine.parameters
        if p.value or p.u
    ]
    save_drawing(files.drawing, machine, rows, travel_rad=_SHOWN_TRAVEL_RAD, load_kg=_SHOWN_LOAD_KG)
