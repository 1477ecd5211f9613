"""Numbers as people read them: newtons with kilogram-force beside them, angles in whole degrees."""

from __future__ import annotations

import math
from collections.abc import Sequence

from feltload.core import STANDARD_GRAVITY_M_S2

NO_BREAK = "\u00a0"
MISSING = "–"


def number(value: float | None, form: str = ".3f") -> str:
    """A number with a true minus sign, and none before zero; a dash for none.

    Parameters
    ----------
    value : float or None
    form : str
        Format such as ``".3f"``, or ``"+.1f"`` with a sign.
    """
    if value is None or not math.isfinite(value):
        return MISSING
    sign, rest = ("+", form[1:]) if form.startswith("+") else ("", form)
    return f"{value:{sign}z{rest}}".replace("-", "−")


def number_with_u(value: float, u: float) -> str:
    """``301.5 ± 2.0``: the uncertainty to two figures, and the value to the same place."""
    places = 2 if u <= 0.0 else max(0, min(4, 1 - math.floor(math.log10(u))))
    # Rounding first keeps the halves as Python rounds them.
    return f"{number(round(value, places), f'.{places}f')} ± {number(u, f'.{places}f')}"


def newtons(value: float, *, one_decimal_below: float = 10.0) -> str:
    """A figure with one decimal while it is small; a dash when it is not known."""
    if not math.isfinite(value):
        return MISSING
    return number(value, ".1f" if abs(value) < one_decimal_below else ".0f")


def kilograms_force(force_n: float) -> str:
    """``25.9``: the mass that would pull as hard, without its unit."""
    return newtons(force_n / STANDARD_GRAVITY_M_S2, one_decimal_below=100.0)


def force_text(force_n: float) -> str:
    """``254 N (25.9 kgf)``."""
    return f"{newtons(force_n)} N ({kilograms_force(force_n)} kgf)"


def degrees(angle_rad: float) -> str:
    """``12°``, with a proper minus sign and never a negative zero."""
    return plain_degrees(math.degrees(angle_rad))


def plain_degrees(angle_deg: float) -> str:
    """The same for an angle that is in degrees already."""
    if not math.isfinite(angle_deg):
        return MISSING
    return f"{round(angle_deg)}°".replace("-", "−")


def load_text(load_kg: float) -> str:
    """``40 kg``, or ``no load``."""
    return "no load" if load_kg == 0.0 else f"{load_kg:g} kg"


def seconds(value: float) -> str:
    """``1.8``."""
    return f"{value:.1f}" if math.isfinite(value) else MISSING


def sentence(text: str) -> str:
    """The text with a capital, unless it begins with a name and a colon, and with one full stop."""
    first = text.split(" ", 1)[0]
    start = text if first.endswith(":") else f"{text[:1].upper()}{text[1:]}"
    return f"{start.rstrip('.')}."


def listed(words: Sequence[str]) -> str:
    """``a, b and c``."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"
