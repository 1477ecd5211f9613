"""A command asked again, with what it was given."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from feltload.app.files.asked import AskedCommand
from feltload.app.jobs.remaking.inputs import find_by_digest
from feltload.app.options import KEEPING

_IN_PLACE: Final = {"study"}
"""Commands whose file names others beside it, so that it is read where it lies."""


def words_again(asked: AskedCommand, *, inputs: Path, result: Path, out: Path, scratch: Path) -> list[str]:
    """Words of a kept command for another folder.

    Parameters
    ----------
    asked : AskedCommand
    inputs : Path
        Folder in which the files that are not kept by their text are looked for, and that stands for a folder given.
    result : Path
        Directory of the result, for messages.
    out : Path
        Folder of the new results.
    scratch : Path
        Folder for the files that are kept by their text; the words name them from there.

    Raises
    ------
    UsageError
        A file is not there, or has changed.
    """
    names = []
    for given in asked.given:
        if given.sha256 is None:
            names.append(str(inputs.resolve()))
        elif given.text is None or asked.command in _IN_PLACE:
            (path,) = find_by_digest([(given.name, given.sha256)], inputs, result)
            names.append(str(path.resolve()))
        else:
            (scratch / given.name).write_text(given.text, encoding="utf-8", newline="")
            names.append(given.name)
    words = [asked.command]
    checks = KEEPING[asked.command] == "result"
    if checks:
        words.append(str(out.resolve()))
    for word in asked.words:
        value = None if word.value is None else word.value.format(*names)
        if word.option is None:
            words.append(value or "")
        else:
            words.append(word.option if value is None else f"{word.option}={value}")
    ending = () if checks else (f"--out={out.resolve()}",)
    return [*words, *ending, "--force-overwrite", "--quiet"]
