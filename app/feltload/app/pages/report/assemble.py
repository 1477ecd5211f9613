"""From a measured profile to the words and figures of its report."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from feltload.app.files.provenance import Provenance
from feltload.app.pages.canvas import Drawing
from feltload.app.pages.report.profile_fields import profile_fields
from feltload.app.pages.report.rows import field_check_rows, health_rows, input_rows, repetition_rows
from feltload.app.pages.report.view import ReportView, Tone, Verdict
from feltload.app.text.facts import describe_fully
from feltload.app.text.machine.advice import describe_advice
from feltload.app.text.machine.friction import describe_friction
from feltload.app.text.machine.profile import (
    describe_budget,
    describe_findings,
    describe_making,
    describe_scope,
    profile_key_figures,
)
from feltload.calibration import AgreementFact, Judgement
from feltload.core import Fact
from feltload.signal import ProfileEstimate, describe_shape


def build_view(
    estimate: ProfileEstimate,
    provenance: Provenance,
    *,
    verdict: Verdict | None = None,
    machine_drawing: Drawing | None = None,
    judgements: Sequence[Judgement] = (),
    remarks: Sequence[Fact] = (),
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
    remarks : sequence of Fact
        Said before what the provenance and the profile have to say.

    Returns
    -------
    ReportView
        The whole page.
    """
    top = int(np.argmax(estimate.loads_kg))
    shape = describe_shape(estimate, top)
    return ReportView(
        **profile_fields(estimate, judgements),
        summary=describe_scope(estimate, provenance),
        invented=provenance.invented,
        advice=describe_advice(
            estimate, top, shape, differs=verdict is not None and verdict.tone == Tone.BAD
        ),
        facts=profile_key_figures(estimate, top, shape),
        findings=describe_findings(estimate, top),
        friction_words=describe_friction(estimate),
        verdict=verdict,
        machine_drawing=machine_drawing,
        repetitions=repetition_rows(estimate),
        budget_words=describe_budget(estimate),
        health=health_rows(provenance),
        field_checks=field_check_rows(provenance),
        warnings=tuple(
            dict.fromkeys(
                describe_fully(fact)
                for fact in (*remarks, *provenance.damage, *provenance.remarks, *estimate.warnings)
                # Its page already says what the command to be used next would.
                if verdict is None or fact.kind != AgreementFact.FILE_DIFFERS
            )
        ),
        inputs=input_rows(provenance),
        made_with=describe_making(estimate, provenance),
    )
