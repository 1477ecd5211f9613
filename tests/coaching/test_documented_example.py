"""The example of docs/coaching.md runs as printed."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from feltload.signal.profile.files.results import save_results
from profiled_rigs import profiled

PAGE = Path(__file__).parents[2] / "docs" / "coaching.md"


def test_example_runs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    profile, _ = profiled("lever-row", "ordinary", 41)
    save_results(tmp_path / "row", profile, overwrite=False)
    degrees = np.rad2deg(profile.angle_rad[[2, profile.angle_rad.size // 2, -3]])
    rows = [f"{a:.2f},{f},{0.05 * f}" for a, f in zip(degrees, (560, 480, 330), strict=True)]
    (tmp_path / "capacity.csv").write_text("angle_deg,force_n,u_n\n" + "\n".join(rows) + "\n")
    (example,) = re.findall(r"```python\n(.*?)```", PAGE.read_text(encoding="utf-8"), flags=re.DOTALL)
    monkeypatch.chdir(tmp_path)
    exec(compile(example, str(PAGE), "exec"), {})
    said = capsys.readouterr().out
    assert "% of capacity" in said
    assert "kgf" in said
