"""Certificates and the turns behind them, in words."""

from __future__ import annotations

import math

from feltload.acquisition import AnyCertificate, TurnRecord


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
        f"{sign}{'xyz'[main]}{stated}, {state}{': ' * bool(turn.remark)}{turn.remark}"
    )
