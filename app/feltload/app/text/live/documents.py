"""Words beside a page that is opened, saved or shared as one file."""

from __future__ import annotations

from typing import Final

OPEN_REPORT: Final = "Open the report"
OPEN_SHEET: Final = "Open the sheet"
SAVE: Final = "Save as one file"
SHARE: Final = "Share …"
SHARE_FAILED: Final = "It could not be shared from here; save it as one file and send that."
