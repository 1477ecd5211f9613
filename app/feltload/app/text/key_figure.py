"""One large figure at the head of a page."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class KeyFigure:
    """One figure at the top of a page: what it is, its value, and a remark."""

    label: str
    value: str
    detail: str
