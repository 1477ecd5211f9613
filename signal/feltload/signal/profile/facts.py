"""What can be found about a profile: what is wrong with it, and what it says."""

from __future__ import annotations

from enum import StrEnum


class ProfileFact(StrEnum):
    """Kinds of facts that qualify a profile. Those about one of several loads carry `load_kg`."""

    NOT_COVERED = "angles-not-covered"
    """Angles inside the travel without both directions: `low_rad`, `high_rad` of each stretch."""

    PARTLY_COVERED = "angles-partly-covered"
    """Angles at the ends that are left out: `low_rad`, `high_rad` of each stretch."""

    COVERED_ONCE = "angles-covered-once"
    """Angles with a single half-repetition one way: `low_rad`, `high_rad` of each stretch."""

    HALF_REPETITIONS_LEFT_OUT = "half-repetitions-left-out"
    """`count` of `of` half-repetitions (`way`: "raising", "lowering") differ by `apart_n` from `low_rad` to `high_rad`;
    `split` where there are enough of them that the larger group need not be the machine alone; `gives` here and below
    where the machine has play or bends, `slow_hz` where the load cell samples too seldom, which do so too."""

    HALF_REPETITIONS_DIFFER = "half-repetitions-differ"
    """`count` of `of` half-repetitions differ from the fit of them all, typically by `apart_n`, `share` of the peak:
    none is known to be the machine's alone."""

    SCATTER = "force-scatters"
    """Scatter of the force about the fit: `scatter_n`, and as a part of the peak, `share`."""

    NOT_FITTED = "data-not-fitted"
    """Part of the moving data that did not fit and was left out: `share`."""

    NEGATIVE_FRICTION = "friction-negative"
    """Smallest friction: `friction_n`."""

    NEGATIVE_FORCE = "force-mostly-negative"
    """The static force is mostly below zero."""

    LIGHTER_WITH_LOAD = "lighter-with-more-load"
    """The handle asks for `difference_n` less with `heavy_kg` than with `light_kg`; `swapped` where the felt inertia is
    less too, which no machine's can be."""

    FIELD_CHECK_DISAGREES = "field-check-disagrees"
    """A known weight, `weight`, that hung on the cell does not agree with its certificate."""

    HOLDS_SEEN = "holds-seen"
    """Holds against a still arm besides the repetitions: `count`."""


class FindingFact(StrEnum):
    """Kinds of findings: what a profile says. Each carries `load_kg`."""

    SHAPE = "profile-shape"
    """`shape`: class of the curve."""

    HEAVIEST = "profile-heaviest"
    """`force_n` with `u95_n` at `angle_rad`."""

    LIGHTEST = "profile-lightest"
    """`force_n` at `angle_rad`."""

    DROP_OFF = "profile-drop-off"
    """From its peak the force falls by `share` of it, to `end_n` at the end of the travel."""

    FRICTION = "profile-friction"
    """Mean friction `force_n` (with `u95_n` where it is known), and as a part of the static force, `share`."""

    TIGHT_SPOT = "profile-tight-spot"
    """Friction stands out at `angle_rad` (half of it from `low_rad` to `high_rad`): `force_n` with `u95_n`, which is
    `excess_n` with `excess_u95_n` more than the course of the rest; `rest_n` is the mean of the rest."""

    FRICTION_BY_LOAD = "profile-friction-by-load"
    """Friction is `steady_n` (with `steady_u95_n`) whatever the load, and `per_kg_n` (with `per_kg_u95_n`) more for
    every kilogram, mean over the travel; `grows` where that is more than nothing."""

    FRICTION_NOT_PARTED = "profile-friction-not-parted"
    """The loads measured, `loads_kg`, do not tell which part of the friction grows with the load."""

    INERTIA = "profile-inertia"
    """What starting the movement adds at the tempo used: `force_n`."""
