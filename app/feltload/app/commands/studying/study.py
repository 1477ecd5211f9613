"""``feltload study``: how well measurements repeat, for a paper."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions


def study(
    file: Path,
    /,
    *,
    out: Path,
    format: Literal["csv", "parquet"] = "csv",
    column: Literal["single", "double"] = "single",
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Say how well measurements of machines repeat: operators, days, remounts.

    Intraclass correlations, standard error and minimal difference, limits of agreement, variance components, the
    same along the curve; a methods paragraph, a results table and figures for a paper. What the measurements do not
    give is said.

    Example: feltload study rows.toml --out rows-study

    Parameters
    ----------
    file
        Study file (.toml): which recordings or results, and of each machine, operator, day and remount.
    out
        Directory for page, text, tables and figures; made if it is not there.
    format
        Of the tidy tables; parquet needs the extra feltload[parquet].
    column
        Width of the figures: one column of a journal, or both.
    force_overwrite
        Replace a study that is there already.
    """
    from feltload.app.jobs.study.file import read_study
    from feltload.app.jobs.study.reading import read_measurements
    from feltload.app.jobs.study.study import analyse_study
    from feltload.app.pages.study.folder import PAGE, claim_study, study_record, write_study

    console = Console(common)
    plan = read_study(file)
    claim_study(out, format, overwrite=force_overwrite)
    with console.progress("Reading the measurements", total=len(plan.entries)) as advance:
        data = read_measurements(plan, advance=advance)
    with console.progress("Analysing"):
        found = analyse_study(plan, data)
        view = write_study(out, found, form=format, column=column)
    for line in view.doubts:
        console.note(f"! {line}")
    for sentence in view.sentences:
        console.say(sentence)
    for line in view.missing:
        console.note(f"Note: {line}")
    console.say(f"Page: {out / PAGE}")
    console.result({**study_record(found), "folder": str(out)})
    return 0
