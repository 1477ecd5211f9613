"""Things that do not belong together, and values out of reason, for every command: one line, exit code 2, nothing
written. In this process, since each case is one command line."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from feltload.acquisition import import_csv
from feltload.app.cli import main
from feltload.coaching import CapacityCurve, capacity_to_json
from feltload.emulator import machine_toml, scenario, simulate, write_logger_files
from feltload.signal.profile.files.results import load_results
from restated import restated


def another_machine(path: Path) -> Path:
    """A recording of a machine that gets heavier, which does not say so."""
    run = simulate(scenario("rising-arm", load_kg=40.0), seed=3)
    write_logger_files(run, path.parent)
    import_csv(path.parent / "force.csv", path.parent / "imu.csv", path, load_kg=40.0)
    return path


@pytest.fixture(scope="module")
def things(recordings, measured_row, tmp_path_factory) -> dict[str, str]:
    """What the command lines below name, by capital words."""
    folder = tmp_path_factory.mktemp("things")
    row = recordings / "lever-row-40kg.mcap"
    toml = (recordings / "lever-row.toml").read_text()
    angle = np.deg2rad(np.linspace(-29.0, 31.0, 30))
    curve = CapacityCurve(angle, np.full(30, 400.0), 100.0 * np.eye(30), "holds")
    (folder / "capacity.json").write_text(
        capacity_to_json(curve, machine=load_results(measured_row).machine_name)
    )
    (folder / "far.toml").write_text(toml.replace('"637.4 +/- 2 mm"', '"640 m"'))
    made = {
        "ROW": measured_row,
        "ROW40": row,
        "ROW20": recordings / "lever-row-20kg.mcap",
        "HELPED": recordings / "partner-help-40kg.mcap",
        "HOLDS": recordings / "client-holds.mcap",
        "UNSAID_HELPED": restated(
            recordings / "partner-help-40kg.mcap", folder / "unsaid-helped.mcap", kind=None
        ),
        "UNSAID_HOLDS": restated(recordings / "client-holds.mcap", folder / "unsaid-holds.mcap", kind=None),
        "UNSAID_SET": restated(row, folder / "unsaid-set.mcap", kind=None),
        "TOML": recordings / "lever-row.toml",
        "FAR_TOML": folder / "far.toml",
        "CAPACITY": folder / "capacity.json",
        "COPY": restated(row, folder / "copy.mcap", notes="the same again"),
        "KIND_HELPED": restated(row, folder / "kind-helped.mcap", kind="helped"),
        "KIND_HOLDS": restated(row, folder / "kind-holds.mcap", kind="holds"),
        "UNNAMED": another_machine(folder / "unnamed.mcap"),
        "OTHER": restated(
            recordings / "lever-row-20kg.mcap",
            folder / "other.mcap",
            machine_toml=machine_toml(scenario("rising-arm")),
        ),
    }
    return {name: str(path) for name, path in made.items()}


CASES = [
    # Recordings that make no profile.
    ("profile ROW40 COPY --out OUT", "copy.mcap: holds the same samples as"),
    ("profile ROW40 ROW40 --out OUT", "lever-row-40kg.mcap: holds the same samples as"),
    ("profile OTHER ROW40 --out OUT", "recorded on 'rising-arm, emulated (invented)'"),
    ("profile OTHER ROW40 --machine TOML --out OUT", "on 'lever-row, emulated (invented)': one profile"),
    (
        "profile ROW40 UNNAMED --machine TOML --out OUT",
        "not of one machine with one load",
        "feltload compare",
    ),
    ("profile UNNAMED HELPED --machine TOML --out OUT", "a set helped by hand"),
    ("profile UNSAID_HELPED --out OUT", "looks like a set helped by hand", "client delivered", "--unhelped"),
    (
        "profile ROW20 UNSAID_HELPED --out OUT",
        "unsaid-helped.mcap: looks like a set helped by hand",
        "--unhelped",
    ),
    (
        "profile ROW40 UNSAID_HELPED --out OUT",
        "unsaid-helped are not of one machine",
        "leave out helped sets",
    ),
    ("profile HELPED --unhelped --out OUT", "was recorded as a set helped by hand"),
    (
        "profile ROW20 UNNAMED --machine TOML --out OUT",
        "unnamed: cannot be of the machine",
        "another machine",
    ),
    ("profile KIND_HELPED --out OUT", "a set helped by hand"),
    ("profile KIND_HOLDS --out OUT", "holds against a fixed arm"),
    ("profile HOLDS --out OUT", "was recorded as holds against a fixed arm"),
    ("profile UNSAID_HOLDS --out OUT", "looks like holds against a fixed arm"),
    ("profile ROW40 --machine FAR_TOML --out OUT", 'handle_radius: "640 m" cannot be'),
    # A person's recordings where another kind is needed.
    ("client delivered ROW HOLDS", "was recorded as holds against a fixed arm"),
    ("client delivered ROW UNSAID_HOLDS", "looks like holds against a fixed arm"),
    ("client delivered ROW KIND_HOLDS", "was recorded as holds"),
    ("client effort ROW HOLDS", "was recorded as holds against a fixed arm"),
    ("client effort ROW UNSAID_HOLDS", "looks like holds against a fixed arm"),
    ("client sheet ROW CAPACITY --session HOLDS --out OUT.html", "was recorded as holds against a fixed arm"),
    ("client sheet ROW CAPACITY --session UNSAID_HOLDS --out OUT.html", "looks like holds"),
    ("client capacity ROW40 --out OUT.json", "ordinary repetitions that show the machine"),
    ("client capacity UNSAID_SET --out OUT.json", "only moving repetitions"),
    ("client capacity HELPED --out OUT.json", "a set helped by hand"),
    ("client capacity UNSAID_HELPED --out OUT.json", "only moving repetitions"),
    ("client capacity KIND_HELPED --out OUT.json", "a set helped by hand"),
    ("client capacity ROW40 --kind repetitions --out OUT.json", "an ordinary set", "--maximal"),
    ("client capacity KIND_HELPED --kind repetitions --maximal --out OUT.json", "a set helped by hand"),
    ("client capacity UNSAID_SET --kind repetitions --out OUT.json", "an ordinary set", "--maximal"),
    ("client capacity HELPED --kind repetitions --maximal --out OUT.json", "a set helped by hand"),
    ("client capacity HOLDS --kind repetitions --maximal --out OUT.json", "was recorded as holds"),
    ("client capacity UNSAID_HOLDS --kind repetitions --maximal --out OUT.json", "looks like holds"),
    ("client capacity HOLDS --client NOBODY --out OUT.json", "NOBODY"),
    ("client sides CAPACITY CAPACITY", "the same as the left side's file"),
    ("compare ROW ROW", "named twice"),
    # Values out of reason, found before anything is said.
    ("client match ROW CAPACITY --load=-30kg", "--load"),
    ("client what-if ROW CAPACITY --load 30kg --stop 150deg", "a stop at 150° lies outside"),
    ("client what-if ROW CAPACITY --load 30kg --start=-150deg", "a start at −150° lies outside"),
    ("client match ROW CAPACITY --load 30kg --stop 15", "--stop", '"15" has no unit'),
    ("client match ROW CAPACITY --load 30kg --stop 150deg", "a stop at 150° lies outside", "33°"),
    ("client match ROW CAPACITY --load 30kg --stop=-90deg", "a stop at −90° lies outside"),
    ("client match ROW CAPACITY --load 30kg --demand 700", "a demand of"),
    ("client what-if ROW CAPACITY --load 30kg --tempo 0.1", "0.1 s is thrown", "0.3 and 60"),
    ("client what-if ROW CAPACITY --load 30kg --tempo 600", "600 s is held"),
    ("client what-if ROW CAPACITY --load 30kg --plates=-5kg", "--plates"),
    ("client sheet ROW CAPACITY --load 30kg --stop 150deg --out OUT.html", "a stop at 150° lies outside"),
    ("client limit ROW --force=-150N --between 0:20deg", "--force"),
    ("client sheet ROW CAPACITY --load 30kg --target 400 --out OUT.html", "a target of"),
    ("client plan ROW CAPACITY --load 30kg --target 400", "a target of"),
    ("client limit ROW --force 150N --between 100:140deg", "nothing was measured in 100° to 140°"),
    ("client limit ROW --force 150N --between=-inf:20deg", "--between"),
    ("client positions ROW --count 40", "40"),
    ("check ROW --machine FAR_TOML", 'handle_radius: "640 m" cannot be'),
    ("survey FAR_TOML", 'handle_radius: "640 m" cannot be'),
    ("compare ROW", "names 1, and two to 30 results"),
    ("compare ROW ROW --load=-3kg", "--load"),
    ("import --force F.csv --imu I.csv --load=-40kg --out OUT.mcap", "--load"),
    ("import --force F.csv --imu I.csv --load 40000kg --out OUT.mcap", "--load", "1000 kg"),
    ("record RIG.toml --machine TOML --load=-40kg --out OUT.mcap", "--load"),
]


@pytest.mark.parametrize(
    ("line", "named"), [(case[0], case[1:]) for case in CASES], ids=lambda v: str(v)[:60]
)
def test_one_line_and_nothing_written(things, capsys, monkeypatch, tmp_path, line, named):
    monkeypatch.chdir(tmp_path)
    words = [things.get(word, word) for word in line.split()]
    assert main(words) == 2
    said = capsys.readouterr()
    assert said.out == ""
    errors = [text for text in said.err.strip().splitlines() if not text.startswith("! ")]
    assert len(errors) == 1, said.err
    assert "internal error" not in errors[0]
    for part in named:
        assert part in errors[0]
    assert not [path for path in tmp_path.rglob("*") if path.is_file()]


def test_maximal_repetitions_are_asked_for_once(things, capsys, monkeypatch, tmp_path):
    """Told that each was maximal, the same recording is a capacity."""
    out = tmp_path / "capacity.json"
    words = ("client", "capacity", things["ROW40"], "--kind", "repetitions", "--maximal", "--out", str(out))
    assert main(words) == 0
    assert json.loads(out.read_text())["source"] == "slow repetitions"


@pytest.mark.parametrize(
    ("of_kg", "stated_kg", "looks"), [(40, 20.0, "40 kg"), (20, 25.0, "20 kg"), (40, 42.5, "40 kg")]
)
def test_a_wrong_load_leads_what_profile_and_check_say(
    recordings, things, capsys, tmp_path, of_kg, stated_kg, looks
):
    said = restated(recordings / f"lever-row-{of_kg}kg.mcap", tmp_path / "said.mcap", load_kg=stated_kg)
    out = tmp_path / "row"
    assert main(["profile", str(said), "--out", str(out)]) == 0
    first = capsys.readouterr().out.splitlines()[0]
    assert first.startswith(f"! said: the load looks like {looks} (")
    assert f"{stated_kg:g} kg was stated" in first
    assert main(["check", str(out), "--machine", things["TOML"]]) == 1
    checked = capsys.readouterr().out.splitlines()[0]
    assert checked.startswith(f"differs: The load looks like {looks} (")
    assert "mm further" not in checked
    (fact,) = [
        f for f in json.loads((out / "profile.json").read_text())["warnings"] if f["severity"] == "serious"
    ]
    assert fact["figures"]["stated_kg"] == stated_kg
    code = main(["client", "positions", str(out)])
    assert code == (0 if fact["figures"]["tied"] else 2)


@pytest.mark.parametrize("name", ["lever-row", "peg-out"])
def test_right_loads_are_not_accused(recordings, capsys, tmp_path, name):
    out = str(tmp_path / "row")
    assert main(["profile", *(str(recordings / f"{name}-{kg}kg.mcap") for kg in (20, 40)), "--out", out]) == 0
    assert "looks like" not in capsys.readouterr().out
