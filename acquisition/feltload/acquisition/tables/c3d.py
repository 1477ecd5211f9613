"""Motion as C3D, the motion-capture laboratories' file: analog channels, events, what is known of the session."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from importlib.metadata import version
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np

from feltload.core import Floats, InputError, write_file

__all__ = ["AnalogChannel", "C3dEvent", "C3dSession", "write_c3d"]

EVENTS_AT_ONCE = 255
"""Values that one list of a C3D file can hold: its sizes are bytes."""

CONTEXTS = {None: "General", "left": "Left", "right": "Right"}


@dataclass(frozen=True, eq=False)
class AnalogChannel:
    """One analog channel.

    Parameters
    ----------
    label, unit, description : str
    values : ndarray, shape (n,)
        NaN where the sensor was silent.
    """

    label: str
    unit: str
    values: Floats
    description: str = ""


@dataclass(frozen=True)
class C3dEvent:
    """One event.

    Parameters
    ----------
    label : str
    time_s : float
        From the first frame.
    description : str
    """

    label: str
    time_s: float
    description: str = ""


@dataclass(frozen=True)
class C3dSession:
    """What the file says about the session.

    Parameters
    ----------
    side : {"left", "right"}, optional
        Context of the events.
    numbers : mapping of str to float
        Parameters of the group FELTLOAD, such as ``LOAD_KG``; those that are not finite are left out.
    texts : mapping of str to str
        Parameters of the same group.
    """

    side: str | None = None
    numbers: Mapping[str, float] = field(default_factory=dict)
    texts: Mapping[str, str] = field(default_factory=dict)


def write_c3d(
    path: str | Path,
    channels: Sequence[AnalogChannel],
    *,
    rate_hz: float,
    events: Sequence[C3dEvent] = (),
    session: C3dSession | None = None,
    overwrite: bool = False,
    private: bool = False,
) -> None:
    """Write channels on one uniform clock as a C3D file without markers.

    Parameters
    ----------
    path : path
    channels : sequence of AnalogChannel
        Equally long.
    rate_hz : float
    events : sequence of C3dEvent
    session : C3dSession, optional
    overwrite : bool
    private : bool
        Only the owner may read the file.

    Raises
    ------
    InputError
        Lengths differ, nothing is finite, the file exists, or the extra is not installed.

    Notes
    -----
    Values are floats in their units, so scales are 1 and offsets 0. A gap is NaN, as in the tables.
    """
    path = Path(path)
    values = [np.asarray(channel.values, dtype=float) for channel in channels]
    if (
        not values
        or any(each.ndim != 1 or each.shape != values[0].shape for each in values)
        or not values[0].size
    ):
        raise InputError("channels must be equally long and not empty", where=str(path))
    if not any(np.isfinite(each).any() for each in values) or any(np.isinf(each).any() for each in values):
        raise InputError(
            "channels hold no finite values", where=str(path), remedy="check that the sensors sent"
        )
    if path.exists() and not overwrite:
        raise InputError("exists already", where=str(path), remedy="choose another name, or ask to overwrite")
    try:
        import ezc3d
    except ImportError:
        raise InputError("C3D needs ezc3d", where=str(path), remedy='pip install "feltload[c3d]"') from None
    file = ezc3d.c3d()
    file["parameters"]["POINT"]["RATE"]["value"] = [float(rate_hz)]
    analog = file["parameters"]["ANALOG"]
    analog["RATE"]["value"] = [float(rate_hz)]
    analog["LABELS"]["value"] = [channel.label for channel in channels]
    analog["UNITS"]["value"] = [channel.unit for channel in channels]
    analog["DESCRIPTIONS"]["value"] = [channel.description for channel in channels]
    # No markers, but as many frames: the writer divides by their number.
    file["data"]["points"] = np.zeros((4, 0, values[0].size))
    file["data"]["analogs"] = np.stack(values)[None]
    stated = session or C3dSession()
    file.add_parameter("MANUFACTURER", "SOFTWARE", ["feltload"])
    file.add_parameter("MANUFACTURER", "VERSION_LABEL", [version("feltload")])
    _add_events(file, events, CONTEXTS[stated.side])
    for name, number in stated.numbers.items():
        if np.isfinite(number):
            file.add_parameter("FELTLOAD", name, [float(number)])
    for name, text in stated.texts.items():
        if text:
            file.add_parameter("FELTLOAD", name, [text])
    # The library puts its own ending on any name that lacks it.
    with TemporaryDirectory() as scratch:
        made = Path(scratch) / "motion.c3d"
        file.write(str(made))
        write_file(path, made.read_bytes(), private=private)


def _add_events(file: Any, events: Sequence[C3dEvent], context: str) -> None:
    """The group EVENT; more than fit one list go on in LABELS2, TIMES2 and so on."""
    file.add_parameter("EVENT", "USED", [len(events)])
    for first in range(0, len(events), EVENTS_AT_ONCE):
        some = events[first : first + EVENTS_AT_ONCE]
        suffix = "" if first == 0 else str(1 + first // EVENTS_AT_ONCE)
        times = np.array([divmod(event.time_s, 60.0) for event in some]).T
        file.add_parameter("EVENT", f"CONTEXTS{suffix}", [context] * len(some))
        file.add_parameter("EVENT", f"LABELS{suffix}", [event.label for event in some])
        file.add_parameter("EVENT", f"DESCRIPTIONS{suffix}", [event.description for event in some])
        file.add_parameter("EVENT", f"TIMES{suffix}", times)
