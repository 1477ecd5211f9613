"""What a comparison with the machine file finds about the recordings themselves, as kinds of facts."""

from __future__ import annotations

from enum import StrEnum


class AgreementFact(StrEnum):
    """What speaks against a recording, by the machine file."""

    LOAD_LOOKS_LIKE = "load-looks-like"
    """`looks_like_kg` with `u95_kg` was on the machine, not `stated_kg`; `tied`: dimensions whose change would explain
    it as well; `explained`: whether that load explains all of the difference."""

    UNIT_LOOKS_WRONG = "force-unit-looks-wrong"
    """All forces are `ratio` times those of the machine file, as if `taken` had been `meant`."""

    FILE_DIFFERS = "machine-file-differs"
    """The force differs from the machine file's by as much as `difference_n` (at `angle_rad` with `load_kg`); `cause`:
    kind of what explains it, `names`: its dimensions or kind, `tied`: others that would, `explained`: whether any;
    `force_differs`: a single position does, `inertia_ratio`: felt inertia over the file's, where known."""

    START_ANGLE_SLIP = "start-angle-slip"
    """The sensor sits `sensor_rad` above the horizontal on the start stop, seen from the hinge, where the machine file
    starts at `stated_rad`; read with the other sign or from the other side (`slip`) it would be `meant_rad`."""

    UNLIKE_MACHINE = "unlike-machine-file"
    """No plausible change of loads or dimensions brings the force near the machine file, from which it differs by as
    much as `difference_n` (at `angle_rad` with `load_kg`); `inertia_ratio`: felt inertia over the file's,
    `other_inertia`: whether that is too far off for hands."""
