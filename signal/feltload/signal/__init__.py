"""Streams to one clock, lever motion, repetitions and the resistance profile."""

from __future__ import annotations

__all__: list[str] = []
