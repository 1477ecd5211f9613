"""Numbers as people read them: forces in the unit asked for, loads as they were written, angles in whole degrees."""

from __future__ import annotations

import math
from collections.abc import Sequence
from contextvars import ContextVar
from enum import StrEnum

from feltload.core import POUND_KG, STANDARD_GRAVITY_M_S2, mass_text

NO_BREAK = "\u00a0"
MISSING = "–"
ROUNDING = 1e-7
"""A load this little below a tenth is that tenth."""


class ForceUnit(StrEnum):
    """Units in which people read forces."""

    NEWTON = "N"
    KILOGRAM_FORCE = "kgf"
    POUND_FORCE = "lbf"

    @property
    def newtons(self) -> float:
        """Size of one unit, exact: 9.80665 N and 4.4482216152605 N (NIST SP 811, B.8)."""
        return {"N": 1.0, "kgf": STANDARD_GRAVITY_M_S2, "lbf": POUND_KG * STANDARD_GRAVITY_M_S2}[self.value]

    @property
    def beside(self) -> ForceUnit:
        """The unit in brackets behind it."""
        return ForceUnit.KILOGRAM_FORCE if self == ForceUnit.NEWTON else ForceUnit.NEWTON


_UNIT: ContextVar[ForceUnit] = ContextVar("force_unit", default=ForceUnit.NEWTON)


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


def figure(value: float, *, one_decimal_below: float = 10.0) -> str:
    """A figure with one decimal while it is small; a dash when it is not known."""
    if not math.isfinite(value):
        return MISSING
    return number(value, ".1f" if abs(value) < one_decimal_below else ".0f")


def write_forces_in(unit: ForceUnit) -> None:
    """Write every force of this command in `unit`; once, before the first word."""
    _UNIT.set(unit)


def force_unit() -> ForceUnit:
    """The unit in which forces are written."""
    return _UNIT.get()


def force_text(force_n: float, unit: ForceUnit | None = None) -> str:
    """``254 N (25.9 kgf)``, ``25.9 kgf (254 N)`` or ``57.1 lbf (254 N)``."""
    unit = unit or force_unit()
    return f"{short_force(force_n, unit)} ({short_force(force_n, unit.beside)})"


def short_force(force_n: float, unit: ForceUnit | None = None) -> str:
    """``254 N``, ``25.9 kgf`` or ``57.1 lbf``, for bands and where room is short."""
    unit = unit or force_unit()
    return f"{force_figure(force_n, unit)} {unit}"


def force_with_band(force_n: float, u95_n: float) -> str:
    """``11.5 ± 0.6 N``: no more digits than the band allows, and no band below the last digit."""
    unit = force_unit()
    finest = 1 if unit == ForceUnit.NEWTON else 2
    half_width = max(u95_n / unit.newtons, 10.0**-finest)
    places = min(max(-math.floor(math.log10(half_width)), 0), finest)
    return f"{number(force_n / unit.newtons, f'.{places}f')} ± {number(half_width, f'.{places}f')} {unit}"


def force_figure(force_n: float, unit: ForceUnit | None = None) -> str:
    """The number alone, for a column that has the unit at its head."""
    unit = unit or force_unit()
    return figure(force_n / unit.newtons, one_decimal_below=10.0 if unit == ForceUnit.NEWTON else 100.0)


def hand_force(force_n: float) -> str:
    """``12 N``, ``1.2 kgf`` or ``2.7 lbf``: no finer than a hand feels."""
    unit = force_unit()
    return f"{number(force_n / unit.newtons, '.0f' if unit == ForceUnit.NEWTON else '.1f')} {unit}"


def exact_force(force_n: float | None, decimals: int = 2) -> str:
    """``98.07 N``, ``10.000 kgf`` or ``22.046 lbf``: for calibration, `decimals` in newtons."""
    return f"{exact_figure(force_n, decimals)} {force_unit()}"


def exact_figure(force_n: float | None, decimals: int = 2) -> str:
    """The number alone, for a column that has the unit at its head; one decimal more in the larger units."""
    unit = force_unit()
    places = decimals if unit == ForceUnit.NEWTON else decimals + 1
    return number(None if force_n is None else force_n / unit.newtons, f".{places}f")


def signed_force(force_n: float) -> str:
    """``+1.5 N``: a change, to a tenth."""
    unit = force_unit()
    return f"{number(force_n / unit.newtons, '+.1f' if unit == ForceUnit.NEWTON else '+.2f')} {unit}"


def degrees(angle_rad: float) -> str:
    """``12°``, with a proper minus sign and never a negative zero."""
    return plain_degrees(math.degrees(angle_rad))


def plain_degrees(angle_deg: float) -> str:
    """The same for an angle that is in degrees already."""
    if not math.isfinite(angle_deg):
        return MISSING
    return f"{round(angle_deg)}°".replace("-", "−")


def load_text(load_kg: float) -> str:
    """``40 kg``, ``88 lb`` or ``no load``, as it was written."""
    return "no load" if load_kg == 0.0 else mass_text(load_kg)


def found_load(load_kg: float) -> str:
    """``35.9 kg``, or in pounds where forces are in lbf: a load that was computed, rounded down."""
    unit_kg, name = (POUND_KG, "lb") if force_unit() == ForceUnit.POUND_FORCE else (1.0, "kg")
    return f"{math.floor(10.0 * load_kg / unit_kg + ROUNDING) / 10.0:.1f} {name}"


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
