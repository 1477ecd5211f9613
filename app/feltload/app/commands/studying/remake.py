"""``feltload remake``: results made again from what their folder says, and compared."""

from __future__ import annotations

from pathlib import Path

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions


def remake(
    result: Path,
    /,
    *,
    out: Path,
    recordings: Path = Path(),
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Make results again, with the options and files that their folder keeps, and compare the two.

    For what `profile` (with `check`), `predict`, `design`, `study` and `batch` wrote. Says whether every number is the
    same, in JSON, tables, arrays, pages and figures, or which differ, by how much, and what may explain it. Exit code 1
    where they differ, 2 where they cannot be made again.

    Example: feltload remake row --recordings sessions --out row-again

    Parameters
    ----------
    result
        Directory of the results.
    out
        Directory for the results made again.
    recordings
        Folder that holds what they were made from, found by digests; left out, the current one.
    force_overwrite
        Replace a result that is there already.
    """
    from feltload.app.jobs.remaking.comparing import compare_folders, result_files
    from feltload.app.remake import make_again, versions_of
    from feltload.app.text.study.remade import remade_lines

    console = Console(common)
    with console.progress("Making it again"):
        make_again(result, recordings, out, overwrite=force_overwrite)
        made = result_files(out)
        found = compare_folders(result, out, of=made)
    left = sorted(str(path) for path in result_files(result) - made)
    before, after = versions_of(result), versions_of(out)
    for line in remade_lines(found, before, after):
        console.say(line)
    if left:
        console.note(f"Not made again, so not compared: {', '.join(left)}")
    console.result(
        {
            "same": found.same,
            "bit_for_bit": found.same and found.most == 0.0,
            "files": found.files,
            "differences": [{"name": name, "relative": size} for name, size in found.above().items()],
            "structure": found.structure,
            "words": found.words,
            "not_made_again": left,
            "made_with": {"before": before, "after": after},
            "out": str(out),
        }
    )
    return 0 if found.same else 1
