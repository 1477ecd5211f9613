"""Outlets of the Lab Streaming Layer as sensors, by pylsl (the extra ``lsl``)."""

from __future__ import annotations

import os
import struct
from typing import Any

from feltload.acquisition.errors import LinkError, LinkReason
from feltload.acquisition.links.source import DEFAULT_GATHER_S, SourceLink, reason_text
from feltload.acquisition.wire.descriptions.link_config import LslLinkConfig

__all__ = ["LslLink", "LslOutlet", "lsl_outlets"]

RESOLVE_S = 5.0


class LslOutlet:
    """An outlet in reach.

    Parameters
    ----------
    info : pylsl StreamInfo
        What it says of itself.
    """

    def __init__(self, info: Any) -> None:
        self.name: str = info.name()
        self.source_id: str = info.source_id()
        self.rate_hz: float = info.nominal_srate()
        self.channels: int = info.channel_count()


class LslLink(SourceLink):
    """An outlet; a sample arrives as little-endian f64: time stamp in s, then the channels.

    Parameters
    ----------
    described : LslLinkConfig
    """

    def __init__(self, described: LslLinkConfig) -> None:
        self._described = described
        super().__init__(
            f"lsl://{described.outlet}",
            lost="the outlet was lost",
            remedy="check that the program that sends it runs",
        )

    def open_source(self) -> _InletSource:
        """Find the outlet and open an inlet."""
        pylsl = _library(self.where)
        key, value = ("source_id", self._described.source_id), ("name", self._described.outlet)
        wanted = value if not self._described.source_id else key
        found = pylsl.resolve_byprop(*wanted, timeout=RESOLVE_S)
        found = [info for info in found if info.name() == self._described.outlet]
        if not found:
            raise LinkError(
                f"no outlet of that name was seen in {RESOLVE_S:g} s",
                reason=LinkReason.NOT_FOUND,
                where=self.where,
                remedy="start the program that sends it; `feltload devices` lists those in reach",
            )
        if found[0].channel_format() == pylsl.cf_string:
            raise LinkError(
                "its samples are text",
                reason=LinkReason.UNSUPPORTED,
                where=self.where,
                remedy="name an outlet of numbers",
            )
        return _InletSource(pylsl, pylsl.StreamInlet(found[0], max_buflen=60, recover=False), self.where)


class _InletSource:
    """An open inlet as a source of samples."""

    whole_messages = True

    def __init__(self, pylsl: Any, inlet: Any, where: str) -> None:
        self._pylsl, self._inlet, self._where = pylsl, inlet, where
        self._pack = struct.Struct(f"<{1 + inlet.info().channel_count()}d").pack

    def read(self) -> bytes:
        """Take the samples that are there, waiting a few milliseconds."""
        try:
            samples, stamps = self._inlet.pull_chunk(timeout=DEFAULT_GATHER_S)
        except Exception as error:
            # The library raises its own errors; whatever it is, the outlet gives nothing more.
            raise OSError(reason_text(error)) from error
        return b"".join(self._pack(stamp, *sample) for stamp, sample in zip(stamps, samples, strict=True))

    def send(self, data: bytes) -> None:
        """Outlets take no commands; nothing is sent."""

    def close(self) -> None:
        """Close the inlet."""
        self._inlet.close_stream()


def lsl_outlets(scan_s: float = 1.0) -> list[LslOutlet]:
    """List outlets in reach.

    Raises
    ------
    LinkError
        If the library is missing.
    """
    return [LslOutlet(info) for info in _library("Lab Streaming Layer").resolve_streams(scan_s)]


def _library(where: str) -> Any:
    try:
        import pylsl

        # It would write its own remarks among ours; what a person has configured stands.
        if "LSLAPICFG" not in os.environ:
            pylsl.set_config_content("[log]\nlevel = -2\n")
    except (ImportError, RuntimeError, OSError) as error:
        raise LinkError(
            f"the Lab Streaming Layer's library is missing ({reason_text(error)})",
            reason=LinkReason.UNSUPPORTED,
            where=where,
            remedy='install it: `pip install "feltload[lsl]"`',
        ) from error
    return pylsl
