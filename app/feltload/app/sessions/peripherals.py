"""Bluetooth peripherals: which shipped description reads one, and what an unknown one sends."""

from __future__ import annotations

from feltload.acquisition import (
    BleLinkConfig,
    Guess,
    GuessedStream,
    LinkError,
    LinkReason,
    Peripheral,
    load_stream_description,
    notifying_characteristics,
    sample_link,
    shipped_descriptions,
)
from feltload.app.sessions.sensor_watch import Heard

MOST = 6
"""Characteristics of one peripheral that are listened to."""

Messages = list[tuple[int, bytes]]


def shipped_for(peripheral: Peripheral) -> str | None:
    """The shipped description of the service that it advertises."""
    for name in shipped_descriptions():
        service = getattr(load_stream_description(name).link, "service", None)
        if service is not None and service in peripheral.services:
            return name
    return None


async def hear_peripheral(peripheral: Peripheral, seconds: float) -> list[tuple[Heard, Messages]]:
    """Listen to everything that a peripheral notifies of, one characteristic after the other.

    Returns
    -------
    list of (Heard, messages)
        Of each characteristic that sent anything; of all of them where none did.

    Raises
    ------
    LinkError
        It cannot be connected, or notifies of nothing.
    """
    known = shipped_for(peripheral)
    description = None if known is None else load_stream_description(known)
    if known is not None and description is not None and isinstance(description.link, BleLinkConfig):
        link = description.link.model_copy(update={"address": peripheral.address})
        _, messages = await sample_link(link, seconds=seconds)
        stream = GuessedStream({"description": known}, description, ())
        return [(Heard(link, Guess("notification", description=known, streams=(stream,))), messages)]
    heard = []
    for uuid in (await notifying_characteristics(peripheral.address))[:MOST]:
        link = BleLinkConfig(address=peripheral.address, characteristic=uuid)
        guess, messages = await sample_link(link, seconds=seconds)
        heard.append((Heard(link, guess), messages))
    if not heard:
        raise LinkError(
            "has no characteristic that notifies",
            reason=LinkReason.UNSUPPORTED,
            where=peripheral.name or peripheral.address,
            remedy="see its maker's description whether it must be told to send, or read it over its cable",
        )
    return [each for each in heard if each[1]] or heard
