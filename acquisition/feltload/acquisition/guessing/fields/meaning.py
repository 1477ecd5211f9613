"""What columns mean: counter, clock, six axes, force; and what a person still has to say.

Thresholds: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from feltload.acquisition.guessing.facts import GuessFact
from feltload.acquisition.guessing.fields.axes import FoundAxes, find_axes
from feltload.acquisition.guessing.fields.raw_column import Keys, RawColumn
from feltload.acquisition.guessing.fields.timing import frame_times, frames_hz, name_counters
from feltload.acquisition.wire.descriptions.fields import AXES
from feltload.core import Fact, Figure, Floats, Severity

__all__ = ["Meaning", "read_meaning"]

_MOST_SAMPLES = 32


@dataclass
class Meaning:
    """Description of one stream's fields, and facts about it.

    Parameters
    ----------
    kind : str
        force or inertial.
    fields, records : list of dict
    facts : list of Fact
    samples : int
        In a frame.
    frames_hz : float or None
        Frames a second by the sensor's own clock, where its rate is known.
    """

    kind: str
    fields: list[Keys] = field(default_factory=list)
    records: list[Keys] = field(default_factory=list)
    facts: list[Fact] = field(default_factory=list)
    samples: int = 1
    frames_hz: float | None = None


def read_meaning(
    columns: list[RawColumn], host_s: Floats, *, text: bool, several: bool = True
) -> list[Meaning]:
    """Read what columns mean; a stream for each kind of sensor in them, none where nothing is measured.

    Parameters
    ----------
    columns : list of RawColumn
        In the order they are sent.
    host_s : float array, shape (n,)
        Arrival of each frame.
    text : bool
        They are columns of a line.
    several : bool
        A frame may hold several samples.
    """
    named: dict[int, Keys] = {}
    common = name_counters(columns, host_s, named, text=text)
    loose = [
        k
        for k, column in enumerate(columns)
        if k not in named and column.can_be_measured and not column.constant
    ]
    time_s = frame_times(columns, named, host_s)
    streams = []
    places, axes, samples = _six_axes(columns, loose, time_s, several=several)
    if axes is not None:
        meaning = Meaning("inertial", facts=[*common], samples=samples)
        own = dict(named)
        for place, keys in zip(places, _axis_keys(axes, len(places) // samples) * samples, strict=True):
            own[place] = keys
        meaning.facts += _axis_facts(axes)
        _fill(meaning, columns, own, places)
        streams.append(meaning)
    rest = [k for k in loose if k not in places]
    if rest:
        meaning = Meaning("force", facts=[*common])
        chosen = _force_places(columns, rest, several=several)
        meaning.samples = len(chosen)
        others = [k for k in rest if k not in chosen]
        if others and axes is None:
            figures: dict[str, Figure] = {
                "chosen": chosen[0] + 1,
                "others": ", ".join(str(k + 1) for k in others),
            }
            meaning.facts.append(Fact(GuessFact.FORCE_DOUBTFUL, Severity.CAUTION, figures=figures))
        own = dict(named)
        for place in chosen:
            own[place] = {"name": "force", "unit": "counts"}
        meaning.facts.append(Fact(GuessFact.FORCE_IN_COUNTS, Severity.CAUTION, figures={"key": "force"}))
        _fill(meaning, columns, own, chosen)
        # Beside six axes a force stands out, or what is left is a temperature and the like.
        if axes is None or all(_width(columns[k]) < _width(columns[chosen[0]]) for k in others):
            streams.append(meaning)
    for meaning in streams:
        meaning.frames_hz = frames_hz(columns, named)
    return streams


def _six_axes(
    columns: list[RawColumn], loose: list[int], time_s: Floats, *, several: bool
) -> tuple[list[int], FoundAxes | None, int]:
    """Places of the axes, what they are, and how many samples of them a frame has."""
    for width in (6, 7):
        for first in range(len(loose) - width + 1):
            places = loose[first : first + width]
            types = {_kind_of_number(columns[k]) for k in places}
            if places[-1] - places[0] != width - 1 or len(types) > 1:
                continue
            axes = find_axes([columns[k].values for k in places], time_s)
            if axes is None:
                continue
            samples = 1
            while several and samples < _MOST_SAMPLES and _goes_on(columns, loose, places, samples, width):
                samples += 1
            whole = loose[first : first + width * samples]
            return whole, axes, samples
    return [], None, 1


def _goes_on(columns: list[RawColumn], loose: list[int], places: list[int], samples: int, width: int) -> bool:
    """Whether a further sample of the same axes follows: each like the one before, gravity in its place."""
    shift = samples * width
    if any(k + shift not in loose for k in places):
        return False
    first = np.stack([columns[k].values for k in places])
    later = np.stack([columns[k + shift].values for k in places])
    apart = np.abs(np.median(later, axis=1) - np.median(first, axis=1))
    return bool(np.all(apart <= 0.1 * np.abs(np.median(first, axis=1)).max() + 4.0 * first.std(axis=1) + 1.0))


def _axis_keys(axes: FoundAxes, width: int) -> list[Keys]:
    out: list[Keys] = [{"name": f"unknown_{k}"} for k in range(width)]
    for start, names, unit, scale in (
        (axes.gyro, AXES["gyro"], axes.gyro_unit, axes.gyro_scale),
        (axes.accel, AXES["accel"], axes.accel_unit, axes.accel_scale),
    ):
        for place, name in enumerate(names, start=start):
            out[place] = {"name": name, "unit": unit, **({} if scale == 1.0 else {"scale": scale})}
    return out


def _axis_facts(axes: FoundAxes) -> list[Fact]:
    gravity: dict[str, Figure] = {"unit": axes.accel_unit, "scale": axes.accel_scale, "key": "accel"}
    if axes.full_scale_g is not None:
        gravity["full_scale_g"] = axes.full_scale_g
    found = GuessFact.GRAVITY_FOUND if axes.known_accel else GuessFact.GRAVITY_ODD
    facts = [Fact(found, Severity.NOTE if axes.known_accel else Severity.CAUTION, figures=gravity)]
    turn: dict[str, Figure] = {"unit": axes.gyro_unit, "scale": axes.gyro_scale, "key": "gyro"}
    if axes.full_scale_deg_s is not None:
        turn["full_scale_deg_s"] = axes.full_scale_deg_s
    kind = GuessFact.TURN_RATE_FOUND if axes.known_gyro else GuessFact.TURN_RATE_UNKNOWN
    return [*facts, Fact(kind, Severity.NOTE if axes.known_gyro else Severity.CAUTION, figures=turn)]


def _force_places(columns: list[RawColumn], rest: list[int], *, several: bool) -> list[int]:
    """The reading among columns that may be one; all of a row of the same where a frame has several samples."""
    widest = max(rest, key=lambda k: (_width(columns[k]), -k))
    row, like = [widest], _kind_of_number(columns[widest])
    while row[-1] + 1 in rest and _kind_of_number(columns[row[-1] + 1]) == like:
        row.append(row[-1] + 1)
    while row[0] - 1 in rest and _kind_of_number(columns[row[0] - 1]) == like:
        row.insert(0, row[0] - 1)
    if several and len(row) > 1 and _is_one_signal([columns[k].values for k in row]):
        return row
    return [widest]


def _kind_of_number(column: RawColumn) -> str:
    """Type apart from its sign, which a reading may not have shown."""
    return str(column.keys.get("type", "number")).replace("u", "i")


def _width(column: RawColumn) -> int:
    type_ = column.keys.get("type", "number")
    return 32 if type_ == "number" else int(type_[1:])


def _is_one_signal(row: list[Floats]) -> bool:
    """Whether neighbours differ as little within a frame as from one frame to the next."""
    table = np.stack(row)
    within = np.abs(np.diff(table, axis=0)).mean()
    between = np.abs(table[0, 1:] - table[-1, :-1]).mean()
    return bool(within <= 2.0 * between + 1e-12 and between <= 2.0 * within + 1e-12)


def _fill(meaning: Meaning, columns: list[RawColumn], own: dict[int, Keys], measured: list[int]) -> None:
    """Lay out fields and records; columns without a meaning are read past."""
    per_sample = len(measured) // meaning.samples
    several = meaning.samples > 1 and measured[-1] == len(columns) - 1
    if meaning.samples > 1 and not several:
        meaning.samples = 1
    unknown = 0
    for k, column in enumerate(columns):
        if several and k >= measured[0] + per_sample:
            break
        keys = own.get(k)
        if keys is None or (not several and k in measured[per_sample:]):
            keys = {"name": f"{'constant' if column.constant else 'unknown'}_{k + 1}"}
            unknown += not column.constant
        wire = column.counter_keys() if keys["name"] in ("seq", "device_time") else column.keys
        entry = {"name": keys["name"], **wire, **{key: keys[key] for key in keys if key != "name"}}
        (meaning.records if several and k >= measured[0] else meaning.fields).append(entry)
    if several:
        meaning.facts.append(
            Fact(GuessFact.SAMPLES_IN_FRAME, Severity.NOTE, figures={"count": meaning.samples})
        )
    if unknown:
        meaning.facts.append(Fact(GuessFact.FIELDS_UNKNOWN, Severity.NOTE, figures={"count": unknown}))
