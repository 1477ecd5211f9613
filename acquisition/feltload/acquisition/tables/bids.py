"""Motion as a BIDS dataset: names, TSV and JSON of the Brain Imaging Data Structure's extension for motion."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np

from feltload.core import Floats, InputError, write_file

__all__ = ["BidsChannel", "BidsEvent", "BidsNames", "BidsRecording", "bids_files", "write_bids"]

BIDS_VERSION = "1.10.0"
MISSING = "n/a"
LABEL = re.compile(r"[0-9a-zA-Z]+")
README = """# {name}

Force at the handle of training machines and the motion of their arm, written by feltload.
Each `motion.tsv` has no header: its columns are the rows of the `channels.tsv` beside it, sampled evenly.
"""


@dataclass(frozen=True)
class BidsNames:
    """What a recording's files are called: letters and digits alone.

    Attributes
    ----------
    subject, task : str
        What was measured (a machine or a person), and what was done.
    session, acquisition, run : str, optional
        Such as the day, the operator, and the number of the mounting.
    """

    subject: str
    task: str
    session: str | None = None
    acquisition: str | None = None
    run: str | None = None

    def __post_init__(self) -> None:
        for name in ("subject", "task", "session", "acquisition", "run"):
            value = getattr(self, name)
            if value is not None and not LABEL.fullmatch(value):
                raise InputError(
                    f'"{value}" is no {name} of a BIDS name',
                    remedy="use letters and digits alone, such as rowA",
                )
        if self.run is not None and not self.run.isdigit():
            raise InputError(f'"{self.run}" is no run of a BIDS name', remedy="use a number, such as 1")

    @property
    def folder(self) -> Path:
        """Folder of the recording's files, in the dataset."""
        session = () if self.session is None else (f"ses-{self.session}",)
        return Path(f"sub-{self.subject}", *session, "motion")

    def stem(self, tracksys: str | None) -> str:
        """The file name before its last part."""
        parts = {
            "sub": self.subject,
            "ses": self.session,
            "task": self.task,
            "tracksys": tracksys,
            "acq": self.acquisition,
            "run": self.run,
        }
        return "_".join(f"{key}-{value}" for key, value in parts.items() if value is not None)


@dataclass(frozen=True, eq=False)
class BidsChannel:
    """One column of ``motion.tsv``.

    Attributes
    ----------
    name : str
    kind : str
        ``ORNT``, ``GYRO``, ``ANGACCEL``, ``MISC`` and the others of the extension.
    component : str
        ``x``, ``y``, ``z`` or ``n/a``.
    tracked_point, units, description : str
    values : ndarray, shape (n,)
        NaN where the sensor was silent.
    """

    name: str
    kind: str
    component: str
    tracked_point: str
    units: str
    description: str
    values: Floats


@dataclass(frozen=True)
class BidsEvent:
    """Onset and duration in seconds from the first row, and what it is."""

    onset_s: float
    duration_s: float
    kind: str
    description: str = ""


@dataclass(frozen=True)
class BidsRecording:
    """One recording on one clock.

    Attributes
    ----------
    names : BidsNames
    tracksys : str
        Label of the system that tracked the motion, letters and digits.
    channels : sequence of BidsChannel
        Equally long.
    rate_hz : float
    events : sequence of BidsEvent
    started_utc : str
        Of the first row, ISO 8601; empty where it shall not be told.
    sidecar : mapping
        Further fields of ``motion.json``.
    frame : str
        What the axes of the channels are.
    """

    names: BidsNames
    tracksys: str
    channels: Sequence[BidsChannel]
    rate_hz: float
    events: Sequence[BidsEvent] = ()
    started_utc: str = ""
    sidecar: Mapping[str, Any] = field(default_factory=dict)
    frame: str = ""


def bids_files(names: BidsNames, tracksys: str) -> list[Path]:
    """Files that `write_bids` makes for one recording, in the dataset."""
    stem = names.stem(tracksys)
    ends = ("motion.tsv", "motion.json", "channels.tsv", "channels.json", "events.tsv", "events.json")
    return [names.folder / f"{stem}_{end}" for end in ends]


def write_bids(
    dataset: str | Path,
    recording: BidsRecording,
    *,
    name: str,
    overwrite: bool = False,
    private: bool = False,
) -> list[Path]:
    """Add a recording to a BIDS dataset, which is begun where there is none.

    Parameters
    ----------
    dataset : path
    recording : BidsRecording
    name : str
        Of a dataset that is begun.
    overwrite : bool
    private : bool
        Only the owner may read the files.

    Returns
    -------
    list of Path
        The recording's own files.

    Raises
    ------
    InputError
        Channels differ in length, or a file of this recording exists.

    References
    ----------
    Brain Imaging Data Structure 1.10.0, modality-specific files: motion (bids-specification.readthedocs.io).
    """
    dataset = Path(dataset)
    paths = [dataset / path for path in bids_files(recording.names, recording.tracksys)]
    for path in paths:
        if path.exists() and not overwrite:
            raise InputError("exists already", where=str(path), remedy="give another --session or --run")
    if len({channel.values.size for channel in recording.channels}) != 1:
        raise InputError("channels must be equally long and not empty", where=str(dataset))

    def put(path: Path, text: str) -> None:
        path.parent.mkdir(mode=0o700 if private else 0o777, parents=True, exist_ok=True)
        write_file(path, text, private=private)

    motion, sidecar, channels, frames, events, kinds = paths
    _begin(dataset, name, put)
    _list_participant(dataset, recording.names.subject, put)
    put(motion, _motion(recording.channels))
    put(sidecar, _json(_sidecar(recording)))
    put(channels, _channels(recording))
    put(frames, _json({"reference_frame": {"Levels": {"arm": {"Description": recording.frame or MISSING}}}}))
    put(events, _events(recording.events))
    put(kinds, _json({"description": {"Description": "What was noted of the event"}}))
    _list_scan(dataset, recording, motion, put)
    return paths


def _begin(dataset: Path, name: str, put: Any) -> None:
    described = dataset / "dataset_description.json"
    if described.exists():
        return
    put(
        described,
        _json(
            {
                "Name": name,
                "BIDSVersion": BIDS_VERSION,
                "DatasetType": "raw",
                "GeneratedBy": [{"Name": "feltload", "Version": version("feltload")}],
            }
        ),
    )
    put(dataset / "README.md", README.format(name=name))


def _list_participant(dataset: Path, subject: str, put: Any) -> None:
    _add_row(dataset / "participants.tsv", ("participant_id",), (f"sub-{subject}",), put)


def _list_scan(dataset: Path, recording: BidsRecording, motion: Path, put: Any) -> None:
    folder = dataset / recording.names.folder.parent
    stem = "_".join(part for part in recording.names.folder.parent.parts)
    row = (motion.relative_to(folder).as_posix(), recording.started_utc or MISSING)
    _add_row(folder / f"{stem}_scans.tsv", ("filename", "acq_time"), row, put)


def _add_row(path: Path, head: tuple[str, ...], row: tuple[str, ...], put: Any) -> None:
    """Add a row to a table unless its first cell is there."""
    lines = path.read_text(encoding="utf-8").splitlines() if path.exists() else ["\t".join(head)]
    if not any(line.split("\t")[0] == row[0] for line in lines):
        columns = lines[0].split("\t")
        cells = dict(zip(head, row, strict=True))
        put(path, "\n".join([*lines, "\t".join(cells.get(name, MISSING) for name in columns)]) + "\n")


def _motion(channels: Sequence[BidsChannel]) -> str:
    table = np.column_stack([channel.values for channel in channels])
    return "".join(
        "\t".join(f"{value:.9g}" if np.isfinite(value) else MISSING for value in row) + "\n"
        for row in table.tolist()
    )


def _channels(recording: BidsRecording) -> str:
    head = ("name", "component", "type", "tracked_point", "units", "description", "reference_frame")
    rows = [
        (each.name, each.component, each.kind, each.tracked_point, each.units, each.description, _frame(each))
        for each in recording.channels
    ]
    return "".join("\t".join(row) + "\n" for row in (head, *rows))


def _frame(channel: BidsChannel) -> str:
    """The frame that the channel's axis is of; none for a channel without."""
    return MISSING if channel.component == MISSING else "arm"


def _sidecar(recording: BidsRecording) -> dict[str, Any]:
    kinds = [channel.kind for channel in recording.channels]
    # The extension's own name for the count of ANGACCEL channels.
    counted = {
        kind: f"{'ANGACC' if kind == 'ANGACCEL' else kind}ChannelCount" for kind in dict.fromkeys(kinds)
    }
    return {
        "TaskName": recording.names.task,
        "SamplingFrequency": recording.rate_hz,
        "SamplingFrequencyEffective": recording.rate_hz,
        "TrackingSystemName": recording.tracksys,
        "MotionChannelCount": len(kinds),
        **{key: kinds.count(kind) for kind, key in counted.items()},
        "TrackedPointsCount": len({channel.tracked_point for channel in recording.channels}),
        "RecordingDuration": recording.channels[0].values.size / recording.rate_hz,
        "MissingValues": MISSING,
        "SoftwareVersions": f"feltload {version('feltload')}",
        **recording.sidecar,
    }


def _events(events: Sequence[BidsEvent]) -> str:
    rows = [("onset", "duration", "trial_type", "description")]
    for event in sorted(events, key=lambda each: each.onset_s):
        said = " ".join(event.description.split()) or MISSING
        rows.append((f"{event.onset_s:.4f}", f"{event.duration_s:.4f}", event.kind, said))
    return "".join("\t".join(row) + "\n" for row in rows)


def _json(content: Mapping[str, Any]) -> str:
    return json.dumps(content, indent=2, allow_nan=False) + "\n"
