"""What results were made from, in words: gravity of the place, known weights that hung on the cell."""

from __future__ import annotations

from feltload.app.files.provenance import FieldCheckState, PlaceGravity
from feltload.app.text.facts import SENTENCES
from feltload.core import EXPANDED_COVERAGE_K


def describe_gravity(gravity: PlaceGravity) -> str:
    """Value, twice its standard uncertainty, and where they come from."""
    return f"{gravity.value_m_s2:.4f} ± {EXPANDED_COVERAGE_K * gravity.u_m_s2:.4f} m/s² ({gravity.source})"


def describe_field_check(check: FieldCheckState) -> str:
    """Outcome of one known weight, in one line."""
    if check.fact is None:
        return f"Field check with {check.weight}: {check.text}"
    return SENTENCES[check.fact.kind](check.fact)
