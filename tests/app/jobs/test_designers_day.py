"""From a wanted curve to a checked prototype, by the commands that the tutorial prints, in an empty folder."""

from __future__ import annotations

import json
import re
import runpy
import shlex
import sys
from pathlib import Path

import numpy as np
import pytest

from feltload.app.cli import main
from feltload.calibration import load_machine
from feltload.emulator import built_lever
from feltload.signal import load_results

pytestmark = pytest.mark.timeout(300)

ROOT = Path(__file__).parents[3]
TUTORIAL = (ROOT / "docs" / "tutorial-designer.md").read_text(encoding="utf-8")
TRAVEL_RAD = float(np.radians(50.0))


def printed() -> list[list[str]]:
    """Every command of the tutorial; what a person records is made by the invented prototype."""
    blocks = "\n".join(re.findall(r"```\n(.*?)```", TUTORIAL, flags=re.DOTALL))
    words = [shlex.split(line) for line in blocks.splitlines() if line.strip()]
    return [each for each in words if each[:2] != ["feltload", "record"]]


@pytest.fixture(scope="module")
def walked(tmp_path_factory) -> tuple[Path, dict[str, int]]:
    """The folder after all of them, and what each came out with."""
    folder = tmp_path_factory.mktemp("designers-day")
    codes: dict[str, int] = {}
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        for program, *words in printed():
            if program == "feltload":
                codes[" ".join(words)] = main(words)
                continue
            assert program == "python"
            script = ROOT / words[0]
            patch.setattr(sys, "argv", words)
            patch.syspath_prepend(script.parent)
            runpy.run_path(str(script), run_name="__main__")
    return folder, codes


def test_every_command_of_the_tutorial_does_its_work(walked):
    _, codes = walked
    assert len(codes) == 11
    assert set(codes.values()) == {0}, codes


def test_the_prototype_is_measured_as_it_was_built_and_keeps_what_was_promised(walked):
    folder, _ = walked
    text = (folder / "row-design" / "machine.toml").read_text(encoding="utf-8")
    built = built_lever(text, travel_rad=TRAVEL_RAD, seed=1)
    estimate = load_results(folder / "row-measured")
    q = estimate.angle_rad - estimate.start_angle_rad
    for load_kg, force_n, u95_n in zip(
        estimate.loads_kg, estimate.static_n, estimate.static_u95_n, strict=True
    ):
        # Lagrange's equation of the lever that was built, by its own dimensions.
        truth = built.potential_slope_n_m(q, load_kg, 9.81) / built.handle_radius_m
        assert np.mean(np.abs(force_n - truth) <= u95_n + 0.003 * truth) > 0.9
    targets = json.loads((folder / "row-measured" / "targets.json").read_text(encoding="utf-8"))
    assert [each["verdict"] for each in targets["judgements"]] == ["met", "met"]
    agreement = json.loads((folder / "row-measured" / "agreement.json").read_text(encoding="utf-8"))
    assert agreement["verdict"] == "agrees"


def test_the_shop_made_small_errors(walked):
    folder, _ = walked
    path = folder / "row-design" / "machine.toml"
    machine = load_machine(path)
    text = path.read_text(encoding="utf-8")
    levers = [built_lever(text, travel_rad=TRAVEL_RAD, seed=seed) for seed in range(200)]
    (handle,) = [p for p in machine.parameters if p.key.dotted == "handle_radius"]
    radii = np.array([each.handle_radius_m for each in levers])
    assert np.mean(radii) == pytest.approx(handle.value, abs=4.0 * handle.u / np.sqrt(200))
    assert np.std(radii) == pytest.approx(handle.u, rel=0.25)
