"""A recording of both arms becomes a result for each and one difference; of one arm, that arm's result."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from both_arms import both_arms
from feltload.app.live.outcomes.machine import opened_result
from feltload.app.live.outcomes.recorded import profile_recordings
from feltload.app.live.setup.folder import WorkingFolder
from restated import restated


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory, recordings: Path) -> Path:
    """Plates hang farther out on the right arm."""
    path = tmp_path_factory.mktemp("arms") / "both.mcap"
    both_arms(recordings / "lever-row-40kg.mcap", recordings / "peg-out-40kg.mcap", path)
    return path


def test_both_arms_are_measured_and_compared(both: Path) -> None:
    folder = WorkingFolder(both.parent)
    made = profile_recordings(folder, [both], "row")
    assert folder.results() == ("row-left", "row-right")
    assert "the right arm of the machine is the heavier one" in made.headline
    kept = json.loads((both.parent / "row-sides.json").read_text())["loads"][0]
    left, right, difference = made.key_figures
    assert (left.label, right.label) == ("Heaviest, left arm", "Heaviest, right arm")
    assert float(difference.value.split()[0]) == pytest.approx(-kept["mean_n"], abs=0.5)
    assert "± " in difference.detail and "the right arm is heavier" in difference.detail
    assert "look at the machine" in made.advice[0]
    assert (
        made.drawing.table.rows[-1][0].startswith("right arm −") and " ± " in made.drawing.table.rows[-1][1]
    )
    assert [arm.name for arm in made.documented] == ["row-left", "row-right"]
    for arm, name in zip(made.arms, ("left", "right"), strict=True):
        assert f"{name} arm" in arm.document.read_text(encoding="utf-8")
        assert opened_result(both.parent / arm.name).headline == arm.headline


def test_one_of_two_arms_is_measured_alone_and_with_its_own_recordings(both: Path, tmp_path: Path) -> None:
    one = restated(both, tmp_path / "one.mcap", side="right")
    folder = WorkingFolder(tmp_path)
    made = profile_recordings(folder, [both, one], "row")
    assert folder.results() == ("row-right",)
    assert made.sources == ("one.mcap",)
    assert made.arms == ()
