"""Directories that predictions are written into, with their pages."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from feltload.app.errors import UsageError
from feltload.app.files.outputs import claim_directory, claim_page
from feltload.app.files.provenance import FILE_NAME as PROVENANCE
from feltload.app.jobs.predicting.prediction import (
    PredictedMachine,
    arms_frame,
    load_prediction,
    variants_frame,
)
from feltload.app.jobs.predicting.targets import FILE_NAME as TARGETS, write_targets
from feltload.calibration import Target
from feltload.core import write_file
from feltload.signal import CSV, JSON, MODEL, save_results

REPORT = "report.html"
ARMS = "arms.csv"
VARIED = "varied.csv"
SIDE_BY_SIDE = "compared.html"
ALL_FILES = (CSV, JSON, MODEL, PROVENANCE, REPORT, ARMS, VARIED, TARGETS)


def claim_predictions(machines: Sequence[Path], out: Path | None, *, overwrite: bool) -> list[Path]:
    """Directory of each machine's prediction; none where nothing is to be written.

    Raises
    ------
    OutputExistsError, UsageError
        A result is there already, or two machine files have one name.
    """
    if out is None:
        return []
    if len(machines) == 1:
        return [claim_directory(out, ALL_FILES, overwrite=overwrite)]
    stems = [path.stem for path in machines]
    for stem in stems:
        if stems.count(stem) > 1:
            raise UsageError(
                f'two machine files are named "{stem}"',
                where="predict",
                remedy="rename one, or predict them one by one",
            )
    claim_page(out / SIDE_BY_SIDE, overwrite=overwrite)
    return [claim_directory(out / stem, ALL_FILES, overwrite=overwrite) for stem in stems]


def write_predictions(
    predicted: Sequence[PredictedMachine], folders: Sequence[Path], out: Path | None
) -> list[Path]:
    """Write every prediction into its directory, and a page side by side where there are several.

    Returns
    -------
    list of Path
        The pages, the one side by side first.
    """
    if out is None:
        return []
    # Slow to import: without a page nobody waits for it.
    from feltload.app.pages.page import render_comparison, render_prediction
    from feltload.app.pages.prediction.view import build_prediction

    drawn = [render_prediction(build_prediction(each)) for each in predicted]
    beside = []
    if len(predicted) > 1:
        from feltload.app.jobs.comparing.comparison import compare_results
        from feltload.app.jobs.comparing.names import result_names
        from feltload.app.jobs.comparing.results import Result
        from feltload.app.pages.comparison.view import build_comparison

        estimates = [each.prediction.estimate for each in predicted]
        names = result_names(estimates, [folder.name for folder in folders])
        results = tuple(
            Result(name, each.prediction.estimate, each.provenance)
            for name, each in zip(names, predicted, strict=True)
        )
        write_file(out / SIDE_BY_SIDE, render_comparison(build_comparison(compare_results(results))))
        beside = [out / SIDE_BY_SIDE]
    for each, folder, page in zip(predicted, folders, drawn, strict=True):
        _write(folder, each, page)
    return [*beside, *(folder / REPORT for folder in folders)]


def redraw_prediction(folder: Path, targets: Sequence[Target] = ()) -> Path:
    """Draw the page of a prediction again from its own files, compared with `targets` where some are given.

    Raises
    ------
    FeltloadError
        The files are damaged or of an older version, or a target cannot be compared.
    """
    from feltload.app.pages.page import render_prediction
    from feltload.app.pages.prediction.view import build_prediction

    predicted = load_prediction(folder, targets)
    page = render_prediction(build_prediction(predicted))
    if targets:
        write_targets(folder, predicted.judgements, predicted.travel)
    write_file(folder / REPORT, page)
    return folder / REPORT


def _write(folder: Path, predicted: PredictedMachine, page: str) -> None:
    estimate = predicted.prediction.estimate
    save_results(folder, estimate, overwrite=True)
    predicted.provenance.save(folder)
    write_file(folder / ARMS, arms_frame(predicted).to_csv(index=False, float_format="%.6g"))
    if predicted.variants:
        write_file(folder / VARIED, variants_frame(predicted).to_csv(index=False, float_format="%.6g"))
    if predicted.judgements:
        write_targets(folder, predicted.judgements, estimate.travel)
    write_file(folder / REPORT, page)
