"""Masses are written in the unit that they came in."""

from __future__ import annotations

import pytest

from feltload.core import mass_text, parse_quantity


@pytest.mark.parametrize(
    "written", ["88 lb", "2.5 lb", "45 lb", "20 kg", "40.12 kg", "2.5 kg", "22.5 lb", "0 kg"]
)
def test_a_mass_reads_back_as_it_was_written(written: str) -> None:
    # 1 lb is 0.45359237 kg exactly (NIST SP 811, B.8).
    assert mass_text(parse_quantity(written, "mass").value) == written


def test_a_mass_that_is_round_in_neither_is_in_kilograms() -> None:
    assert mass_text(39.917) == "39.917 kg"
