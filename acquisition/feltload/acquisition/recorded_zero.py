"""The zero of every force stream of a recording, as it will be subtracted later."""

from __future__ import annotations

from feltload.acquisition.recording import Recording
from feltload.acquisition.tare import Tare, find_tare

__all__ = ["recorded_zeros"]


def recorded_zeros(recording: Recording) -> dict[str, Tare]:
    """Zero of every force stream that reads in newtons, with what speaks against it.

    Parameters
    ----------
    recording : Recording

    Returns
    -------
    dict of Tare
        By stream. A stream in counts without a certificate is left out: its force is not known yet.

    Raises
    ------
    CertificateError
        If a certificate does not apply.
    """
    zeros = {}
    for name in recording.streams_of("force"):
        if recording.certificate(name) is None and "force_n" not in recording.stream(name, raw=True):
            continue
        inertial = recording.streams_of("inertial", recording.description(name).side)
        moved = recording.stream(inertial[0], raw=True) if inertial else None
        zeros[name] = find_tare(recording.stream(name), moved, recording.marks)
    return zeros
