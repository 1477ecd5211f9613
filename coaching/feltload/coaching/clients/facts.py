"""Why deleting a client leaves a file, as kinds of facts; each has the figure `path`."""

from __future__ import annotations

from enum import StrEnum


class ClientFileFact(StrEnum):
    """A file that may hold the client's results, or stands in the way, and is left as it is."""

    NOT_OURS = "client-file-not-ours"
    """It lies in the folder, but nothing here wrote it."""

    CHANGED = "client-file-changed"
    """It is no longer what was written there."""

    SOURCE = "client-file-source"
    """Results were computed from it; nothing here made it for this client."""

    UNFINISHED = "client-file-unfinished"
    """It was announced, and whoever wrote it was stopped before it was whole."""

    LINK = "client-file-link"
    """A link has taken its place, or that of a folder above it."""

    GONE = "client-file-gone"
    """It is not where it was written; a copy may be elsewhere."""
