"""A phone in the rig of a recording, and what is kept of it with the recording."""

from __future__ import annotations

from dataclasses import dataclass

from feltload.acquisition import RigDescription, StreamDescription
from feltload.app.live.phones.phone import Phone
from feltload.app.text.live.phones import note_text


@dataclass(frozen=True)
class GivenPhone:
    """A phone as a recording takes it.

    Attributes
    ----------
    stream : StreamDescription
    note : str
        How its convention was recognised.
    """

    stream: StreamDescription
    note: str

    def in_rig(self, rig: RigDescription) -> RigDescription:
        """The rig with the phone in place of its inertial sensors."""
        others = tuple(stream for stream in rig.streams if stream.kind != "inertial")
        return rig.model_copy(update={"streams": (*others, self.stream)})


async def given_phone(phone: Phone) -> GivenPhone:
    """The phone as it is now.

    Raises
    ------
    UsageError
        It sends nothing, or its convention is not recognised.
    """
    stream = await phone.stream()
    seen = phone.look()
    note = "" if seen.convention is None else note_text(phone.name, seen.convention, seen.unexplained)
    return GivenPhone(stream, note)
