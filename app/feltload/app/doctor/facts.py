"""What can be found about a computer that is to measure."""

from __future__ import annotations

from enum import StrEnum


class DoctorFact(StrEnum):
    """Kinds of findings; those of severity serious stop a measurement."""

    BLUETOOTH_READY = "bluetooth-ready"
    """A scan worked: `in_reach` peripherals."""

    BLUETOOTH_NOT_USABLE = "bluetooth-not-usable"
    """`what` is wrong and its `remedy`, as the link's error says."""

    PORTS_USABLE = "serial-ports-usable"
    """`ports`, none of them forbidden."""

    NO_PORTS = "serial-ports-absent"

    PORT_FORBIDDEN = "serial-port-forbidden"
    """`port` belongs to `group`; `member` says that the account is in it since it last logged in."""

    DISK_ROOM = "disk-has-room"
    """`free_byte` in `folder`, which is `hours` of recording."""

    DISK_LOW = "disk-nearly-full"
    """The same, where it is little."""

    FOLDER_READ_ONLY = "folder-read-only"
    """Nothing can be written in `folder`."""

    CLOCK_SOUND = "clock-sound"
    """The monotonic clock's step, `resolution_s`."""

    CLOCK_COARSE = "clock-coarse"
    """The same, too coarse for arrivals of a fast sensor."""

    CLOCK_BEHIND = "clock-behind"
    """The date `today` lies before `installed`, the day on which this program was installed."""

    LIBRARIES_SOUND = "libraries-sound"
    """Versions of the program itself, `feltload`, of `python`, and `count` libraries."""

    LIBRARY_MISSING = "library-missing"
    """`library` is not installed."""

    LIBRARY_UNSUITED = "library-unsuited"
    """`library` is of `version`, and `needed` is needed."""

    EXTRA_READY = "extra-ready"
    """`extra` is installed."""

    EXTRA_ABSENT = "extra-absent"
    """`extra` lacks `missing` libraries."""

    BROWSER_FOUND = "browser-found"
    BROWSER_ABSENT = "browser-absent"

    TLS_READY = "tls-ready"
    """`library` that encrypts what a phone sends to this computer."""

    TLS_OLD = "tls-old"
    """`library` lacks TLS 1.2 and later."""
