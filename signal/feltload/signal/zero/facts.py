"""What can be found about the zero, sign and range of a force stream."""

from __future__ import annotations

from enum import StrEnum


class ZeroFact(StrEnum):
    """Kinds of facts about the zero, sign and range of a force stream."""

    NOT_TARED = "force-not-tared"
    """No zero was subtracted: `reason` is a `NoZero`, with its own figures."""

    MACHINE_MOVED = "machine-moved-hands-off"
    """The machine moved during the hands-off window."""

    FORCE_WANDERS = "force-wanders-hands-off"
    """The force wanders during the hands-off window as if something were held."""

    REST_BELOW_ZERO = "rest-below-zero"
    """At rest on the stop the force is `below_n` below the zero."""

    DRIFTED = "zero-drifted"
    """Zero at the end minus zero at the start: `drift_n`; a straight line was subtracted."""

    UNMARKED = "zero-unmarked"
    """The zero was not marked; it is from the level stretches at `where`: "start", "end" or "both"."""

    PULLS_OTHER_WAY = "handle-pulls-other-way"
    """The force goes `above_n` below its level at rest."""

    AT_LIMIT = "force-at-limit"
    """Samples at the end of the sensor's range, left out: `count`."""

    REVERSED = "force-sign-doubtful"
    """Part of the movement in which the force is below zero: `share`."""


class NoZero(StrEnum):
    """Why a force stream was not tared."""

    TOO_SHORT = "too-short"
    WINDOWS_DIFFER = "windows-differ"
    """The two hands-off windows differ by `difference_n` (last minus first)."""
    REST_FAR_BELOW = "rest-far-below"
    """At rest on the stop the force is `below_n` below that of the marked window."""
    NO_WINDOW = "no-window"
    WANDERS = "wanders"
    RESTS_DIFFER = "rests-differ"
    """The force at rest is `difference_n` higher at the end than at the start."""
    FALLS_NEAR_STOP = "falls-near-stop"
    """The force falls `below_n` below its level at rest close to the stop."""
    REST_ABOVE_LOWEST = "rest-above-lowest"
    """The force at rest at `where` is `above_n` above the lowest."""
