"""Zero and sign of every force stream of a recording, as they will be taken later."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from feltload.core import Fact, Severity
from feltload.signal.zero.facts import ZeroFact
from feltload.signal.zero.rests import moving_at
from feltload.signal.zero.tare import Tare, find_tare

if TYPE_CHECKING:
    from feltload.acquisition import Recording

__all__ = ["recorded_zeros"]

REVERSED_SHARE, REVERSED_N = 0.9, 5.0
"""Share of the movement below zero, and how far in the middle, at which a reversed cell is suspected."""


def recorded_zeros(recording: Recording) -> dict[str, Tare]:
    """Zero of every force stream that reads in newtons, with what speaks against it and its sign.

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
        force = recording.stream(name)
        zero = find_tare(force, moved, recording.marks)
        doubt = None if moved is None or not len(moved) else _sign_doubt(force, moved, zero)
        zeros[name] = zero if doubt is None else replace(zero, warnings=(*zero.warnings, doubt))
    return zeros


def _sign_doubt(force: pd.DataFrame, inertial: pd.DataFrame, zero: Tare) -> Fact | None:
    """What speaks for a cell that reads the wrong way round: hardly any machine pushes all the way."""
    moving = moving_at(inertial, force["host_s"].to_numpy(dtype=float))
    felt = force["force_n"].to_numpy(dtype=float)[moving] - zero.zero_n
    share = float(np.mean(felt < 0.0)) if felt.size else 0.0
    if zero.source == "none" or share < REVERSED_SHARE or float(np.median(felt)) > -REVERSED_N:
        return None
    return Fact(ZeroFact.REVERSED, Severity.SERIOUS, figures={"share": share})
