"""The document of the formats names the keys of profile.json, no more and no less."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np

from built_estimate import built_estimate
from feltload.signal.profile.files.summary import profile_summary

RESULTS = (
    (Path(__file__).parents[3] / "docs" / "formats.md")
    .read_text(encoding="utf-8")
    .partition("## Results of")[2]
    .partition("\n## ")[0]
)


def documented(heading: str) -> list[str]:
    """Names in the first column of the table under a heading."""
    table = RESULTS.partition(f"| {heading} | holds |")[2].partition("\n\n")[0]
    cells = re.findall(r"^\| (`[^|]*) \|", table, flags=re.MULTILINE)
    return [name for cell in cells for name in re.findall(r"`([^`]*)`", cell)]


def test_keys_of_profile_json():
    made = built_estimate(np.radians(np.arange(-20.0, 40.0)), np.linspace(100.0, 200.0, 60))
    assert list(profile_summary(made)) == documented("key")
