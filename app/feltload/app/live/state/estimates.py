"""When the estimator is asked while something is recorded: after each way back, and once the file is closed."""

from __future__ import annotations

import asyncio
from contextlib import suppress
from pathlib import Path

from feltload.app.errors import AppError
from feltload.app.live.estimating.jobs import Assess
from feltload.app.live.estimating.worker import Worker
from feltload.app.live.state.keeper import StateKeeper
from feltload.app.running.state import LivePhase

LOOK_EVERY_S = 0.1
ON_DISK_AFTER_S = 1.0
"""What arrived is in the file by then."""
FEWEST_PASSES = 2


class Estimates:
    """Keeps `ArmState.enough` up to date for a recording of a machine.

    Parameters
    ----------
    keeper : StateKeeper
    worker : Worker
    growing : Path
        The recording that is made or replayed.
    earlier : tuple of Path
        Whole recordings of the same machine, with other loads.
    """

    def __init__(
        self, keeper: StateKeeper, worker: Worker, growing: Path, earlier: tuple[Path, ...] = ()
    ) -> None:
        self._keeper, self._worker, self._growing, self._earlier = keeper, worker, growing, earlier
        self._asked: tuple[int, bool] = (0, False)

    async def run(self) -> None:
        """Ask until the recording is over and the last answer is there."""
        while True:
            await asyncio.sleep(LOOK_EVERY_S)
            over = self._keeper.state.is_over
            seen = sum(len(arm.passes) for arm in self._keeper.state.arms), over
            if seen != self._asked and seen[0] >= FEWEST_PASSES:
                if not over:
                    await asyncio.sleep(ON_DISK_AFTER_S)
                    over = self._keeper.state.is_over
                    seen = sum(len(arm.passes) for arm in self._keeper.state.arms), over
                self._asked = seen
                await self._ask()
            if over:
                return

    async def _ask(self) -> None:
        state = self._keeper.state
        if state.phase is LivePhase.FAILED and not state.path:
            return
        sides = tuple(arm.side if len(state.arms) > 1 else None for arm in state.arms)
        job = Assess(self._earlier, self._growing, self._keeper.heard_ns, sides)
        # A file that cannot be read says so when the result is made.
        with suppress(AppError):
            self._keeper.assess(await self._worker.assess(job))
