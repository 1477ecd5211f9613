"""A certificate as one printed page."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import numpy as np

from feltload.acquisition.certificate import AnyCertificate, ForceCertificate, InertialCertificate

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_TEMPLATE = """<!doctype html><html lang="en"><meta charset="utf-8"><title>Certificate {{ c.serial }}</title>
<style>
@page { size: A4; margin: 14mm } body { font: 12px/1.4 sans-serif; color: #222; max-width: 182mm; margin:
8mm auto } h1 { font-size: 21px; margin: 0 0 2px; font-weight: 600 } h2 { font-size: 13px; margin: 14px 0
4px } header { border-bottom: 2px solid #234; padding-bottom: 6px } header span { color: #555 }
dl { display: grid; grid-template-columns: 30mm 1fr 30mm 1fr; gap: 2px 6px; margin: 8px 0 } dt { color: #555 }
dd { margin: 0 } table { border-collapse: collapse; width: 100%; font-variant-numeric: tabular-nums }
th, td { text-align: right; padding: 2px 6px; border-bottom: 1px solid #ddd } th { font-weight: 600 }
th:first-child, td:first-child { text-align: left } svg { width: 100%; height: auto }
.warn { border-left: 3px solid #b45309; padding: 2px 8px; margin: 6px 0 } .small { font-size: 11px;
color: #444 } </style>
<header><h1>Calibration certificate</h1>
<span>{{ title }}{% if c.number %}, no. {{ c.number }}{% endif
%}</span></header> <dl><dt>Serial number</dt><dd>{{ c.serial }}</dd><dt>Type</dt><dd>{{ c.sensor or "not stated" }}</dd>
<dt>Calibrated on</dt><dd>{{ c.calibrated_on }}</dd><dt>Expires on</dt><dd>{{ c.expires_on }}</dd>
<dt>Calibrated by</dt><dd>{{ c.calibrated_by or "not stated" }}</dd>
<dt>Place</dt><dd>{{ c.place or "not stated" }}</dd>
<dt>Air</dt><dd>{{ air }}</dd><dt>Gravity</dt>
<dd>{{ "%.5f"|format(c.gravity_m_s2) }} ± {{ "%.2g"|format(2 * c.gravity_u_m_s2) }} m/s²
({{ c.gravity_source }})</dd></dl>
{% for text in c.warnings %}<p class="warn">{{ text }}</p>{% endfor %}
{% for title, heads, rows in tables %}<h2>{{ title }}</h2><table><tr>{% for h in heads %}<th>{{ h
}}</th>{% endfor %} </tr>{% for row in rows %}<tr>{% for cell in row %}<td>{{ cell }}</td>{% endfor
%}</tr>{% endfor %}</table>{% endfor %} {{ figure | safe }}
{% for text in lines %}<p class="small">{{ text }}</p>{% endfor %}
<p class="small">Expanded uncertainties are k = 2, about 95 %. The certificate holds for the sensor with the electronics
it was calibrated with, within the range stated. Rated capacity, the maker's instructions and local rules
come first.</p> </html>"""

Table = tuple[str, list[str], list[list[str]]]


def certificate_page(certificate: AnyCertificate) -> str:
    """One self-contained HTML page of a certificate."""
    import jinja2

    environment = certificate.environment
    air = ", ".join(
        f"{value:g} {unit}"
        for value, unit in (
            (environment.temperature_c, "°C"),
            (environment.pressure_hpa, "hPa"),
            (environment.humidity_percent, "% RH"),
        )
        if value is not None
    )
    if isinstance(certificate, ForceCertificate):
        title, tables, lines = (
            "Load cell with electronics",
            _force_tables(certificate),
            _force_lines(certificate),
        )
        figure = _force_figure(certificate)
    else:
        title, tables, lines = "Inertial sensor", _inertial_tables(certificate), list(certificate.notes)
        figure = _inertial_figure(certificate)
    template = jinja2.Environment(autoescape=True).from_string(_TEMPLATE)
    return template.render(
        c=certificate, air=air or "not stated", title=title, tables=tables, lines=lines, figure=figure
    )


def _cell(value: float | None, form: str = ".3f") -> str:
    return "–" if value is None else f"{value:z{form}}"


def _force_tables(c: ForceCertificate) -> list[Table]:
    steps: Table = (
        "Relative errors, %",
        ["Force, N", "U, N", "b", "b′", "fc", "v", "q", "spread of q"],
        [
            [
                f"{s.force_n:.2f}",
                f"{s.u95_n:.2f}",
                _cell(s.reproducibility_percent),
                _cell(s.repeatability_percent),
                _cell(s.interpolation_percent),
                _cell(s.reversibility_percent),
                _cell(s.indication_percent),
                _cell(s.indication_spread_percent),
            ]
            for s in c.steps
        ],
    )
    classes: Table = (
        "Against the standards",
        ["Standard", "Class", "From, N", "To, N", "Not shown by this loading"],
        [
            [
                r.standard,
                r.class_name or "none",
                _cell(r.from_n, ".1f"),
                _cell(r.to_n, ".1f"),
                "; ".join(r.missing),
            ]
            for r in c.classes
        ]
        + [
            [
                "ASTM E74",
                name,
                _cell(start, ".1f"),
                _cell(None if start is None else c.highest_n, ".1f"),
                "; ".join(c.lower_limit.missing),
            ]
            for name, start in (("A", c.lower_limit.class_a_from_n), ("AA", c.lower_limit.class_aa_from_n))
        ],
    )
    return [classes, steps]


def _force_lines(c: ForceCertificate) -> list[str]:
    terms = ", ".join(f"{value:.6g}" for value in c.coefficients_n)
    return [
        f"Force in N = polynomial in (reading − {c.zero_reading:.6g}) / {c.reading_scale:.8g} {c.reading_unit}; "
        f"coefficients in ascending powers, N: {terms}.",
        f"Polynomial of {c.degree_evidence}. Residual standard deviation {c.lower_limit.residual_sd_n:.3g} N, "
        f"lower limit factor {c.lower_limit.factor_n:.3g} N.",
        "Any class with an entry under “not shown” is an indication and not a classification.",
        *c.notes,
    ]


def _svg(figure: Figure) -> str:
    out = io.StringIO()
    figure.savefig(out, format="svg", bbox_inches="tight", metadata={"Date": None})
    text = out.getvalue()
    return text[text.index("<svg") :]


def _force_figure(c: ForceCertificate) -> str:
    # Slow to import, here and below: only a page that is written needs it.
    from matplotlib.figure import Figure

    figure = Figure(figsize=(7.2, 2.1))
    axes = figure.subplots()
    for direction, marker in (("rising", "^"), ("falling", "v")):
        points = [r for r in c.readings if r.direction == direction and r.applied_n > 0 and not r.excluded]
        if points:
            axes.plot(
                [r.applied_n for r in points], [r.residual_n for r in points], marker, ms=4, label=direction
            )
    force = np.linspace(c.lowest_n, c.highest_n, 60)
    band = 2 * c.u_force_n(force)
    axes.fill_between(force, -band, band, color="0.88", label="± U", zorder=0)
    axes.axhline(0, color="0.4", lw=0.8)
    axes.set(xlabel="Applied force, N", ylabel="Certificate − applied, N")
    axes.spines[["top", "right"]].set_visible(False)
    axes.legend(frameon=False, ncols=3, fontsize=8, loc="upper left", bbox_to_anchor=(0, 1.18))
    return _svg(figure)


def _inertial_tables(c: InertialCertificate) -> list[Table]:
    rows = []
    for k, axis in enumerate("xyz"):
        rows.append(
            [
                axis,
                f"{c.accel_offset_m_s2[k]:+.4f} ± {2 * c.u(f'accel_offset_{axis}'):.4f}",
                f"{c.accel_matrix[k][k]:.5f} ± {2 * c.u(f'accel_scale_{axis}'):.5f}",
                f"{np.degrees(c.gyro_bias_rad_s[k]):+.3f} ± {np.degrees(2 * c.u(f'gyro_bias_{axis}')):.3f}",
                f"{c.gyro_matrix[k][k]:.5f} ± {2 * c.u(f'gyro_scale_{axis}'):.5f}",
            ]
        )
    heads = ["Axis", "Accel. offset, m/s²", "Accel. scale", "Gyro bias, °/s", "Gyro scale"]
    return [(f"Corrections from {len(c.attitudes)} still attitudes", heads, rows)]


def _inertial_figure(c: InertialCertificate) -> str:
    if c.noise is None or not c.noise.tau_s:
        return ""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(7.2, 2.6), layout="constrained")
    left, right = figure.subplots(1, 2)
    left.loglog(c.noise.tau_s, np.degrees(c.noise.gyro_deviation_rad_s), label=list("xyz"))
    right.loglog(c.noise.tau_s, c.noise.accel_deviation_m_s2, label=list("xyz"))
    left.set(xlabel="Averaging time, s", ylabel="Gyro Allan deviation, °/s")
    right.set(xlabel="Averaging time, s", ylabel="Accel. Allan deviation, m/s²")
    for axes in (left, right):
        axes.spines[["top", "right"]].set_visible(False)
        axes.legend(frameon=False, fontsize=8)
    return _svg(figure)
