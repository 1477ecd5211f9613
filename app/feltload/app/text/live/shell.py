"""Words of every page's head."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

NAME: Final = "feltload"
PAGES: Final[Mapping[str, str]] = {
    "/": "Start",
    "/measure": "Measure",
    "/hands": "Hands",
    "/result": "Result",
    "/client": "Client",
}
NAVIGATION: Final = "Pages"
WATCHING: Final = "watching only"
TAKE_PART: Final = "take part"
