"""What the certificate page of an inertial sensor shows."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.figure import Figure

from feltload.acquisition import InertialCertificate, NoiseDensities
from feltload.app.pages.certificate.content import Content, Table, drawing_style, svg
from feltload.app.text.certificate_facts import remark_text
from feltload.app.text.numbers import number
from feltload.app.text.sensor.certificate import (
    describe_carried_gravity,
    describe_inertial_accuracy,
    describe_turns,
)
from feltload.core import EXPANDED_COVERAGE_K

_AXES = (("x", "-", "#0b5fa5"), ("y", "--", "#b5530a"), ("z", ":", "#1c2430"))
# At this size of u a gyro scale is the stated default, and no turn was made about the axis.
_UNCALIBRATED_U = 0.01
_MOST_TURNS = 4
"""Rows of turns that fit the page."""


def inertial_content(c: InertialCertificate) -> Content:
    """Content of an inertial sensor's page."""
    return Content(
        title="Inertial sensor: gyro and accelerometer",
        result=describe_inertial_accuracy(c),
        tables=[
            _accelerometer(c),
            _gyro(c),
            *([_turns(c)] if c.turns else []),
            *([] if c.noise is None else [_noise(c.noise)]),
        ],
        figures=[] if c.noise is None or not c.noise.tau_s else _figures(c.noise),
        figure_label="Allan deviation of gyro and accelerometer against averaging time, one line per axis",
        lines=describe_carried_gravity(c),
    )


def _with_u(value: float, u95: float, form: str) -> str:
    return f"{number(value, form)} ± {u95:{form.lstrip('+')}}"


def _angle(c: InertialCertificate, k: int, j: int) -> str:
    pair = "xyz"[k] + "xyz"[j]
    u95 = EXPANDED_COVERAGE_K * c.u(f"accel_misalignment_{pair}")
    return f"{pair} {_with_u(float(np.degrees(c.accel_matrix[k][j])), float(np.degrees(u95)), '+.2f')}°"


def _accelerometer(c: InertialCertificate) -> Table:
    rows = []
    for k, (axis, *_) in enumerate(_AXES):
        rows.append(
            [
                axis,
                _with_u(c.accel_offset_m_s2[k], EXPANDED_COVERAGE_K * c.u(f"accel_offset_{axis}"), "+.4f"),
                _with_u(c.accel_matrix[k][k], EXPANDED_COVERAGE_K * c.u(f"accel_scale_{axis}"), ".5f"),
            ]
        )
    angles = ", ".join(_angle(c, k, j) for k in range(3) for j in range(k + 1, 3))
    return Table(
        "Accelerometer",
        ["Axis", "Offset, m/s²", "Scale"],
        rows,
        below=f"Angles between the axes: {angles}. True = scale and angles × (raw − offset).",
    )


def _gyro(c: InertialCertificate) -> Table:
    rows = []
    for k, (axis, *_) in enumerate(_AXES):
        u_scale = c.u(f"gyro_scale_{axis}")
        known = u_scale < 0.5 * _UNCALIBRATED_U
        rows.append(
            [
                axis,
                _with_u(
                    np.degrees(c.gyro_bias_rad_s[k]),
                    np.degrees(EXPANDED_COVERAGE_K * c.u(f"gyro_bias_{axis}")),
                    "+.3f",
                ),
                _with_u(c.gyro_matrix[k][k], EXPANDED_COVERAGE_K * u_scale, ".4f")
                if known
                else "not calibrated, ± 2 %",
            ]
        )
    return Table("Gyro", ["Axis", "Bias, °/s", "Scale"], rows, below=_cross_axis(c))


def _cross_axis(c: InertialCertificate) -> str:
    """Cross-axis terms in percent; empty for a certificate without them."""
    pairs = [(k, j) for k in range(3) for j in range(3) if k != j]
    if "gyro_misalignment_xy" not in c.parameter_names:
        return ""
    terms = []
    for k, j in pairs:
        name = f"{'xyz'[k]}{'xyz'[j]}"
        u95 = EXPANDED_COVERAGE_K * c.u(f"gyro_misalignment_{name}")
        terms.append(f"{name} {_with_u(100 * c.gyro_matrix[k][j], 100 * u95, '+.2f')}")
    return f"Cross-axis terms in percent: {', '.join(terms)}. True = matrix × (raw − bias); xy is the share of y in x."


def _degrees(angle_rad: float | None, form: str) -> str:
    return number(None if angle_rad is None else float(np.degrees(angle_rad)), form)


def _turns(c: InertialCertificate) -> Table:
    """Every turn in the file; on the page those of stated angle and those left out, so that it stays one page."""
    shown = [turn for turn in c.turns if not turn.used or turn.stated_rad is not None]
    rows = []
    for turn in shown[:_MOST_TURNS]:
        main = int(np.argmax(np.abs(turn.axis)))
        rows.append(
            [
                number(turn.start_s, ".1f"),
                _degrees(turn.angle_rad, ".1f"),
                f"{number(turn.axis[main], '+.2f')} {'xyz'[main]}",
                _degrees(turn.stated_rad, ".1f"),
                _degrees(turn.residual_rad, ".3f"),
                ("used" if turn.used else "left out")
                + (f": {remark_text(turn.remark)}" if turn.remark else ""),
            ]
        )
    return Table(
        "Turns from rest to rest",
        ["At, s", "Turned, °", "Axis", "Stated, °", "Gravity off by, °", ""] if rows else [],
        rows,
        words=True,
        below=describe_turns(c),
    )


def _noise(noise: NoiseDensities) -> Table:
    def row(name: str, values: Sequence[float | None], factor: float) -> list[str]:
        return [name, *(number(None if v is None else factor * v, ".3g") for v in values)]

    degrees, milli = 180 / np.pi, 1000.0
    return Table(
        f"Noise, from {noise.duration_s:.0f} s at rest",
        ["", "x", "y", "z"],
        [
            row("gyro N, (°/s)/√Hz", noise.gyro_white_rad_s_rthz, degrees),
            row("gyro B, °/s", noise.gyro_bias_instability_rad_s, degrees),
            row("accel. N, (mm/s²)/√Hz", noise.accel_white_m_s2_rthz, milli),
            row("accel. B, mm/s²", noise.accel_bias_instability_m_s2, milli),
        ],
        below="N white noise density, B bias instability (IEEE Std 952). A dash: the rest was too short to show it.",
    )


def _figures(noise: NoiseDensities) -> list[str]:
    gyro = np.degrees(np.asarray(noise.gyro_deviation_rad_s))
    accel = 1000 * np.asarray(noise.accel_deviation_m_s2)
    out = []
    with drawing_style():
        for values, label in ((gyro, "Gyro Allan deviation, °/s"), (accel, "Accel. Allan deviation, mm/s²")):
            figure = Figure(figsize=(3.8, 2.7), layout="constrained")
            axes = figure.subplots()
            for k, (axis, style, colour) in enumerate(_AXES):
                axes.loglog(noise.tau_s, values[:, k], style, color=colour, lw=1.4, label=axis)
            axes.set(xlabel="Averaging time, s", ylabel=label)
            axes.legend(ncols=3)
            out.append(svg(figure))
    return out
