"""``feltload new ...``: files that describe what is at hand, made by asking."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import App, Parameter

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions

EXIT_LEFT = 130
"""Left by the keyboard before the end, as any command that is stopped by it."""

app = App(name="new", help="Make a file that describes a machine, by answering questions.")


@app.command
def machine(
    out: Path = Path("machine.toml"),
    /,
    *,
    answers: Annotated[str | None, Parameter(allow_leading_hyphen=True)] = None,
    drawing: Path | None = None,
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Make a machine file by answering questions in the terminal.

    What kind of machine it is comes first, then what a measured profile needs, then, if you like, the weights, with
    which the force is predicted and a profile checked. Each question says how to measure it. The drawing beside the
    file is drawn again after each answer. Leave at any time: the same command goes on where you were.

    Example: feltload new machine row.toml

    Example: feltload new machine row.toml --answers answers.txt

    Parameters
    ----------
    out
        Machine file to write (.toml).
    answers
        File with the answers, one a line in the order of the questions, or "-" for standard input.
    drawing
        Drawing to write (.svg, .png or .pdf); beside the machine file when left out.
    force_overwrite
        Replace a machine file and a drawing that are there already.
    """
    from feltload.app.asking.machine_session import MachineFiles, make_machine
    from feltload.app.files.outputs import DRAWING_ENDINGS, require_ending
    from feltload.app.text.machine.dialogue import made_text

    console = Console(common)
    require_ending(out, (".toml",), where=str(out), what="machine file")
    picture = drawing or out.with_suffix(".svg")
    require_ending(picture, DRAWING_ENDINGS, where="--drawing", what="drawing")
    draft = make_machine(console, MachineFiles(out, picture), answers, overwrite=force_overwrite)
    if draft is None:
        return EXIT_LEFT
    console.say(made_text(draft, out, picture))
    console.result(
        {
            "machine_file": str(out),
            "drawing": str(picture),
            "mechanism": draft.kind,
            "parts": [part.name for part in draft.parts],
        }
    )
    return 0
