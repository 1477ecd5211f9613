"""The page that a result ends as: one self-contained HTML file."""

from __future__ import annotations
