"""A measured machine, a client's capacity and a load put together."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Self

from feltload.app.files.provenance import Provenance, load_provenance
from feltload.app.jobs.client_inputs import PersonSession, read_load_kg, read_profile
from feltload.app.jobs.painful import NO_PAIN_KNOWN, KnownPain, read_marked_capacity
from feltload.coaching import (
    PER_UNIT,
    CapacityCurve,
    CoachingError,
    LoadLine,
    Match,
    Plates,
    load_for_demand,
    match_capacity,
)
from feltload.signal import ProfileEstimate, Travel


@dataclass(frozen=True)
class MeasuredMachine:
    """A result of ``feltload profile`` that a person's load can be computed from.

    Attributes
    ----------
    directory : Path
    profile : ProfileEstimate
    line : LoadLine
        The machine at any load.
    provenance : Provenance
    """

    directory: Path
    profile: ProfileEstimate
    line: LoadLine
    provenance: Provenance

    @classmethod
    def read(cls, directory: Path) -> Self:
        """Read it.

        Raises
        ------
        FeltloadError
            It is none, or no load for a person can be computed from it.
        """
        profile = read_profile(directory)
        return cls(directory, profile, LoadLine.of(profile), load_provenance(directory))

    @property
    def along(self) -> Travel:
        """The travel along which positions are given."""
        return self.profile.travel


@dataclass(frozen=True)
class Fitting:
    """What a load on a machine asks of one client.

    Attributes
    ----------
    machine : MeasuredMachine
    capacity : CapacityCurve
        With every range that is marked painful.
    match : Match
        With the load that was asked about.
    """

    machine: MeasuredMachine
    capacity: CapacityCurve
    match: Match

    @property
    def invented(self) -> bool:
        """Whether machine or person are emulated."""
        return self.machine.provenance.invented or self.capacity.invented


def fit_client(
    machine: MeasuredMachine,
    capacity: Path,
    *,
    load: str | None = None,
    known: KnownPain = NO_PAIN_KNOWN,
    helped: PersonSession | None = None,
) -> Fitting:
    """Put machine, client and load together.

    Parameters
    ----------
    machine : MeasuredMachine
    capacity : Path
        Capacity file.
    load : str, optional
        Plates, such as "30 kg"; those of the helped set, or of the only measured load, when left out.
    known : KnownPain
        What else hurts.
    helped : PersonSession, optional
        A set of this client; pain that was reported in it counts as well.

    Raises
    ------
    FeltloadError
        A file cannot be used, belongs to another machine, or nothing is left beside what hurts.
    """
    curve = read_marked_capacity(capacity, machine.profile, known)
    if helped is not None:
        curve = curve.marked(helped.painful_rad)
    load_kg = helped.load_kg if load is None and helped is not None else read_load_kg(load, machine.profile)
    return Fitting(machine, curve, match_capacity(machine.line, curve, load_kg))


@dataclass(frozen=True)
class SuggestedLoad:
    """A load that may be tried.

    Attributes
    ----------
    load_kg : float
    demand, u_demand : float
        Share of capacity that it asks for at the hardest position that the client works in, and its standard
        uncertainty.
    measured : bool
        Whether the machine was measured with it.
    """

    load_kg: float
    demand: float
    u_demand: float
    measured: bool


SUGGESTED_DEMANDS = (0.6, 0.7, 0.8)
"""Shares of capacity that loads are suggested for (our own choice; the coach decides)."""


def suggest_loads(machine: MeasuredMachine, capacity: CapacityCurve) -> tuple[SuggestedLoad, ...]:
    """Loads to choose from, ascending: those measured, and, where others can be predicted, whole ones for some demands.

    A suggested load is rounded down to whole kilograms, and a painful range never makes it heavier. None is heavier
    than what the machine was measured with: nothing here knows what its maker allows.
    """
    line = machine.line
    loads = {float(load): True for load in line.measured_kg}
    for demand in SUGGESTED_DEMANDS if line.predicts else ():
        try:
            wanted_kg = load_for_demand(line, capacity, demand)
        except CoachingError:
            continue
        if wanted_kg < line.measured_kg.max():
            loads.setdefault(WHOLE_KG.up_to(wanted_kg), False)
    suggested = []
    for kg, measured in sorted(loads.items()):
        match = match_capacity(line, capacity, kg)
        suggested.append(SuggestedLoad(kg, match.limiting_demand, match.u_limiting_demand, measured))
    return tuple(suggested)


WHOLE_KG = Plates((PER_UNIT,), 1.0)
