"""Data-silence watchdog: a link that gives nothing for too long counts as lost.

A stack that died may never report it: after the Bluetooth service is gone, its client still says that it is
connected. Silence is the one sign that cannot be missed.
"""

from __future__ import annotations

import asyncio

from feltload.acquisition.errors import LinkError, LinkReason
from feltload.acquisition.links.link import Arrival, Link


async def next_arrival(link: Link, *, silence_s: float, ever_sent: bool = True) -> Arrival:
    """Wait for the link's next arrival, at most `silence_s` seconds.

    Parameters
    ----------
    link : Link
        An opened link.
    silence_s : float
        Longest silence, in seconds.
    ever_sent : bool
        Whether anything arrived on this link before; chooses the message.

    Raises
    ------
    LinkError
        With reason ``SILENT`` after the silence, or the link's own error.
    StopAsyncIteration
        When the link has ended.
    """
    try:
        async with asyncio.timeout(silence_s):
            return await anext(link)
    except TimeoutError:
        if ever_sent:
            what, remedy = f"sends nothing since {silence_s:g} s", "check the sensor's power and cable"
        else:
            what = f"is open, but the sensor sent nothing in {silence_s:g} s"
            remedy = "check its power, its firmware and the port or address in the rig file"
        raise LinkError(what, reason=LinkReason.SILENT, where=link.where, remedy=remedy) from None
