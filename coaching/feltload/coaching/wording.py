"""Numbers as people read them."""

from __future__ import annotations

import numpy as np

KGF_N = 9.80665


def degrees(angle_rad: float) -> str:
    """Whole degrees with a true minus sign, never a negative zero."""
    whole = round(float(np.rad2deg(angle_rad)))
    return f"{'−' if whole < 0 else ''}{abs(whole)}°"


def newtons(force_n: float) -> str:
    """Force in N with kgf beside it."""
    return f"{force_n:.0f} N ({force_n / KGF_N:.0f} kgf)"
