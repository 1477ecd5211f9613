"""A repeatability study from its file to its folder: against what the measurements were made of, and bad input."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from feltload.app.cli import main
from feltload.app.jobs.study.facts import StudyFact
from feltload.calibration import example_text
from feltload.coaching import RepeatabilityFact, analyse_quantity, intraclass_correlations
from feltload.signal import load_results
from lever_profile import lever_profile
from made_estimate import made_estimate
from made_study import made_study, write_made_result

CURVES = (
    "static_n",
    "static_u95_n",
    "friction_n",
    "raising_count",
    "lowering_count",
    "inertia_by_load_n_per_rad_s2",
)
STUDY = """name = "Eight rows, two days"
files = "results/*"
names = "{machine}-{operator}-{day}-{remount}"
wanted = { minimal_difference = "3 N", correlation = 0.9, width = 0.2 }
"""


@pytest.fixture(scope="module")
def written(tmp_path_factory) -> Path:
    """Eight machines, two days, one mounting each, written once as CSV."""
    folder = tmp_path_factory.mktemp("study")
    made_study(folder, machines=8)
    (folder / "rows.toml").write_text(STUDY, encoding="utf-8")
    assert main(["study", str(folder / "rows.toml"), "--out", str(folder / "out")]) == 0
    return folder / "out"


def test_tables_hold_what_was_measured_and_the_statistics_follow_from_them(written) -> None:
    values = pd.read_csv(written / "measurements.csv")
    assert len(values) == 16 * 5
    peak = values[values["quantity"] == "peak"].pivot(index="machine", columns="day", values="value")
    by_hand = {each.form: each for each in intraclass_correlations(peak.to_numpy())}
    statistics = pd.read_csv(written / "statistics.csv")
    peaks = statistics[statistics["quantity"] == "peak"]
    for _, row in peaks[peaks["statistic"] == "icc"].iterrows():
        assert row["value"] == pytest.approx(by_hand[row["form"]].value, rel=1e-6)
        assert row["lower95"] == pytest.approx(by_hand[row["form"]].lower, rel=1e-6)
    sem = peaks[peaks["statistic"] == "sem"]["value"].item()
    within = ((peak.sub(peak.mean(axis=1), axis=0)) ** 2).to_numpy().sum() / 8
    assert sem == pytest.approx(within**0.5, rel=0.2)
    agreement = pd.read_csv(written / "agreement.csv").query("quantity == 'peak'").iloc[0]
    assert agreement["bias"] == pytest.approx((peak[1] - peak[2]).mean(), rel=1e-6)


def test_curves_are_on_the_share_of_the_travel(written) -> None:
    curves = pd.read_csv(written / "curves.csv")
    assert curves.groupby("measurement").size().unique() == [101]
    statistics = pd.read_csv(written / "curve-statistics.csv")
    at = curves[curves["travel_percent"] == 50.0]
    labels = {name: at[name].astype(str).tolist() for name in ("machine", "operator", "day", "remount")}
    by_itself = analyse_quantity(at["static_n"].to_numpy(), labels).sem
    half_way = statistics[statistics["travel_percent"] == 50.0]
    assert half_way["sem_n"].item() == pytest.approx(by_itself.value, rel=1e-6)
    assert half_way["sem_lower95_n"].item() == pytest.approx(by_itself.lower, rel=0.05)
    assert half_way["sem_upper95_n"].item() == pytest.approx(by_itself.upper, rel=0.25)
    tests = pd.read_csv(written / "curve-tests.csv")
    assert tests["arrangements"].unique() == [256]


def test_the_end_of_a_shorter_recording_is_no_end_of_the_machine(tmp_path, capsys) -> None:
    """The force falls along the travel: a recording that stops 10 degrees early would end heavier."""
    whole = replace(lever_profile(loads_kg=(40.0,)), repetitions=made_estimate().repetitions)
    for degrees in (0, 10, 40):
        keep = whole.angle_rad.size - degrees
        cut = {name: getattr(whole, name)[:, :keep] for name in CURVES}
        covariance = whole.covariance_n2[:keep, :keep]
        short = replace(whole, angle_rad=whole.angle_rad[:keep], covariance_n2=covariance, **cut)
        write_made_result(tmp_path / f"to-{degrees}", short, f"to-{degrees}")
    rows = "".join(f'[[measurements]]\nfile = "to-{degrees}"\n' for degrees in (0, 10))
    (tmp_path / "s.toml").write_text('name = "s"\n' + rows, encoding="utf-8")
    assert main(["study", str(tmp_path / "s.toml"), "--out", str(tmp_path / "out")]) == 0
    values = pd.read_csv(tmp_path / "out" / "measurements.csv").groupby("quantity")["value"]
    assert values.get_group("end").to_numpy() == pytest.approx(whole.static_n[0, -11])
    assert np.ptp(values.get_group("mean")) == pytest.approx(0.0, abs=1e-6)
    (tmp_path / "s.toml").write_text(
        'name = "s"\n' + rows + '[[measurements]]\nfile = "to-40"\n', encoding="utf-8"
    )
    capsys.readouterr()
    assert main(["study", str(tmp_path / "s.toml"), "--out", str(tmp_path / "again")]) == 2
    assert "to-40: covers too little of the travel" in capsys.readouterr().err


def test_text_and_page_say_the_numbers_of_the_tables(written) -> None:
    text = (written / "study.md").read_text(encoding="utf-8")
    page = (written / "study.html").read_text(encoding="utf-8")
    record = json.loads((written / "study.json").read_text(encoding="utf-8"))
    assert (
        "16 measurements with 40 kg were analysed (8 machines, 1 operator, 2 days and 1 remount; each combination once)"
        in text
    )
    icc = next(r for r in record["statistics"] if r["statistic"] == "icc" and r["form"] == "2,1")
    assert f"{icc['value']:.3f} (95 % CI {icc['lower95']:.3f} to {icc['upper95']:.3f})" in text
    assert text.count("such as the calibration of one load cell, do not scatter") == 2
    assert "Invented data" in page and "invented" in text
    assert "measure 20 machines, 2 times each" in text and "Bonett" in text
    lines = [line for line in text.splitlines() if line.startswith("|")]
    assert len(lines) == 7 and len({line.count("|") for line in lines}) == 1
    latex = (written / "table.tex").read_text(encoding="utf-8")
    assert "\\toprule" in latex and "95~\\% CI" in latex and latex.count("\\\\\n") == 2 * 6
    assert len(record["measurements"]) == 16
    assert all(len(each["recordings_sha256"]) == 1 for each in record["measurements"])


def test_figures_have_the_width_of_a_column(written) -> None:
    svg = (written / "figures" / "curves-40kg.svg").read_text(encoding="utf-8")
    width_pt = float(svg.split('width="')[1].split("pt")[0])
    assert width_pt == pytest.approx(84.0 / 25.4 * 72, abs=0.1)
    assert (written / "figures" / "agreement-peak-40kg.pdf").read_bytes().startswith(b"%PDF")


def test_a_table_names_measurements_and_their_load(tmp_path, capsys) -> None:
    made_study(tmp_path, machines=2, days=2, loads_kg=(20.0, 40.0))
    lines = [f"results/{m}-x-{d}-1,{m},{d},20 kg" for m in "AB" for d in "12"]
    (tmp_path / "list.csv").write_text("file,machine,day,load\n" + "\n".join(lines) + "\n", encoding="utf-8")
    (tmp_path / "s.toml").write_text('name = "s"\ntable = "list.csv"\n', encoding="utf-8")
    assert main(["study", str(tmp_path / "s.toml"), "--out", str(tmp_path / "out"), "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert {row["load_kg"] for row in record["statistics"]} == {20.0}
    kinds = {fact["kind"] for fact in record["facts"]}
    assert {RepeatabilityFact.FEW_MACHINES, RepeatabilityFact.NO_LIMITS} <= kinds


def test_one_measurement_of_each_machine_gives_means_and_says_what_is_missing(tmp_path, capsys) -> None:
    made_study(tmp_path, machines=3, days=1)
    (tmp_path / "s.toml").write_text(STUDY, encoding="utf-8")
    assert main(["study", str(tmp_path / "s.toml"), "--out", str(tmp_path / "out")]) == 0
    printed = capsys.readouterr()
    assert "its scatter is not known" in printed.out
    assert printed.err.count("ach machine was measured once") == 1
    assert set(pd.read_csv(tmp_path / "out" / "statistics.csv")["statistic"]) == {"mean"}


REFUSED = {
    "no_way": ('name = "s"\n', "names no measurements"),
    "two_ways": ('name = "s"\nfiles = "results/*"\ntable = "x.csv"\n', "by files and table"),
    "unknown_key": ('name = "s"\nfile = "results/*"\n', "file is no key of a study"),
    "no_name": ('files = "results/*"\n', "name: field required"),
    "nothing_found": ('name = "s"\nfiles = "nowhere/*"\n', "finds nothing"),
    "other_names": ('name = "s"\nfiles = "results/*"\nnames = "{machine}_{day}"\n', 'is not named as "'),
    "wrong_place": ('name = "s"\nfiles = "results/*"\nnames = "{mass}"\n', "is not possible"),
    "no_dataset": ('name = "s"\ndataset = "results"\n', "holds no table profiles"),
    "no_table": ('name = "s"\ntable = "x.csv"\n', "no such table"),
    "half_wanted": ('name = "s"\nfiles = "results/*"\nwanted = {correlation = 0.9}\n', "and width together"),
    "no_difference": ('name = "s"\nfiles = "results/*"\nwanted = {minimal_difference = "0 N"}\n', "is no difference"),
    "wrong_load": ('name = "s"\nfiles = "results/*"\nload = "55 kg"\n', "not with 55 kg"),
    "nested_wrong": ('name = "s"\nfiles = "results/*"\nnested = {remount = "day"}\n', "nested.remount"),
    "no_file": ('name = "s"\n[[measurements]]\nfile = "gone"\n', "is no result and no recording"),
    "mixed_labels": (
        'name = "s"\n[[measurements]]\nfile = "results/A-x-1-1"\nday = 1\n[[measurements]]\nfile = "results/A-x-2-1"\n',
        "A-x-2-1: has no day, though others have",
    ),
    "twice": (
        'name = "s"\n[[measurements]]\nfile = "results/A-x-1-1"\n[[measurements]]\nfile = "results/A-x-1-1"\n',
        "is named twice",
    ),
    "copy": (
        'name = "s"\n[[measurements]]\nfile = "results/A-x-1-1"\n[[measurements]]\nfile = "copy"\n',
        "made from the same recording",
    ),
    "left_out_unknown": ('name = "s"\nfiles = "results/*"\nleave_out = ["Z"]\n', "leave_out: Z: is no measurement"),
    "left_out_all": (
        'name = "s"\nfiles = "results/*"\nleave_out = ["A-x-1-1", "A-x-2-1"]\n',
        "leaves out every measurement",
    ),
    "two_ways_to_read": ('name = "s"\nfiles = "dashed/*"\nnames = "{machine}-{day}"\n', '"row-1-2" is not named as'),
    "prediction": ('name = "s"\nfiles = "predicted"\n', "is a prediction, which nobody measured"),
    "holds": ('name = "s"\nfiles = "client-holds.mcap"\n', "holds"),
    "mixed_machines": (
        'name = "s"\n[[measurements]]\nfile = "results/A-x-1-1"\nmachine = "A"\n'
        '[[measurements]]\nfile = "other"\nmachine = "A"\n',
        'machine "A" is "invented lever" in A-x-1-1',
    ),
}  # fmt: skip


@pytest.fixture(scope="module")
def small(tmp_path_factory) -> Path:
    """One machine on two days, a copy of one result, and another machine."""
    folder = tmp_path_factory.mktemp("refused")
    made_study(folder, machines=1)
    write_made_result(folder / "copy", made_estimate(), "A-x-1-1")
    write_made_result(folder / "other", made_estimate(), "other")
    write_made_result(folder / "dashed" / "row-1-2", made_estimate(), "dashed")
    (folder / "lever.toml").write_text(example_text("lever"), encoding="utf-8")
    predicted = ["predict", str(folder / "lever.toml"), "--load", "40 kg", "--out", str(folder / "predicted")]
    assert main(predicted) == 0
    (folder / "client-holds.mcap").symlink_to(Path(__file__).parents[3] / "recordings" / "client-holds.mcap")
    return folder


@pytest.mark.parametrize("case", REFUSED)
def test_bad_input_gets_one_line_and_writes_nothing(small, case, capsys) -> None:
    text, said = REFUSED[case]
    path = small / f"{case}.toml"
    path.write_text(text, encoding="utf-8")
    assert main(["study", str(path), "--out", str(small / f"out-{case}")]) == 2
    err = capsys.readouterr().err
    assert said in err and err.count("\n") == 1
    assert not list((small / f"out-{case}").glob("*"))


def changed(folder: Path, name: str, factor: float) -> None:
    """Write a result again with its forces times `factor`."""
    estimate = load_results(folder / "results" / name)
    shutil.rmtree(folder / "results" / name)
    write_made_result(folder / "results" / name, replace(estimate, static_n=factor * estimate.static_n), name)


def test_a_cell_that_was_not_connected_is_named_and_can_be_left_out(tmp_path, capsys) -> None:
    made_study(tmp_path, machines=3)
    changed(tmp_path, "B-x-2-1", 0.004)
    (tmp_path / "s.toml").write_text(STUDY, encoding="utf-8")
    assert main(["study", str(tmp_path / "s.toml"), "--out", str(tmp_path / "out")]) == 2
    err = capsys.readouterr().err
    assert err.startswith("feltload: B-x-2-1: has a mean force of ") and "its cell did not measure" in err
    assert err.count("\n") == 1 and not (tmp_path / "out").exists()
    (tmp_path / "s.toml").write_text(STUDY + 'leave_out = ["B-x-2-1"]\n', encoding="utf-8")
    assert main(["study", str(tmp_path / "s.toml"), "--out", str(tmp_path / "out")]) == 0
    text = (tmp_path / "out" / "study.md").read_text(encoding="utf-8")
    assert "5 measurements with 40 kg were analysed" in text and "Left out: B-x-2-1." in text
    assert "B-x-2-1" not in (tmp_path / "out" / "measurements.csv").read_text(encoding="utf-8")


def test_one_far_from_the_others_is_named_first_and_stays(tmp_path, capsys) -> None:
    made_study(tmp_path, machines=4, days=3)
    changed(tmp_path, "C-x-3-1", 1.3)
    (tmp_path / "s.toml").write_text(STUDY, encoding="utf-8")
    assert main(["study", str(tmp_path / "s.toml"), "--out", str(tmp_path / "out"), "--json"]) == 0
    (far,) = [
        fact for fact in json.loads(capsys.readouterr().out)["facts"] if fact["kind"] == StudyFact.FAR_OFF
    ]
    assert far["figures"]["measurement"] == "C-x-3-1" and far["severity"] == "serious"
    page = (tmp_path / "out" / "study.html").read_text(encoding="utf-8")
    assert page.index("C-x-3-1: its mean force") < page.index("on average")
    assert "C-x-3-1" in (tmp_path / "out" / "measurements.csv").read_text(encoding="utf-8")


def test_ordinary_scatter_is_not_far_off(written) -> None:
    facts = json.loads((written / "study.json").read_text(encoding="utf-8"))["facts"]
    assert not {StudyFact.FAR_OFF, StudyFact.LEFT_OUT} & {fact["kind"] for fact in facts}


def test_cells_with_other_certificates_or_none_are_said(tmp_path, capsys) -> None:
    base = replace(lever_profile(loads_kg=(40.0,)), repetitions=made_estimate().repetitions)
    for name, digest in (("a", "1" * 64), ("b", "2" * 64), ("c", None)):
        shifted = replace(base, static_n=base.static_n + len(name) + ord(name))
        write_made_result(tmp_path / "results" / name, shifted, name, certificate=digest)
    (tmp_path / "s.toml").write_text('name = "s"\nfiles = "results/*"\n', encoding="utf-8")
    assert main(["study", str(tmp_path / "s.toml"), "--out", str(tmp_path / "out")]) == 0
    err = capsys.readouterr().err
    assert "rest on 2 certificates of load cells" in err
    assert "1 of 3 measurements were made with a load cell without a certificate" in err


def test_equal_results_say_that_nothing_scatters(tmp_path, capsys) -> None:
    base = replace(lever_profile(loads_kg=(40.0,)), repetitions=made_estimate().repetitions)
    for name in "abc":
        write_made_result(tmp_path / "results" / name, base, name)
    (tmp_path / "s.toml").write_text('name = "s"\nfiles = "results/*"\n', encoding="utf-8")
    assert main(["study", str(tmp_path / "s.toml"), "--out", str(tmp_path / "out")]) == 0
    assert "equal to the last digit" in capsys.readouterr().err
    assert set(pd.read_csv(tmp_path / "out" / "statistics.csv")["statistic"]) == {"mean"}


def test_who_measured_one_machine_alone_is_not_told_from_it(tmp_path, capsys) -> None:
    made_study(tmp_path, machines=3, operators=2, days=2)
    for path in sorted((tmp_path / "results").iterdir()):
        machine, operator, *_ = path.name.split("-")
        if (machine == "A") != (operator == "x"):
            shutil.rmtree(path)
    (tmp_path / "s.toml").write_text(STUDY, encoding="utf-8")
    assert main(["study", str(tmp_path / "s.toml"), "--out", str(tmp_path / "out")]) == 0
    assert "Operator changed only together with machine" in capsys.readouterr().err


def test_machines_at_different_loads_are_not_mixed(tmp_path, capsys) -> None:
    base = replace(lever_profile(loads_kg=(40.0,)), repetitions=made_estimate().repetitions)
    for name, load in (("a-1", 40.0), ("a-2", 40.5)):
        write_made_result(tmp_path / "results" / name, replace(base, loads_kg=np.array([load])), name)
    text = 'name = "s"\nfiles = "results/*"\nnames = "{machine}-{day}"\n'
    (tmp_path / "s.toml").write_text(text, encoding="utf-8")
    assert main(["study", str(tmp_path / "s.toml"), "--out", str(tmp_path / "out")]) == 0
    printed = capsys.readouterr()
    assert printed.out.count("its scatter is not known") == 2
    assert "was measured once" in printed.err


def test_a_study_that_is_there_is_left_as_it_is(written, capsys) -> None:
    before = (written / "study.json").read_bytes()
    assert main(["study", str(written.parent / "rows.toml"), "--out", str(written)]) == 2
    assert "already exists" in capsys.readouterr().err
    assert (written / "study.json").read_bytes() == before


def test_recordings_are_profiled_and_one_machine_says_what_it_lacks(tmp_path, capsys) -> None:
    """Two shipped recordings of one machine at two loads: each load was measured once."""
    recordings = Path(__file__).parents[3] / "recordings"
    lines = [f'[[measurements]]\nfile = "{recordings}/lever-row-{load}kg.mcap"\n' for load in (20, 40)]
    (tmp_path / "s.toml").write_text('name = "s"\n' + "".join(lines), encoding="utf-8")
    assert main(["study", str(tmp_path / "s.toml"), "--out", str(tmp_path / "out")]) == 0
    values = pd.read_csv(tmp_path / "out" / "measurements.csv")
    assert sorted(values["load_kg"].unique()) == [20.0, 40.0]
    assert np.isfinite(values["value"]).all()
    assert "machine was measured once" in capsys.readouterr().err
