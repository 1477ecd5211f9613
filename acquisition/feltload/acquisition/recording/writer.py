"""Writes a recording as things arrive."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from types import TracebackType
from typing import Self

from feltload.acquisition.recording.file import ContainerWriter, json_message
from feltload.acquisition.recording.info import RecordingInfo, write_info
from feltload.acquisition.recording.marks import MARK_KINDS
from feltload.acquisition.wire.health import StreamHealth
from feltload.core import InputError

__all__ = ["RecordingWriter"]


class RecordingWriter:
    """Writes a recording; a context manager.

    Parameters
    ----------
    path : path
        Must not exist unless `overwrite`.
    info : RecordingInfo
    start_ns : int, optional
        Host time that counts as the start; the earliest message's if not given.
    overwrite : bool

    Raises
    ------
    RecordingError
        If the file exists.
    OSError
        If the disk refuses; what was flushed before stays readable, and nothing is left of a file that was not begun.

    Notes
    -----
    Everything is on the disk at most half a second after it was written, as long as `write`, `mark`
    or `flush_if_due` is called; a killed process loses no more than that.
    """

    def __init__(
        self, path: str | Path, info: RecordingInfo, *, start_ns: int | None = None, overwrite: bool = False
    ) -> None:
        self._rig = info.rig
        self._channels = {stream.name: info.rig.channel_of(stream.name) for stream in info.rig.streams}
        self._file = ContainerWriter(Path(path), overwrite=overwrite, private=info.is_about_a_person)
        sensors = {f"sensor/{channel}": "" for channel in info.rig.channels()}
        try:
            write_info(self._file, info, start_ns)
            self._file.open_channels({**sensors, "marks": "json", "health": "json"})
            self._file.flush()
        except OSError:
            self._file.discard()
            raise

    @property
    def path(self) -> Path:
        """Where the recording is; beside a file that it replaces until it is closed."""
        return self._file.path

    def write(self, stream_name: str, host_ns: int, data: bytes) -> None:
        """Keep bytes as they arrived.

        Parameters
        ----------
        stream_name : str
            A stream, or the channel that it shares with others.
        host_ns : int
            Host's monotonic time of the last byte.
        data : bytes
            Empty to say that the link was opened again.
        """
        self._file.write(f"sensor/{self._channels[stream_name]}", host_ns, data)

    def mark(self, kind: str, host_ns: int, text: str = "", *, until_ns: int | None = None) -> None:
        """Set a mark of one of `MARK_KINDS`."""
        if kind not in MARK_KINDS:
            raise InputError(f'unknown mark "{kind}"', remedy=f"use one of {', '.join(MARK_KINDS)}")
        values: dict[str, object] = {"kind": kind, "start_ns": host_ns, "until_ns": until_ns, "text": text}
        self._file.write("marks", host_ns, json_message(values))

    def health(self, healths: Iterable[StreamHealth]) -> None:
        """Keep what the recorder alone knows: messages that it could not keep. All else is counted from the bytes."""
        streams = {health.name: {"dropped_messages": health.dropped_messages} for health in healths}
        self._file.write("health", self._file.last_ns, json_message({"streams": streams}))

    def flush_if_due(self) -> None:
        """Bring what waits to the disk if it is time; for pauses in which nothing arrives."""
        self._file.flush_if_due()

    def flush(self) -> None:
        """Bring everything to the disk now."""
        self._file.flush()

    def close(self) -> None:
        """Write the index and close the file."""
        self._file.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()
