"""A certificate on disk: JSON for programs, and its page for people beside it."""

from __future__ import annotations

import math
from pathlib import Path

from feltload.acquisition import AnyCertificate, TurnRecord
from feltload.app.console import Console
from feltload.app.files.outputs import claim_file
from feltload.app.pages.certificate.page import certificate_page
from feltload.core import write_file


def claim_certificate(out: Path, *, overwrite: bool) -> None:
    """Make sure that the certificate and its page may be written."""
    claim_file(out, overwrite=overwrite)
    claim_file(_page(out), overwrite=overwrite)


def write_certificate(console: Console, out: Path, certificate: AnyCertificate) -> None:
    """Write both and say so, with what the certificate warns of."""
    write_file(out, certificate.model_dump_json(indent=1) + "\n")
    write_file(_page(out), certificate_page(certificate))
    for warning in certificate.warnings:
        console.note(f"Note: {warning}")
    console.say(f"Certificate of {certificate.serial}, valid until {certificate.expires_on}: {out}")
    console.say(f"Page: {_page(out)}")
    console.result(
        {
            "certificate": str(out),
            "page": str(_page(out)),
            "serial": certificate.serial,
            "expires_on": certificate.expires_on.isoformat(),
            "warnings": certificate.warnings,
        }
    )


def turn_line(number: int, turn: TurnRecord) -> str:
    """One line about a turn that was found between two rests."""
    main = max(range(3), key=lambda k: abs(turn.axis[k]))
    sign = "-" if turn.axis[main] < 0 else "+"
    stated = "" if turn.stated_rad is None else f", stated {math.degrees(turn.stated_rad):.1f}°"
    state = "used" if turn.used else "left out"
    return (
        f"Turn {number}: {turn.start_s:.1f} to {turn.end_s:.1f} s, {math.degrees(turn.angle_rad):.1f}° about "
        f"{sign}{'xyz'[main]}{stated}, {state}{': ' * bool(turn.remark)}{turn.remark}"
    )


def _page(out: Path) -> Path:
    return out.with_suffix(".html")
