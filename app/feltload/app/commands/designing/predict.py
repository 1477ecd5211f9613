"""``feltload predict``: what a machine will ask for, from its file alone."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions

if TYPE_CHECKING:
    from feltload.app.jobs.predicting.prediction import PredictedMachine


def predict(
    machines: list[Path],
    /,
    *,
    out: Path | None = None,
    load: Annotated[list[str] | None, Parameter(allow_leading_hyphen=True)] = None,
    travel: Annotated[str | None, Parameter(allow_leading_hyphen=True)] = None,
    friction: str | None = None,
    vary: Annotated[list[str] | None, Parameter(allow_leading_hyphen=True)] = None,
    target: list[str] | None = None,
    latitude: str | None = None,
    height: str | None = None,
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Predict a machine's resistance profile from its machine file, before anything is measured.

    Writes into OUT what `feltload profile` writes for a measured machine, and the moment arms. Several machine files
    have a directory each in OUT, and a page side by side.

    Example: feltload predict row.toml --load "20 kg" --load "40 kg" --out row-predicted

    Example: feltload predict row.toml --vary plates.radius=250:300:10 --target "falls 25(5) % from start to end"

    Example: feltload predict old.toml new.toml --load "40 kg" --friction "3 to 8 %" --out compared

    Parameters
    ----------
    machines
        Machine files.
    out
        Directory for the results; made if it is not there. Left out, nothing is written.
    load
        Load, such as "40 kg" (left out). May be repeated.
    travel
        From the start stop to the turn: a rotation such as "80 deg", or a way of the handle such as "60 cm".
    friction
        What is expected of friction where the machine file states no losses: "5 to 15 N", or "3 to 8 %" of the force.
    vary
        Dimension of the machine file and the values it takes, first:last:step in the file's unit, such as
        plates.radius=250:300:10. May be repeated; all combinations are drawn.
    target
        Wanted force: a phrase such as "falls 25(5) % from start to end", "constant within 5 %", "250(20) N at start" or
        "at most 400 N", a table (.csv), or "proportional to capacity.json within 10 %". May be repeated.
    latitude
        Where the machine will stand, such as "52 deg", for gravity.
    height
        Height of that place above sea level, such as "100 m".
    force_overwrite
        Replace a result that is there already.
    """
    from feltload.app.files.inputs import place_gravity
    from feltload.app.jobs.predicting.inputs import read_friction
    from feltload.app.jobs.predicting.prediction import predict_file, read_loads
    from feltload.app.jobs.predicting.targets import read_targets
    from feltload.app.pages.prediction_folder import claim_predictions, write_predictions

    console = Console(common)
    loads_kg = read_loads(load or ["40 kg"])
    expected = None if friction is None else read_friction(friction)
    targets = read_targets(target or [])
    gravity = place_gravity(latitude, height)
    folders = claim_predictions(machines, out, overwrite=force_overwrite)
    with console.progress("Predicting"):
        predicted = [
            predict_file(
                path,
                loads_kg=loads_kg,
                travel=travel,
                friction=expected,
                vary=vary or (),
                targets=targets,
                gravity=gravity,
            )
            for path in machines
        ]
        pages = write_predictions(predicted, folders, out)
    for each in predicted:
        _show(console, each)
    for page in pages:
        console.say(f"Page: {page}")
    console.result(
        {"machines": [_record(each) for each in predicted], "pages": [str(page) for page in pages]}
    )
    return 0


def _show(console: Console, predicted: PredictedMachine) -> None:
    from feltload.app.text.predicted.prediction import describe_predicted_terminal

    for line in describe_predicted_terminal(predicted):
        console.say(line)


def _record(predicted: PredictedMachine) -> dict[str, object]:
    from feltload.app.jobs.predicting.prediction import prediction_record

    return prediction_record(predicted)
