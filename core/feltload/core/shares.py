"""Shares as people write them: 70 %, 70 or 0.7."""

from __future__ import annotations

import math

from feltload.core.errors import QuantityError

AMBIGUOUS = (1.0, 2.0)
"""From 1 to 2 a bare number may be a share or percent, and both are in use."""


def parse_share(text: str, *, where: str | None = None) -> float:
    """Read a share: "70 %", "70" and "0.7" are the same.

    Parameters
    ----------
    text : str
    where : str, optional
        Option or file and key, for the error message.

    Returns
    -------
    float
        Above 0; 1.0 is the whole.

    Raises
    ------
    QuantityError
        It is not a number above 0, or could be meant either way.
    """
    bare = text.strip().replace("\u00a0", " ")
    percent = bare.endswith("%")
    try:
        value = float(bare.removesuffix("%").strip())
    except ValueError:
        value = math.nan
    if not (math.isfinite(value) and value > 0.0):
        raise QuantityError(
            f'"{text}" is not a share above zero', where=where, remedy='write for example "70 %" or 0.7'
        )
    if percent:
        return value / 100.0
    if AMBIGUOUS[0] <= value <= AMBIGUOUS[1]:
        raise QuantityError(
            f'"{text}" could mean {value:g} % or {100.0 * value:g} %',
            where=where,
            remedy=f'write "{value:g} %" or "{100.0 * value:g} %"',
        )
    return value if value < 1.0 else value / 100.0
