"""What results were made from, found again by its digests."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from feltload.app.errors import UsageError
from feltload.app.files.provenance import file_sha256


def find_by_digest(wanted: Sequence[tuple[str, str]], folder: Path, result: Path) -> list[Path]:
    """Files of these names and digests below a folder, whatever they are called now.

    Parameters
    ----------
    wanted : sequence of (str, str)
        Names and digests.
    folder : Path
    result : Path
        Directory of the result that was made from them, for messages.

    Raises
    ------
    UsageError
        One is not there, or has changed.
    """
    if not folder.is_dir():
        raise UsageError("no such folder", where=str(folder), remedy="name the folder of the recordings")
    endings = {Path(name).suffix for name, _ in wanted}
    paths = sorted(path for ending in endings for path in folder.rglob(f"*{ending}") if path.is_file())
    return [_find(name, sha256, paths, folder, result) for name, sha256 in wanted]


def _find(name: str, sha256: str, paths: Sequence[Path], folder: Path, result: Path) -> Path:
    # Most files are where their name says; the others' bytes are read only where it does not help.
    for path in sorted(paths, key=lambda path: path.name != name):
        if file_sha256(path) == sha256:
            return path
    namesakes = [path for path in paths if path.name == name]
    if namesakes:
        raise UsageError(
            f"has changed since {result} was made from it: its sha256 began with {sha256[:12]}, and is "
            f"{file_sha256(namesakes[0])[:12]}… now",
            where=str(namesakes[0]),
            remedy="name the folder that holds it as it was, with --recordings",
        )
    raise UsageError(
        f"{name} of {result} is not in it (sha256 {sha256[:12]}…)",
        where=str(folder),
        remedy="name the folder that holds it as it was, with --recordings",
    )
