"""Rows of the report's tables."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from feltload.app.files.provenance import Provenance
from feltload.app.pages.report.view import (
    BudgetRow,
    CheckRow,
    HealthRow,
    InputRow,
    LoadRow,
    RepetitionRow,
    Tone,
)
from feltload.app.text.facts import describe_all
from feltload.app.text.findings import budget_label
from feltload.app.text.inputs import describe_field_check
from feltload.app.text.numbers import (
    MISSING,
    exact_figure,
    force_figure,
    force_text,
    listed,
    load_text,
    seconds,
)
from feltload.app.text.position import range_text, short_position
from feltload.signal import BudgetItem, ProfileEstimate, Shape, Travel, budget_shares

SMALL_SHARE = 0.005
"""Sources below this share of the variance are gathered in one line."""


def budget_rows(items: Sequence[BudgetItem]) -> tuple[BudgetRow, ...]:
    """Budget from the largest share down; a source that every session has is one line, small ones too."""
    grouped: dict[str, list[tuple[BudgetItem, float]]] = {}
    for item, share in zip(items, budget_shares(items), strict=True):
        grouped.setdefault(budget_label(item), []).append((item, share))
    sums = sorted(
        (
            (
                label,
                float(np.sqrt(sum(item.mean_square_n2 for item, _ in group))),
                sum(share for _, share in group),
                all(item.stated for item, _ in group),
            )
            for label, group in grouped.items()
        ),
        key=lambda line: line[2],
        reverse=True,
    )
    rows = [
        BudgetRow(
            source=name if stated else f"{name} (not stated: default)",
            u=exact_figure(u_n),
            share_percent=100.0 * share,
        )
        for name, u_n, share, stated in sums
        if share >= SMALL_SHARE
    ]
    small = [line for line in sums if line[2] < SMALL_SHARE]
    if small:
        rows.append(
            BudgetRow(
                source=listed([line[0] for line in small]),
                u=exact_figure(float(np.sqrt(sum(line[1] ** 2 for line in small)))),
                share_percent=100.0 * sum(line[2] for line in small),
            )
        )
    return tuple(rows)


def repetition_rows(estimate: ProfileEstimate) -> tuple[RepetitionRow, ...]:
    """One line per repetition, numbered over the whole result."""
    start_rad, travel = estimate.start_angle_rad, estimate.travel
    return tuple(
        RepetitionRow(
            number=str(number),
            load=load_text(repetition.load_kg),
            range=range_text(start_rad + repetition.low_rad, start_rad + repetition.high_rad, travel)
            + ("" if repetition.complete else " partial"),
            raising_s=seconds(repetition.concentric_s),
            lowering_s=seconds(repetition.eccentric_s),
            peak=force_figure(repetition.peak_n),
            work_j=f"{repetition.work_j:.0f}" if np.isfinite(repetition.work_j) else MISSING,
        )
        for number, repetition in enumerate(estimate.repetitions, start=1)
    )


def input_rows(provenance: Provenance, *, prefix: str = "") -> tuple[InputRow, ...]:
    """One entry per recording that a result was made from."""
    return tuple(
        InputRow(
            name=f"{prefix}{source.name}",
            load=source.load_stated or load_text(source.load_kg),
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
            faults=describe_all(replace(fault, stream="") for fault in stream.faults) or "none",
            tone=Tone.CAREFUL if stream.faults else Tone.GOOD,
        )
        for source in provenance.recordings
        for stream in source.streams
    )


def field_check_rows(provenance: Provenance) -> tuple[CheckRow, ...]:
    """One line per known weight that hung on a cell while it was recorded."""
    tones = {True: Tone.GOOD, False: Tone.BAD, None: Tone.CAREFUL}
    return tuple(
        CheckRow(recording=source.name, text=describe_field_check(check), tone=tones[check.agrees])
        for source in provenance.recordings
        for check in source.field_checks
    )


def load_row(shape: Shape, travel: Travel) -> LoadRow:
    """The line of one load."""
    return LoadRow(
        load=load_text(shape.load_kg),
        heaviest=f"{force_text(shape.peak_n)} at {short_position(shape.peak_angle_rad, travel)}",
        lightest=f"{force_text(shape.low_n)} at {short_position(shape.low_angle_rad, travel)}",
        drop_off=f"{shape.drop_off_percent:.0f} %",
        shape=shape.shape.replace("-", "–"),
    )
