"""Pain reported while recording: kept in the client's folder, or, without a code, until one is typed."""

from __future__ import annotations

from collections.abc import Sequence
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


@dataclass(frozen=True)
class UnkeptMark:
    """A range that hurts a person without a code.

    Attributes
    ----------
    span_rad : (low_rad, high_rad)
    side : str or None
        Arm of the machine.
    travel : Travel
        Of the machine, along which it lies.
    """

    span_rad: tuple[float, float]
    side: str | None
    travel: Travel

    @property
    def text(self) -> str:
        """As it is typed."""
        return typed_span(self.span_rad, self.travel)


@dataclass
class CarriedPain:
    """What hurts the person at hand.

    Attributes
    ----------
    unkept : dict of str to tuple of UnkeptMark
        Of a person without a code, by the name of the machine.
    """

    unkept: dict[str, tuple[UnkeptMark, ...]] = field(default_factory=dict)

    def texts(self, machine: str) -> tuple[str, ...]:
        """Ranges of a person without a code on this machine, as they are typed."""
        return tuple(dict.fromkeys(mark.text for mark in self.unkept.get(machine, ())))

    def known(self, machine: str, client: Path | None) -> KnownPain:
        """What every step about this person on this machine keeps out of."""
        folder = None if client is None else ClientFolder.open(client)
        return KnownPain(self.texts(machine), folder)

    def keep(self, client: Path) -> tuple[str, ...]:
        """Move what a person without a code reported into the folder of the code that is theirs now; in sentences.

        Raises
        ------
        FeltloadError
            The folder cannot be used, or has marks of another mechanism; everything stays as it was.
        """
        told: list[str] = []
        for machine, marks in list(self.unkept.items()):
            for side in dict.fromkeys(mark.side for mark in marks):
                ours = [mark for mark in marks if mark.side == side]
                told += _marked(client, machine, side, [mark.span_rad for mark in ours], ours[0].travel)
            del self.unkept[machine]
        return tuple(told)

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
        side = session.motion.side
        if client is not None:
            return _marked(client, session.machine, side, spans, travel)
        known = self.unkept.get(session.machine, ())
        self.unkept[session.machine] = (*known, *(UnkeptMark(span, side, travel) for span in spans))
        return (words.pain_not_kept([place_text(span, travel) for span in spans]),)

    def forget(self) -> None:
        """Another person is at hand now."""
        self.unkept.clear()


def _marked(
    client: Path, machine: str, side: str | None, spans: Sequence[tuple[float, float]], travel: Travel
) -> tuple[str, ...]:
    """Mark ranges in a client's folder; in sentences."""
    folder = ClientFolder.open(client)
    folder.mark(machine, side, PainKeeper(folder=folder).marks(machine, side, spans, travel))
    return tuple(describe_added(span, machine, travel) for span in spans)
