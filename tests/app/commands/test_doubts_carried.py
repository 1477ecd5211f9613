"""What put a profile in serious doubt when it was made is said again wherever somebody goes by it."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from feltload.app.cli import main
from feltload.coaching import CapacityCurve, capacity_to_json
from feltload.core import Fact, Severity
from feltload.signal import ProfileFact, load_results
from feltload.signal.profile.files.results import save_results

DIFFER = Fact(
    ProfileFact.HALF_REPETITIONS_DIFFER,
    Severity.SERIOUS,
    figures={"count": 12, "of": 14, "apart_n": 30.0, "share": 0.14, "gives": False},
)


@pytest.fixture(scope="module")
def things(measured_row, recordings, tmp_path_factory) -> dict[str, str]:
    folder = tmp_path_factory.mktemp("doubted")
    row = Path(shutil.copytree(measured_row, folder / "row"))
    sound = load_results(row)
    save_results(row, replace(sound, warnings=(*sound.warnings, DIFFER)), overwrite=True)
    angle = sound.angle_rad[2:-2]
    curve = CapacityCurve(angle, 0.0 * angle + 400.0, 100.0 * (angle[:, None] == angle), "holds")
    (folder / "capacity.json").write_text(capacity_to_json(curve, machine=sound.machine_name))
    return {
        "ROW": str(row),
        "SOUND": str(measured_row),
        "CAPACITY": str(folder / "capacity.json"),
        "TOML": str(recordings / "lever-row.toml"),
        "SHEET": str(folder / "sheet.html"),
    }


@pytest.mark.parametrize(
    "words",
    [
        "check ROW --machine TOML --force-overwrite",
        "compare SOUND ROW",
        "health ROW",
        "client positions ROW",
        "client match ROW CAPACITY --load 40kg",
        "client plan ROW CAPACITY --load 40kg",
        "client what-if ROW CAPACITY --load 40kg --plates 30kg",
        "client limit ROW --force 150N --between 0:20deg",
        "client sheet ROW CAPACITY --load 40kg --out SHEET",
    ],
)
def test_serious_doubts_of_a_profile_are_said_again(words, things, capsys):
    main([things.get(word, word) for word in words.split()])
    said = capsys.readouterr().err
    assert said.count("12 of 14 half-repetitions differ from their profile") == 1
    assert "! In doubt, " in said
    if "SHEET" in words:
        assert "12 of 14 half-repetitions" in Path(things["SHEET"]).read_text(encoding="utf-8")
