"""Words of the page that shows what was measured."""

from __future__ import annotations

from typing import Final

from feltload.app.text.numbers import listed

HEADING: Final = "Result"
NOTHING: Final = "Nothing has been measured yet."
PERSON: Final = "The recording of this person is kept. What comes next, in a terminal:"
WORKING: Final = "Estimating the profile …"
REPORT: Final = "Open the report"
SAVE_REPORT: Final = "Save the report as one file"
REPEAT: Final = "Repeat with the same load"
ADD_LOAD: Final = "Add another load"
DOUBTS: Final = "To be known about the data"
KEPT: Final = "Where it is kept"


def kept_text(directory: str, recordings: tuple[str, ...]) -> str:
    """Where result and recordings are."""
    return f"Result in the folder {directory}, of {listed(recordings)}."
