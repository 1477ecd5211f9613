"""Execute docs/examples/*.py as notebooks and write them beside: `python tools/notebooks.py`, or `make notebooks`.

The scripts are edited, never the notebooks. What is written says nothing of the computer it was made on: no times,
versions, paths or random identities. `tests/project/test_examples.py` executes the same and compares.
"""

from __future__ import annotations

import base64
import io
import os
import sys
import tempfile
from pathlib import Path
from typing import Any

EXAMPLES = Path(__file__).resolve().parents[1] / "docs" / "examples"
NAMES = ("coach", "designer", "scientist")
SECONDS_A_CELL = 300
COLOURS = 128
_IPYTHON = ".ipython"


def executed(name: str) -> Any:
    """The notebook of an example, executed in a kernel in an empty folder, without traces of this computer.

    Parameters
    ----------
    name : str
        Of the script, without its ending.

    Returns
    -------
    NotebookNode

    Raises
    ------
    nbclient.exceptions.CellExecutionError
        With the traceback of the cell that failed.
    """
    import jupytext
    from nbclient import NotebookClient

    notebook = jupytext.read(EXAMPLES / f"{name}.py", fmt="py:percent")
    with tempfile.TemporaryDirectory() as empty:
        client = NotebookClient(
            notebook,
            timeout=SECONDS_A_CELL,
            startup_timeout=SECONDS_A_CELL,
            resources={"metadata": {"path": empty}},
            kernel_name="python3",
        )
        client.execute(env=_environment(empty))
        left = sorted(path.name for path in Path(empty).iterdir() if path.name != _IPYTHON)
    if left:
        raise RuntimeError(f"{name}.py leaves files behind: {', '.join(left)}")
    return _without_traces(notebook)


def _environment(folder: str) -> dict[str, str]:
    """That of this process, figures inside the notebook, and no settings of whoever runs it."""
    inline = "module://matplotlib_inline.backend_inline"
    return {**os.environ, "MPLBACKEND": inline, "IPYTHONDIR": str(Path(folder) / _IPYTHON)}


def _without_traces(notebook: Any) -> Any:
    notebook.metadata = {"kernelspec": dict(notebook.metadata["kernelspec"])}
    for number, cell in enumerate(notebook.cells):
        cell.id, cell.metadata = f"cell-{number}", {}
        for output in cell.get("outputs", ()):
            output.pop("metadata", None)
            if output.output_type != "stream":
                output.metadata = {}
            data = output.get("data", {})
            if "image/png" in data:
                # A figure is its image: its text would name an object in memory.
                output.data = {"image/png": _smaller(data["image/png"])}
    return notebook


def _smaller(png: str) -> str:
    """The same figure in few colours, without the version of the library that drew it."""
    from PIL import Image

    kept = io.BytesIO()
    figure = Image.open(io.BytesIO(base64.b64decode(png))).convert("RGB")
    figure.quantize(COLOURS, dither=Image.Dither.NONE).save(kept, "png", optimize=True)
    return base64.b64encode(kept.getvalue()).decode()


def main(names: list[str]) -> None:
    """Write the notebooks of these examples, or of all."""
    import nbformat

    for name in names or NAMES:
        nbformat.write(executed(name), EXAMPLES / f"{name}.ipynb")
        print(EXAMPLES / f"{name}.ipynb")


if __name__ == "__main__":
    main(sys.argv[1:])
