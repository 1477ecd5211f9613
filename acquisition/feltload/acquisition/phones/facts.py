"""Why a phone cannot be used as an inertial sensor, as kinds of facts."""

from __future__ import annotations

from enum import StrEnum


class PhoneFact(StrEnum):
    """What is wrong with the motion that a browser tells."""

    NO_GRAVITY = "phone-no-gravity"
    """Acceleration comes without gravity."""

    GRAVITY_ODD = "phone-gravity-odd"
    """Gravity is not about 9.8 m/s² long."""

    NO_RATES = "phone-no-rates"
    """No rate ever differs from zero: the phone has no gyroscope."""

    RATES_DO_NOT_FIT = "phone-rates-do-not-fit"
    """Gravity moves otherwise than the rates say, whatever the convention."""

    AXES_MIXED = "phone-axes-mixed"
    """Rates fit with axes exchanged or signs that differ between axes, as no browser is known to tell them."""

    LIES_OTHERWISE = "phone-lies-otherwise"
    """Gravity points elsewhere than the orientation that the phone states."""
