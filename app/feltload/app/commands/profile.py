"""``feltload profile``: recordings to a resistance profile and its report."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, NOTHING_REPLACED, CommonOptions, ReplacedFiles

if TYPE_CHECKING:
    from feltload.app.jobs.measuring.measurement import Measurement
    from feltload.calibration import Judgement, Target


def profile(
    recordings: list[Path],
    /,
    *,
    out: Path,
    replaced: ReplacedFiles = NOTHING_REPLACED,
    side: Literal["left", "right", "both"] | None = None,
    certificate: list[Path] | None = None,
    accept_expired: bool = False,
    unhelped: bool = False,
    latitude: str | None = None,
    height: str | None = None,
    target: list[str] | None = None,
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Estimate the resistance profile and write its report.

    Writes profile.csv, profile.json and report.html into the directory OUT. Recordings of two or more
    loads let other loads be predicted.

    Example: feltload profile row-20kg.mcap row-40kg.mcap --out row

    Example: feltload profile both-arms.mcap --side both --out row

    Example: feltload profile row-40kg.mcap --certificate cell.json --latitude "52 deg" --out row

    Parameters
    ----------
    recordings
        Recordings of one machine, one or more loads.
    out
        Directory for the result; made if it is not there.
    side
        Arm to measure, when the recordings hold both. "both" writes OUT/left and OUT/right, compares the two and
        writes OUT/sides.json.
    certificate
        Calibration certificates (JSON) of the sensors, in place of those in the recordings, which are not
        changed; STREAM=FILE says for which sensor where that is not plain. May be repeated.
    accept_expired
        Use certificates past their expiry, after a field check with one known weight.
    unhelped
        Nobody's hands helped or resisted in recordings that do not say what they are, though their force looks like it.
    latitude
        Where it was recorded, such as "52 deg", for gravity; kept with the result for `feltload check`.
    height
        Height of that place above sea level, such as "100 m".
    target
        Wanted force to compare the profile with: a phrase such as "falls 25(5) % from start to end", a table (.csv), or
        "proportional to capacity.json within 10 %". May be repeated.
    force_overwrite
        Replace a result that is there already.
    """
    from feltload.app.files.inputs import place_gravity
    from feltload.app.files.outputs import claim_directory
    from feltload.app.jobs.measuring.measurement import measure
    from feltload.app.jobs.predicting.targets import read_targets
    from feltload.app.pages.result_folder import ALL_FILES, write_result
    from feltload.calibration import judge_profile

    console = Console(common)
    targets = read_targets(target or [])
    measure_side = partial(
        measure,
        recordings,
        replaced=replaced,
        certificates=certificate or (),
        accept_expired=accept_expired,
        unhelped=unhelped,
        gravity=place_gravity(latitude, height),
    )
    steps = len(recordings) + 2
    if side == "both":
        return _profile_both(
            console, measure_side, out, steps=steps, overwrite=force_overwrite, targets=targets
        )
    claim_directory(out, ALL_FILES, overwrite=force_overwrite)
    with console.progress("Estimating the profile", total=steps) as advance:
        measurement = measure_side(side=side, advance=advance)
        advance(steps - 1)
        judgements = judge_profile(measurement.estimate, targets)
        report = write_result(out, measurement.estimate, measurement.provenance, judgements=judgements)
    _show(console, measurement, report, judgements)
    console.result(_record(measurement, report, judgements))
    return 0


def _profile_both(
    console: Console,
    measure_side: Callable[..., Measurement],
    out: Path,
    *,
    steps: int,
    overwrite: bool,
    targets: Sequence[Target],
) -> int:
    """Both arms, each with its result and report, and what differs between them."""
    from feltload.app.files.outputs import claim_directory
    from feltload.app.jobs.both_sides import FILE_NAME, SIDES, compare_arms, measure_arms
    from feltload.app.pages.result_folder import ALL_FILES, write_result
    from feltload.app.text.machine.arms import describe_arms
    from feltload.calibration import judge_profile
    from feltload.core import write_file

    for side in SIDES:
        claim_directory(out / side, ALL_FILES, overwrite=overwrite)
    claim_directory(out, [FILE_NAME], overwrite=overwrite)
    with console.progress("Estimating the profiles", total=steps * len(SIDES)) as advance:
        arms = measure_arms(partial(measure_side, both_sides=True), steps=steps, advance=advance)
        comparison = compare_arms(arms["left"].estimate, arms["right"].estimate)
        judged = {side: judge_profile(arm.estimate, targets) for side, arm in arms.items()}
        reports = {
            side: write_result(out / side, arm.estimate, arm.provenance, judgements=judged[side])
            for side, arm in arms.items()
        }
        write_file(out / FILE_NAME, json.dumps(comparison.to_dict(), indent=1, allow_nan=False) + "\n")
    for side, arm in arms.items():
        console.say(f"{side} arm".capitalize())
        _show(console, arm, reports[side], judged[side])
    console.say("Left against right")
    for line in describe_arms(comparison.profiles, comparison.travel, comparison.repetitions):
        console.say(f"  {line}")
    records = {side: _record(arm, reports[side], judged[side]) for side, arm in arms.items()}
    console.result({**records, "sides": comparison.to_dict()})
    return 0


def _show(console: Console, measurement: Measurement, report: Path, judgements: Sequence[Judgement]) -> None:
    from feltload.app.text.facts import describe
    from feltload.app.text.inputs import describe_field_check
    from feltload.app.text.predicted.target import describe_judgement

    console.findings(measurement.estimate)
    for judgement in judgements:
        console.say(f"Target {describe_judgement(judgement, measurement.estimate.travel, measured=True)}")
    for source in measurement.provenance.recordings:
        for check in source.field_checks:
            console.say(f"{describe_field_check(check)} ({source.name})")
    for remark in measurement.provenance.remarks:
        console.say(f"Note: {describe(remark)}")
    console.say(f"Report: {report}")


def _record(measurement: Measurement, report: Path, judgements: Sequence[Judgement]) -> dict[str, object]:
    from feltload.calibration import judgement_record
    from feltload.signal import profile_summary

    gravity = measurement.provenance.gravity
    return {
        **profile_summary(measurement.estimate),
        "gravity": None if gravity is None else gravity.model_dump(),
        "remarks": [fact.to_dict() for fact in measurement.provenance.remarks],
        "targets": [judgement_record(each, measurement.estimate.travel) for each in judgements],
        "report": str(report),
    }
