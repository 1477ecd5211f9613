"""A guided load-cell calibration, step by step: what to hang, when its reading may be taken, what looks wrong.

No input or output here: the caller says what `ForceSession.step` asks for, feeds readings with their times, takes
the reading once it is stable, and keeps it (`feltload.calibration.force.readings_rows`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from feltload.calibration.errors import ReadingsError
from feltload.calibration.force.plan import LoadStep
from feltload.calibration.force.steadiness import WINDOW_S, Steadiness, judge
from feltload.core import Fact

_TOLERANCE_OF_DEFLECTION: Final = 2e-4
"""Drift and swing below a fifth of ISO 376 class 1 repeatability (0.1 %) do not decide a class."""
_DOUBT_OF_LOAD: Final = 0.03
"""A load this far off the line through those before it is another weight than the one named."""
_LONG_WAIT_S: Final = 30.0


class ForceSessionFact(StrEnum):
    """Why a stable reading does not look like the weight that was asked for."""

    NOT_FELT = "weight-not-felt"
    ANOTHER_WEIGHT = "another-weight-felt"


@dataclass(frozen=True)
class TakenReading:
    """One reading that was taken at a step.

    Attributes
    ----------
    step : LoadStep
    reading : float
        Mean of the stable window.
    spread : float
        Standard deviation of single readings in it.
    samples : int
    time_s : float
        End of the window on the caller's clock.
    """

    step: LoadStep
    reading: float
    spread: float
    samples: int
    time_s: float


@dataclass(frozen=True)
class Progress:
    """How the current step stands.

    Attributes
    ----------
    steadiness : Steadiness
        Whether the readings are still.
    window_s : float
        Time over which that is judged.
    waited_long : bool
        The load has been on for much longer than it takes to settle.
    doubt : Fact or None
        Why the stable reading does not look like the weight that was asked for, a `ForceSessionFact`.
    """

    steadiness: Steadiness
    window_s: float
    waited_long: bool
    doubt: Fact | None

    @property
    def stable(self) -> bool:
        """The reading may be taken."""
        return self.steadiness.state == "stable"


class ForceSession:
    """State of a guided calibration.

    Parameters
    ----------
    steps : sequence of LoadStep
    taken : sequence of TakenReading
        Readings of an earlier part of the same session; must follow the steps from the first.
    window_s : float
        How long readings must be still; two swings of the weight or more.

    Attributes
    ----------
    taken : list of TakenReading
    """

    def __init__(
        self, steps: Sequence[LoadStep], taken: Sequence[TakenReading] = (), *, window_s: float = WINDOW_S
    ) -> None:
        if not 0.5 <= window_s <= 60.0:
            raise ReadingsError(
                f"a reading cannot be judged over {window_s:g} s", remedy="take 0.5 to 60 s; 3 s is usual"
            )
        self._window_s = window_s
        self.steps = tuple(steps)
        self.taken = list(taken)
        for i, (done, step) in enumerate(zip(self.taken, self.steps, strict=False), start=1):
            if (done.step.series, done.step.direction) != (step.series, step.direction) or not math.isclose(
                done.step.mass_kg, step.mass_kg, rel_tol=1e-9
            ):
                raise ReadingsError(
                    f"reading {i} on file is not the step planned there: series {step.series}, {step.direction}, "
                    f"{step.mass_kg:g} kg",
                    remedy="plan the same weights and series again, or begin a new readings file",
                )
        if len(self.taken) > len(self.steps):
            raise ReadingsError(
                f"{len(self.taken)} readings on file, {len(self.steps)} steps planned",
                remedy="plan the same weights and series again, or begin a new readings file",
            )
        self.begin()

    @property
    def step(self) -> LoadStep | None:
        """The step to do now; None when all are done."""
        return self.steps[len(self.taken)] if len(self.taken) < len(self.steps) else None

    @property
    def turn_to_deg(self) -> float | None:
        """Where the cell must be turned before the step; None where it stays as it is."""
        if self.step is None:
            return None
        before = self.taken[-1].step.position_deg if self.taken else None
        return self.step.position_deg if self.step.position_deg != before else None

    def begin(self) -> None:
        """Forget readings of the current step: the load is on from now."""
        self._time: list[float] = []
        self._reading: list[float] = []

    def feed(self, time_s: ArrayLike, reading: ArrayLike) -> Progress:
        """Add readings of the current step and say how it stands.

        Parameters
        ----------
        time_s, reading : array_like (n,)
            New readings only, in order.
        """
        self._time += np.asarray(time_s, dtype=float).tolist()
        self._reading += np.asarray(reading, dtype=float).tolist()
        now = self._judge()
        waited = self._time[-1] - self._time[0] if self._time else 0.0
        doubt = self._doubt(now.mean) if now.state == "stable" else None
        return Progress(now, self._window_s, waited > _LONG_WAIT_S, doubt)

    def can_take(self, *, although_moving: bool = False) -> bool:
        """Whether there is a reading to take: a stable one, or any full window `although_moving`."""
        state = self._judge().state
        return state == "stable" or (although_moving and state != "waiting")

    def take(self, *, although_moving: bool = False) -> TakenReading:
        """Take the reading of the current step and go on to the next.

        Parameters
        ----------
        although_moving : bool
            Accept a reading that drifts or is unstable; its scatter then shows in the certificate.

        Raises
        ------
        ReadingsError
            Nothing stable to take, or all steps are done.
        """
        step = self.step
        if step is None or not self.can_take(although_moving=although_moving):
            raise ReadingsError(
                "all readings are taken" if step is None else "the reading is not stable",
                remedy="wait until the weight hangs still",
            )
        now = self._judge()
        reading = TakenReading(step, now.mean, now.spread, now.samples, self._time[-1])
        self.taken.append(reading)
        self.begin()
        return reading

    def _judge(self) -> Steadiness:
        return judge(self._time, self._reading, tolerance=self._tolerance(), window_s=self._window_s)

    def _zero(self) -> float | None:
        empty = [item.reading for item in self.taken if item.step.mass is None]
        return empty[-1] if empty else None

    def _tolerance(self) -> float:
        """A part of the deflection; before any is known, what the noise alone leaves open."""
        zero = self._zero()
        if zero is None or not self._reading:
            return 0.0
        here = abs(float(np.median(self._reading[-50:])) - zero)
        if self.step is None or self.step.mass is not None:
            return _TOLERANCE_OF_DEFLECTION * here
        # The empty cell has no deflection of its own: a part of the largest.
        seen = [abs(item.reading - zero) for item in self.taken if item.step.mass is not None]
        return _TOLERANCE_OF_DEFLECTION * max(seen, default=0.0)

    def _doubt(self, mean: float) -> Fact | None:
        """Compare with the line through what was taken before."""
        zero, step = self._zero(), self.step
        loaded = [item for item in self.taken if item.step.mass is not None]
        if zero is None or step is None:
            return None
        if not loaded:
            stirred = 5 * max(item.spread for item in self.taken)
            if step.mass is not None and abs(mean - zero) <= stirred:
                return Fact(ForceSessionFact.NOT_FELT, figures={"asked": step.mass.text})
            return None
        heaviest = max(loaded, key=lambda item: item.step.mass_kg)
        per_kg = (heaviest.reading - zero) / heaviest.step.mass_kg
        seems = (mean - zero) / per_kg
        if abs(seems - step.mass_kg) <= _DOUBT_OF_LOAD * max(step.mass_kg, 0.1 * heaviest.step.mass_kg):
            return None
        asked = "" if step.mass is None else step.mass.text
        return Fact(ForceSessionFact.ANOTHER_WEIGHT, figures={"seems_kg": seems, "asked": asked})
