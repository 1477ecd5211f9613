"""A capacity file, made of a recording or a table, and kept in the client's folder."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

import numpy as np

from feltload.app.files.outputs import claim_file
from feltload.app.jobs.capacity import Effort, MeasuredCapacity, measure_capacity
from feltload.app.jobs.painful import PainKeeper
from feltload.app.options import NOTHING_REPLACED, ReplacedFiles
from feltload.app.text.cautions import INVENTED_DATA
from feltload.coaching import ClientFolder, SessionRecord, capacity_to_json
from feltload.core import write_file


@dataclass(frozen=True)
class Marks:
    """What is marked painful, or no more, with a capacity.

    Attributes
    ----------
    painful, no_longer_painful : sequence of str
        Ranges as they are typed.
    """

    painful: Sequence[str] = ()
    no_longer_painful: Sequence[str] = ()


NO_MARKS = Marks()


def write_capacity(
    source: Path,
    out: Path,
    *,
    replaced: ReplacedFiles = NOTHING_REPLACED,
    side: Literal["left", "right"] | None = None,
    effort: Effort = "holds",
    marks: Marks = NO_MARKS,
    folder: ClientFolder | None = None,
    overwrite: bool = False,
) -> tuple[MeasuredCapacity, PainKeeper]:
    """Measure a capacity, write its file, and keep it with its marks in the client's folder.

    Parameters
    ----------
    source, out : Path
        Recording or table; capacity file.
    replaced, side, effort
        As in `measure_capacity`.
    marks : Marks
    folder : ClientFolder, optional
        Its marks of before hold on.
    overwrite : bool
        Replace a file that is there; its marks go on.

    Returns
    -------
    MeasuredCapacity
    PainKeeper
        Which marks were added and removed.

    Raises
    ------
    FeltloadError
        A file cannot be read or written, or holds no capacity.
    """
    keeper = PainKeeper(
        tuple(marks.painful), tuple(marks.no_longer_painful), folder, out if overwrite else None
    )
    claim_file(out, overwrite=overwrite, private=True)
    measured = measure_capacity(source, replaced=replaced, side=side, effort=effort, marks_of=keeper.marks)
    curve = measured.curve
    write_file(out, capacity_to_json(curve, machine=measured.machine), private=True)
    if folder is not None:
        marked = folder.mark(measured.machine, curve.side, curve.painful)
        keep_capacity(marked, measured, note=INVENTED_DATA if curve.invented else "")
        marked.note_file(out).note_file(source, made=False)
    return measured, keeper


def keep_capacity(folder: ClientFolder, measured: MeasuredCapacity, *, note: str = "") -> Path:
    """Keep a capacity in a client's folder, dated now."""
    curve = measured.curve
    strongest = curve.strongest
    places = measured.travel.columns(curve.angle_rad)
    shown = "angle_deg" if "angle_deg" in places else "handle_travel_mm"
    return folder.keep(
        SessionRecord(
            date=datetime.now(UTC).isoformat(timespec="seconds"),
            kind="capacity",
            machine=measured.machine,
            side=curve.side,
            values={
                "peak_n": float(curve.force_n[strongest]),
                f"peak_{shown}": float(places[shown][strongest]),
            },
            u95={"peak_n": float(curve.u95_n[strongest])},
            curve={**{name: at.tolist() for name, at in places.items()}, "force_n": curve.force_n.tolist()},
            note=note,
            painful_deg=[
                (float(low), float(high))
                for low, high in np.rad2deg(curve.painful_rad).reshape(-1, 2).round(6)
            ],
        )
    )
