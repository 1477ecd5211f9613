"""A measured machine and a client put together, as a page shows it, and the client's sheet made of it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from feltload.app.jobs.painful import KnownPain
from feltload.app.live.outcomes.carried_pain import CarriedPain
from feltload.app.live.setup.contents import SHEET, machine_of
from feltload.app.live.setup.folder import WorkingFolder
from feltload.app.people.fitting import MeasuredMachine, SuggestedLoad, fit_client, suggest_loads
from feltload.app.text.cautions import CAUTIONS, FIRST_COMES
from feltload.app.text.facts import describe_fully
from feltload.app.text.key_figure import KeyFigure
from feltload.app.text.numbers import load_text
from feltload.coaching import plan_help
from feltload.core import serious_facts

if TYPE_CHECKING:
    from feltload.app.pages.canvas import Drawing


@dataclass(frozen=True)
class FitChoices:
    """What is put together; names are of the working folder.

    Attributes
    ----------
    result, capacity : str
        Empty while none is chosen.
    client : str
        Whose capacity it is; empty for no code.
    load : str
        As it was typed or chosen; empty for the measured load that asks for most.
    helped : str
        Recording of a helped set to show on the sheet.
    """

    result: str = ""
    capacity: str = ""
    client: str = ""
    load: str = ""
    helped: str = ""

    @property
    def is_complete(self) -> bool:
        """Whether there is something to put together."""
        return bool(self.result and self.capacity)


@dataclass(frozen=True)
class Fitted:
    """What a load asks of a client.

    Attributes
    ----------
    load : str
        The load it is about.
    headline : str
    key_figures : tuple of KeyFigure
    drawing : Drawing
    sentences, changes, doubts, cautions : tuple of str
        What it shows, what would change it, what is wrong with the data, and what goes with it.
    loads : tuple of SuggestedLoad
    invented : bool
    """

    load: str
    headline: str
    key_figures: tuple[KeyFigure, ...]
    drawing: Drawing
    sentences: tuple[str, ...]
    changes: tuple[str, ...]
    doubts: tuple[str, ...]
    cautions: tuple[str, ...]
    loads: tuple[SuggestedLoad, ...]
    invented: bool


def fitted(folder: WorkingFolder, chosen: FitChoices, pain: CarriedPain) -> Fitted:
    """Put machine, client and load together.

    Raises
    ------
    FeltloadError
        They are not of one machine, the load cannot be, or nothing is left beside what hurts.
    """
    # Slow to import, here and below.
    from feltload.app.pages.client.figures import demand_figure
    from feltload.app.text.person.match import describe_match
    from feltload.app.text.person.sheet import describe_changes, describe_sheet_headline, sheet_key_figures

    machine = MeasuredMachine.read(folder.path / chosen.result)
    load = _load(machine, chosen)
    fit = fit_client(machine, folder.path / chosen.capacity, load=load, known=_known(folder, chosen, pain))
    line, along, match = machine.line, machine.along, fit.match
    plan = plan_help(line, fit.capacity, match.load_kg)
    doubts = (*serious_facts(machine.profile.warnings), *fit.capacity.warnings, *match.warnings)
    return Fitted(
        load,
        describe_sheet_headline(match, along),
        sheet_key_figures(match, along),
        demand_figure(match, fit.capacity, line, along),
        tuple(describe_match(match, along, to_client=True)),
        tuple(describe_changes(line, fit.capacity, match, plan, along, None, None)),
        tuple(describe_fully(fact) for fact in doubts),
        (FIRST_COMES, *(CAUTIONS[each] for each in dict.fromkeys((*match.cautions, *plan.cautions)))),
        suggest_loads(machine, fit.capacity),
        fit.invented,
    )


def sheet_of(folder: WorkingFolder, chosen: FitChoices, pain: CarriedPain) -> Path:
    """Write the client's sheet.

    Raises
    ------
    FeltloadError
        As `fitted`.
    """
    from feltload.app.people.sheet import SheetAsked, write_sheet

    machine = MeasuredMachine.read(folder.path / chosen.result)
    load = _load(machine, chosen)
    out = folder.free_name(" ".join(filter(None, (SHEET, chosen.client, chosen.result, load))), ".html")
    asked = SheetAsked(
        folder.path / chosen.result,
        folder.path / chosen.capacity,
        load,
        session=folder.path / chosen.helped if chosen.helped else None,
        known=_known(folder, chosen, pain),
    )
    return write_sheet(asked, out).path


def _load(machine: MeasuredMachine, chosen: FitChoices) -> str:
    return chosen.load or load_text(float(machine.profile.loads_kg.max()))


def _known(folder: WorkingFolder, chosen: FitChoices, pain: CarriedPain) -> KnownPain:
    client = folder.path / chosen.client if chosen.client else None
    return pain.known(machine_of(folder.path / chosen.result), client)
