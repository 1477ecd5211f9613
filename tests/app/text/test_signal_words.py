"""Every fact of the signal layer reads as a whole sentence, with its figures in it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feltload.app.text import signal
from feltload.app.text.facts import describe, describe_fully
from feltload.app.text.findings import BUDGET_LABELS
from feltload.core import Fact
from feltload.signal import (
    AlignmentFact,
    BudgetSource,
    ClockFact,
    ComplianceFact,
    FindingFact,
    HingeFact,
    NoZero,
    ProfileFact,
    StopsFact,
    ZeroFact,
)

SPAN = (12.0, 14.5)
TURN = {"turned_rad": np.radians(5.0)}
RANGES = {
    "load_kg": 20.0,
    "low_rad": tuple(np.radians([-20.0, 50.0])),
    "high_rad": tuple(np.radians([-12.0, 50.0])),
}
LEFT_OUT = {
    "way": "raising",
    "count": 3,
    "of": 9,
    "apart_n": -40.0,
    "low_rad": np.radians(10.0),
    "high_rad": np.radians(30.0),
    "split": True,
}
LAGS = {"methods": ("dynamics", "rig"), "lag_s": (0.030, 0.060), "u_s": (0.001, 0.002)}

EXAMPLES = {
    "read by hand at 9 stops (18 readings): the machine at rest alone": Fact(
        StopsFact.BY_HAND, figures={"stops": 9, "readings": 18}
    ),
    "friction is not separated from the force at 40 kg, and 5 % of the force was assumed": Fact(
        StopsFact.FRICTION_NOT_SEPARATED, figures={"share": 0.05, "load_kg": 40.0}
    ),
    "no stop from 30 to 75 % of the turn": Fact(
        StopsFact.WIDE_GAP, figures={"low_share": 0.3, "high_share": 0.75}
    ),
    "row 8 of the table is 88 N below the curve of the others": Fact(
        StopsFact.READING_OFF, figures={"row": 8, "apart_n": -88.0}
    ),
    "while lowering are 20 N above those while raising": Fact(
        StopsFact.WAYS_SWAPPED, figures={"apart_n": 20.0}
    ),
    "the time stamps step back": Fact(ClockFact.STAMPS_STEP_BACK),
    "too few samples": Fact(ClockFact.TOO_FEW_SAMPLES),
    "3 damaged device stamps": Fact(ClockFact.STRAY_STAMPS, figures={"count": 3}),
    "5 samples were stamped late": Fact(ClockFact.STAMPED_LATE, figures={"count": 5}),
    "the sequence restarted or jumped at 12.00 s": Fact(
        ClockFact.RESTARTED, span_s=SPAN, figures={"counter": "sequence", "count": 1}
    ),
    "the device clock restarted or jumped 849 times from 12.00 s": Fact(
        ClockFact.RESTARTED, span_s=SPAN, figures={"counter": "device", "count": 849}
    ),
    "only known to 3.0 ms": Fact(ClockFact.TIMES_UNCERTAIN, figures={"u_s": 0.003}),
    "the hinge is inclined by 15° against the horizontal, and the machine file has 0°: the forces that it predicts "
    "are off by 3 %; measure the inclination and write hinge_inclination in the file": Fact(
        HingeFact.INCLINATION_DIFFERS,
        figures={"measured_rad": 0.2618, "stated_rad": 0.0, "share": 0.0341},
    ),
    "the hinge is inclined by 15° against the horizontal, and the machine file does not state an inclination: forces "
    "predicted for a level hinge are off by 3 %; measure": Fact(
        HingeFact.INCLINATION_DIFFERS, figures={"measured_rad": 0.2618, "share": 0.0341}
    ),
    "4 inertial samples without a value": Fact(HingeFact.NO_VALUE, figures={"count": 4}),
    "4 inertial samples with repeated times": Fact(HingeFact.REPEATED_TIMES, figures={"count": 4}),
    "99 times over while moving, from 12.00 s to 14.50 s": Fact(
        HingeFact.STUCK_READING, span_s=SPAN, figures={"count": 99}
    ),
    "sent 1 wild sample, the first at 12.00 s": Fact(
        HingeFact.WILD_SAMPLES, span_s=SPAN, figures={"count": 1}
    ),
    "jumps about in 30 samples from 12.00 s to 14.50 s": Fact(
        HingeFact.JUMPS_ABOUT, span_s=SPAN, figures={"count": 30}
    ),
    "the gyroscope was at its limit in 7 samples": Fact(
        HingeFact.AT_LIMIT, span_s=SPAN, figures={"sensor": "gyroscope", "count": 7}
    ),
    "its axis changed by 5°": Fact(HingeFact.SENSOR_MOVED, span_s=SPAN, figures=TURN),
    "one fixed hinge: 25 % of its rotation is across it": Fact(
        HingeFact.NOT_A_HINGE, figures={"share": 0.25}
    ),
    "every rest on the start stop is treated as the same angle; the gyroscope's scale is only known to 2.0 %": Fact(
        HingeFact.GRAVITY_LEFT_OUT, figures={"gravity_m_s2": 0.05, "held_by": "stop", "u_scale": 0.02}
    ),
    "1200 repetitions were left out, 90 readings a second remain": Fact(
        HingeFact.REPEATED_READINGS, figures={"count": 1200, "rate_hz": 90.0}
    ),
    "slipped about the hinge near 12 s, by 5°": Fact(
        HingeFact.SLIPPED_ABOUT_HINGE, span_s=SPAN, figures=TURN
    ),
    "the rest position changed by 5.0° near 12.0 s": Fact(HingeFact.REST_CHANGED, span_s=SPAN, figures=TURN),
    "the accelerometer reads 1.0 m/s² in place of gravity": Fact(
        HingeFact.NO_GRAVITY, figures={"accel_m_s2": 1.0}
    ),
    "disagrees with the gyroscope by 1.2 m/s²": Fact(HingeFact.SENSORS_DISAGREE, figures={"accel_m_s2": 1.2}),
    "off by 5.0 %, expected is 1.0 %": Fact(
        HingeFact.UNUSUAL_SCALE, figures={"scale": -0.05, "u_scale": 0.01}
    ),
    "did not settle": Fact(HingeFact.NOT_SETTLED),
    "has a hole from 12.0 s to 14.5 s": Fact(HingeFact.HOLE, span_s=SPAN),
    "left out after a hole": Fact(HingeFact.LEFT_OUT_AFTER_HOLE, span_s=SPAN, figures={"share": 0.2}),
    "no rest before the first movement": Fact(HingeFact.NO_REST_BEFORE),
    "moved during the hands-off window": Fact(ZeroFact.MACHINE_MOVED, span_s=SPAN),
    "wanders during the hands-off window as if something were held": Fact(
        ZeroFact.FORCE_WANDERS, span_s=SPAN
    ),
    "6.0 N below the zero": Fact(ZeroFact.REST_BELOW_ZERO, figures={"below_n": 6.0}),
    "drifted by +1.3 N": Fact(ZeroFact.DRIFTED, figures={"drift_n": 1.3}),
    "level stretches at the start and the end": Fact(ZeroFact.UNMARKED, figures={"where": "both"}),
    "pulls the other way by up to 9.0 N": Fact(ZeroFact.PULLS_OTHER_WAY, figures={"above_n": 9.0}),
    "end of its range in 12 samples": Fact(ZeroFact.AT_LIMIT, figures={"count": 12}),
    "below zero in 95 % of the movement": Fact(ZeroFact.REVERSED, figures={"share": 0.95}),
    "60 N below that of the marked hands-off window": Fact(
        ZeroFact.NOT_TARED, figures={"reason": NoZero.REST_FAR_BELOW, "below_n": 60.0}
    ),
    "begins with a lowering": Fact(AlignmentFact.BEGINS_WITH_LOWERING),
    "force stream has a hole from 12.0 s to 14.5 s": Fact(AlignmentFact.FORCE_HOLE, span_s=SPAN),
    "counted from the lower end of the travel, to 0.5° (standard uncertainty)": Fact(
        AlignmentFact.COUNTED_FROM_LOWER_END, figures={"u_rad": np.radians(0.5)}
    ),
    "20 ms assumed, u = 40 ms": Fact(AlignmentFact.LAG_UNKNOWN, figures={"lag_s": 0.02, "u_s": 0.04}),
    "it stays where it arrived": Fact(AlignmentFact.LAG_LEFT_IN),
    "angle drifted by up to 2° over the recording": Fact(
        AlignmentFact.DRIFT_TAKEN_OFF, figures={"drift_rad": np.radians(2.0)}
    ),
    "comes 800 ms after the motion": Fact(AlignmentFact.LAG_LARGE, figures={"lag_s": 0.8}),
    "dynamics 30.0(1.0) ms, rig 60.0(2.0) ms": Fact(AlignmentFact.LAGS_DISAGREE, figures=LAGS),
    "not covered both ways at 20 kg: −20° to −12°, 50°;": Fact(ProfileFact.NOT_COVERED, figures=RANGES),
    "only partly covered at 20 kg": Fact(ProfileFact.PARTLY_COVERED, figures=RANGES),
    "passed only once one way at 20 kg": Fact(ProfileFact.COVERED_ONCE, figures=RANGES),
    "3 of 9 half-repetitions felt about 40 N less than the others, within 10° to 30°": Fact(
        ProfileFact.HALF_REPETITIONS_LEFT_OUT, figures=LEFT_OUT
    ),
    "with 40 kg the handle asks for 91 N less than with 20 kg on average, and the felt inertia": Fact(
        ProfileFact.LIGHTER_WITH_LOAD,
        figures={"light_kg": 20.0, "heavy_kg": 40.0, "difference_n": -91.0, "swapped": True},
    ),
    "scatters by 8.0 N about the fit (4 % of the peak)": Fact(
        ProfileFact.SCATTER, figures={"scatter_n": 8.0, "share": 0.04}
    ),
    "7 % of the moving data": Fact(ProfileFact.NOT_FITTED, figures={"share": 0.07}),
    "friction comes out negative": Fact(ProfileFact.NEGATIVE_FRICTION, figures={"friction_n": -5.0}),
    "check the sign of the load cell": Fact(ProfileFact.NEGATIVE_FORCE),
    "field check with 10 kg does not agree": Fact(
        ProfileFact.FIELD_CHECK_DISAGREES, figures={"weight": "10 kg"}
    ),
    "12 of 18 half-repetitions differ": Fact(
        ProfileFact.HALF_REPETITIONS_DIFFER,
        figures={"count": 12, "of": 18, "apart_n": 15.0, "share": 0.07},
    ),
    "the handle moves 0.60° ± 0.04° (7 mm of its way) before the arm follows": Fact(
        ComplianceFact.PLAY,
        figures={
            "place": "before",
            "play_rad": np.radians(0.6),
            "u95_rad": np.radians(0.04),
            "handle_m": 0.0067,
            "count": 6,
        },
    ),
    "it rings at 12.0 ± 0.3 Hz (damping 3 %) after starts and knocks": Fact(
        ComplianceFact.FLEX,
        figures={
            "place": "past",
            "frequency_hz": 12.0,
            "u95_hz": 0.3,
            "damping": 0.03,
            "u95_damping": 0.01,
            "wind_up_rad": 0.004,
            "count": 5,
        },
    ),
    "4 holds against a still arm": Fact(ProfileFact.HOLDS_SEEN, figures={"count": 4}),
    "With 40 kg the machine gets heavier through the travel": Fact(
        FindingFact.SHAPE, figures={"load_kg": 40.0, "shape": "ascending"}
    ),
    "heaviest at 30°: 245 N (25.0 kgf), give or take 2.0 N": Fact(
        FindingFact.HEAVIEST, figures={"force_n": 245.166, "u95_n": 2.0, "angle_rad": np.radians(30.0)}
    ),
    "lightest at 30°: 245 N (25.0 kgf)": Fact(
        FindingFact.LIGHTEST, figures={"force_n": 245.166, "angle_rad": np.radians(30.0)}
    ),
    "drops off by 20 % to 245 N": Fact(FindingFact.DROP_OFF, figures={"share": 0.2, "end_n": 245.166}),
    "Friction is 5 % of the force: it feels 6.0 N heavier raising": Fact(
        FindingFact.FRICTION, figures={"force_n": 6.0, "share": 0.05}
    ),
    "Friction is 5 % of the force: it feels 6.0 ± 0.3 N heavier raising": Fact(
        FindingFact.FRICTION, figures={"force_n": 6.0, "share": 0.05, "u95_n": 0.26}
    ),
    "Friction stands out at 59 % of the travel (middle, 31 cm from the start stop, 17°): 11.5 ± 0.6 N there, about "
    "4.0 N elsewhere. Take the load off, secure the arm, and look at what slides, turns or touches there": Fact(
        FindingFact.TIGHT_SPOT,
        figures={
            "load_kg": 40.0,
            "angle_rad": np.radians(17.0),
            "travel_share": 0.59,
            "handle_path_m": 0.31,
            "force_n": 11.5,
            "u95_n": 0.58,
            "rest_n": 4.0,
            "excess_n": 7.5,
            "excess_u95_n": 0.6,
            "low_rad": np.radians(13.0),
            "high_rad": np.radians(21.0),
        },
    ),
    "Of the friction, 4.7 ± 0.2 N is there whatever the load; every 10 kg adds 1.4 ± 0.1 N": Fact(
        FindingFact.FRICTION_BY_LOAD,
        figures={
            "load_kg": 40.0,
            "steady_n": 4.71,
            "steady_u95_n": 0.18,
            "per_kg_n": 0.14,
            "per_kg_u95_n": 0.008,
            "grows": True,
        },
    ),
    "Friction does not grow with the load as far as measured: 4.7 ± 0.2 N whatever the load; 10 kg add 0.2 N at "
    "most": Fact(
        FindingFact.FRICTION_BY_LOAD,
        figures={
            "load_kg": 40.0,
            "steady_n": 4.71,
            "steady_u95_n": 0.18,
            "per_kg_n": 0.01,
            "per_kg_u95_n": 0.012,
            "grows": False,
        },
    ),
    "With one load it cannot be determined how much of the friction grows with the load": Fact(
        FindingFact.FRICTION_NOT_PARTED, figures={"load_kg": 40.0, "loads_kg": (40.0,)}
    ),
    "40 kg and 42 kg lie too close together to say how much of the friction grows": Fact(
        FindingFact.FRICTION_NOT_PARTED, figures={"load_kg": 42.0, "loads_kg": (40.0, 42.0)}
    ),
    "the force at equal positions changed by 2.3 ± 0.2 N in 20 min, as a zero that drifts does; it was taken off; a "
    "zero taken again afterwards": Fact(
        AlignmentFact.ZERO_DRIFT,
        figures={"drift_n": 2.31, "u95_n": 0.21, "duration_s": 1190.0, "checked": False},
    ),
    "changed by −0.9 ± 0.2 N in 71 s, as a zero that drifts does; it was taken off, as the zero taken afterwards says "
    "too: let cell and amplifier warm up": Fact(
        AlignmentFact.ZERO_DRIFT,
        figures={"drift_n": -0.9, "u95_n": 0.21, "duration_s": 71.0, "checked": True},
    ),
    "the zero taken afterwards says a drift of +3.0 N, the repetitions one of 0.4 ± 0.3 N": Fact(
        AlignmentFact.ZERO_DRIFT_DISAGREES, figures={"rests_n": 3.0, "drift_n": 0.4, "u95_n": 0.3}
    ),
    "adds up to about 20 N": Fact(FindingFact.INERTIA, figures={"force_n": 20.0}),
}


@pytest.mark.parametrize(("words", "fact"), EXAMPLES.items())
def test_words_carry_the_figures(words: str, fact: Fact) -> None:
    assert words in describe(fact)


@pytest.mark.parametrize("kind", [ProfileFact.HALF_REPETITIONS_LEFT_OUT, ProfileFact.HALF_REPETITIONS_DIFFER])
def test_a_machine_that_gives_is_not_called_hands(kind: ProfileFact) -> None:
    figures = {"way": "raising", "count": 4, "of": 9, "apart_n": 30.0, "share": 0.1, "split": True}
    places = {"low_rad": 0.1, "high_rad": 0.3}
    words = [describe(Fact(kind, figures={**figures, **places, "gives": gives})) for gives in (False, True)]
    assert "hands" in words[0] or "helped" in words[0]
    assert not any(word in words[1] for word in ("hands", "helped", "resisted"))


def test_a_slow_cell_is_named_before_hands() -> None:
    figures = {"count": 12, "of": 12, "apart_n": 12.0, "share": 0.06, "gives": False, "slow_hz": 10.0}
    words = describe(Fact(ProfileFact.HALF_REPETITIONS_DIFFER, figures=figures))
    assert words.index("a load cell of 10 samples a second") < words.index("hands")
    assert "set it to 40 or more" in words


@pytest.mark.parametrize("place", ["past", "before"])
def test_flex_says_what_play_it_could_hide(place: str) -> None:
    flex = next(fact for fact in EXAMPLES.values() if fact.kind == ComplianceFact.FLEX)
    words = describe(replace(flex, figures={**flex.figures, "place": place}))
    # A gap on the handle's side of the sensor does not move it.
    assert ("Play there would not show here" in words) == (place == "past")
    assert "take the load off, secure the arm" in words
    assert "not touched" not in words


def test_every_kind_has_an_example() -> None:
    assert {str(fact.kind) for fact in EXAMPLES.values()} == {str(kind) for kind in signal.SENTENCES}


@pytest.mark.parametrize("reason", list(NoZero))
def test_why_a_force_is_not_tared(reason: NoZero) -> None:
    figures = {"difference_n": -60.0, "below_n": 60.0, "above_n": 60.0, "where": "start"}
    words = describe(Fact(ZeroFact.NOT_TARED, figures={"reason": reason, **figures}))
    assert words.endswith(
        ": the force is not tared; record a few seconds hands off at the start and mark them"
    )
    assert "nan" not in words


def test_the_two_groups_are_named_with_what_they_leave_in_doubt() -> None:
    assert "the force raising is about 40 N too high there" in describe(
        Fact(ProfileFact.HALF_REPETITIONS_LEFT_OUT, figures=LEFT_OUT)
    )


def test_a_name_that_leads_keeps_its_spelling() -> None:
    fact = Fact(ZeroFact.MACHINE_MOVED, session="row-20kg", stream="cell")
    assert describe_fully(fact) == "row-20kg, cell: the machine moved during the hands-off window."
    assert describe_fully(Fact(ZeroFact.MACHINE_MOVED)).startswith("The machine moved")


def test_every_source_of_the_budget_has_a_name() -> None:
    assert set(BUDGET_LABELS) == set(BudgetSource)
