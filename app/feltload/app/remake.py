"""Results made again in another folder: a measurement from its recordings, anything else by its command's own words."""

from __future__ import annotations

import contextlib
import io
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

from feltload.app.errors import UsageError
from feltload.app.files.asked import AskedCommand, load_commands
from feltload.app.files.provenance import FILE_NAME as PROVENANCE, load_provenance


def make_again(result: Path, inputs: Path, out: Path, *, overwrite: bool) -> None:
    """Make the results of a folder again.

    Parameters
    ----------
    result : Path
    inputs : Path
        Folder that holds what they were made from.
    out : Path
        Folder for the new ones.
    overwrite : bool
        Replace results that are there already.

    Raises
    ------
    UsageError
        The folder does not say how it was made, or what it was made from is not there or has changed.
    """
    asked = load_commands(result)
    check = asked.pop("check", None)
    if out.exists() and out.resolve() == result.resolve():
        raise UsageError("is the result itself", where=str(out), remedy="choose another --out")
    if asked:
        if out.is_dir() and any(out.iterdir()) and not overwrite:
            raise UsageError("is not empty", where=str(out), remedy="choose another --out")
        for command in asked.values():
            _run(command, result, inputs, out)
        return
    if not (result / PROVENANCE).is_file():
        raise UsageError(
            "does not say how it was made: it has neither provenance.json nor the words of a command",
            where=str(result),
            remedy="name the directory that profile, predict, design, study or batch wrote",
        )
    _measure(result, inputs, out, overwrite=overwrite)
    if check is not None:
        _run(check, result, inputs, out)


def _measure(result: Path, inputs: Path, out: Path, *, overwrite: bool) -> None:
    from feltload.app.files.outputs import claim_directory
    from feltload.app.jobs.predicting.targets import load_targets
    from feltload.app.jobs.remaking.measured import remake_result
    from feltload.app.pages.result_folder import ALL_FILES, write_result
    from feltload.calibration import judge_profile

    claim_directory(out, ALL_FILES, overwrite=overwrite)
    measurement = remake_result(result, inputs)
    judgements = judge_profile(measurement.estimate, load_targets(result))
    write_result(out, measurement.estimate, measurement.provenance, judgements=judgements)


def _run(asked: AskedCommand, result: Path, inputs: Path, out: Path) -> None:
    """Run a kept command as the command line would, without what it prints."""
    from feltload.app.cli import run_words
    from feltload.app.jobs.remaking.asked import words_again

    with tempfile.TemporaryDirectory(prefix="feltload-remake-") as scratch:
        words = words_again(asked, inputs=inputs, result=result, out=out, scratch=Path(scratch))
        # Files that a phrase names are named as they were.
        with _inside(Path(scratch)), _unheard():
            run_words(words)


@contextlib.contextmanager
def _unheard() -> Iterator[None]:
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        yield


@contextlib.contextmanager
def _inside(folder: Path) -> Iterator[None]:
    before = Path.cwd()
    os.chdir(folder)
    try:
        yield
    finally:
        os.chdir(before)


def versions_of(folder: Path) -> dict[str, str]:
    """Versions of what made the results of a folder, as far as it keeps them."""
    for kept in load_commands(folder).values():
        return {"feltload": kept.feltload, "commit": kept.revision, **kept.libraries}
    made = load_provenance(folder)
    return {"feltload": made.feltload, "commit": made.revision, **made.libraries}
