"""Pain reported in a recording is kept, whoever it was: in the client's folder, or while the pages are open."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from feltload.acquisition import read_recording
from feltload.app.live.outcomes.carried_pain import CarriedPain
from feltload.app.live.outcomes.fitted import FitChoices, fitted
from feltload.app.live.outcomes.person import opened_capacity, strength_of
from feltload.app.live.setup.folder import WorkingFolder
from feltload.coaching import ClientFolder, PainMark, capacity_from_json
from feltload.core import FeltloadError
from feltload.signal import load_results
from painful_recording import painful_recording


@pytest.fixture(scope="module")
def sore(tmp_path_factory: pytest.TempPathFactory, recordings: Path) -> Path:
    """A set in which pain was reported at 20 degrees."""
    path = tmp_path_factory.mktemp("sore") / "sore.mcap"
    painful_recording(recordings / "partner-help-40kg.mcap", path, "20.0 deg")
    assert [mark.text for mark in read_recording(path).marks if mark.kind == "pain"] == ["20.0 deg"]
    return path


def test_of_a_client_it_stays(sore: Path, tmp_path: Path) -> None:
    client = ClientFolder.create(tmp_path, code="K7QW3D")
    said = CarriedPain().carry(sore, "helped", client.path)
    (kept,) = ClientFolder.open(client.path).record.painful
    assert kept.mark.low_rad < np.deg2rad(20.0) < kept.mark.high_rad
    assert "marked painful" in said[0]


def test_of_nobody_in_particular_it_holds_while_the_pages_are_open(sore: Path) -> None:
    pain = CarriedPain()
    said = pain.carry(sore, "helped", None)
    (machine,) = pain.unkept
    (text,) = pain.known(machine, None).texts
    low, high = (float(part) for part in text.removesuffix("deg").split(":"))
    assert low < 20.0 < high
    assert "code" in said[0]
    pain.forget()
    assert pain.known(machine, None).texts == ()


def test_with_a_code_that_is_typed_later_it_stays(sore: Path, tmp_path: Path) -> None:
    pain = CarriedPain()
    pain.carry(sore, "helped", None)
    (machine,) = pain.unkept
    ClientFolder.create(tmp_path, code="K7QW3D").mark(machine, None, [PainMark(0.5, 0.6)])
    said = pain.keep(tmp_path / "K7QW3D")
    assert "marked painful" in said[0]
    assert pain.unkept == {}
    kept = [one.mark for one in ClientFolder.open(tmp_path / "K7QW3D").record.painful]
    assert any(mark.low_rad < np.deg2rad(20.0) < mark.high_rad for mark in kept)
    assert any(mark.covers((0.5, 0.6)) for mark in kept)
    # What reached a folder is not asked about again.
    assert pain.keep(tmp_path / "K7QW3D") == ()


def test_what_cannot_be_kept_in_a_folder_is_not_forgotten(sore: Path, tmp_path: Path) -> None:
    pain = CarriedPain()
    pain.carry(sore, "helped", None)
    (machine,) = pain.unkept
    before = pain.texts(machine)
    with pytest.raises(FeltloadError):
        pain.keep(tmp_path / "nowhere")
    assert pain.texts(machine) == before


def test_what_hurts_comes_first_and_nothing_gets_heavier(
    sore: Path, recordings: Path, measured_row: Path, tmp_path: Path
) -> None:
    folder = WorkingFolder(tmp_path)
    (tmp_path / "row").symlink_to(measured_row)
    holds = tmp_path / "holds.mcap"
    holds.write_bytes((recordings / "client-holds.mcap").read_bytes())
    made = strength_of(holds, None)
    assert opened_capacity(tmp_path / made.name).headline == made.headline
    chosen = FitChoices("row", made.name)
    well = fitted(folder, chosen, CarriedPain())
    pain = CarriedPain()
    pain.carry(sore, "helped", None)
    hurt = fitted(folder, chosen, pain)
    assert hurt.headline.startswith("Turn every repetition at") and "marked painful" in hurt.headline
    assert hurt.loads[-1].load_kg <= well.loads[-1].load_kg
    assert any("clinician" in text for text in hurt.cautions)
    assert capacity_from_json(tmp_path / made.name)[0].painful == ()
    assert load_results(tmp_path / "row").machine_name == made.machine
