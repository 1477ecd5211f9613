"""What a profile says and what puts it in doubt, and the names of what its band is made of."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from feltload.app.text.common import Sentence, numbers_in
from feltload.app.text.numbers import force_text, force_with_band, listed, load_text, number, short_force
from feltload.app.text.position import describe_fact_position, describe_fact_stretches
from feltload.core import Fact
from feltload.signal import BudgetItem, BudgetSource, ComplianceFact, FindingFact, ProfileFact, StopsFact

BUDGET_LABELS: Mapping[BudgetSource, str] = {
    BudgetSource.REPEATABILITY: "repeatability and noise",
    BudgetSource.FORCE_GAIN: "force calibration gain",
    BudgetSource.LINE_OF_PULL: "line of pull",
    BudgetSource.START_ANGLE: "start angle",
    BudgetSource.FORCE_ZERO: "force zero",
    BudgetSource.ZERO_DRIFT: "drift of the zero",
    BudgetSource.ANGLE_SCALE: "lever angle, scale",
    BudgetSource.ANGLE_START_STOP: "lever angle, start stop",
    BudgetSource.ANGLE_SHAPE: "lever angle, shape",
    BudgetSource.LAG: "lag",
    BudgetSource.LOAD_MASS: "load mass",
    BudgetSource.SCALE_RESOLUTION: "resolution of the scale",
    BudgetSource.POSITION_READING: "position read by eye",
    BudgetSource.BETWEEN_STOPS: "curve between the stops",
    BudgetSource.FRICTION: "friction, not separated",
    BudgetSource.DIMENSION: "dimension",
    BudgetSource.GRAVITY: "gravity",
}
"""What a source of uncertainty is called."""


def budget_label(item: BudgetItem) -> str:
    """What one source is called: of the machine file, the dimension itself."""
    dimension = item.figures.get("dimension")
    if item.source is not BudgetSource.DIMENSION or dimension is None:
        return BUDGET_LABELS[item.source]
    return str(dimension).replace(".", " ").replace("_", " ")


SHAPES: Mapping[str, str] = {
    "ascending": "gets heavier through the travel (ascending)",
    "descending": "gets lighter through the travel (descending)",
    "ascending-descending": "is heaviest in the middle and lighter at both ends (ascending-descending)",
    "descending-ascending": "is lightest in the middle and heavier at both ends (descending-ascending)",
    "flat": "is about the same throughout (flat)",
}
"""What a machine with a curve of this class does."""


def _at_load(fact: Fact) -> str:
    return f" at {load_text(fact.figure('load_kg'))}" if "load_kg" in fact.figures else ""


def _friction(fact: Fact) -> str:
    """Mean friction or that of a place, with its band where it is known."""
    force_n = fact.figure("force_n")
    return force_with_band(force_n, fact.figure("u95_n")) if "u95_n" in fact.figures else short_force(force_n)


def _by_load(fact: Fact) -> str:
    step_kg = 10.0
    adds_n, u95_n = (step_kg * fact.figure(name) for name in ("per_kg_n", "per_kg_u95_n"))
    steady = force_with_band(fact.figure("steady_n"), fact.figure("steady_u95_n"))
    if fact.figures["grows"]:
        return (
            f"Of the friction, {steady} is there whatever the load; every {load_text(step_kg)} adds "
            f"{force_with_band(adds_n, u95_n)}."
        )
    return (
        f"Friction does not grow with the load as far as measured: {steady} whatever the load; {load_text(step_kg)} "
        f"add {short_force(max(adds_n + u95_n, 0.0))} at most."
    )


def _left_out(fact: Fact) -> str:
    way, apart_n = fact.figures["way"], fact.figure("apart_n")
    apart = short_force(abs(apart_n))
    why = "the machine gives, which parts them so" if fact.figures.get("gives") else "a partner's hands?"
    if "slow_hz" in fact.figures:
        why = f"the load cell sends {fact.figure('slow_hz'):.0f} samples a second, or a partner's hands?"
    words = (
        f"{way}{_at_load(fact)}: {fact.figures['count']} of {fact.figures['of']} half-repetitions felt about {apart} "
        f"{'less' if apart_n < 0 else 'more'} than the others, within "
        f"{describe_fact_stretches(fact)} ({why}), and were left out there"
    )
    if fact.figures["split"] and not fact.figures.get("gives"):
        words += (
            "; they fall into two groups and the profile follows the larger: if those were the helped or resisted "
            f"ones, the force {way} is about {apart} too {'high' if apart_n < 0 else 'low'} there"
        )
    return words


def _differ(fact: Fact) -> str:
    words = (
        f"{fact.figures['count']} of {fact.figures['of']} half-repetitions differ from their profile by about "
        f"{short_force(fact.figure('apart_n'))} ({100 * fact.figure('share'):.0f} % of the peak), which "
    )
    if fact.figures.get("gives"):
        return f"{words}a joint that gives can do: repair it, and record again with even repetitions"
    if "slow_hz" in fact.figures:
        return (
            f"{words}a load cell of {fact.figure('slow_hz'):.0f} samples a second does, since the force changes faster "
            "at grips and turns: set it to 40 or more and record again; if hands helped or resisted, this is no "
            "profile of the machine"
        )
    return (
        f"{words}no machine does by itself: if hands helped or resisted, this is no profile of the machine; else check "
        "cell, cable and mounting, and record again"
    )


def _lighter_with_load(fact: Fact) -> str:
    light, heavy = (load_text(fact.figure(name)) for name in ("light_kg", "heavy_kg"))
    less = short_force(abs(fact.figure("difference_n")))
    words = f"with {heavy} the handle asks for {less} less than with {light} on average"
    if fact.figures["swapped"]:
        return (
            f"{words}, and the felt inertia is less too: the loads of the recordings look swapped; check which plates "
            "were on it in which recording; every figure for a load is wrong until then"
        )
    return f"{words}: right only on a machine whose weights help the person, otherwise the loads were swapped"


def _turn(fact: Fact, name: str) -> str:
    return f"{number(float(np.degrees(fact.figure(name))), '.2f')}°"


def _play(fact: Fact) -> str:
    way = f" ({1e3 * fact.figure('handle_m'):.0f} mm of its way)" if "handle_m" in fact.figures else ""
    return (
        f"the handle moves {_turn(fact, 'play_rad')} ± {_turn(fact, 'u95_rad')}{way} before the arm follows, a joint "
        "between them has play. Take the load off, secure the arm, and look at bushings, bolts and keys. The profile "
        "counts its angle from where the arm follows"
    )


def _flex(fact: Fact) -> str:
    words = (
        f"the machine bends: it rings at {fact.figure('frequency_hz'):.1f} ± {fact.figure('u95_hz'):.1f} Hz (damping "
        f"{100 * fact.figure('damping'):.0f} %) after starts and knocks, and its handle gives by about "
        f"{_turn(fact, 'wind_up_rad')} where it is heaviest"
    )
    if fact.figures["place"] == "before":
        return (
            f"{words}; the profile is that of the arm behind what bends. If it did not do so before, take the load "
            "off, secure the arm, and look for a loose bolt or a crack"
        )
    # Play there rings as well, and only a second sensor would tell the two apart.
    return (
        f"{words}. As far as seen that lies between handle and inertial sensor: the profile is that of the part the "
        "sensor is on. Play there would not show here: take the load off, secure the arm, and feel for it by hand; if "
        "the machine did not ring so before, look for a loose bolt or a crack as well"
    )


SENTENCES: Mapping[str, Sentence] = {
    ComplianceFact.PLAY: _play,
    ComplianceFact.FLEX: _flex,
    ProfileFact.NOT_COVERED: lambda fact: (
        f"not covered both ways{_at_load(fact)}: {describe_fact_stretches(fact)}; no profile is given there"
    ),
    ProfileFact.PARTLY_COVERED: lambda fact: (
        f"only partly covered{_at_load(fact)}: {describe_fact_stretches(fact)} left out of the profile"
    ),
    ProfileFact.COVERED_ONCE: lambda fact: (
        f"passed only once one way{_at_load(fact)}: {describe_fact_stretches(fact)}; the band is wider there"
    ),
    ProfileFact.HALF_REPETITIONS_LEFT_OUT: _left_out,
    ProfileFact.HALF_REPETITIONS_DIFFER: _differ,
    ProfileFact.LIGHTER_WITH_LOAD: _lighter_with_load,
    ProfileFact.SCATTER: lambda fact: (
        f"the force scatters by {short_force(fact.figure('scatter_n'))} about the fit "
        f"({100 * fact.figure('share'):.0f} % of the peak): check the sensors' mounting"
    ),
    ProfileFact.NOT_FITTED: lambda fact: (
        f"{100 * fact.figure('share'):.0f} % of the moving data did not fit and was left out ("
        f"{'blows of what gives, ' if fact.figures.get('gives') else ''}knocks, hands off the handle, help or gaps)"
    ),
    ProfileFact.NEGATIVE_FRICTION: lambda fact: (
        "friction comes out negative: the arm was driven, or the lag between the sensors is wrong"
    ),
    ProfileFact.NEGATIVE_FORCE: lambda fact: "the force is mostly negative: check the sign of the load cell",
    ProfileFact.FIELD_CHECK_DISAGREES: lambda fact: (
        f"the field check with {fact.figures['weight']} does not agree with the certificate, so its forces are in "
        "doubt; check cell, cable and settings, and calibrate again"
    ),
    ProfileFact.HOLDS_SEEN: lambda fact: (
        f"{fact.figures['count']} holds against a still arm were seen; the profile is of the repetitions alone"
    ),
    StopsFact.BY_HAND: lambda fact: (
        f"read by hand at {fact.figures['stops']} stops ({fact.figures['readings']} readings): the machine at rest "
        "alone, nothing of what starting, turning or a tempo adds; between the stops the curve is drawn smooth"
    ),
    StopsFact.FRICTION_NOT_SEPARATED: lambda fact: (
        f"friction is not separated from the force{_at_load(fact)}, and {100 * fact.figure('share'):.0f} % of "
        "the force was assumed for it in the band: read each stop while raising slowly and while lowering slowly, and "
        "note which"
    ),
    StopsFact.WIDE_GAP: lambda fact: (
        f"no stop{_at_load(fact)} from {100 * fact.figure('low_share'):.0f} to {100 * fact.figure('high_share'):.0f} % "
        "of the turn between the first and the last one: a narrow peak or dip there would not show; add stops there"
    ),
    StopsFact.READING_OFF: lambda fact: (
        f"the reading in row {fact.figures['row']} of the table is {short_force(abs(fact.figure('apart_n')))} "
        f"{'above' if fact.figure('apart_n') > 0 else 'below'} the curve of the others{_at_load(fact)}: see whether it "
        "was written down right, and read that stop again"
    ),
    StopsFact.WAYS_SWAPPED: lambda fact: (
        f"readings while lowering are {short_force(fact.figure('apart_n'))} above those while raising{_at_load(fact)}, "
        "which friction cannot do: the two were swapped, or the arm did not creep the way that was noted"
    ),
    FindingFact.SHAPE: lambda fact: (
        f"With {load_text(fact.figure('load_kg'))} the machine {SHAPES[str(fact.figures['shape'])]}."
    ),
    FindingFact.HEAVIEST: lambda fact: (
        f"It is heaviest at {describe_fact_position(fact)}: {force_text(fact.figure('force_n'))}, give or take "
        f"{short_force(fact.figure('u95_n'))}."
    ),
    FindingFact.LIGHTEST: lambda fact: (
        f"It is lightest at {describe_fact_position(fact)}: {force_text(fact.figure('force_n'))}."
    ),
    FindingFact.DROP_OFF: lambda fact: (
        f"From its peak it drops off by {100 * fact.figure('share'):.0f} % to {force_text(fact.figure('end_n'))} at "
        "the end of the travel."
    ),
    FindingFact.FRICTION: lambda fact: (
        f"Friction is {100 * fact.figure('share'):.0f} % of the force: it feels {_friction(fact)} heavier raising, and "
        "as much lighter lowering."
    ),
    FindingFact.TIGHT_SPOT: lambda fact: (
        f"Friction stands out at {describe_fact_position(fact)}: {_friction(fact)} there, about "
        f"{short_force(fact.figure('rest_n'))} elsewhere. Take the load off, secure the arm, and look at what slides, "
        "turns or touches there (rail, bearing, guide, cable); then measure again."
    ),
    FindingFact.FRICTION_BY_LOAD: _by_load,
    FindingFact.FRICTION_NOT_PARTED: lambda fact: (
        (
            "With one load it cannot be determined"
            if len(numbers_in(fact, "loads_kg")) < 2
            else f"{listed([load_text(load) for load in numbers_in(fact, 'loads_kg')])} lie too close together to say"
        )
        + " how much of the friction grows with the load: record a much lighter or heavier one as well."
    ),
    FindingFact.INERTIA: lambda fact: (
        f"At the tempo used, starting the movement adds up to about {force_text(fact.figure('force_n'))} for a moment."
    ),
}
"""Kind -> what is said of it."""
