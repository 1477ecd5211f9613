"""Command line, report, live page and batch."""

from __future__ import annotations

__all__: list[str] = []
