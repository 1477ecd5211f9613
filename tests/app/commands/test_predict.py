"""`feltload predict`: curve, page and files from a machine file alone, and targets compared with it."""

from __future__ import annotations

import json
import re
import shlex
import shutil
from pathlib import Path

import pandas as pd
import pytest

from feltload.calibration import example_text

ROOT = Path(__file__).parents[3]


@pytest.fixture
def lever(tmp_path):
    path = tmp_path / "row.toml"
    path.write_text(example_text("lever"), encoding="utf-8")
    return path


def test_it_writes_what_a_measured_profile_has_and_draws_a_page(feltload, lever, tmp_path):
    out = tmp_path / "predicted"
    ran = feltload(
        "predict", lever, "--load", "20 kg", "--load", "40 kg", "--friction", "3 to 8 %",
        "--vary", "plates.radius=250:290:20", "--target", "falls 90(8) % from start to end", "--out", out, "--json",
    )  # fmt: skip
    assert ran.code == 0, ran.err
    (said,) = json.loads(ran.out)["machines"]
    assert said["method"] == "prediction"
    assert {each["verdict"] for each in said["targets"]} <= {"met", "not-met", "undetermined"}
    assert [variant["plates.radius"] for variant in said["variants"]] == [250.0, 270.0, 290.0]
    starts = [variant["loads"][1]["start_n"] for variant in said["variants"]]
    assert starts == sorted(starts)
    table = pd.read_csv(out / "profile.csv")
    assert set(table["load_kg"]) == {20.0, 40.0}
    assert (table["raising_n"] > table["static_n"]).any()
    rows = pd.read_csv(out / "varied.csv")
    assert set(rows["plates.radius [mm]"]) == {250.0, 270.0, 290.0}
    assert (rows["static_u95_n"] > 0.0).all()
    assert rows.loc[rows["plates.radius [mm]"] == 270.0, "difference_n"].abs().max() < 1e-9
    assert said["variants"][0]["loads"][1]["differs_over"] > 0.9
    assert said["variants"][1]["loads"][1]["differs_over"] == 0.0
    assert "leverage" in pd.read_csv(out / "arms.csv")
    page = (out / "report.html").read_text(encoding="utf-8")
    for words in (
        "nothing was measured under load",
        "Compared with the target",
        "With other dimensions",
        "Felt",
    ):
        assert words.lower() in page.lower()
    assert "<script" not in page
    feltload("predict", lever, "--out", out).one_line_error("--force-overwrite")
    (out / "report.html").unlink()
    assert feltload("report", out).code == 0
    assert (out / "report.html").read_text(encoding="utf-8") == page
    assert feltload("report", out, "--target", "at the end 1 N").code == 2
    assert (
        feltload("report", out, "--target", "constant within 80 % from start to 60 %", "--units", "kgf").code
        == 0
    )
    again = (out / "report.html").read_text(encoding="utf-8")
    assert "constant within 80" in again
    assert "kgf" in again
    old = json.loads((out / "provenance.json").read_text(encoding="utf-8"))
    (out / "provenance.json").write_text(json.dumps({**old, "prediction": None}), encoding="utf-8")
    feltload("report", out, "--force-overwrite").one_line_error("feltload predict again")
    feltload("check", out, "--machine", lever).one_line_error("is a prediction")
    feltload("client", "match", out, "none.json").one_line_error()


def test_several_machines_stand_side_by_side(feltload, lever, tmp_path):
    other = tmp_path / "press.toml"
    other.write_text(example_text("four-bar"), encoding="utf-8")
    out = tmp_path / "both"
    ran = feltload("predict", lever, other, "--travel", "60 deg", "--out", out)
    assert ran.code == 0, ran.err
    assert "lever row" in (out / "compared.html").read_text(encoding="utf-8")
    assert (out / "row" / "profile.csv").exists()
    assert (out / "press" / "report.html").exists()


def test_the_commands_of_its_page_run(feltload, tmp_path, monkeypatch):
    page = (ROOT / "docs" / "predict.md").read_text(encoding="utf-8")
    lines = re.findall(r"^feltload (.+)$", page, flags=re.MULTILINE)
    assert len(lines) >= 2
    (tmp_path / "recordings").mkdir()
    shutil.copy(ROOT / "recordings" / "lever-row.toml", tmp_path / "recordings")
    monkeypatch.chdir(tmp_path)
    for line in lines:
        ran = feltload(*shlex.split(line))
        assert ran.code == 0, (line, ran.err)
    assert (tmp_path / "row-predicted" / "report.html").exists()


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (("--vary", "plates.radiu=250:300:10"), "plates.radius"),
        (("--target", "falls 25(5) %", "--target", "constant within 5 %"), "no curve meets both"),
        (("--target", "at least 300 N, at most 200 N"), "no curve meets both"),
        (("--target", "at most 30 Nm"), "is not a force"),
        (("--target", "at most 300 N with 60 kg"), "is for 60 kg"),
        (("--load", "-5 kg"), "-5 kg"),
        (("--load", "10 t"), "between 0 and 1000 kg"),
        (("--vary", "plates.radius=0:3000:0.001"), "at most can be told apart"),
        (("--vary", "start_angle=-40:-20:10"), "does not depend on start_angle"),
        (("--friction", "900 N"), "nothing would come down"),
    ],
)
def test_bad_input_is_one_line_and_writes_nothing(feltload, lever, tmp_path, options, says):
    out = tmp_path / "predicted"
    feltload("predict", lever, *options, "--out", out).one_line_error(says)
    assert not (out / "profile.csv").exists()
    assert not (out / "report.html").exists()
