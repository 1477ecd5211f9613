"""The worker's process: takes a job a line from its standard input, until that ends."""

from __future__ import annotations

import importlib
import os
import sys
from contextlib import suppress

from feltload.acquisition import Recording
from feltload.app.files.outputs import claim_directory
from feltload.app.files.recordings import open_recording
from feltload.app.jobs.measuring.measurement import measure
from feltload.app.live.estimating.assess import assess
from feltload.app.live.estimating.jobs import (
    ANSWERS,
    JOBS,
    Answer,
    Assess,
    Assessed,
    MakeResult,
    NotDone,
    ResultMade,
)
from feltload.app.pages.result_folder import ALL_FILES, write_result
from feltload.app.running.marked import Trouble
from feltload.calibration import parse_machine

GIVES_WAY = 3
"""Niceness: the recorder and the page come first; more would make the result wait on a busy computer."""


def main() -> int:
    """Run the process until whoever asks is gone; 0."""
    with suppress(AttributeError, OSError):
        os.nice(GIVES_WAY)
    # The first result is wanted within seconds: what draws it is slow to import.
    importlib.import_module("feltload.app.pages.report.assemble")
    whole: dict[str, Recording] = {}
    for line in sys.stdin.buffer:
        try:
            answer = _answer(JOBS.validate_json(line), whole)
        except Exception as error:
            # One job that fails must not end the others.
            answer = NotDone(Trouble.of(error))
        try:
            sys.stdout.buffer.write(ANSWERS.dump_json(answer) + b"\n")
            sys.stdout.buffer.flush()
        except OSError:
            break
    return 0


def _answer(job: Assess | MakeResult, whole: dict[str, Recording]) -> Answer:
    if isinstance(job, MakeResult):
        claim_directory(job.directory, ALL_FILES, overwrite=False)
        measured = measure(job.recordings, side=job.side)
        report = write_result(job.directory, measured.estimate, measured.provenance)
        return ResultMade(job.directory, report)
    for path in job.earlier:
        if str(path) not in whole:
            whole[str(path)] = open_recording(path)
    growing = open_recording(job.growing).until(job.until_ns)
    at_s = (job.until_ns - growing.origin_ns) * 1e-9
    machine = parse_machine(growing.info.machine_toml or "", "machine")
    recordings = [*(whole[str(path)] for path in job.earlier), growing]
    return Assessed(tuple(assess(recordings, machine, side=side, at_s=at_s) for side in job.sides))
