"""Writes a recording on a thread of its own, and tells when the disk takes no more."""

from __future__ import annotations

import asyncio
import errno
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Self, TypeVar

from feltload.acquisition.errors import RecordingError
from feltload.acquisition.recording.info import RecordingInfo
from feltload.acquisition.recording.writer import RecordingWriter
from feltload.acquisition.wire.health import StreamHealth
from feltload.core import FeltloadError

Result = TypeVar("Result")


@dataclass(frozen=True)
class MarkRecord:
    """A mark to be written."""

    kind: str
    host_ns: int
    text: str
    until_ns: int | None


@dataclass(frozen=True)
class MessageRecord:
    """A message to be written to a channel."""

    channel: str
    host_ns: int
    data: bytes


class WriterThread:
    """Writes on a thread of its own: a stalled disk must not stall the reading of the sensors."""

    def __init__(self, path: Path, info: RecordingInfo, *, start_ns: int, overwrite: bool) -> None:
        self._path = path
        self._info = info
        self._start_ns = start_ns
        self._overwrite = overwrite
        self._executor = ThreadPoolExecutor(1, thread_name_prefix="recording")
        self._writer: RecordingWriter | None = None
        self.fault: FeltloadError | None = None

    async def __aenter__(self) -> Self:
        try:
            self._writer = await self._call(
                lambda: RecordingWriter(
                    self._path, self._info, start_ns=self._start_ns, overwrite=self._overwrite
                )
            )
        except OSError as error:
            self._executor.shutdown()
            raise RecordingError(
                f"the recording cannot be made ({error.strerror or error})",
                where=str(self._path),
                remedy="make room on the disk, or choose a folder that you may write to",
            ) from error
        except BaseException:
            self._executor.shutdown()
            raise
        return self

    async def __aexit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        writer = self._writer
        if writer is not None:
            # A second interrupt must not keep the file from being closed.
            self.fault = self.fault or await asyncio.shield(self._guarded(writer.close))
        self._executor.shutdown()

    @property
    def path(self) -> Path:
        """Where the recording is, once it has been closed."""
        return self._path if self._writer is None else self._writer.path

    async def write(self, batch: list[MessageRecord | MarkRecord]) -> FeltloadError | None:
        """Write a batch, which may be empty; gives the fault if the disk takes no more."""
        writer = self._writer
        if writer is None:
            raise RuntimeError("a WriterThread is used inside `async with`")

        def work() -> None:
            for item in batch:
                if isinstance(item, MarkRecord):
                    writer.mark(item.kind, item.host_ns, item.text, until_ns=item.until_ns)
                else:
                    writer.write(item.channel, item.host_ns, item.data)
            writer.flush_if_due()

        return await self._guarded(work)

    async def health(self, healths: tuple[StreamHealth, ...]) -> FeltloadError | None:
        """Store what the recorder counted."""
        writer = self._writer
        if writer is None:
            raise RuntimeError("a WriterThread is used inside `async with`")
        return await self._guarded(lambda: writer.health(healths))

    async def _guarded(self, work: Callable[[], object]) -> FeltloadError | None:
        try:
            await self._call(work)
        except RecordingError as error:
            self.fault = error
        except OSError as error:
            full = error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
            self.fault = RecordingError(
                "the disk is full" if full else f"the disk takes no more ({error.strerror or error})",
                where=str(self._path),
                remedy="everything before is in the file; make room and record on in a new one",
            )
        return self.fault

    async def _call(self, work: Callable[[], Result]) -> Result:
        return await asyncio.get_running_loop().run_in_executor(self._executor, work)
