"""Numbers as people read them."""

from __future__ import annotations

import math
from contextvars import copy_context

import pytest

from feltload.app.text.numbers import (
    ForceUnit,
    degrees,
    figure,
    force_text,
    listed,
    load_text,
    number,
    number_with_u,
    sentence,
    short_force,
    write_forces_in,
)
from feltload.core import parse_quantity


@pytest.mark.parametrize(
    ("force_n", "text"),
    [
        (222.4, "222 N (22.7 kgf)"),
        (8.43, "8.4 N (0.9 kgf)"),
        (-61.2, "−61 N (−6.2 kgf)"),
        (-0.02, "0.0 N (0.0 kgf)"),
        # 1 kgf is 9.80665 N exactly (3rd CGPM, 1901).
        (980.665, "981 N (100 kgf)"),
    ],
)
def test_newtons_with_kilogram_force_beside_them(force_n, text):
    assert force_text(force_n) == text


def test_a_small_negative_angle_is_zero_and_an_unknown_one_a_dash():
    assert degrees(math.radians(-0.3)) == "0°"
    assert degrees(math.radians(-16.4)) == "−16°"
    assert degrees(math.nan) == figure(math.inf) == "–"


def test_sentences():
    assert sentence("sample times are known") == "Sample times are known."
    assert sentence("row-40kg: the zero drifts.") == "row-40kg: the zero drifts."


def test_lists():
    assert [listed(["a"]), listed(["a", "b"]), listed(["a", "b", "c"])] == ["a", "a and b", "a, b and c"]


@pytest.mark.parametrize(
    ("value", "form", "shown"),
    [
        (-1.25, ".2f", "−1.25"),
        (-0.001, ".1f", "0.0"),
        (2.0, "+.1f", "+2.0"),
        (None, ".1f", "–"),
        (math.nan, ".1f", "–"),
    ],
)
def test_a_number_has_a_true_minus_sign_and_no_negative_zero(value, form, shown):
    assert number(value, form) == shown


@pytest.mark.parametrize(
    ("value", "u", "shown"),
    [
        (301.52, 2.04, "301.5 ± 2.0"),
        (-25.0, 0.3, "−25.00 ± 0.30"),
        (-0.001, 0.02, "−0.001 ± 0.020"),
        (5.0, 0.0, "5.00 ± 0.00"),
    ],
)
def test_a_value_is_shown_to_the_place_of_its_uncertainty(value, u, shown):
    assert number_with_u(value, u) == shown


@pytest.mark.parametrize(
    ("unit", "text", "short"),
    [
        (ForceUnit.NEWTON, "222 N (22.7 kgf)", "222 N"),
        (ForceUnit.KILOGRAM_FORCE, "22.7 kgf (222 N)", "22.7 kgf"),
        # 1 lbf is 4.4482216152605 N exactly (NIST SP 811, B.8).
        (ForceUnit.POUND_FORCE, "50.0 lbf (222 N)", "50.0 lbf"),
    ],
)
def test_a_force_is_written_in_the_unit_asked_for_with_the_other_beside_it(unit, text, short):
    def written() -> tuple[str, str]:
        write_forces_in(unit)
        return force_text(50 * 4.4482216152605), short_force(50 * 4.4482216152605)

    assert copy_context().run(written) == (text, short)
    assert force_text(222.4) == "222 N (22.7 kgf)"


@pytest.mark.parametrize(
    "written", ["88 lb", "2.5 lb", "45 lb", "20 kg", "40.12 kg", "2.5 kg", "22.5 lb", "10 kg"]
)
def test_a_load_reads_back_as_it_was_written(written):
    assert load_text(parse_quantity(written, "mass").value) == written
