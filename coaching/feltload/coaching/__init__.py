"""Capacity of a person, match, help by hand, comparison and reliability."""

from __future__ import annotations

__all__: list[str] = []
