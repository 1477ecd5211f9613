"""What is shaded in the figures of a prediction."""

from __future__ import annotations

from typing import Final

PROFILE_BAND: Final = (
    "where the force lies in 95 % of machines that are built as the file says, every dimension as uncertain as stated "
    "there"
)
FRICTION_BAND: Final = "how far the machine file or the stated range leaves it open (95 %)"
