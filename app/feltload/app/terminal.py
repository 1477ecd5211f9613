"""The terminal: names and texts out of files cannot steer it, whichever way they are printed."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

from rich.console import Console, ConsoleOptions, RenderableType
from rich.segment import Segment

_UNPRINTABLE: Final = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]"
)
"""Control characters but for tab and new line, marks that turn the direction of writing, halves of characters."""


def printable(text: str) -> str:
    """The text with what would steer a terminal written out, such as ``\\x1b``."""
    return _UNPRINTABLE.sub(lambda found: _written_out(found.group()), text)


def _written_out(character: str) -> str:
    code = ord(character)
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}"


class Terminal(Console):
    """A rich console on which every text passes `printable`; what rich itself sends to the terminal stays."""

    def render(self, renderable: RenderableType, options: ConsoleOptions | None = None) -> Iterable[Segment]:
        """Segments of anything printed, their texts printable."""
        for segment in super().render(renderable, options):
            if segment.control is None and _UNPRINTABLE.search(segment.text):
                yield segment._replace(text=printable(segment.text))
            else:
                yield segment
