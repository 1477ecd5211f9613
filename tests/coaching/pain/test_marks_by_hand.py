"""Marks of painful ranges, and repetitions that went into one, in degrees worked by hand."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.coaching import PainfulTravelError, PainMark, add_marks, remove_marks, span_around
from feltload.coaching.pain.entered import painful_work
from feltload.coaching.pain.marks import degrees_said, inside_any, said, standing_spans

Span = tuple[float, float]


def _span(low_deg: float, high_deg: float) -> Span:
    return float(np.deg2rad(low_deg)), float(np.deg2rad(high_deg))


MARK = PainMark(*_span(10.0, 20.0), "2031-01-01")


@pytest.mark.parametrize(
    ("span_deg", "same"),
    [
        # Within a twentieth of a degree at both ends.
        ((10.0, 20.0), True),
        ((10.04, 19.96), True),
        ((10.06, 20.0), False),
        ((10.0, 20.06), False),
        ((9.94, 20.0), False),
    ],
)
def test_a_range_that_is_marked_keeps_its_date(span_deg, same) -> None:
    marks = add_marks([MARK], [_span(*span_deg)], "2031-02-01")
    assert [mark.added for mark in marks] == ["2031-01-01"] + ["2031-02-01"] * (not same)
    if same:
        (removed,) = remove_marks([MARK], [_span(*span_deg)], "2031-03-01")
        assert (removed.added, removed.removed, removed.stands) == ("2031-01-01", "2031-03-01", False)
    else:
        with pytest.raises(PainfulTravelError, match=r"is not marked painful \(10° to 20°\)"):
            remove_marks([MARK], [_span(*span_deg)], "2031-03-01")


def test_a_mark_that_was_removed_stays_in_the_history_and_can_be_made_again() -> None:
    removed = remove_marks([MARK, PainMark(*_span(-10.0, 0.0))], [_span(10.0, 20.0)], "2031-03-01")
    assert np.rad2deg(standing_spans(removed)) == pytest.approx(np.array([[-10.0, 0.0]]))
    again = add_marks(removed, [_span(10.0, 20.0)], "2031-04-01")
    assert [(mark.added, mark.stands) for mark in again] == [
        ("2031-01-01", False),
        ("", True),
        ("2031-04-01", True),
    ]
    with pytest.raises(PainfulTravelError, match=r"10° to 20° is not marked painful \(−10° to 0°\)"):
        remove_marks(removed, [_span(10.0, 20.0)], "2031-05-01")
    with pytest.raises(PainfulTravelError, match=r"\(nothing is\)"):
        remove_marks([], [_span(10.0, 20.0)], "2031-05-01")


@pytest.mark.parametrize(
    ("marked", "standing"),
    [
        ([(30, 40), (0, 10)], [(0, 10), (30, 40)]),
        ([(0, 10), (10, 20)], [(0, 20)]),
        ([(0, 10), (10.1, 20)], [(0, 10), (10.1, 20)]),
        ([(0, 30), (10, 20)], [(0, 30)]),
        ([(10, 20), (0, 15)], [(0, 20)]),
    ],
)
def test_ranges_that_touch_are_one(marked, standing) -> None:
    found = standing_spans(PainMark(*_span(*span)) for span in marked)
    assert [np.rad2deg(span).tolist() for span in found] == [pytest.approx(span) for span in standing]


@pytest.mark.parametrize(
    ("at_deg", "marked"), [(33.3, (28, 39)), (-12.4, (-18, -7)), (0.4, (-5, 6)), (-0.4, (-6, 5))]
)
def test_pain_at_one_position_marks_five_degrees_around_it_outwards_to_whole_ones(at_deg, marked) -> None:
    assert np.rad2deg(span_around(np.deg2rad(at_deg))) == pytest.approx(marked)


@pytest.mark.parametrize(("margin_deg", "inside"), [(0.0, [0, 1, 1, 0, 0]), (1.0, [1, 1, 1, 1, 0])])
def test_angles_in_a_range_or_near_to_it(margin_deg, inside) -> None:
    angle = np.deg2rad([9.1, 10.0001, 19.9999, 20.9, 21.1])
    found = inside_any(angle, [_span(10.0, 20.0), _span(50.0, 60.0)], np.deg2rad(margin_deg))
    assert found.tolist() == [bool(each) for each in inside]


def test_angles_as_messages_name_them() -> None:
    assert said(*_span(-12.4, 7.6)) == "−12° to 8°"
    assert degrees_said(np.deg2rad(-0.4)) == "0°"


@pytest.mark.parametrize(
    ("tops_deg", "numbers", "entered"),
    [
        # Half a degree into a range is not told from its edge.
        ((20.4, 20.4, 20.4), (), []),
        ((20.4, 20.6, 20.4), (2,), [(20, 30)]),
        ((25.0, 10.0, 55.0), (1, 3), [(20, 30), (50, 60)]),
    ],
)
def test_repetitions_that_went_into_a_painful_range(tops_deg, numbers, entered) -> None:
    """Three repetitions of two seconds from 0° to their tops and back, with a second between."""
    time = np.arange(0.0, 9.0, 0.01)
    angle, repetitions = np.zeros(time.size), []
    for number, top_deg in enumerate(tops_deg):
        start = 3.0 * number + 0.5
        angle += np.deg2rad(top_deg) * np.clip(1.0 - np.abs(time - start - 1.0), 0.0, None)
        repetitions.append((start, start + 1.0, start + 2.0))
    found = painful_work(time, angle, repetitions, [_span(50.0, 60.0), _span(20.0, 30.0)])
    assert (() if found is None else found.numbers) == numbers
    spans = [] if found is None else [np.rad2deg(span).tolist() for span in found.painful_rad]
    assert spans == [pytest.approx(span) for span in entered]


def test_what_lies_between_repetitions_is_none_of_them() -> None:
    """Pain at rest between two repetitions, and only the eccentric half of the second in the range."""
    time = np.arange(0.0, 6.0, 0.01)
    angle = np.deg2rad(np.where((time > 2.2) & (time < 2.8) | (time > 4.5) & (time < 4.8), 25.0, 0.0))
    found = painful_work(time, angle, [(0.0, 1.0, 2.0), (3.0, 4.0, 5.0)], [_span(20.0, 30.0)])
    assert found is not None and found.numbers == (2,)
