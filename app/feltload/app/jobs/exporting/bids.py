"""A recording added to a BIDS dataset: force and lever motion on one clock, with the turning points and marks."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

from feltload.acquisition import (
    BidsChannel,
    BidsEvent,
    BidsNames,
    BidsRecording,
    Recording,
    bids_files,
    write_bids,
)
from feltload.app.errors import UsageError
from feltload.app.options import BidsLabels
from feltload.signal import JoinedTable

TRACKSYS = "arm"


def bids_names(labels: BidsLabels) -> BidsNames:
    """Names from what was typed.

    Raises
    ------
    UsageError, InputError
        No subject, or a label that is none.
    """
    if labels.subject is None:
        raise UsageError(
            "a BIDS dataset needs the name of what was recorded",
            where="--subject",
            remedy="name the machine or the person, such as --subject rowA",
        )
    return BidsNames(labels.subject, labels.task, labels.session, labels.acquisition, labels.run)


def files_in_dataset(names: BidsNames) -> list[str]:
    """Files of one recording, as they lie in the dataset."""
    return [str(path) for path in bids_files(names, TRACKSYS)]


def add_to_bids(
    recording: Recording, joined: JoinedTable, dataset: Path, names: BidsNames, *, overwrite: bool
) -> list[Path]:
    """Write one recording's files, and list it in the dataset.

    Raises
    ------
    InputError
        A file of this recording is there already.
    """
    first_s = float(joined.frame["time_s"].iloc[0])
    info, session = recording.info, joined.session
    kept = {
        "LoadKilograms": session.load_kg,
        "InventedData": info.rig.invented,
        "SamplesSHA256": recording.samples_sha256,
        "ForceDelaySeconds": None if joined.lag is None else joined.lag.value_s,
    }
    return write_bids(
        dataset,
        BidsRecording(
            names=names,
            tracksys=TRACKSYS,
            channels=_channels(joined),
            rate_hz=joined.rate_hz,
            events=_events(recording, joined, first_s),
            # When a person was measured is nobody's business who is handed the data.
            started_utc="" if info.is_about_a_person else _started(info.started_utc, first_s),
            sidecar={key: value for key, value in kept.items() if value is not None and value != ""},
            frame="x along the axis that the arm turns about, positive in the concentric phase",
        ),
        name=dataset.resolve().name,
        overwrite=overwrite,
        private=info.is_about_a_person,
    )


def _channels(joined: JoinedTable) -> list[BidsChannel]:
    frame = joined.frame

    def column(name: str) -> np.ndarray:
        return frame[name].to_numpy(float)

    turning = "of the arm, smoothed from its inertial sensor"
    channels = [
        BidsChannel("angle", "ORNT", "x", "arm", "rad", turning, column("angle_rad")),
        BidsChannel("rate", "GYRO", "x", "arm", "rad/s", turning, column("rate_rad_s")),
        BidsChannel("acceleration", "ANGACCEL", "x", "arm", "rad/s^2", turning, column("accel_rad_s2")),
        BidsChannel(
            "force", "MISC", "n/a", "handle", "N", "at the handle, zero taken off", column("force_n")
        ),
    ]
    if "handle_travel_mm" in frame:
        way = 1e-3 * column("handle_travel_mm")
        channels.append(BidsChannel("travel", "MISC", "n/a", "handle", "m", "way from the start stop", way))
    return channels


def _events(recording: Recording, joined: JoinedTable, first_s: float) -> Sequence[BidsEvent]:
    """Marks with their length, and both halves of every repetition."""
    events = [
        BidsEvent(
            mark.start_s - first_s,
            max(0.0, (mark.until_s or mark.start_s) - mark.start_s),
            mark.kind,
            mark.text,
        )
        for mark in recording.marks
    ]
    for each in joined.repetitions:
        said = f"repetition {each.index + 1}"
        events.append(BidsEvent(each.start_s - first_s, each.turn_s - each.start_s, "concentric", said))
        if each.eccentric_s > 0.0:
            events.append(BidsEvent(each.turn_s - first_s, each.end_s - each.turn_s, "eccentric", said))
    return events


def _started(started_utc: str, first_s: float) -> str:
    """Time of the first row, as BIDS writes it; empty where the recording does not say."""
    try:
        at = datetime.fromisoformat(started_utc) + timedelta(seconds=first_s)
    except ValueError:
        return ""
    return at.strftime("%Y-%m-%dT%H:%M:%S.%fZ")
