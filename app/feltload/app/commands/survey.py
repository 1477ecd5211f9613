"""``feltload survey``: what to measure on a machine, and how well."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions

if TYPE_CHECKING:
    from feltload.calibration import SurveyItem


def survey(
    machine: str,
    /,
    *,
    travel: Annotated[str, Parameter(allow_leading_hyphen=True)] = "80 deg",
    load: str = "40 kg",
    see: str = "2 %",
    start: Path | None = None,
    drawing: Path | None = None,
    page: Path | None = None,
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Say what to measure on a machine, and how well each dimension must be known.

    Nothing that does not matter to the curve needs to be measured to the millimetre. Let the machine down
    on its stop and unload it before reaching in with a tape.

    Example: feltload survey lever --start row.toml

    Example: feltload survey row.toml --page row-survey.html

    Example: feltload survey row.toml --load "60 kg" --see "1 %" --drawing row.svg

    Parameters
    ----------
    machine
        Machine file, or a kind of machine (lever, four-bar, cable, straight-pull, sled) to begin with its example.
    travel
        Travel from the start stop.
    load
        Load to weigh the dimensions at.
    see
        Error of the curve that must be seen, as a part of its peak: "2 %" or 2.
    start
        Write the example's machine file here, to be filled in.
    drawing
        Draw the machine from the side, with its dimensions, into this file (.svg, .png or .pdf).
    page
        Write a page (.html) with the predicted curve, its band, and what each dimension does to it along the travel.
    force_overwrite
        Replace such a file if it is there already.
    """
    from feltload.app.errors import UsageError
    from feltload.app.files.inputs import read_load
    from feltload.app.files.outputs import DRAWING_ENDINGS, claim_file, claim_page, require_ending
    from feltload.app.jobs.mechanism_limits import read_travel
    from feltload.app.jobs.quantities import read_percent
    from feltload.app.text.machine.dimensions import dimension_rows
    from feltload.app.text.machine.survey import survey_text
    from feltload.calibration import MECHANISMS, example_text, load_machine, parse_machine, plan_survey
    from feltload.core import write_file

    console = Console(common)
    see_percent = read_percent(see, "--see")
    known = machine in MECHANISMS
    if start is not None and not known:
        raise UsageError("needs a kind of machine", where="--start", remedy=f"one of {', '.join(MECHANISMS)}")
    if drawing is not None:
        require_ending(drawing, DRAWING_ENDINGS, where="--drawing", what="drawing")
    load_kg = read_load(load, "--load").value
    surveyed = parse_machine(example_text(machine), machine) if known else load_machine(machine)
    travel_rad = read_travel(travel, surveyed)
    plan = plan_survey(surveyed, travel_rad=travel_rad, load_kg=load_kg, see_percent=see_percent)
    if drawing is not None:
        claim_file(drawing, overwrite=force_overwrite)
    if page is not None:
        claim_page(page, overwrite=force_overwrite)
    if start is not None:
        write_file(claim_file(start, overwrite=force_overwrite), example_text(machine))
    if drawing is not None:
        from feltload.calibration import save_drawing

        with console.progress("Drawing"):
            save_drawing(drawing, surveyed, dimension_rows(surveyed), travel_rad=travel_rad, load_kg=load_kg)
    if page is not None:
        from feltload.app.pages.page import render_survey
        from feltload.app.pages.survey.view import build_survey

        with console.progress("Drawing"):
            write_file(page, render_survey(build_survey(surveyed, plan)))
    console.say(survey_text(plan))
    if start is not None:
        console.say(f"Machine file to fill in: {start}")
    if drawing is not None:
        console.say(f"Drawing: {drawing}")
    if page is not None:
        console.say(f"Page: {page}")
    console.result(
        {
            "machine": plan.machine,
            "load_kg": plan.load_kg,
            "see_percent": plan.see_percent,
            "band_percent": plan.band_percent,
            "items": [_record(item) for item in plan.items],
            "machine_file": None if start is None else str(start),
            "drawing": None if drawing is None else str(drawing),
            "page": None if page is None else str(page),
        }
    )
    return 0


def _record(item: SurveyItem) -> dict[str, object]:
    """A dimension in the unit that the person wrote; null where no uncertainty is too large."""
    from feltload.calibration import unit_symbol

    parameter = item.parameter
    return {
        "name": parameter.key.dotted,
        "surveyed": parameter.value / parameter.per_unit,
        "unit": unit_symbol(parameter.unit),
        "u": parameter.u / parameter.per_unit,
        "needed_u": item.needed_u / parameter.per_unit if math.isfinite(item.needed_u) else None,
        "per_unit_percent": item.effect_percent_per_unit,
        "share": item.share,
        "enough": item.enough,
    }
