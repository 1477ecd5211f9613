"""Both arms of a machine in one recording: two emulated boards a side over real serial ports, then the command."""

from __future__ import annotations

import asyncio
import json
import sys
from pathlib import Path

import pytest

from feltload.acquisition import RecordingInfo, load_rig, record

pytestmark = pytest.mark.needs("pty")

SECONDS = 16.0
LOADS_KG = {"left": 20.0, "right": 22.0}
"""What really hangs on each arm; both are said to carry 20 kg."""


async def _board(side: str, folder: Path) -> tuple[asyncio.subprocess.Process, str]:
    rig = folder / f"{side}.toml"
    process = await asyncio.create_subprocess_exec(
        *(sys.executable, "-m", "feltload.emulator", "--scenario", "lever-row"),
        *("--load", f"{LOADS_KG[side]:g} kg", "--duration", f"{SECONDS:g}", "--linger", "4"),
        *("--seed", str(len(side)), "--tempo", "brisk"),
        *("--write-rig", str(rig), "--write-machine", str(folder / "machine.toml")),
        stdout=asyncio.subprocess.PIPE,
    )
    assert process.stdout is not None
    await process.stdout.readline()
    streams = rig.read_text(encoding="utf-8").split("[[streams]]")[1:]
    kinds = ("force", "inertial")
    named = [
        "[[streams]]" + text.replace(f'name = "{kind}"', f'name = "{kind}-{side}"\nside = "{side}"', 1)
        for kind, text in zip(kinds, streams, strict=True)
    ]
    return process, "\n".join(named)


async def _record_both(folder: Path) -> Path:
    boards = [await _board(side, folder) for side in LOADS_KG]
    rig_path = folder / "rig.toml"
    rig_path.write_text(
        'name = "two arms (invented)"\n\n' + "\n".join(text for _, text in boards), encoding="utf-8"
    )
    rig, target = load_rig(rig_path), folder / "both.mcap"
    machine = (folder / "machine.toml").read_text(encoding="utf-8")
    info = RecordingInfo(load_kg=20.0, rig=rig, notes="Invented: emulated rig", machine_toml=machine)
    await record(rig, info, target, duration_s=SECONDS, tare_s=2.5)
    for process, _ in boards:
        process.terminate()
        await process.wait()
    return target


@pytest.fixture(scope="module")
def both(tmp_path_factory) -> Path:
    return asyncio.run(_record_both(tmp_path_factory.mktemp("both")))


def test_each_side_has_its_result_and_the_heavier_arm_is_found(feltload, both, tmp_path):
    out = tmp_path / "row"
    ran = feltload("profile", both, "--side", "both", "--out", out)
    assert ran.code == 0, ran.err
    assert "the right arm of the machine is the heavier one" in ran.out
    assert (out / "left" / "report.html").exists()
    assert (out / "right" / "profile.csv").exists()
    found = json.loads((out / "sides.json").read_text(encoding="utf-8"))
    (load,) = found["loads"]
    # Two kilograms at 270 mm on a handle radius of 655 mm: up to 8.1 N at the handle.
    assert load["differs"]
    assert -9.5 < load["mean_n"] < -5.0
    compared = json.loads(feltload("compare", out, "--json").out)
    assert [one["name"] for one in compared["profiles"]] == ["left", "right"]
    assert compared["differences"][0]["assumed"][0]["kind"] == "sides-of-machine-differ"
    assert compared["differences"][0]["loads"][0]["differs"]
    state = feltload("health", out, "--log", tmp_path / "log.jsonl", "--page", tmp_path / "health.html")
    assert state.code == 0, state.err
    # What hangs on the arms differs; what slides and turns does not.
    assert "Friction with 20 kg, left against right: no difference on average" in state.out
    assert "Left against right" in (tmp_path / "health.html").read_text(encoding="utf-8")
    again = feltload("profile", both, "--side", "both", "--out", out)
    again.one_line_error("already", "--force-overwrite")


def test_without_a_side_the_remedy_is_said(feltload, both, tmp_path):
    ran = feltload("profile", both, "--out", tmp_path / "x")
    ran.one_line_error("force-left, force-right", "left or right")


def test_one_arm_is_not_taken_for_both(feltload, recordings, tmp_path):
    ran = feltload("profile", recordings / "lever-row-40kg.mcap", "--side", "both", "--out", tmp_path / "x")
    ran.one_line_error("lever-row-40kg.mcap", "not marked left and right", "--side")
