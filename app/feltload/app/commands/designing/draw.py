"""``feltload draw``: drawings of a machine for the shop."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions


def draw(
    machine: Path,
    /,
    *,
    out: Path,
    travel: Annotated[str | None, Parameter(allow_leading_hyphen=True)] = None,
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Draw a machine for the shop: a dimensioned side view (SVG and DXF), a table of dimensions, a cam's outline.

    Every dimension is one of the machine file. Millimetres throughout; DXF needs the extra `cad`. A drawing is no
    strength calculation: parts that carry load are released by somebody licensed to.

    Example: feltload draw row.toml --out row-drawings

    Parameters
    ----------
    machine
        Machine file.
    out
        Directory for the drawings; made if it is not there.
    travel
        From the start stop to the turn, such as "80 deg" or "60 cm" of the handle's way, to mark on a cam where the
        cable leaves it at the end.
    force_overwrite
        Replace drawings that are there already.
    """
    from feltload.app.jobs.predicting.inputs import read_way
    from feltload.app.pages.shop.drawings import draw_for_shop
    from feltload.app.text.facts import describe_fully
    from feltload.calibration import load_machine

    console = Console(common)
    surveyed = load_machine(machine)
    travel_rad, _ = read_way(travel, surveyed)
    with console.progress("Drawing"):
        drawn = draw_for_shop(surveyed, out, travel_rad=travel_rad, overwrite=force_overwrite)
    for fact in drawn.cam_facts:
        console.say(describe_fully(fact))
    for path in drawn.files:
        console.say(f"Drawing: {path}" if path.suffix != ".csv" else f"Table: {path}")
    console.result(
        {
            "machine": surveyed.name,
            "files": [str(path) for path in drawn.files],
            "cam": [fact.to_dict() for fact in drawn.cam_facts],
        }
    )
    return 0
