"""Keys of a stream description that say how a flow of bytes is cut into frames or lines."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from feltload.acquisition.wire.descriptions.checksum import Checksum
from feltload.acquisition.wire.descriptions.link_config import Table

__all__ = ["FramingKeys", "HexBytes"]


def _hexadecimal(text: str) -> str:
    try:
        bytes.fromhex(text)
    except ValueError:
        raise ValueError(f'must be bytes in hexadecimal, such as "AA 55", not "{text}"') from None
    return text


HexBytes = Annotated[str, Field(max_length=64), AfterValidator(_hexadecimal)]
"""Bytes in hexadecimal, such as "AA 55"."""


class FramingKeys(Table):
    """How bytes are cut.

    Parameters
    ----------
    framing : {"cobs", "slip", "sync", "lines", "notification"}
        Zero-delimited COBS frames, SLIP frames (RFC 1055), frames behind a sync word, text lines, or one
        frame per message (a Bluetooth notification, a datagram).
    sync : str
        Of framing "sync": the bytes that every frame begins with, in hexadecimal. A field called ``length``
        makes frames length-prefixed; otherwise all of a stream's frames are of one length.
    end : str
        Of framing "sync": bytes that close every frame, after its checksum, in hexadecimal.
    frame_bytes : int, optional
        Of framing "sync" without a length field: bytes of the whole frame, sync word, checksum and end
        included; needed with `records`, else it follows from the fields.
    length_adds : int
        Bytes of the whole frame that the field ``length`` does not count.
    checksum : Checksum, optional
    delimiter : str
        Between the columns of a line: one character, or "whitespace".
    decimal : {".", ","}
        Decimal mark of a line's numbers.
    quoted : bool
        Cells of a line may stand in double quotes; a delimiter within them does not count.
    prefix : str
        What every line begins with, before its first column, such as "$"; other lines are ignored.
    comment : str
        Lines that begin with it are read past. Empty for none.
    header : str
        Beginning of the header line that the board prints when it starts; read past wherever it comes.
    more_columns : bool
        A line may have further columns after those of `fields`; they are read past.
    header_lines : int
        Lines of a file before the first sample, empty ones not counted.
    """

    framing: Literal["cobs", "slip", "sync", "lines", "notification"]
    sync: HexBytes = ""
    end: HexBytes = ""
    frame_bytes: Annotated[int, Field(gt=0, le=4096)] | None = None
    length_adds: int = 0
    checksum: Checksum | None = None
    delimiter: str = ","
    decimal: Literal[".", ","] = "."
    quoted: bool = False
    prefix: Annotated[str, Field(max_length=32)] = ""
    comment: Annotated[str, Field(max_length=32)] = ""
    header: Annotated[str, Field(max_length=200)] = ""
    more_columns: bool = False
    header_lines: Annotated[int, Field(ge=0)] = 0

    @model_validator(mode="after")
    def _check_framing(self) -> Self:
        if self.delimiter != "whitespace" and len(self.delimiter) != 1:
            raise ValueError('delimiter must be one character or "whitespace"')
        if self.delimiter == self.decimal and not self.quoted:
            raise ValueError("delimiter and decimal mark must differ, or numbers be quoted")
        if (self.framing == "sync") != bool(self.sync_word):
            raise ValueError('framing = "sync" needs sync, such as sync = "AA 55"; no other framing has it')
        for key in ("end", "frame_bytes", "length_adds"):
            if self.framing != "sync" and getattr(self, key):
                raise ValueError(f'{key} is for framing = "sync"')
        for key in ("prefix", "comment", "header", "header_lines"):
            if self.framing != "lines" and getattr(self, key):
                raise ValueError(f'{key} is for framing = "lines"')
        return self

    @property
    def sync_word(self) -> bytes:
        """The sync word; empty where frames have none."""
        return bytes.fromhex(self.sync)

    @property
    def end_bytes(self) -> bytes:
        """What closes every frame behind a sync word; usually nothing."""
        return bytes.fromhex(self.end)
