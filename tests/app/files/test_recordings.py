"""The one door to recordings and certificates: what comes through it was checked, and what was replaced is said."""

from __future__ import annotations

import ast
import json
from pathlib import Path

import pytest

from feltload.acquisition import CertificateError, RecordingInfo, RecordingWriter, read_recording
from feltload.acquisition.recording.facts import DamageFact
from feltload.app.cli import main
from feltload.app.files.recordings import certificate_facts, open_recording, read_certificates
from feltload.app.jobs.facts import InputFact
from feltload.app.jobs.measuring.sources import machine_replaced
from feltload.calibration import CertificateFact, calibrate_force
from source_tree import ROOT

RIG = """name = "bench"
[[streams]]
description = "reference-force"
name = "{name}"
link = {{ type = "file" }}
"""


@pytest.fixture(scope="module")
def certificate(recordings: Path) -> str:
    return calibrate_force(recordings / "cell-readings.csv").model_dump_json()


def recorded(path: Path, recordings: Path, text: str) -> Path:
    info = read_recording(recordings / "lever-row-40kg.mcap").info
    RecordingWriter(path, RecordingInfo(40.0, info.rig, certificates={"force": text})).close()
    return path


def doubled(text: str) -> str:
    values = json.loads(text)
    return json.dumps({**values, "coefficients_n": [2 * value for value in values["coefficients_n"]]})


def test_a_changed_certificate_is_refused_wherever_it_comes_from(tmp_path, recordings, certificate):
    file = tmp_path / "cell.json"
    file.write_text(doubled(certificate), encoding="utf-8")
    with pytest.raises(CertificateError, match=r"cell\.json: the certificate of C-1042 contradicts itself"):
        read_certificates([file])
    path = recorded(tmp_path / "a.mcap", recordings, doubled(certificate))
    with pytest.raises(CertificateError, match=r"a\.mcap: certificate force: .* contradicts itself"):
        open_recording(path)


def test_one_without_readings_is_said(tmp_path, recordings, certificate):
    bare = json.dumps({**json.loads(certificate), "readings": []})
    recording = open_recording(recorded(tmp_path / "a.mcap", recordings, bare))
    assert [fact.kind for fact in certificate_facts(recording)] == [CertificateFact.WITHOUT_READINGS]


def test_no_command_goes_round_the_door():
    """A recording or a certificate that is read elsewhere would not have been checked."""
    allowed = {
        "app/feltload/app/files/recordings.py": {"read_recording", "parse_certificate"},
        # A replay only asks whether the recording is invented; nothing is computed with it.
        "app/feltload/app/files/invented.py": {"read_recording"},
        # Only its kind and load are looked at, to name the command that comes next.
        "app/feltload/app/jobs/beginning/at_hand.py": {"read_recording"},
        # The file that is being written, and the certificates that came into it through the door a moment ago.
        "app/feltload/app/live/recorder/catching_up.py": {"read_recording"},
        "app/feltload/app/live/state/streams.py": {"parse_certificate"},
        # Looked at once more for its name, after the door.
        "app/feltload/app/live/setup/folder.py": {"parse_certificate"},
        # Only kind, machine and load are looked at, to list what is in the folder.
        "app/feltload/app/live/setup/contents.py": {"read_recording"},
        # What was signed a moment ago is read back.
        "app/feltload/app/pages/certificate_files.py": {"parse_certificate"},
    }
    found: dict[str, set[str]] = {}
    for path in (ROOT / "app").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.module == "feltload.acquisition":
                names = {name.name for name in node.names} & {"read_recording", "parse_certificate"}
                if names:
                    found.setdefault(path.relative_to(ROOT).as_posix(), set()).update(names)
    assert found == allowed


def test_another_rig_file_is_read_by_and_said(tmp_path, recordings, capsys):
    path = recordings / "client-holds.mcap"
    kept = read_recording(path).info.rig
    rig = tmp_path / "rig.toml"
    rig.write_text(RIG.format(name="force"), encoding="utf-8")
    recording = open_recording(path, rig=rig)
    assert recording.info.rig != kept
    assert [fact.kind for fact in recording.damage] == [DamageFact.SENSORS_REPLACED]
    assert main(["export", str(path), "--rig", str(rig), "--out", str(tmp_path / "out")]) == 0
    assert f"its sensors are read as {rig} describes them" in capsys.readouterr().err
    rig.write_text(RIG.format(name="grip"), encoding="utf-8")
    assert main(["export", str(path), "--rig", str(rig), "--out", str(tmp_path / "out2")]) == 2
    assert "describes grip, in it are" in capsys.readouterr().err


def test_another_machine_file_is_said_and_the_same_one_is_not(tmp_path, recordings):
    recording = read_recording(recordings / "lever-row-40kg.mcap")
    kept = recording.info.machine_toml
    path = tmp_path / "row.toml"
    assert machine_replaced(None, "", [recording]) == ()
    assert machine_replaced(path, kept, [recording]) == ()
    (fact,) = machine_replaced(path, f"{kept}\n# again", [recording])
    assert (fact.kind, fact.figures) == (InputFact.MACHINE_REPLACED, {"file": path.name})
