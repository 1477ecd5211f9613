"""Bytes from sensors to recordings on disk to streams in SI units."""

from __future__ import annotations

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
from feltload.acquisition.schema import BleLink, FileLink, RigDescription, SerialLink, StreamDescription

__all__ = [
    "BleLink",
    "CertificateError",
    "DescriptionError",
    "FeltloadError",
    "FileLink",
    "InputError",
    "LinkError",
    "LinkReason",
    "QuantityError",
    "RecordingError",
    "RigDescription",
    "SerialLink",
    "StreamDescription",
    "StreamHealth",
    "load_rig",
    "load_stream_description",
    "parse_rig",
    "shipped_descriptions",
]
