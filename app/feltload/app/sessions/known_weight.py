"""The step of a guided recording in which one known weight hangs on the cell."""

from __future__ import annotations

import math
from collections.abc import Callable

from feltload.acquisition import RecordingStatus

HANG_S = 3.0
KEY = "f"


class KnownWeight:
    """Asks for the weight after the hands-off rest, and marks the time for which it hangs still.

    Parameters
    ----------
    weight : str
        As it was stated, such as "10 kg".
    """

    def __init__(self, weight: str) -> None:
        self.weight = weight
        self._pressed = False
        self._begun_s: float | None = None

    def press(self, mark: Callable[[], None]) -> None:
        """The weight hangs still: mark it; once."""
        if not self._pressed:
            self._pressed = True
            mark()

    def ask(self, status: RecordingStatus) -> str | None:
        """What to do now; None before and after this step."""
        if status.phase != "recording":
            return None
        if not self._pressed:
            return f"Hang {self.weight} on the cell, wait until it is still, hands off, then press {KEY}."
        if self._begun_s is None:
            self._begun_s = status.elapsed_s
        left = HANG_S - (status.elapsed_s - self._begun_s)
        if left > 0:
            return f"Leave {self.weight} hanging still: {math.ceil(left)} s."
        if left > -HANG_S:
            return f"Take {self.weight} off again, and keep clear of the machine's path."
        return None
