"""A certificate as one printed page."""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING

from feltload.acquisition import AnyCertificate, ForceCertificate
from feltload.app.text.facts import describe
from feltload.calibration import check_certificate
from feltload.core import EXPANDED_COVERAGE_K

if TYPE_CHECKING:
    import jinja2


def certificate_page(certificate: AnyCertificate) -> str:
    """One self-contained HTML page of a certificate."""
    # Drawing loads slowly, and most callers of this layer never make a page.
    from feltload.app.pages.certificate.force import force_content
    from feltload.app.pages.certificate.inertial import inertial_content

    content = (
        force_content(certificate)
        if isinstance(certificate, ForceCertificate)
        else inertial_content(certificate)
    )
    return _template().render(
        c=certificate,
        facts=_facts(certificate),
        title=content.title,
        result=content.result,
        tables=content.tables,
        figures=content.figures,
        figure_label=content.figure_label,
        lines=content.lines,
        warnings=[describe(fact) for fact in certificate.warnings],
        notes=[describe(fact) for fact in certificate.notes],
        signed=[describe(fact) for fact in check_certificate(certificate, where=certificate.serial)],
    )


@functools.cache
def _template() -> jinja2.Template:
    import jinja2

    loader = jinja2.PackageLoader("feltload.app.pages.certificate", "templates")
    return jinja2.Environment(loader=loader, autoescape=True).get_template("certificate.html")


def _facts(c: AnyCertificate) -> list[tuple[str, str]]:
    environment = c.environment
    air = ", ".join(
        f"{value:g} {unit}"
        for value, unit in (
            (environment.temperature_c, "°C"),
            (environment.pressure_hpa, "hPa"),
            (environment.humidity_percent, "% RH"),
        )
        if value is not None
    )
    gravity = f"{c.gravity_m_s2:.4f} ± {EXPANDED_COVERAGE_K * c.gravity_u_m_s2:.4f} m/s²"
    if c.gravity_u_m_s2 < 1e-4:
        gravity = f"{c.gravity_m_s2:.6f} ± {EXPANDED_COVERAGE_K * c.gravity_u_m_s2:.6f} m/s²"
    return [
        ("Serial number", c.serial),
        ("Type", c.sensor or "not stated"),
        ("Calibrated on", str(c.calibrated_on)),
        ("Expires on", str(c.expires_on)),
        ("Calibrated by", c.calibrated_by or "not stated"),
        ("Place", c.place or "not stated"),
        ("Air", air or "not stated"),
        ("Gravity", f"{gravity} ({c.gravity_source})" if c.gravity_source else gravity),
        *(_force_facts(c) if isinstance(c, ForceCertificate) else []),
    ]


def _force_facts(c: ForceCertificate) -> list[tuple[str, str]]:
    """What a laboratory asks of a loading, as it was stated."""
    unknown = "not stated"
    resolution = unknown if c.resolution is None else f"{c.resolution:g} {c.reading_unit}"
    newtons = "" if c.resolution is None else f" ({abs(float(c.n_per_reading())) * c.resolution:.2g} N)"
    return [
        ("Loaded in", c.loading or unknown),
        ("Preloads", unknown if c.preloads is None else f"{c.preloads} to the highest load"),
        ("Weights", c.weights or unknown),
        ("Traceable to", c.traceability or unknown),
        ("Fittings", c.fittings or unknown),
        ("Indicator", c.indicator or unknown),
        ("Resolution", resolution + newtons),
        ("Accreditation", "not accredited"),
    ]
