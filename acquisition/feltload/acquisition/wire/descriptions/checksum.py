"""The check value of a frame or a line, as a stream description states it."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import Field, model_validator

from feltload.acquisition.errors import DescriptionError
from feltload.acquisition.wire.checks.check import Check
from feltload.acquisition.wire.checks.crc import Crc
from feltload.acquisition.wire.checks.named import check_by_name
from feltload.acquisition.wire.descriptions.link_config import Table

__all__ = ["Checksum"]

DEFAULT_CHECK = "CRC-16/IBM-3740"


class Checksum(Table):
    """The check value at the end of a frame, or behind a mark at the end of a line.

    Parameters
    ----------
    name : str, optional
        Name or alias of the public CRC catalogue, or of a sum; CRC-16/IBM-3740 when nothing is given.
    width, poly, init, refin, refout, xorout : optional
        A CRC of one's own in the catalogue's parameters, in place of a name.
    big_endian : bool
        Byte order of the value on the wire.
    skip : int
        Bytes at the beginning of the frame (sync word included), or characters after the prefix of a
        line, that it does not cover. It covers everything else before itself.
    mark : str
        Of a line: the character before the value, which stands there in hexadecimal digits.
    """

    name: str | None = None
    width: Annotated[int, Field(ge=1, le=128)] | None = None
    poly: Annotated[int, Field(ge=0)] | None = None
    init: Annotated[int, Field(ge=0)] = 0
    refin: bool = False
    refout: bool = False
    xorout: Annotated[int, Field(ge=0)] = 0
    big_endian: bool = False
    skip: Annotated[int, Field(ge=0)] = 0
    mark: Annotated[str, Field(min_length=1, max_length=1)] = "*"

    @model_validator(mode="after")
    def _check(self) -> Self:
        keys = ("width", "poly", "init", "refin", "refout", "xorout")
        own = {key for key in keys if getattr(self, key) != type(self).model_fields[key].default}
        if self.name is not None and own:
            raise ValueError(f"give a name, or a CRC of your own, not both (name and {min(own)})")
        if own and (self.width is None or self.poly is None):
            raise ValueError("a CRC of your own needs at least width and poly")
        if self.width is not None:
            for key in ("poly", "init", "xorout"):
                if (getattr(self, key) or 0) >> self.width:
                    raise ValueError(f"{key} has more than the {self.width} bits of width")
        try:
            _ = self.check
        except DescriptionError as error:
            raise ValueError(f"{error.what}; {error.remedy}") from None
        return self

    @property
    def check(self) -> Check:
        """The check itself."""
        if self.width is None or self.poly is None:
            return check_by_name(self.name or DEFAULT_CHECK)
        return Crc("own", self.width, self.poly, self.init, self.refin, self.refout, self.xorout)
