"""The demo, once, in real time: a process that sends, real terminal lines, recordings, result, report."""

from __future__ import annotations

import json
from pathlib import Path

import pandas as pd
import pytest

from feltload.emulator import scenario


@pytest.fixture(scope="module")
def finished(feltload, tmp_path_factory):
    out = tmp_path_factory.mktemp("demo") / "result"
    return feltload("demo", "--out", out, "--json", timeout_s=170.0), out


@pytest.mark.timeout(200)
class TestDemo:
    def test_it_ends_well_with_its_result_alone_on_standard_output(self, finished):
        ran, out = finished
        assert ran.code == 0, ran.err
        said = json.loads(ran.out)
        assert said["verdict"] == "agrees"
        assert Path(said["report"]) == out / "report.html"

    def test_profile_is_that_of_the_emulated_machine(self, finished):
        _, out = finished
        table = pd.read_csv(out / "profile.csv")
        scene = scenario("lever-row")
        start_deg = float(scene.machine.start_angle_rad) * 180.0 / 3.141592653589793
        for load_kg, block in table.groupby("load_kg"):
            q_rad = (block["angle_deg"].to_numpy() - start_deg) * 3.141592653589793 / 180.0
            truth = scene.static_force_n(q_rad, float(load_kg))
            # One real-time session of a few repetitions; the estimator's own tests ask for more.
            assert abs(block["static_n"] - truth).max() < 0.015 * truth.max()

    def test_recordings_and_report_are_there(self, finished):
        _, out = finished
        names = {path.name for path in out.iterdir()}
        expected = {"lever-20kg.mcap", "lever-40kg.mcap", "machine.toml", "profile.csv", "profile.json"}
        assert expected | {"agreement.json", "report.html", "provenance.json"} <= names
        text = (out / "report.html").read_text(encoding="utf-8")
        assert "Agrees with the machine file" in text
        assert "Invented data" in text

    def test_a_second_one_does_not_overwrite_it(self, finished, feltload):
        _, out = finished
        before = (out / "report.html").read_bytes()
        feltload("demo", "--out", out).one_line_error("--force-overwrite")
        assert (out / "report.html").read_bytes() == before
