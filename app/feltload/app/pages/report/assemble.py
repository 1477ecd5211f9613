"""From a measured profile to the words and figures of its report."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from feltload.app.files.provenance import Provenance
from feltload.app.pages.canvas import Drawing
from feltload.app.pages.cautions import BEFORE_USING_THE_RESULT
from feltload.app.pages.fact import Fact
from feltload.app.pages.report.figures import LoadCurves, friction_figure, profile_figure
from feltload.app.pages.report.view import (
    BudgetRow,
    CheckRow,
    HealthRow,
    InputRow,
    LoadRow,
    RepetitionRow,
    ReportView,
    Tone,
    Verdict,
)
from feltload.app.text.numbers import (
    MISSING,
    NO_BREAK,
    degrees,
    force_text,
    kilograms_felt,
    listed,
    load_text,
    newtons,
    plain_degrees,
    seconds,
    sentence,
)
from feltload.signal import (
    FLAT_SHARE,
    BudgetItem,
    ProfileEstimate,
    Repetition,
    Shape,
    describe_shape,
    summarize_findings,
)

SMALL_SHARE = 0.005
"""Sources below this share of the variance are gathered in one line."""


def budget_rows(items: Sequence[BudgetItem], sessions: Sequence[str] = ()) -> tuple[BudgetRow, ...]:
    """Budget from the largest share down; a source that every session has is one line, small ones too."""
    grouped: dict[str, list[BudgetItem]] = {}
    for item in items:
        grouped.setdefault(_without_session(item.source, sessions), []).append(item)
    sums = sorted(
        (
            (name, float(np.sqrt(sum(i.u_n**2 for i in group))), sum(i.share for i in group), group)
            for name, group in grouped.items()
        ),
        key=lambda line: line[2],
        reverse=True,
    )
    rows = [
        BudgetRow(
            source=name if all(i.stated for i in group) else f"{name} (not stated: default)",
            u_n=f"{u_n:.2f}",
            share_percent=100.0 * share,
        )
        for name, u_n, share, group in sums
        if share >= SMALL_SHARE
    ]
    small = [line for line in sums if line[2] < SMALL_SHARE]
    if small:
        rows.append(
            BudgetRow(
                source=listed([line[0] for line in small]),
                u_n=f"{np.sqrt(sum(line[1] ** 2 for line in small)):.2f}",
                share_percent=100.0 * sum(line[2] for line in small),
            )
        )
    return tuple(rows)


def _without_session(source: str, sessions: Sequence[str]) -> str:
    for name in sessions:
        source = source.removesuffix(f" ({name})")
    return source


def repetition_rows(repetitions: Sequence[Repetition]) -> tuple[RepetitionRow, ...]:
    """One line per repetition, numbered over the whole result."""
    return tuple(
        RepetitionRow(
            number=str(number),
            load=load_text(repetition.load_kg),
            range_deg=degrees(repetition.range_rad) + ("" if repetition.complete else " partial"),
            raising_s=seconds(repetition.concentric_s),
            lowering_s=seconds(repetition.eccentric_s),
            peak=newtons(repetition.peak_n),
            work_j=f"{repetition.work_j:.0f}" if np.isfinite(repetition.work_j) else MISSING,
        )
        for number, repetition in enumerate(repetitions, start=1)
    )


def build_view(
    estimate: ProfileEstimate,
    provenance: Provenance,
    *,
    verdict: Verdict | None = None,
    machine_drawing: Drawing | None = None,
) -> ReportView:
    """Put a result into the words and figures of its page.

    Parameters
    ----------
    estimate : ProfileEstimate
        The measured machine; m loads on n angles.
    provenance : Provenance
        What it was made from.
    verdict : Verdict, optional
        Agreement with the machine file.
    machine_drawing : Drawing, optional
        Side view of the machine.

    Returns
    -------
    ReportView
        The whole page.
    """
    curves = load_curves(estimate)
    shapes = [describe_shape(estimate, index) for index in range(estimate.loads_kg.size)]
    top = int(np.argmax(estimate.loads_kg))
    angle_deg = np.degrees(estimate.angle_rad)
    budget = budget_rows(estimate.budget, sorted({item.session for item in estimate.repetitions}))
    return ReportView(
        machine=estimate.machine_name,
        summary=_summary(estimate, provenance),
        invented=provenance.invented,
        headline=_headline(shapes[top]),
        facts=_facts(estimate, top, shapes[top]),
        findings=findings_of(estimate, top),
        profile_figure=profile_figure(angle_deg, curves),
        loads=tuple(_load_row(shape) for shape in shapes),
        friction_figure=friction_figure(angle_deg, curves),
        friction_words=_friction_words(estimate),
        verdict=verdict,
        machine_drawing=machine_drawing,
        repetitions=repetition_rows(estimate.repetitions),
        budget=budget,
        budget_words=_budget_words(estimate),
        health=health_rows(provenance),
        field_checks=field_check_rows(provenance),
        warnings=tuple(
            sentence(text) for text in (*_damages(provenance), *provenance.remarks, *estimate.warnings)
        ),
        cautions=BEFORE_USING_THE_RESULT,
        inputs=input_rows(provenance),
        made_with=_made_with(estimate, provenance),
    )


def input_rows(provenance: Provenance, *, prefix: str = "") -> tuple[InputRow, ...]:
    """One entry per recording that a result was made from."""
    return tuple(
        InputRow(
            name=f"{prefix}{source.name}",
            load=load_text(source.load_kg),
            started=source.started_utc,
            sha256=source.sha256,
        )
        for source in provenance.recordings
    )


def health_rows(provenance: Provenance) -> tuple[HealthRow, ...]:
    """One line per sensor and recording: its rate, and every fault in plain words."""
    return tuple(
        HealthRow(
            stream=f"{stream.name}, {source.name}",
            rate=MISSING if stream.rate_hz is None else f"{stream.rate_hz:.0f} Hz",
            faults="; ".join(stream.faults) or "none",
            tone=Tone.CAREFUL if stream.faults else Tone.GOOD,
        )
        for source in provenance.recordings
        for stream in source.streams
    )


def field_check_rows(provenance: Provenance) -> tuple[CheckRow, ...]:
    """One line per known weight that hung on a cell while it was recorded."""
    tones = {True: Tone.GOOD, False: Tone.BAD, None: Tone.CAREFUL}
    return tuple(
        CheckRow(recording=source.name, text=check.words(), tone=tones[check.agrees])
        for source in provenance.recordings
        for check in source.field_checks
    )


def load_curves(estimate: ProfileEstimate) -> list[LoadCurves]:
    """Curves of every load, ready to be drawn."""
    return [
        LoadCurves(
            label=load_text(float(load)),
            static_n=estimate.static_n[index],
            u95_n=estimate.static_u95_n[index],
            raising_n=estimate.raising_n[index],
            lowering_n=estimate.lowering_n[index],
            friction_n=estimate.friction_n[index],
        )
        for index, load in enumerate(estimate.loads_kg)
    ]


def _damages(provenance: Provenance) -> tuple[str, ...]:
    return tuple(f"{item.name}: {item.damage}" for item in provenance.recordings if item.damage)


def _summary(estimate: ProfileEstimate, provenance: Provenance) -> str:
    loads = listed([load_text(float(load)) for load in estimate.loads_kg])
    day = provenance.recordings[0].started_utc[:10] if provenance.recordings else ""
    count = len(estimate.repetitions)
    travel = degrees(float(estimate.angle_rad[-1] - estimate.angle_rad[0]))
    parts = [loads, f"{count} repetitions", f"{travel} of travel", day]
    return " · ".join(part for part in parts if part)


def findings_of(estimate: ProfileEstimate, load_index: int) -> tuple[str, ...]:
    """Findings about one load that the headline does not say already, a sentence each."""
    load = float(estimate.loads_kg[load_index])
    said = ("heaviest", "drop-off")
    return tuple(
        item.sentence
        for item in summarize_findings(estimate)
        if item.load_kg == load and item.kind not in said
    )


def _headline(shape: Shape) -> str:
    words = (
        f"With {load_text(shape.load_kg)} it is heaviest at {plain_degrees(shape.peak_angle_deg)}: "
        f"{newtons(shape.peak_n)} N, as if {kilograms_felt(shape.peak_n)} kg hung from the handle."
    )
    if shape.drop_off_percent < 100.0 * FLAT_SHARE:
        return f"{words} It stays heavy to the end of the travel."
    return f"{words} From there it drops off by {shape.drop_off_percent:.0f}{NO_BREAK}% to the end of the travel."


def _facts(estimate: ProfileEstimate, load_index: int, shape: Shape) -> tuple[Fact, ...]:
    """Three figures for the heaviest load."""
    friction = float(np.nanmean(estimate.friction_n[load_index]))
    return (
        Fact(
            "Heaviest",
            f"{newtons(shape.peak_n)} N",
            f"{kilograms_felt(shape.peak_n)} kg felt, at {plain_degrees(shape.peak_angle_deg)}",
        ),
        Fact(
            "Drop-off",
            f"{shape.drop_off_percent:.0f} %",
            f"to {newtons(shape.end_n)} N, {kilograms_felt(shape.end_n)} kg felt, at the end of the travel",
        ),
        Fact(
            "Friction",
            f"{newtons(friction)} N",
            f"{kilograms_felt(friction)} kg more raising, as much less lowering",
        ),
    )


def _load_row(shape: Shape) -> LoadRow:
    return LoadRow(
        load=load_text(shape.load_kg),
        heaviest=f"{force_text(shape.peak_n)} at {plain_degrees(shape.peak_angle_deg)}",
        lightest=f"{force_text(shape.low_n)} at {plain_degrees(shape.low_angle_deg)}",
        drop_off=f"{shape.drop_off_percent:.0f} %",
        shape=shape.shape.replace("-", "–"),
    )


def _friction_words(estimate: ProfileEstimate) -> str:
    parts = [
        f"{force_text(float(np.nanmean(friction)))} on average with {load_text(float(load))}"
        for load, friction in zip(estimate.loads_kg, estimate.friction_n, strict=True)
    ]
    return (
        f"Rubbing takes {listed(parts)}: it makes the way up heavier and the way down lighter by that much."
    )


def _budget_words(estimate: ProfileEstimate) -> str:
    top = int(np.argmax(estimate.loads_kg))
    half_width = float(np.nanmean(estimate.static_u95_n[top]))
    return (
        f"With {load_text(float(estimate.loads_kg[top]))} the true force lies within ±{force_text(half_width)} "
        f"of the solid line with 95{NO_BREAK}% confidence, on average over the travel. This is what that is made of; "
        "u is one standard uncertainty, over all loads and angles."
    )


def _made_with(estimate: ProfileEstimate, provenance: Provenance) -> tuple[tuple[str, str], ...]:
    lag = estimate.lag
    shown_lag = f"{1e3 * lag.value_s:.1f} ± {2e3 * lag.u_s:.1f} ms behind the angle (95 %)"
    if not lag.known:
        shown_lag += "; assumed, nothing in the recording fixes it"
    return (
        (
            "Start stop",
            f"{degrees(estimate.start_angle_rad)} ± {np.degrees(estimate.u_start_angle_rad):.2g}°",
        ),
        ("Lever angle", f"known to {np.degrees(estimate.angle_rms_u_rad):.2f}° (one standard uncertainty)"),
        ("Force", shown_lag),
        *((("Gravity", provenance.gravity.words()),) if provenance.gravity is not None else ()),
        ("Software", f"feltload {provenance.feltload}"),
    )
