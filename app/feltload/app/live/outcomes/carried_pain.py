"""Pain reported while recording: kept in the client's folder, or, without one, for as long as the pages are open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from feltload.app.jobs.painful import KnownPain, PainKeeper
from feltload.app.text.live import result as words
from feltload.app.text.person.places import place_text, typed_span
from feltload.app.text.person.strength import describe_added
from feltload.coaching import ClientFolder
from feltload.signal import Travel

Span = tuple[float, float]


@dataclass
class CarriedPain:
    """What hurts the person at hand.

    Attributes
    ----------
    unkept : dict of str to tuple of str
        Of a person without a code: ranges as they are typed, by the name of the machine.
    """

    unkept: dict[str, tuple[str, ...]] = field(default_factory=dict)

    def known(self, machine: str, folder: ClientFolder | None) -> KnownPain:
        """What every step about this person on this machine keeps out of."""
        return KnownPain(self.unkept.get(machine, ()), folder)

    def keep(
        self,
        machine: str,
        side: str | None,
        spans_rad: Sequence[Span],
        travel: Travel,
        folder: ClientFolder | None,
    ) -> tuple[str, ...]:
        """Keep what was reported; what became of it, in sentences."""
        if not spans_rad:
            return ()
        if folder is None:
            texts = tuple(typed_span(span, travel) for span in spans_rad)
            self.unkept[machine] = tuple(dict.fromkeys((*self.unkept.get(machine, ()), *texts)))
            return (words.pain_not_kept([place_text(span, travel) for span in spans_rad]),)
        marks = PainKeeper(folder=folder).marks(machine, side, spans_rad, travel, measured=True)
        folder.mark(machine, side, marks)
        return tuple(describe_added(span, machine, travel) for span in spans_rad)

    def forget(self) -> None:
        """Another person is at hand now."""
        self.unkept.clear()
