"""Sentences of the facts of `feltload.coaching`."""

from __future__ import annotations

from collections.abc import Mapping

from feltload.app.text.common import Sentence

SENTENCES: Mapping[str, Sentence] = {}
"""Kind -> what is said of it."""
