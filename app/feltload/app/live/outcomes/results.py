"""What became of the recordings of one running `feltload live`: the newest result, and what is chosen for the next."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

from feltload.app.errors import AppError
from feltload.app.live.outcomes.carried_pain import CarriedPain
from feltload.app.live.outcomes.fitted import FitChoices, Fitted, fitted, sheet_of
from feltload.app.live.outcomes.machine import opened_result
from feltload.app.live.outcomes.outcome import Outcome, OutcomeKind
from feltload.app.live.outcomes.person import help_in, opened_capacity, strength_of
from feltload.app.live.outcomes.recorded import profile_recordings
from feltload.app.live.setup.contents import capacity_name
from feltload.app.live.setup.folder import WorkingFolder
from feltload.app.options import NOBODY, PersonOptions
from feltload.core import FeltloadError

RESULT, KEPT = "result", "the recordings are kept; make it again from the start page"


@dataclass
class Results:
    """Results of the working folder, one shown at a time.

    Attributes
    ----------
    folder : WorkingFolder
    outcome : Outcome or None
        The one that is shown.
    working : bool
        Whether one is being made.
    trouble : str
        Why there is none.
    recordings : list of Path
        Closed recordings of the machine at hand, for one result.
    pain : CarriedPain
    reported : tuple of str
        What was done with pain reported in the newest recording, or before it without a code.
    fit : FitChoices
        What is put together on the client's page.
    sheet : Path or None
        The newest sheet of what is put together.
    """

    folder: WorkingFolder
    outcome: Outcome | None = None
    working: bool = False
    trouble: str = ""
    recordings: list[Path] = field(default_factory=list)
    pain: CarriedPain = field(default_factory=CarriedPain)
    reported: tuple[str, ...] = ()
    fit: FitChoices = field(default_factory=FitChoices)
    sheet: Path | None = None
    _kept: tuple[str, ...] = ()

    def forget_machine(self) -> None:
        """Another machine is recorded now."""
        self.recordings, self.outcome, self.trouble = [], None, ""

    async def of_recording(self, path: Path, kind: str, name: str, person: PersonOptions = NOBODY) -> None:
        """Make a result of a closed recording: of a machine, together with those of it before.

        Parameters
        ----------
        path : Path
        kind : {"machine", "holds", "helped"}
        name : str
            For the result folder of a machine.
        person : PersonOptions
            What it went by.
        """
        self.working = True
        try:
            self.reported = (
                *self._kept,
                *await asyncio.to_thread(self.pain.carry, path, kind, person.client),
            )
            self._kept = ()
        finally:
            self.working = False
        if kind == "holds":
            await self._make(lambda: strength_of(path, person.client))
        elif kind == "helped":
            await self._make(lambda: help_in(path, person, self.pain))
        else:
            paths = [*(one for one in self.recordings if one.exists() and one != path), path]
            if await self._make(lambda: profile_recordings(self.folder, paths, name)):
                self.recordings = paths
        self._carry_on(path, kind, person)

    async def keep_pain(self, client: Path) -> None:
        """Keep in this client's folder what was reported before the code was typed.

        Raises
        ------
        FeltloadError
            It cannot be kept there.
        """
        self._kept = (*self._kept, *await asyncio.to_thread(self.pain.keep, client))

    async def open(self, name: str) -> None:
        """Show a result or a capacity of the folder."""
        self.reported = ()
        if name in self.folder.results():
            await self._make(lambda: opened_result(self.folder.path / name))
            self.fit = replace(self.fit, result=name, load="")
        elif name in self.folder.capacities():
            await self._make(lambda: opened_capacity(self.folder.path / name))
            self.fit = replace(self.fit, capacity=name, load="")

    async def fitted(self) -> Fitted:
        """What is put together, as it is chosen.

        Raises
        ------
        FeltloadError
            It cannot be.
        """
        return await asyncio.to_thread(fitted, self.folder, self.fit, self.pain)

    async def write_sheet(self) -> Path:
        """Write the sheet of what is put together, as it is chosen.

        Raises
        ------
        FeltloadError
            It cannot be.
        """
        if self.fit.client:
            await self.keep_pain(self.folder.path / self.fit.client)
        self.sheet = await asyncio.to_thread(sheet_of, self.folder, self.fit, self.pain)
        return self.sheet

    def choose(self, fit: FitChoices) -> None:
        """Put other things together."""
        if fit != self.fit:
            self.fit, self.sheet = fit, None

    async def _make(self, make: Callable[[], Outcome]) -> bool:
        self.working, self.trouble = True, ""
        try:
            self.outcome = await asyncio.to_thread(make)
        except FeltloadError as error:
            self.trouble = str(error)
            return False
        except Exception as error:
            # The page of the result is where it is looked for; an older result must not stand in for it.
            what = f"cannot be made ({type(error).__name__}: {error})"
            self.trouble = str(AppError(what, where=RESULT, remedy=KEPT))
            return False
        finally:
            self.working = False
        return True

    def _carry_on(self, path: Path, kind: str, person: PersonOptions) -> None:
        """What was just made is what the client's page begins with."""
        made = self.outcome
        if made is None or self.trouble:
            return
        client = "" if person.client is None else person.client.name
        if made.kind is OutcomeKind.MACHINE:
            # A client works on one arm: which, is chosen.
            self.choose(replace(self.fit, result="" if made.arms else made.name, load="", helped=""))
            return
        result = "" if person.result is None else person.result.name
        capacity = capacity_name(path).name if kind == "holds" else ""
        if kind == "helped" and person.capacity is not None:
            capacity = person.capacity.name
        helped = path.name if kind == "helped" else ""
        self.choose(FitChoices(result, capacity, client, helped=helped))
