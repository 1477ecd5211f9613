"""What waits for the disk: in the order it came, and bounded while the disk stalls."""

from __future__ import annotations

from feltload.acquisition.recorder.writer_thread import MarkRecord, MessageRecord, WriterThread
from feltload.core import FeltloadError

__all__ = ["PendingWrites"]

LIMIT_BYTES = 32 << 20
"""Bytes held while the disk stalls: a quarter of an hour of two 1 kHz sensors."""


class PendingWrites:
    """Messages and marks on their way to the writer's thread."""

    def __init__(self) -> None:
        self._items: list[MessageRecord | MarkRecord] = []
        self._bytes = 0

    def __len__(self) -> int:
        return len(self._items)

    def mark(self, mark: MarkRecord) -> None:
        """Keep a mark; from any thread."""
        self._items.append(mark)

    def message(self, message: MessageRecord) -> bool:
        """Keep a message; False when the disk has stalled for so long that there is no room."""
        if self._bytes + len(message.data) > LIMIT_BYTES:
            return False
        self._items.append(message)
        self._bytes += len(message.data)
        return True

    async def flush(self, writer: WriterThread) -> FeltloadError | None:
        """Hand everything to the writer's thread; the loop goes on meanwhile."""
        batch, self._items, self._bytes = self._items, [], 0
        return await writer.write(batch)
