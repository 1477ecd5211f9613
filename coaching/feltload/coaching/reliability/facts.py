"""What a repeatability study may report."""

from __future__ import annotations

from enum import StrEnum


class RepeatabilityFact(StrEnum):
    """Kinds of facts about a study: what cannot be had of it and why, and how far its numbers may be trusted.

    All have the figures `quantity` and `load_kg` where they concern one of several.
    """

    NOTHING_REPEATED = "study-nothing-repeated"
    """No machine was measured twice: no scatter can be had."""

    ONE_MACHINE = "study-one-machine"
    """`machine` alone was measured: no intraclass correlation and no limits of agreement between occasions."""

    FEW_MACHINES = "study-few-machines"
    """Intraclass correlations of only `machines` machines."""

    ONLY_ONE_WAY = "study-only-one-way"
    """Not every machine has one value at each of the same occasions: forms 2 and 3 of the correlation are missing."""

    MACHINES_LEFT_OUT = "study-machines-left-out"
    """`machines`: those that lack an occasion that others have; the correlations are of the `kept` others."""

    NO_SCATTER = "study-no-scatter"
    """Repeated values are equal to the last digit: nothing can be said of scatter."""

    NOT_POSITIVE = "study-not-positive"
    """A value is zero or below: no coefficient of variation."""

    NO_LIMITS = "study-no-limits"
    """`pairs` pairs of values at `first` and `second`: limits of agreement need three or more."""

    ALIASED = "study-factors-aliased"
    """`factor` cannot be separated from `others`: its scatter is counted with theirs."""

    NEGATIVE_COMPONENT = "study-negative-component"
    """The estimate of `component` is below zero: `variance`; of a whole study for `quantities`, separated by commas."""

    UNBALANCED = "study-unbalanced"
    """Cells differ in their number of values: limits of variance components are approximate."""

    MIXED_MODEL_FAILED = "study-mixed-model-failed"
    """The mixed model found no maximum of its likelihood."""

    PERMUTATIONS_FEW = "study-permutations-few"
    """`arrangements` arrangements of `machines` machines: no difference of curves can reach 5 %."""
