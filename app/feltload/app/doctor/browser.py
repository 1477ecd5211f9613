"""What shows pages on this computer, and what encrypts them for a phone."""

from __future__ import annotations

import ssl
import webbrowser

from feltload.app.doctor.facts import DoctorFact
from feltload.core import Fact, Severity


def examine_browser() -> tuple[Fact, ...]:
    """A browser for reports, and TLS for a page that a phone sends its motion through."""
    return (browser_fact(), tls_fact(ssl.OPENSSL_VERSION, modern=ssl.HAS_TLSv1_2))


def browser_fact() -> Fact:
    """Whether the system names a browser."""
    try:
        webbrowser.get()
    except webbrowser.Error:
        return Fact(DoctorFact.BROWSER_ABSENT, Severity.CAUTION)
    return Fact(DoctorFact.BROWSER_FOUND, Severity.NOTE)


def tls_fact(library: str, *, modern: bool) -> Fact:
    """Whether browsers of phones accept this computer's TLS, which is 1.2 and later (RFC 8996)."""
    return Fact(
        DoctorFact.TLS_READY if modern else DoctorFact.TLS_OLD,
        Severity.NOTE if modern else Severity.CAUTION,
        figures={"library": library},
    )
