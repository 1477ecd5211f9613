"""Bytes from sensors to recordings on disk to streams in SI units."""

from __future__ import annotations

from typing import TYPE_CHECKING

from feltload.acquisition.decode import Decoded, decode
from feltload.acquisition.lazy_face import lazy_names

if TYPE_CHECKING:
    from feltload.acquisition.arrivals import Arrivals
    from feltload.acquisition.csv_import import import_csv, parse_columns
    from feltload.acquisition.description import (
        load_rig,
        load_stream_description,
        parse_rig,
        shipped_descriptions,
    )
    from feltload.acquisition.errors import (
        CertificateError,
        DescriptionError,
        FeltloadError,
        InputError,
        LinkError,
        LinkReason,
        QuantityError,
        RecordingError,
    )
    from feltload.acquisition.export import export_recording, write_c3d
    from feltload.acquisition.guess import Guess, guess_description
    from feltload.acquisition.health import StreamHealth
    from feltload.acquisition.quantities import Quantity, format_quantity, parse_quantity
    from feltload.acquisition.recorder import Recorder, record
    from feltload.acquisition.recording import Mark, Recording, RecordingInfo, RecordingWriter, read_recording
    from feltload.acquisition.recording_status import RecordingStatus, RecordingSummary, StreamStatus
    from feltload.acquisition.schema import BleLink, FileLink, RigDescription, SerialLink, StreamDescription
    from feltload.acquisition.tare import Tare, find_tare
else:
    # A name that is also its module's name is imported at once: the module would hide it.
    __getattr__ = lazy_names(
        __name__,
        {
            "arrivals": "Arrivals",
            "csv_import": "import_csv parse_columns",
            "description": "load_rig load_stream_description parse_rig shipped_descriptions",
            "errors": "CertificateError DescriptionError FeltloadError InputError LinkError LinkReason "
            "QuantityError RecordingError",
            "export": "export_recording write_c3d",
            "guess": "Guess guess_description",
            "health": "StreamHealth",
            "quantities": "Quantity format_quantity parse_quantity",
            "recorder": "Recorder record",
            "recording": "Mark Recording RecordingInfo RecordingWriter read_recording",
            "recording_status": "RecordingStatus RecordingSummary StreamStatus",
            "schema": "BleLink FileLink RigDescription SerialLink StreamDescription",
            "tare": "Tare find_tare",
        },
    )

__all__ = [
    "Arrivals",
    "BleLink",
    "CertificateError",
    "Decoded",
    "DescriptionError",
    "FeltloadError",
    "FileLink",
    "Guess",
    "InputError",
    "LinkError",
    "LinkReason",
    "Mark",
    "Quantity",
    "QuantityError",
    "Recorder",
    "Recording",
    "RecordingError",
    "RecordingInfo",
    "RecordingStatus",
    "RecordingSummary",
    "RecordingWriter",
    "RigDescription",
    "SerialLink",
    "StreamDescription",
    "StreamHealth",
    "StreamStatus",
    "Tare",
    "decode",
    "export_recording",
    "find_tare",
    "format_quantity",
    "guess_description",
    "import_csv",
    "load_rig",
    "load_stream_description",
    "parse_columns",
    "parse_quantity",
    "parse_rig",
    "read_recording",
    "record",
    "shipped_descriptions",
    "write_c3d",
]
