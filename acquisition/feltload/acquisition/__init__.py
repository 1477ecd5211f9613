"""Bytes from sensors to recordings on disk to streams in SI units."""

from __future__ import annotations

from feltload.acquisition.arrivals import Arrivals
from feltload.acquisition.decode import Decoded, decode
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
from feltload.acquisition.health import StreamHealth
from feltload.acquisition.recording import Mark, Recording, RecordingInfo, RecordingWriter, read_recording
from feltload.acquisition.schema import BleLink, FileLink, RigDescription, SerialLink, StreamDescription

__all__ = [
    "Arrivals",
    "BleLink",
    "CertificateError",
    "Decoded",
    "DescriptionError",
    "FeltloadError",
    "FileLink",
    "InputError",
    "LinkError",
    "LinkReason",
    "Mark",
    "QuantityError",
    "Recording",
    "RecordingError",
    "RecordingInfo",
    "RecordingWriter",
    "RigDescription",
    "SerialLink",
    "StreamDescription",
    "StreamHealth",
    "decode",
    "load_rig",
    "load_stream_description",
    "parse_rig",
    "read_recording",
    "shipped_descriptions",
]
