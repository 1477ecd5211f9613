"""What a study reports about its measurements, beside what statistics report."""

from __future__ import annotations

from enum import StrEnum


class StudyFact(StrEnum):
    """Measurements that want a second look, and what they do not share."""

    FAR_OFF = "study-measurement-far-off"
    """`measurement`: its `quantity` with `load_kg` is `value_n`, the others of `machine` have `usual_n` (median)."""

    LEFT_OUT = "study-measurements-left-out"
    """`measurements`: those that the study file leaves out."""

    CERTIFICATES_DIFFER = "study-certificates-differ"
    """`certificates` certificates of load cells: their own errors scatter with the measurements."""

    CERTIFICATE_MISSING = "study-certificate-missing"
    """`without` of `measurements` measurements were made with a cell without a certificate."""
