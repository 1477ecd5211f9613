"""One file per command of ``feltload``."""

from __future__ import annotations
