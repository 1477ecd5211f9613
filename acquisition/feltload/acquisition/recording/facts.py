"""What can be damaged in a recording's file, as kinds of facts."""

from __future__ import annotations

from enum import StrEnum


class DamageFact(StrEnum):
    """What a damaged recording lost, and what it did not."""

    INDEX_DAMAGED = "index-damaged"
    """All samples are there."""

    RECORDING_CUT = "recording-cut"
    """Cut or not closed: figure `unread_bytes`."""

    RECORDING_ENDS = "recording-ends"
    """When the last message of a damaged file arrived: figure `at_s` from its start."""

    BLOCK_LENGTH_DAMAGED = "block-length-damaged"
    """What the block holds was read."""

    BLOCK_LEFT_OUT = "block-left-out"
    """Figure `duration_s`."""

    BYTES_LEFT_OUT = "bytes-left-out"
    """Figure `bytes`."""

    DESCRIPTION_COPY_DAMAGED = "description-copy-damaged"
    """The other copy was read."""

    FILE_COPY_DAMAGED = "file-copy-damaged"
    """Figure `file`, one that is kept twice; the other copy was read."""

    SENSORS_REPLACED = "sensor-description-replaced"
    """Nothing is lost: the sensors are read as another rig file describes them, figure `file`."""

    MACHINE_FILE_LEFT_OUT = "machine-file-left-out"

    CERTIFICATE_DAMAGED = "certificate-damaged"
    """Figure `certificate`, its name."""

    ATTACHMENT_DAMAGED = "attachment-damaged"
    """One that nothing needs."""
