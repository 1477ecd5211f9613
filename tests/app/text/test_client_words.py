"""What is said of a client's match, plan, set, sides and history."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feltload.app.jobs.quantities import read_plates
from feltload.app.text.cautions import CAUTIONS
from feltload.app.text.numbers import load_text
from feltload.app.text.person.delivered import VERDICTS, describe_compared_stretch
from feltload.app.text.person.hands import describe_set, describe_stretch
from feltload.app.text.person.match import describe_match, describe_repetitions, describe_shortening
from feltload.app.text.person.strength import (
    describe_session,
    describe_sides,
    describe_strength_headline,
    describe_value_change,
    strength_key_figures,
)
from feltload.coaching import (
    Caution,
    ComparedStretch,
    HandAction,
    HelpStretch,
    HelpVerdict,
    LoadLine,
    Phase,
    RepetitionEffort,
    RepetitionRange,
    SessionRecord,
    SetEffort,
    ValueChange,
    compare_capacity_sides,
    match_capacity,
)
from feltload.core import FeltloadError
from feltload.signal import Travel
from lever_profile import lever_profile
from made_capacity import made_capacity

ALONG = lever_profile().travel


def test_every_caution_has_its_words_and_defers_where_someone_may_be_hurt() -> None:
    assert set(CAUTIONS) == set(Caution)
    assert "maker's instructions" in CAUTIONS[Caution.MAXIMAL_EFFORT]
    assert "stop at once on pain" in CAUTIONS[Caution.MAXIMAL_EFFORT]
    for caution in (Caution.PAIN_IN_A_HOLD, Caution.LIMIT_TREATS_NOTHING):
        assert "licensed clinician" in CAUTIONS[caution]


@pytest.mark.parametrize(
    ("demand", "u_demand", "said"),
    [
        (1.2, 0.02, "none"),
        (0.8, 0.0, "8"),
        (0.8, 0.02, "6 to 10"),
        (0.70, 0.02, "10 to more than 15"),
        (0.60, 0.02, "14 or more"),
        (0.5, 0.0, "more than 15"),
    ],
)
def test_repetitions_are_said_as_a_range(demand, u_demand, said) -> None:
    assert describe_repetitions(RepetitionRange(demand, u_demand)) == said


def test_a_match_is_said_to_the_coach_and_to_the_client() -> None:
    line, capacity = LoadLine.of(lever_profile()), made_capacity(force_n=(700.0, 260.0))
    match = match_capacity(line, capacity, 40.0)
    coach, client = (
        " ".join(describe_match(match, ALONG)),
        " ".join(describe_match(match, ALONG, to_client=True)),
    )
    assert "hardest for this client at" in coach and " you" not in coach
    assert "hardest for you at" in client and "client" not in client
    assert f"{100 * match.limiting_demand:.0f} ± {200 * match.u_limiting_demand:.0f} %" in coach
    assert "under-challenged" in coach
    assert "Turning at 36 % of the travel (middle, 0°) instead of going through" in describe_shortening(
        match, None, 0.0, ALONG
    )
    assert "Starting at 50 % of the travel (middle, 10°) and turning at 79 % of the travel" in (
        describe_shortening(match, np.deg2rad(10.0), np.deg2rad(30.0), ALONG)
    )
    assert "would not help" in describe_shortening(match, None, float(match.angle_rad[-1]), ALONG)


def test_a_load_beyond_the_client_is_never_called_even() -> None:
    weak = made_capacity(force_n=(70.0, 60.0))
    said = " ".join(describe_match(match_capacity(LoadLine.of(lever_profile()), weak, 40.0), ALONG))
    assert "more than this client can produce" in said
    assert "not moved at all. Take plates off." in said
    assert "even" not in said.replace("seven", "") and "under-challenged" not in said


def _stretch(action: HandAction, first_n: float, peak_n: float, last_n: float) -> HelpStretch:
    return HelpStretch(
        0.0, np.deg2rad(30.0), action, 0.5 * (first_n + last_n), peak_n, first_n, last_n, 0.2, 12.0
    )


@pytest.mark.parametrize(
    ("stretch", "said"),
    [
        (_stretch(HandAction.LEAVE, 1.0, 2.0, 1.0), "36 to 79 % (0° to 30°): hands off"),
        (
            _stretch(HandAction.HELP, 20.0, 60.0, 60.0),
            "help, building up from about 20 N (2 kgf) to 60 N (6 kgf)",
        ),
        (
            _stretch(HandAction.RESIST, 60.0, 60.0, 20.0),
            "add resistance, easing off from about 60 N (6 kgf) to 20 N",
        ),
        (
            _stretch(HandAction.HELP, 40.0, 40.0, 40.0),
            "help, about 40 N (4 kgf) throughout (± 12 N)",
        ),
        (_stretch(HandAction.HELP, 10.0, 40.0, 10.0), "help, most at 52 % (11°), about 40 N (4 kgf)"),
    ],
)
def test_a_partner_is_told_one_thing_a_stretch(stretch, said) -> None:
    assert said in describe_stretch(stretch, ALONG)


def _compared(
    planned_n: float, given_n: float, verdict: HelpVerdict, *, partly: bool = False
) -> ComparedStretch:
    planned = _stretch(HandAction.HELP if planned_n > 0.0 else HandAction.LEAVE, 20.0, 40.0, 30.0)
    return ComparedStretch(
        Phase.CONCENTRIC, planned, planned_n, given_n, 5.0, verdict, partly, np.deg2rad(12.0), 25.0, -20.0
    )


@pytest.mark.parametrize(
    ("compared", "said"),
    [
        (
            _compared(30.0, 12.0, HelpVerdict.TOO_LITTLE),
            "planned about 30 N of help, gave 12 N (± 5 N): too little",
        ),
        (
            _compared(0.0, 20.0, HelpVerdict.TOO_MUCH),
            "planned hands off, gave 20 N of help (± 5 N): too much",
        ),
        (_compared(0.0, 0.1, HelpVerdict.RIGHT), "planned hands off, gave nothing (± 5 N): right"),
        (
            _compared(30.0, -12.0, HelpVerdict.OPPOSITE),
            "planned about 30 N of help, gave 12 N of resistance (± 5 N): the opposite of the plan",
        ),
        (
            _compared(30.0, 4.0, HelpVerdict.TOO_LITTLE, partly=True),
            "too little, and in part the opposite (20 N of resistance at 53 % (12°), where 25 N of help was planned)",
        ),
        (
            _compared(30.0, 31.0, HelpVerdict.UNEVEN),
            "not even (20 N of resistance at 53 % (12°), where 25 N of help was planned)",
        ),
        (_compared(30.0, 40.0, HelpVerdict.UNDETERMINED), "whether that is right cannot be determined"),
        (_compared(30.0, np.nan, HelpVerdict.NOT_MEASURED), "what was given was not measured"),
    ],
)
def test_each_stretch_of_a_plan_has_its_verdict_in_words(compared, said) -> None:
    words = describe_compared_stretch(compared, ALONG)
    assert words.startswith("36 to 79 % (0° to 30°), ") and words.endswith(said)
    assert set(VERDICTS) == set(HelpVerdict) - {HelpVerdict.NOT_MEASURED}


def _repetition(
    index: int, *, range_rad: float = 1.0, seconds: float = 2.0, inertia_n: float = 0.0
) -> RepetitionEffort:
    share = np.linspace(0.0, 1.0, 61)
    return RepetitionEffort(
        index=index,
        time_s=seconds * share,
        angle_rad=range_rad * share,
        felt_n=np.full(61, 100.0),
        static_n=np.full(61, 100.0),
        friction_n=np.zeros(61),
        inertia_n=inertia_n * np.sign(0.5 - share),
        along=ALONG,
    )


def test_a_set_is_said_with_its_speed_its_range_and_momentum() -> None:
    steady = " ".join(describe_set(SetEffort((_repetition(0), _repetition(1)))))
    assert "2 repetitions." in steady and "No repetition was carried by momentum" in steady
    assert "travelled" not in steady
    thrown = _repetition(1, range_rad=0.7, seconds=2.8, inertia_n=30.0)
    tired = " ".join(describe_set(SetEffort((_repetition(0), thrown))))
    assert "The last was 50 % slower" in tired
    assert "travelled 30 % less" in tired
    assert "Momentum carried the end of repetition 2: at most 30 N taken off" in tired


def test_sides_are_said_with_what_was_measured() -> None:
    left = made_capacity(force_n=(480.0, 320.0), u=0.03, side="left")
    weaker = made_capacity(force_n=(408.0, 272.0), u=0.03, side="right")
    assert describe_sides(compare_capacity_sides(left, weaker))[0].startswith(
        "The left side is stronger, by 16 % ±"
    )
    whole, where = describe_sides(compare_capacity_sides(left, replace(left, side="right")))
    assert "no more than the measurement can tell" in whole
    assert "At no position from" in where


@pytest.mark.parametrize(
    ("after", "said"),
    [(410.0, "10 N more, within"), (440.0, "40 N more, beyond"), (360.0, "40 N less, beyond")],
)
def test_a_change_is_said_against_the_noise(after, said) -> None:
    change = ValueChange(
        "capacity", "lever", "left", "peak_n", "2031-01-01T10:00:00", "2031-02-01", 400.0, after, 28.0
    )
    assert describe_value_change(change) == (
        f"2031-01-01 to 2031-02-01: capacity peak, lever, left: {said} measurement noise (±28 N)."
    )


def test_a_kept_result_is_a_sentence_with_units() -> None:
    kept = SessionRecord(
        date="2026-11-25T10:00:00+00:00",
        kind="capacity",
        machine="bench",
        values={"peak_n": 402.0, "peak_angle_deg": -23.4},
    )
    assert describe_session(kept) == (
        "2026-11-25: capacity on bench: peak 402 N (41.0 kgf), peak position −23°."
    )


def test_plates_are_read_in_the_unit_at_their_end_and_suggested_from_below() -> None:
    plates = read_plates("2.5 5 10 kg", "--plates-available")
    assert plates.up_to(34.9) == 32.5
    assert load_text(read_plates("5 10 25 lb", "--plates-available").up_to(36.0)) == "75 lb"
    for bad in ("", "kg", "2.5 5 10", "ten kg", "2.5 -5 kg"):
        with pytest.raises(FeltloadError, match=r"--plates-available|no plates"):
            read_plates(bad, "--plates-available")


def test_strength_is_headed_by_most_and_least() -> None:
    """420 N at the start of the range, 250 N at its end, along 70 degrees."""
    curve = made_capacity()
    held = Travel(curve.angle_rad)
    assert describe_strength_headline(curve, held) == (
        "This client has most at 0 % (−25°) of the range held, 420 N (42.8 kgf) ± 17 N, and least at "
        "100 % (45°), 250 N (25.5 kgf) ± 10 N."
    )
    assert [figure.value for figure in strength_key_figures(curve, held)] == ["420 N", "250 N", "−25° to 45°"]
    even = made_capacity(force_n=(400.0, 404.0))
    assert describe_strength_headline(even, held) == (
        "This client has about the same everywhere that was held, as far as the measurement tells: "
        "at most 404 N (41.2 kgf) ± 16 N."
    )
