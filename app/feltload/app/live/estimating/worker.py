"""The estimator's worker, for whoever asks it: one job after the other, the newest assessment first."""

from __future__ import annotations

import asyncio
import subprocess
import sys
import threading
from contextlib import suppress
from pathlib import Path

from feltload.app.errors import AppError
from feltload.app.live.estimating.jobs import (
    ANSWERS,
    JOBS,
    Answer,
    Assess,
    Assessed,
    Job,
    MakeResult,
    NotDone,
    ResultMade,
)
from feltload.app.running.enough import Enough

MODULE = "feltload.app.live.estimating"


class Worker:
    """The estimator in a process of its own, which starts now and ends with `close`."""

    def __init__(self) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", MODULE],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        )
        self._free = asyncio.Lock()
        threading.Thread(target=self._process.wait, name="worker-ends", daemon=True).start()

    async def assess(self, job: Assess) -> tuple[Enough, ...]:
        """Whether recordings suffice so far, an answer for each of the job's sides.

        Raises
        ------
        AppError
            If the recording cannot be read, or the worker is gone.
        """
        answer = await self._ask(job)
        if not isinstance(answer, Assessed):
            raise RuntimeError("an assessment is answered by one")
        return answer.enough

    async def make_result(
        self, recordings: tuple[Path, ...], directory: Path, *, side: str | None = None
    ) -> ResultMade:
        """Measure whole recordings and write the folder of the result.

        Raises
        ------
        AppError
            One line that says why there is none.
        """
        answer = await self._ask(MakeResult(recordings, directory, side))
        if not isinstance(answer, ResultMade):
            raise RuntimeError("a result is answered by one")
        return answer

    async def close(self) -> None:
        """End the process."""
        self._process.kill()
        await asyncio.to_thread(self._process.wait)
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                with suppress(OSError):
                    pipe.close()

    async def _ask(self, job: Job) -> Answer:
        async with self._free:
            answer = await asyncio.to_thread(self._answer, job)
        if isinstance(answer, NotDone):
            raise answer.trouble.error()
        return answer

    def _answer(self, job: Job) -> Answer:
        if self._process.stdin is None or self._process.stdout is None:
            raise RuntimeError("a process with pipes has them")
        try:
            self._process.stdin.write(JOBS.dump_json(job) + b"\n")
            self._process.stdin.flush()
            return ANSWERS.validate_json(self._process.stdout.readline())
        except (OSError, ValueError):
            raise AppError(
                "the estimator stopped", remedy="the recording is whole; `feltload profile` says why"
            ) from None
