"""Standard gravity, and the pound."""

from __future__ import annotations

from typing import Final

STANDARD_GRAVITY_M_S2: Final = 9.80665
"""Exact by convention (3rd CGPM, 1901): newtons per kilogram-force, and the "g" of an accelerometer."""

POUND_KG: Final = 0.45359237
"""Exact by the international agreement of 1959 (NIST SP 811, B.8)."""
