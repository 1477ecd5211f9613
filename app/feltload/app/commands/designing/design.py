"""``feltload design``: dimensions, or a cam, that meet a target."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions


def design(
    machine: Path,
    /,
    *,
    target: Annotated[list[str] | None, Parameter(allow_leading_hyphen=True)] = None,
    move: Annotated[list[str] | None, Parameter(allow_leading_hyphen=True)] = None,
    load: list[str] | None = None,
    travel: Annotated[str | None, Parameter(allow_leading_hyphen=True)] = None,
    out: Path | None = None,
    seed: int = 1,
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Find the fewest dimensions to change so that a machine meets a target, or the cam that does.

    Says what each further change buys, what tolerances do, and where a target cannot be met. Writes a page, a record
    and a new machine file into OUT. A proposal is no strength calculation.

    Example: feltload design row.toml --target "falls 25(5) % from start to end" --move "plates.radius=200:320:25"
    --move "plates.angle=-20:60" --out row-design

    Example: feltload design pulldown.toml --target "rises 10(3) % from start to middle" --move cam --out cam-design

    Parameters
    ----------
    machine
        Machine file; it stays as it is.
    target
        Wanted force: a phrase such as "falls 25(5) % from start to end", or a table (.csv). May be repeated.
    move
        Dimension that may change and its bounds, low:high in the file's unit or with one behind; a third number is the
        distance of holes. "cam" for a new cam. May be repeated.
    load
        Load to serve, such as "40 kg" (left out). May be repeated.
    travel
        From the start stop to the turn: a rotation such as "80 deg", or a way of today's handle such as "60 cm".
        Every design keeps the rotation.
    out
        Directory for the results; made if it is not there. Left out, nothing is written.
    seed
        Of the search and of the drawn machines.
    force_overwrite
        Replace a design that is there already.
    """
    from feltload.app.files.inputs import read_load, read_machine_text
    from feltload.app.jobs.predicting.designs import CAM, read_design_targets, read_moves
    from feltload.app.jobs.predicting.inputs import read_way
    from feltload.app.pages.design_folder import claim_design, show_cam, show_proposal
    from feltload.calibration import design_cam, parse_machine, propose_design

    console = Console(common)
    targets = read_design_targets(target or [])
    text = read_machine_text(machine)
    today = parse_machine(text, str(machine))
    loads = sorted({read_load(each, "--load").value for each in load or ["40 kg"]})
    travel_rad, _ = read_way(travel, today)
    moves = move or []
    free = () if moves == [CAM] else read_moves(moves, today)
    if out is not None:
        claim_design(machine, out, overwrite=force_overwrite)
    with console.progress("Designing"):
        if moves == [CAM]:
            cam = design_cam(today, targets, loads_kg=loads, travel_rad=travel_rad)
            lines, record, page = show_cam(cam, text, out)
            meets = cam.meets
        else:
            proposal = propose_design(today, free, targets, loads_kg=loads, travel_rad=travel_rad, seed=seed)
            lines, record, page = show_proposal(proposal, text, out)
            meets = proposal.meets
    for line in lines:
        console.say(line)
    if page is not None:
        console.say(f"Page: {page}")
    console.result({**record, "page": None if page is None else str(page)})
    return 0 if meets else 1
