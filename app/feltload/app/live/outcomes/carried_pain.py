"""Pain reported while recording: kept in the client's folder, or, without one, for as long as the pages are open."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from feltload.app.files.recordings import open_recording
from feltload.app.jobs.client_inputs import PersonSession, read_session
from feltload.app.jobs.painful import KnownPain, PainKeeper
from feltload.app.text.live import result as words
from feltload.app.text.person.places import place_text, typed_span
from feltload.app.text.person.strength import describe_added
from feltload.coaching import ClientFolder
from feltload.core import FeltloadError
from feltload.signal import Travel, whole_travel


@dataclass
class CarriedPain:
    """What hurts the person at hand.

    Attributes
    ----------
    unkept : dict of str to tuple of str
        Of a person without a code: ranges as they are typed, by the name of the machine.
    """

    unkept: dict[str, tuple[str, ...]] = field(default_factory=dict)

    def known(self, machine: str, client: Path | None) -> KnownPain:
        """What every step about this person on this machine keeps out of."""
        folder = None if client is None else ClientFolder.open(client)
        return KnownPain(self.unkept.get(machine, ()), folder)

    def carry(self, recording: Path, kind: str, client: Path | None) -> tuple[str, ...]:
        """Keep pain that was reported in a recording, whatever else becomes of it; what was kept, in sentences."""
        try:
            if not any(mark.kind == "pain" for mark in open_recording(recording).marks):
                return ()
            session = read_session(recording, wanted="holds" if kind == "holds" else "set")
            return self._kept(session, client)
        except FeltloadError as error:
            return (words.pain_not_placed(str(error)),)

    def _kept(self, session: PersonSession, client: Path | None) -> tuple[str, ...]:
        travel: Travel = whole_travel(session.reference)
        spans = session.painful_rad
        if client is None:
            known = self.unkept.get(session.machine, ())
            texts = (typed_span(span, travel) for span in spans)
            self.unkept[session.machine] = tuple(dict.fromkeys((*known, *texts)))
            return (words.pain_not_kept([place_text(span, travel) for span in spans]),)
        folder = ClientFolder.open(client)
        side = session.motion.side
        folder.mark(
            session.machine, side, PainKeeper(folder=folder).marks(session.machine, side, spans, travel)
        )
        return tuple(describe_added(span, session.machine, travel) for span in spans)

    def forget(self) -> None:
        """Another person is at hand now."""
        self.unkept.clear()
