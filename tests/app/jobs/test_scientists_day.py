"""From readings and recordings to a paper's table, by the commands that the tutorial prints, on an emulated study."""

from __future__ import annotations

import importlib.util
import json
import re
import shlex
import shutil
from pathlib import Path
from types import ModuleType

import numpy as np
import pandas as pd
import pytest

from feltload.app.cli import main
from feltload.app.jobs.measuring.request import MeasurementRequest
from feltload.app.jobs.study.facts import StudyFact
from feltload.app.jobs.study.file import read_study
from feltload.app.jobs.study.reading import read_measurements
from feltload.app.jobs.study.study import analyse_study
from feltload.app.jobs.study.tables import study_tables
from feltload.coaching import analyse_quantity
from feltload.emulator import calibration_readings, campaign
from feltload.signal import save_results

pytestmark = pytest.mark.timeout(300)

ROOT = Path(__file__).parents[3]
TUTORIAL = (ROOT / "docs" / "tutorial-scientist.md").read_text(encoding="utf-8")
FACTORS = ("machine", "operator", "day", "remount")
PEAK_U_N = 0.5
"""Standard deviation of a peak force found from one that is known, four times what 48 recordings show."""


def make_study() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_study", ROOT / "recordings" / "make_study.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def printed(beginning: str) -> list[str]:
    """The words of the first command in the tutorial that begins so, without the program's name."""
    return shlex.split(next(line for line in TUTORIAL.splitlines() if line.startswith(beginning)))[1:]


@pytest.fixture(scope="module")
def walked(tmp_path_factory) -> Path:
    """Three machines, two operators, two days, in an empty folder."""
    folder = tmp_path_factory.mktemp("day") / "rows"
    visits = campaign(machines=3, days=2, remounts=1, seed=3)
    assert len(list(make_study().write_study(folder, visits))) == len(visits) == 12
    text = re.search(r"```toml\n(name = .*?dataset.*?)```", TUTORIAL, flags=re.DOTALL)
    assert text is not None
    (folder / "rows.toml").write_text(text[1], encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        assert main(printed("feltload calibrate force cell-readings.csv")) == 0
        assert main(printed("feltload batch ")) == 0
        assert main(printed("feltload study rows.toml")) == 0
    return folder


def test_the_shipped_readings_are_those_of_the_emulated_cell():
    shipped = (ROOT / "recordings" / "cell-readings.csv").read_text(encoding="utf-8")
    assert shipped == calibration_readings()


def test_what_was_found_is_what_the_emulated_machines_ask_for(walked):
    """Truth: Lagrange's equation of each emulated machine, with the drawn errors of mounting and gain."""
    truth = pd.read_csv(walked / "truth.csv", dtype={"day": str, "remount": str})
    found = pd.read_csv(walked / "rows-study" / "measurements.csv").query("quantity == 'peak'")
    assert sorted(found["measurement"]) == sorted(truth["measurement"])
    off_n = found.set_index("measurement")["value"][truth["measurement"]].to_numpy() - truth["peak_n"]
    assert np.abs(off_n).max() < 3 * PEAK_U_N
    labels = {name: truth[name].tolist() for name in FACTORS}
    true = analyse_quantity(truth["peak_n"].to_numpy(), labels)
    statistics = pd.read_csv(walked / "rows-study" / "statistics.csv").query("quantity == 'peak'")
    sem = statistics[statistics["statistic"] == "sem"]["value"].item()
    assert true.sem is not None
    assert sem == pytest.approx(true.sem.value, abs=PEAK_U_N)


def test_a_dataset_gives_what_the_same_results_give(walked, tmp_path):
    """Of two measurements: each part of the dataset holds one."""
    for path in sorted((walked / "recordings").iterdir())[:2]:
        request = MeasurementRequest(
            (path,), certificates=(walked / "cell.json",), latitude="52.2 deg", height="20 m"
        )
        made = request.measure()
        result = tmp_path / "results" / path.stem
        result.mkdir(parents=True)
        save_results(result, made.estimate)
        made.provenance.save(result)
    for table in ("profiles", "recordings"):
        (tmp_path / "dataset" / table).mkdir(parents=True)
        for part in sorted((walked / "dataset" / table).glob("*.parquet"))[:2]:
            shutil.copy(part, tmp_path / "dataset" / table)
    text = (walked / "rows.toml").read_text(encoding="utf-8")
    (tmp_path / "d.toml").write_text(text, encoding="utf-8")
    (tmp_path / "r.toml").write_text(
        text.replace('dataset = "dataset"', 'files = "results/*"'), encoding="utf-8"
    )
    plans = [read_study(tmp_path / name) for name in ("d.toml", "r.toml")]
    theirs, ours = (study_tables(analyse_study(plan, read_measurements(plan))) for plan in plans)
    assert len(ours["curves"]) == 2 * 101
    for name, table in theirs.items():
        pd.testing.assert_frame_equal(ours[name], table, rtol=1e-9)


def test_the_dataset_is_read_as_parquet_and_said_to_be_invented(walked, tmp_path, capsys):
    study = json.loads((walked / "rows-study" / "study.json").read_text(encoding="utf-8"))
    assert all(each["invented"] for each in study["measurements"])
    assert "Invented data" in (walked / "rows-study" / "study.html").read_text(encoding="utf-8")
    assert not {fact["kind"] for fact in study["facts"]} & set(StudyFact)
    digests = pd.read_parquet(walked / "dataset" / "recordings")["force_certificates"]
    assert digests.str.fullmatch("[0-9a-f]{64}").all() and digests.nunique() == 1
    shutil.copytree(walked / "dataset", tmp_path / "dataset")
    shutil.copy(walked / "rows.toml", tmp_path)
    parts = sorted((tmp_path / "dataset" / "profiles").glob("*.parquet"))
    assert len(parts) == 12
    parts[0].write_bytes(b"PAR1 half written")
    capsys.readouterr()
    assert main(["study", str(tmp_path / "rows.toml"), "--out", str(tmp_path / "out")]) == 2
    assert "its table profiles cannot be read" in capsys.readouterr().err


def test_the_data_go_elsewhere_with_the_certificate(walked, monkeypatch, capsys):
    """Every export that the tutorial prints, in newtons."""
    monkeypatch.chdir(walked)
    lines = [line for line in TUTORIAL.splitlines() if line.startswith("feltload export ")]
    assert len(lines) == 4
    for line in lines:
        assert main(shlex.split(line)[1:]) == 0
    joined = pd.read_csv(walked / "tables" / "joined.csv")
    truth = pd.read_csv(walked / "truth.csv").set_index("measurement").loc["A-kim-1-1", "peak_n"]
    assert truth < joined["force_n"].max() < 1.5 * truth
    assert main(["export", "recordings/A-kim-1-1.mcap", "--out", "none"]) == 2
    assert "reads in counts, and there is no certificate" in capsys.readouterr().err
    assert not (walked / "none").exists()


def test_a_certificate_of_another_cell_is_refused(walked, tmp_path, capsys):
    text = calibration_readings().replace("C-1042", "C-1043")
    (tmp_path / "other.csv").write_text(text, encoding="utf-8")
    assert main(["calibrate", "force", str(tmp_path / "other.csv"), "--out", str(tmp_path / "o.json")]) == 0
    capsys.readouterr()
    recording = str(next((walked / "recordings").iterdir()))
    words = ["profile", recording, "--certificate", str(tmp_path / "o.json"), "--out", str(tmp_path / "r")]
    assert main(words) == 2
    assert "C-1043" in capsys.readouterr().err
