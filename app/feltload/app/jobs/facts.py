"""What the jobs of this layer report about their inputs."""

from __future__ import annotations

from enum import StrEnum


class InputFact(StrEnum):
    """What is worth knowing about the files that a result is made from."""

    CERTIFICATE_EXPIRED = "certificate-had-expired"
    """Certificate of `serial`, `expired_on` a day before `recorded_on`; it was accepted on purpose."""

    MACHINE_REPLACED = "machine-file-replaced"
    """The machine is as `file` describes it, in place of the description in the recordings."""

    OTHER_NAME = "machine-of-another-name"
    """The recordings are of the machine `recorded`; the file that they are compared with describes `described`."""


class ComparisonFact(StrEnum):
    """What counts as common to two compared results, and what does not."""

    SAME_MACHINE_FILE = "machine-file-shared"
    OTHER_MACHINE_FILES = "machine-files-differ"
    SAME_CERTIFICATE = "cell-certificate-shared"
    OTHER_CERTIFICATES = "cell-certificates-differ"

    NO_COMMON_CERTIFICATE = "cell-certificate-missing"
    """A load cell of one of the two has no certificate."""

    SAME_RECORDINGS = "recordings-shared"
    """`recordings`: names of those that both results rest on."""

    REST_INDEPENDENT = "rest-independent"

    OTHER_SIDES = "sides-of-machine-differ"
    """They are of different arms: cell, sensor and start angle are each one's own."""

    OTHER_TRAVELS = "travels-differ"
    """Positions are parts of each machine's own measured travel."""

    SCALED = "forces-scaled"
    """Each force is a part of its own `by`: "mean" or "peak"."""

    PREDICTED = "one-is-predicted"
    """One of the two at least is a prediction: its dimensions are independent of everything."""
