"""Listens on any link for a while and guesses what it brings."""

from __future__ import annotations

import shlex

from feltload.acquisition.errors import LinkError, LinkReason
from feltload.acquisition.guessing.guess import Guess, guess_description, guess_outlet
from feltload.acquisition.links.devices import listen
from feltload.acquisition.recorder.opening import link_opener
from feltload.acquisition.wire.descriptions.link_config import (
    BleLinkConfig,
    LinkConfig,
    LslLinkConfig,
    ProgramLinkConfig,
    SerialLinkConfig,
    TcpLinkConfig,
    UdpLinkConfig,
)

__all__ = ["parse_link", "sample_link"]

_SCHEMES = ("tcp", "udp", "program", "lsl")


def parse_link(text: str, line: SerialLinkConfig) -> LinkConfig:
    """Read what a person types for a link.

    Parameters
    ----------
    text : str
        A serial port, ``tcp://HOST:PORT``, ``udp://:PORT`` or ``udp://HOST:PORT``, ``program:COMMAND``,
        ``lsl://OUTLET``.
    line : SerialLinkConfig
        Speed, commands and the like of a serial port; its commands go to the other links too.

    Raises
    ------
    LinkError
        If it is none of these.
    """
    scheme, _, rest = text.partition(":")
    if scheme not in _SCHEMES:
        return line.model_copy(update={"port": text})
    rest = rest.removeprefix("//")
    commands = {"start": line.start, "stop": line.stop}
    try:
        if scheme == "program":
            return ProgramLinkConfig(type="program", command=tuple(shlex.split(rest)), **commands)
        if scheme == "lsl":
            return LslLinkConfig(type="lsl", outlet=rest)
        host, _, port = rest.rpartition(":")
        if scheme == "tcp":
            return TcpLinkConfig(type="tcp", host=host, port=int(port), **commands)
        return UdpLinkConfig(type="udp", host=host, port=int(port))
    except ValueError:
        raise LinkError(
            "cannot be understood as a sensor's address",
            reason=LinkReason.UNSUPPORTED,
            where=text,
            remedy="give a serial port, tcp://HOST:PORT, udp://:PORT, program:COMMAND or lsl://OUTLET",
        ) from None


async def sample_link(link: LinkConfig, *, seconds: float = 5.0) -> tuple[Guess, list[tuple[int, bytes]]]:
    """Listen on a link and guess what it sends.

    Returns
    -------
    guess : Guess
    messages : list of (int, bytes)
        What was heard, with the host's time in ns.

    Raises
    ------
    LinkError
        If it cannot be opened, or is lost.
    """
    messages = await listen(link_opener(link, stream="sensor")(), seconds)
    if isinstance(link, LslLinkConfig):
        return guess_outlet(messages), messages
    each_a_frame = isinstance(link, UdpLinkConfig | BleLinkConfig)
    return guess_description(messages, notifications=each_a_frame), messages
