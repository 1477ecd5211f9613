"""Masses as people write them: in pounds where they were given in pounds."""

from __future__ import annotations

from typing import Final

from feltload.core.constants import POUND_KG

_EXACT: Final = 1e-7
"""Masses closer than this are the same number."""


def mass_text(mass_kg: float) -> str:
    """``40 kg`` or ``88 lb``: round in pounds, not in kg, is written in pounds."""
    pounds = mass_kg / POUND_KG
    in_pounds = abs(pounds - round(pounds, 2)) < _EXACT < abs(mass_kg - round(mass_kg, 4))
    return f"{round(pounds, 2):g} lb" if in_pounds else f"{mass_kg:g} kg"
