"""From a measured profile to the words and figures of its report."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from feltload.app.files.provenance import Provenance
from feltload.app.pages.canvas import Drawing
from feltload.app.pages.report.curves import load_curves
from feltload.app.pages.report.figures import friction_figure, profile_figure
from feltload.app.pages.report.rows import (
    budget_rows,
    field_check_rows,
    health_rows,
    input_rows,
    load_row,
    repetition_rows,
)
from feltload.app.pages.report.view import ReportView, Tone, Verdict
from feltload.app.pages.target_view import target_view
from feltload.app.text.cautions import BEFORE_USING_THE_RESULT
from feltload.app.text.facts import describe_fully
from feltload.app.text.machine.advice import describe_advice
from feltload.app.text.machine.friction import describe_friction
from feltload.app.text.machine.profile import (
    describe_budget,
    describe_findings,
    describe_headline,
    describe_making,
    describe_scope,
    profile_key_figures,
)
from feltload.app.text.numbers import force_unit
from feltload.app.text.position import describe_positions_column
from feltload.calibration import AgreementFact, Judgement
from feltload.signal import ProfileEstimate, describe_shape


def build_view(
    estimate: ProfileEstimate,
    provenance: Provenance,
    *,
    verdict: Verdict | None = None,
    machine_drawing: Drawing | None = None,
    judgements: Sequence[Judgement] = (),
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
    judgements : sequence of Judgement
        Of targets.

    Returns
    -------
    ReportView
        The whole page.
    """
    curves = load_curves(estimate)
    shapes = [describe_shape(estimate, index) for index in range(estimate.loads_kg.size)]
    top = int(np.argmax(estimate.loads_kg))
    budget = budget_rows(estimate.budget)
    return ReportView(
        machine=estimate.machine_name,
        summary=describe_scope(estimate, provenance),
        invented=provenance.invented,
        force_unit=str(force_unit()),
        headline=describe_headline(shapes[top], estimate.travel),
        advice=describe_advice(
            estimate, top, shapes[top], differs=verdict is not None and verdict.tone == Tone.BAD
        ),
        facts=profile_key_figures(estimate, top, shapes[top]),
        findings=describe_findings(estimate, top),
        profile_figure=profile_figure(estimate.travel, curves),
        loads=tuple(load_row(shape, estimate.travel) for shape in shapes),
        positions=describe_positions_column(estimate.travel),
        friction_figure=friction_figure(estimate.travel, curves),
        friction_words=describe_friction(estimate),
        verdict=verdict,
        machine_drawing=machine_drawing,
        targets=target_view(estimate, judgements),
        repetitions=repetition_rows(estimate),
        budget=budget,
        budget_words=describe_budget(estimate),
        health=health_rows(provenance),
        field_checks=field_check_rows(provenance),
        warnings=tuple(
            dict.fromkeys(
                describe_fully(fact)
                for fact in (*provenance.damage, *provenance.remarks, *estimate.warnings)
                # Its page already says what the command to be used next would.
                if verdict is None or fact.kind != AgreementFact.FILE_DIFFERS
            )
        ),
        cautions=BEFORE_USING_THE_RESULT,
        inputs=input_rows(provenance),
        made_with=describe_making(estimate, provenance),
    )
