"""What happens to the links of a running recording, as kinds of facts."""

from __future__ import annotations

from enum import StrEnum


class LinkFact(StrEnum):
    """What happened on a link."""

    LINK_LOST = "link-lost"
    """Figures `what` and `reason` of the link's error, `where` and `at_s` from the recording's start."""

    LINK_RETURNED = "link-returned"
    """It is open again, and no sample has arrived yet."""

    PORT_RENAMED = "port-renamed"
    """The board came back under another name: figures `before`, `now`."""

    OTHER_SENSOR = "other-sensor"
    """A port brings another stream of the rig than expected: figures `where`, `expected`, `sends`."""

    BYTES_UNREADABLE = "bytes-unreadable"
    """Figures `bytes` and `expected`, the streams that they cannot be read as."""
