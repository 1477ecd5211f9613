"""``feltload compare``: machines, loads or days against each other."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions


def compare(
    results: list[Path],
    /,
    *,
    out: Path | None = None,
    load: str | None = None,
    by: Literal["handle", "travel", "angle"] | None = None,
    scaled: Literal["mean", "peak"] | None = None,
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Compare measured profiles: machines, days or both arms of one machine, each with the first.

    Says where they differ by more than the measurements' uncertainty, at the loads that all of them were measured
    with, and what was treated as common to them.

    Example: feltload compare row press --out compared.html

    Example: feltload compare monday friday --load "40 kg" --json

    Example: feltload compare row press --scaled mean

    Parameters
    ----------
    results
        Directories that `feltload profile` or `feltload predict` wrote, two to thirty; the others are
        compared with the first. One with both arms of a machine counts as two.
    out
        Page to write (.html), with the curves on one figure.
    load
        Compare at this load alone, such as "40 kg".
    by
        What counts as the same position: the handle's way from the start stop (left out: of one machine), the part of
        the measured travel (left out: of several machines), or the lever angle.
    scaled
        Compare each force as a part of its own mean or peak over the shared travel: the shape, whatever the size.
        Without a load in common, each with its heaviest.
    force_overwrite
        Replace a page that is there already.
    """
    from feltload.app.files.inputs import read_load
    from feltload.app.files.outputs import claim_page
    from feltload.app.jobs.comparing.comparison import read_comparison
    from feltload.app.jobs.comparing.records import comparison_record
    from feltload.app.pages.comparison.view import build_comparison
    from feltload.core import write_file

    console = Console(common)
    load_kg = None if load is None else read_load(load, "--load").value
    if out is not None:
        claim_page(out, overwrite=force_overwrite)
    with console.progress("Comparing"):
        comparison = read_comparison(results, by=by, load_kg=load_kg, scaled_by=scaled)
        view = build_comparison(comparison)
        if out is not None:
            from feltload.app.pages.page import render_comparison

            write_file(out, render_comparison(view))
    for result in comparison.results:
        console.doubts(result.estimate, result.name)
    for row in view.rows:
        console.say(
            f"{row.name}, {row.load}: {row.shape}, heaviest {row.heaviest}, drop-off {row.drop_off}, "
            f"friction {row.friction}"
        )
    for sentence in view.sentences:
        console.say(sentence)
    for line in view.assumed:
        console.say(f"Assumed, {line}")
    if view.together:
        console.say(view.together)
    if out is not None:
        console.say(f"Page: {out}")
    record = {**comparison_record(comparison), "sentences": list(view.sentences)}
    console.result({**record, "page": None if out is None else str(out)})
    return 0
