"""Names of the sources of scatter."""

from __future__ import annotations

from feltload.coaching import RESIDUAL

NAMES = {RESIDUAL: "residual"}


def term_name(term: str) -> str:
    """``machine × operator``, as a paper writes it."""
    return NAMES.get(term, term).replace(" x ", " × ")
