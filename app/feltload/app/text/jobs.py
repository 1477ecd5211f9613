"""Sentences of the facts of this layer: what was found about inputs and comparisons."""

from __future__ import annotations

from collections.abc import Mapping

from feltload.app.jobs.facts import ComparisonFact, InputFact
from feltload.app.text.common import Sentence

SENTENCES: Mapping[str, Sentence] = {
    InputFact.CERTIFICATE_EXPIRED: lambda fact: (
        f"the certificate of {fact.figures['serial']} expired on {fact.figures['expired_on']}, before the recording "
        f"of {fact.figures['recorded_on']}; it was accepted on purpose"
    ),
    InputFact.MACHINE_REPLACED: lambda fact: (
        f"the machine is as {fact.figures['file']} describes it, in place of the machine file kept with the recording"
    ),
    InputFact.OTHER_NAME: lambda fact: (
        f'the recordings are of "{fact.figures["recorded"]}", and the machine file describes '
        f'"{fact.figures["described"]}"; unless both are names of one machine, nothing here says anything of either'
    ),
    ComparisonFact.SAME_MACHINE_FILE: lambda _: (
        "the same machine file, so the error of its start angle is the same in both"
    ),
    ComparisonFact.OTHER_MACHINE_FILES: lambda _: (
        "different machine files, so their start angles are independent"
    ),
    ComparisonFact.SAME_CERTIFICATE: lambda _: (
        "the same load cell certificate, so its error is the same in both"
    ),
    ComparisonFact.OTHER_CERTIFICATES: lambda _: (
        "different load cell certificates, so their calibrations are independent"
    ),
    ComparisonFact.NO_COMMON_CERTIFICATE: lambda _: (
        "the load cells have no certificate in common, so their calibrations are independent"
    ),
    ComparisonFact.SAME_RECORDINGS: lambda fact: (
        f"both rest on {fact.figures['recordings']}, so much of their noise is the same, which the band does not "
        "take off"
    ),
    ComparisonFact.OTHER_SIDES: lambda _: (
        "different arms, each with its own cell, sensor and start angle: nothing of their uncertainty cancels"
    ),
    ComparisonFact.OTHER_TRAVELS: lambda _: (
        "positions are parts of the travel that each was measured over, which are alike only where both were moved "
        "through their whole travel"
    ),
    ComparisonFact.SCALED: lambda fact: (
        f"each force is a part of its own {fact.figures['by']} over the shared travel, so an error that is a share of "
        "the force, such as that of a cell's gain, cancels"
    ),
    ComparisonFact.PREDICTED: lambda _: (
        "one at least is predicted from dimensions, not measured; the errors of both are taken as independent, which "
        "can only widen the band"
    ),
    ComparisonFact.REST_INDEPENDENT: lambda _: (
        "everything else is independent, which can only widen the band"
    ),
}
"""Kind -> what is said of it."""
