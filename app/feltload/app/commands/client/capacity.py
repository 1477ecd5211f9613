"""``feltload client capacity``: what a person can produce, by position."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from feltload.app.commands.client.arguments import AngleTexts
from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions


def capacity(
    source: Path,
    /,
    *,
    out: Path,
    machine: Path | None = None,
    side: Literal["left", "right"] | None = None,
    kind: Literal["holds", "repetitions"] = "holds",
    painful: AngleTexts = None,
    client: Path | None = None,
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Capacity of a person from steady holds, maximal slow repetitions, or a table.

    SOURCE is a recording, or a CSV with the columns angle_deg, force_n and optionally u_n.

    Example: feltload client capacity holds.mcap --out capacity.json

    Parameters
    ----------
    source
        Recording of the holds or repetitions, or a CSV table.
    out
        Capacity file to write (.json).
    machine
        Machine file to use in place of the one kept in the recording.
    side
        Arm to measure, when the recording holds both.
    kind
        What the recording holds: isometric holds, or maximal slow repetitions.
    painful
        Positions marked painful, such as "40:60 deg"; holds there are not used.
    client
        Client's folder to keep the result in as well.
    force_overwrite
        Replace a capacity file that is there already.
    """
    from dataclasses import replace

    import numpy as np

    from feltload.app.commands.client.folder import keep_result
    from feltload.app.files.invented import REMARK as INVENTED_REMARK
    from feltload.app.files.outputs import claim_file
    from feltload.app.jobs.client_inputs import read_range_rad, read_session
    from feltload.app.text.numbers import degrees as in_words, force_text
    from feltload.coaching import (
        CapacityCurve,
        capacity_from_holds,
        capacity_from_repetitions,
        capacity_from_table,
        capacity_to_json,
        find_holds,
    )
    from feltload.core import write_file

    console = Console(common)
    claim_file(out, overwrite=force_overwrite)
    ranges = [read_range_rad(text, "--painful") for text in painful or []]
    curve: CapacityCurve
    invented = False
    if source.suffix.lower() == ".csv":
        curve, name = capacity_from_table(source), source.stem
    else:
        with console.progress("Reading the efforts"):
            session = read_session(source, machine_path=machine, side=side)
            motion, name, invented = session.motion, session.machine, session.invented
            if kind == "holds":
                holds, left_out = find_holds(motion.time_s, motion.angle_rad, motion.force_n)
                curve = capacity_from_holds(holds, side=motion.side, painful=ranges, warnings=left_out)
            else:
                parts = [(motion.time_s >= a) & (motion.time_s <= b) for a, b, _ in motion.repetitions]
                curve = capacity_from_repetitions(
                    [motion.angle_rad[p] for p in parts], [motion.force_n[p] for p in parts], side=motion.side
                )
    curve = replace(curve, invented=invented)
    write_file(out, capacity_to_json(curve, machine=name))
    strongest = curve.strongest
    degrees = np.rad2deg(curve.angle_rad)
    console.say(
        f"Strongest at {in_words(curve.angle_rad[strongest])}: {force_text(curve.force_n[strongest])}, "
        f"± {curve.u95_n[strongest]:.0f} N"
    )
    console.say(
        f"Known from {in_words(curve.angle_rad[0])} to {in_words(curve.angle_rad[-1])}; nothing is said outside."
    )
    console.facts(curve.warnings)
    if invented:
        console.note(INVENTED_REMARK)
    console.cautions(curve.cautions)
    if client is not None:
        keep_result(
            client,
            kind="capacity",
            machine=name,
            side=curve.side,
            values={"peak_n": float(curve.force_n[strongest]), "peak_angle_deg": float(degrees[strongest])},
            u95={"peak_n": float(curve.u95_n[strongest])},
            curve={"angle_deg": degrees.tolist(), "force_n": curve.force_n.tolist()},
            note=INVENTED_REMARK if invented else "",
        )
    console.say(f"Capacity: {out}")
    console.result(
        {
            "capacity": str(out),
            "machine": name,
            "angle_deg": degrees.tolist(),
            "force_n": curve.force_n.tolist(),
            "u95_n": curve.u95_n.tolist(),
            "warnings": [fact.to_dict() for fact in curve.warnings],
            "invented": invented,
        }
    )
    return 0
