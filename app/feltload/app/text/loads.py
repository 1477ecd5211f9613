"""A load that does not look like the stated one, in words."""

from __future__ import annotations

from typing import Final

from feltload.app.text.numbers import load_text

PLATE_STEPS_KG: Final = (5.0, 2.5, 1.25)
"""Steps of plate sums, the commonest first (common practice, no source)."""


def plate_sum_kg(value_kg: float, u95_kg: float) -> float | None:
    """The commonest sum of plates within the band of a load; None where none is."""
    for step in PLATE_STEPS_KG:
        nearest = step * round(value_kg / step)
        if abs(nearest - value_kg) <= max(u95_kg, 0.02 * value_kg):
            return nearest
    return None


def looks_like(value_kg: float, u95_kg: float, stated_kg: float) -> str:
    """``looks like 40 kg (39.5 ± 0.8 kg by the machine file), 20 kg was stated``."""
    digits = 1 if u95_kg < 2.0 else 0
    band = f"{value_kg:.{digits}f} ± {max(u95_kg, 0.1):.{digits}f} kg"
    plates = plate_sum_kg(value_kg, u95_kg)
    stated = f"{load_text(stated_kg)} was stated"
    if plates is None:
        return f"looks like {band} by the machine file, {stated}"
    return f"looks like {load_text(plates)} ({band} by the machine file), {stated}"
