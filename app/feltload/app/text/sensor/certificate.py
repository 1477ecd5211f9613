"""Certificates and what they rest on, in words."""

from __future__ import annotations

import math

import numpy as np

from feltload.acquisition import AnyCertificate, ForceCertificate, InertialCertificate, TurnRecord
from feltload.app.text.certificate_facts import degree_text, remark_text
from feltload.app.text.numbers import exact_force, force_unit, number
from feltload.core import EXPANDED_COVERAGE_K


def describe_certificate(certificate: AnyCertificate) -> str:
    """Of which sensor, and until when it holds."""
    return f"Certificate of {certificate.serial}, valid until {certificate.expires_on}"


def describe_turn(number: int, turn: TurnRecord) -> str:
    """One line about a turn that was found between two rests."""
    main = max(range(3), key=lambda k: abs(turn.axis[k]))
    sign = "-" if turn.axis[main] < 0 else "+"
    stated = "" if turn.stated_rad is None else f", stated {math.degrees(turn.stated_rad):.1f}°"
    state = "used" if turn.used else "left out"
    return (
        f"Turn {number}: {turn.start_s:.1f} to {turn.end_s:.1f} s, {math.degrees(turn.angle_rad):.1f}° about "
        f"{sign}{'xyz'[main]}{stated}, {state}{': ' * bool(turn.remark)}{remark_text(turn.remark)}"
    )


def describe_force_accuracy(c: ForceCertificate) -> str:
    """How well a force is known with a load cell's certificate."""
    unit = force_unit()
    low, high = (EXPANDED_COVERAGE_K * float(u) for u in c.u_force_n(np.array([c.lowest_n, c.highest_n])))
    return (
        f"From {exact_force(c.lowest_n, 0)} to {exact_force(c.highest_n, 0)}, a force read with this certificate is "
        f"known within ±{low / unit.newtons:.2g} {unit} to ±{high / unit.newtons:.2g} {unit} "
        f"({100 * high / c.highest_n:.2g} % at the top)."
    )


def describe_force_formula(c: ForceCertificate) -> list[str]:
    """How a reading becomes a force, how well that fits, and what was left out."""
    unit = force_unit()
    terms = ", ".join(number(value, ".6g") for value in c.coefficients_n)
    excluded = [str(r.row) for r in c.readings if r.excluded]
    rated = "" if c.rated_capacity_n is None else f" Rated capacity {exact_force(c.rated_capacity_n, 0)}."
    return [
        f"Force in N = polynomial in (reading − {c.zero_reading:.6g}) / {c.reading_scale:.8g} {c.reading_unit}; "
        f"coefficients in ascending powers, N: {terms}.",
        f"Polynomial of {degree_text(c)}. Residual standard deviation {c.lower_limit.residual_sd_n / unit.newtons:.3g} "
        f"{unit}, lower limit factor {c.lower_limit.factor_n / unit.newtons:.3g} {unit}.{rated}",
        *([f"Readings left out on purpose: rows {', '.join(excluded)}."] if excluded else []),
    ]


def describe_inertial_accuracy(c: InertialCertificate) -> str:
    """How well the corrected accelerometer reads gravity."""
    return (
        f"In {len(c.attitudes)} still attitudes the corrected accelerometer reads gravity within "
        f"{1000 * c.residual_sd_m_s2:.2g} mm/s² (rms)."
    )


def describe_turns(c: InertialCertificate) -> str:
    """How many turns were used, and what their columns mean."""
    sizes = np.degrees([turn.angle_rad for turn in c.turns if turn.used])
    through = f", through {sizes.min():.0f}° to {sizes.max():.0f}°" if sizes.size else ""
    return (
        f"{sizes.size} of {len(c.turns)} turns used{through}; the file lists all. Turned and axis are by the "
        "corrected gyro."
    )


def describe_carried_gravity(c: InertialCertificate) -> list[str]:
    """How well the corrected gyro carries gravity from rest to rest; nothing where no turn was made."""
    if c.residual_turn_rad is None:
        return []
    return [
        f"The corrected gyro carries gravity from rest to rest within {np.degrees(c.residual_turn_rad):.2g}° (rms)."
    ]
