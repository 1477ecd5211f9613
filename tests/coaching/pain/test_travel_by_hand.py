"""Where a client works, in degrees worked by hand: a machine measured from -25° to 45°, 2° kept from what hurts."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.coaching import Caution, OverlapError, PainfulTravelError, WorkingTravel, working_travel
from feltload.coaching.pain.travel import free_pieces

MEASURED_DEG = (-25.0, 45.0)
Deg = tuple[float, float]


def _travel(
    *painful_deg: Deg,
    known: Deg | None = None,
    start: float | None = None,
    stop: float | None = None,
) -> WorkingTravel:
    low, high = np.deg2rad(MEASURED_DEG)
    return working_travel(
        (float(low), float(high)),
        painful_rad=[(float(np.deg2rad(a)), float(np.deg2rad(b))) for a, b in painful_deg],
        known_rad=None if known is None else (float(np.deg2rad(known[0])), float(np.deg2rad(known[1]))),
        from_rad=None if start is None else float(np.deg2rad(start)),
        to_rad=None if stop is None else float(np.deg2rad(stop)),
    )


def _deg(angle_rad: float | None) -> float | None:
    return None if angle_rad is None else pytest.approx(np.rad2deg(angle_rad), abs=1e-9)


@pytest.mark.parametrize(
    ("painful", "known", "work", "start", "stop", "unknown", "moved"),
    [
        ((), None, (-25, 45), None, None, [], (-25, 45)),
        (((20, 40),), None, (-25, 18), None, 18, [], (-25, 18)),
        (((-30, -10),), None, (-8, 45), -8, None, [], (-8, 45)),
        # Capacity that ends within 5° of what the pain leaves draws the stop or start there; further off it does not,
        # and what lies between is told as unknown.
        (((20, 40),), (-25, 13.1), (-25, 13.1), None, 13.1, [], (-25, 13.1)),
        (((20, 40),), (-25, 12.9), (-25, 12.9), None, 18, [(12.9, 18)], (-25, 12.9)),
        (((-30, -10),), (-3.1, 45), (-3.1, 45), -3.1, None, [], (-3.1, 45)),
        (((-30, -10),), (-2.9, 45), (-2.9, 45), -8, None, [(-8, -2.9)], (-2.9, 45)),
        # A tenth of 70° at each end is what a stop takes: unknown, but no reason to turn there.
        ((), (-25, 38.1), (-25, 38.1), None, None, [(38.1, 45)], (-25, 45)),
        ((), (-25, 37.9), (-25, 37.9), None, None, [(37.9, 45)], (-25, 37.9)),
        ((), (-18.1, 45), (-18.1, 45), None, None, [(-25, -18.1)], (-25, 45)),
        ((), (-17.9, 45), (-17.9, 45), None, None, [(-25, -17.9)], (-17.9, 45)),
        # Less than a degree is not said to be unknown.
        ((), (-24.1, 44.1), (-24.1, 44.1), None, None, [], (-25, 45)),
        ((), (-23.9, 43.9), (-23.9, 43.9), None, None, [(-25, -23.9), (43.9, 45)], (-25, 45)),
        # Near to the travel from outside.
        (((47.1, 60),), None, (-25, 45), None, None, [], (-25, 45)),
        (((46.9, 60),), None, (-25, 44.9), None, 44.9, [], (-25, 44.9)),
        (((-60, -27.1),), None, (-25, 45), None, None, [], (-25, 45)),
        (((-60, -26.9),), None, (-24.9, 45), -24.9, None, [], (-24.9, 45)),
        # Of two pieces the longer one, but the one that is known.
        (((0, 10),), None, (12, 45), 12, None, [], (12, 45)),
        (((0, 10),), (-25, 20), (-25, -2), None, -2, [], (-25, -2)),
        # Both ends.
        (((-40, -15), (30, 32)), None, (-13, 28), -13, 28, [], (-13, 28)),
    ],
)
def test_travel_that_is_left(painful, known, work, start, stop, unknown, moved) -> None:
    travel = _travel(*painful, known=known)
    assert np.rad2deg(travel.work_rad) == pytest.approx(work)
    assert (start, stop) == (_deg(travel.start_rad), _deg(travel.stop_rad))
    assert np.rad2deg(travel.unknown_rad).tolist() == [pytest.approx(part) for part in unknown]
    assert np.rad2deg(travel.moved_rad) == pytest.approx(moved)
    assert travel.keeps_out == (start is not None or stop is not None)
    assert (travel.begin_rad is None, travel.turn_rad is None) == (moved[0] == -25, moved[1] == 45)
    assert travel.whole == (abs(work[0] + 25) <= 1 and abs(work[1] - 45) <= 1)
    assert travel.cautions == ((Caution.PAINFUL_RANGE,) if painful else ())


@pytest.mark.parametrize(("upper_deg", "one_sided"), [(32.9, True), (33.1, False)])
def test_travel_on_the_other_side_is_10_degrees_or_more(upper_deg, one_sided) -> None:
    """Above a painful range that ends at 33° lie 10° of travel, less the margin."""
    travel = _travel((5.0, upper_deg), (80.0, 90.0))
    assert travel.one_sided == one_sided
    assert np.rad2deg(travel.avoided_rad) == pytest.approx(np.array([[5.0, upper_deg]]))


@pytest.mark.parametrize(
    ("painful", "pieces"),
    [
        ([], [(-25, 45)]),
        ([(0, 20), (5, 10)], [(-25, -2), (22, 45)]),
        ([(30, 35), (0, 20)], [(-25, -2), (22, 28), (37, 45)]),
        ([(0, 20), (22, 30)], [(-25, -2), (32, 45)]),
        ([(-50, 60)], []),
        ([(-50, 42.9)], [(44.9, 45)]),
        ([(-50, 43)], []),
        ([(50, 60)], [(-25, 45)]),
    ],
)
def test_pieces_outside_every_painful_range(painful, pieces) -> None:
    found = free_pieces(*np.deg2rad(MEASURED_DEG), [tuple(np.deg2rad(span)) for span in painful])
    assert [np.rad2deg(piece).tolist() for piece in found] == [pytest.approx(piece) for piece in pieces]


@pytest.mark.parametrize(
    ("start", "stop", "work"),
    [
        # Below and above what hurts from 5° to 15°; a thousandth of a radian is rounding.
        (None, -5.0, (-25.0, -5.0)),
        (None, 3.05, (-25.0, 3.0)),
        (20.0, None, (20.0, 45.0)),
        (16.95, None, (17.0, 45.0)),
        (-20.0, 2.0, (-20.0, 2.0)),
        (20.0, 40.0, (20.0, 40.0)),
        # In the piece that is used anyhow.
        (-20.0, None, (-20.0, 3.0)),
        # At or beyond the ends of the travel nothing is asked for.
        (-25.0, 45.0, (-25.0, 3.0)),
        (-30.0, 50.0, (-25.0, 3.0)),
    ],
)
def test_a_wanted_start_and_stop(start, stop, work) -> None:
    assert np.rad2deg(_travel((5.0, 15.0), start=start, stop=stop).work_rad) == pytest.approx(work)


@pytest.mark.parametrize(
    ("start", "stop", "said"),
    [
        (None, 3.1, "with a stop at 3° the client works in what is marked painful (5° to 15°)"),
        (None, 30.0, "with a stop at 30° the client works"),
        (10.0, None, "with a start at 10° the client works"),
        (16.9, None, "with a start at 17° the client works"),
        (-20.0, 20.0, "with a start at −20° and a stop at 20° the client works"),
    ],
)
def test_a_start_or_stop_that_has_the_client_work_where_it_hurts(start, stop, said) -> None:
    with pytest.raises(PainfulTravelError) as refused:
        _travel((5.0, 15.0), start=start, stop=stop)
    assert said in str(refused.value)
    assert refused.value.remedy == "stay within −25° to 3°"


@pytest.mark.parametrize(("lower_deg", "left"), [(-12.9, True), (-13.1, False)])
def test_less_than_10_degrees_beside_the_pain_is_no_exercise(lower_deg, left) -> None:
    """Pain from -13° up leaves -25° to -15°."""
    if left:
        assert np.rad2deg(_travel((lower_deg, 60.0)).work_rad) == pytest.approx((-25.0, lower_deg - 2.0))
    else:
        with pytest.raises(PainfulTravelError, match="less than 10° of the measured travel") as refused:
            _travel((lower_deg, 60.0))
        assert "licensed clinician" in str(refused.value.remedy)


@pytest.mark.parametrize(
    ("start", "stop", "said"),
    [
        (None, -25.0, "before −25°"),
        (45.0, None, "after 45°"),
        (20.0, 20.0, "after 20° and before 20°"),
        (20.0, 10.0, "after 20° and before 10°"),
    ],
)
def test_nothing_of_the_travel_is_left(start, stop, said) -> None:
    with pytest.raises(OverlapError, match=f"nothing of the travel lies {said}") as refused:
        _travel(start=start, stop=stop)
    assert refused.value.remedy == "choose within −25° to 45°"


@pytest.mark.parametrize(
    ("known", "start", "stop", "said"),
    [
        # Two degrees beyond what is known may be asked for.
        ((-25.0, 20.0), None, 21.9, ""),
        ((-25.0, 20.0), None, 22.1, "from 20° to 22° the capacity was not measured"),
        ((0.0, 45.0), -1.9, None, ""),
        ((0.0, 45.0), -2.1, None, "from −2° to 0° the capacity was not measured"),
        # Within a tenth of the travel from its ends nobody holds.
        ((-25.0, 38.1), None, 44.0, ""),
        ((-25.0, 37.9), None, 44.0, "from 38° to 44° the capacity was not measured"),
        ((-18.1, 45.0), -24.0, None, ""),
        ((-17.9, 45.0), -24.0, None, "from −24° to −18° the capacity was not measured"),
        # The ends themselves are no wish.
        ((-25.0, 20.0), None, 45.0, ""),
        ((0.0, 45.0), -25.0, None, ""),
        ((-10.0, 20.0), -15.0, 30.0, "from 20° to 30° the capacity was not measured"),
    ],
)
def test_an_end_where_the_capacity_is_not_known(known, start, stop, said) -> None:
    if not said:
        assert np.rad2deg(_travel(known=known, start=start, stop=stop).work_rad) == pytest.approx(known)
    else:
        with pytest.raises(OverlapError, match=said) as refused:
            _travel(known=known, start=start, stop=stop)
        assert str(refused.value.remedy).startswith("stay within")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            {"known": (-25.0, -15.1)},
            "the profile covers −25° to 45°, the capacity −25° to −15°: less than 10° in common",
        ),
        ({"start": 36.0}, "less than 10° of known travel is left between 36° to 45°"),
        (
            {"stop": -16.0, "known": (-20.0, 45.0)},
            "less than 10° of known travel is left between −25° to −16°",
        ),
    ],
)
def test_too_little_is_known(words, said) -> None:
    with pytest.raises(OverlapError, match=said):
        _travel(**words)
    with pytest.raises(
        OverlapError, match=r"outside what is marked painful \(44° to 50°\) less than 10° of travel"
    ):
        _travel((44.0, 50.0), **words)


def test_ten_degrees_known_are_enough() -> None:
    assert np.rad2deg(_travel(known=(-25.0, -14.9)).work_rad) == pytest.approx((-25.0, -14.9))


def test_the_same_person_with_another_stop() -> None:
    travel = _travel((20.0, 40.0), known=(-20.0, 45.0)).with_ends(to_rad=float(np.deg2rad(5.0)))
    assert np.rad2deg(travel.work_rad) == pytest.approx((-20.0, 5.0))
    assert np.rad2deg(travel.known_rad) == pytest.approx((-20.0, 45.0))
    assert travel.painful_rad == (tuple(np.deg2rad([20.0, 40.0])),)
    later = travel.with_ends(from_rad=float(np.deg2rad(-10.0)))
    assert np.rad2deg(later.work_rad) == pytest.approx((-10.0, 18.0))
