"""Every command on every mechanism: positions in words, figures and JSON against where the emulated handle truly is."""

from __future__ import annotations

import csv
import json
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from feltload.app.cli import main
from feltload.coaching import ClientFolder
from handle_rigs import RIGS, HandleRig, handle_rig

SHARE = r"(\d+) % of the travel"


@dataclass(frozen=True)
class Case:
    """A rig with its files."""

    rig: HandleRig
    result: Path
    capacity: Path
    machine: Path


@pytest.fixture(scope="module", params=RIGS)
def case(request, tmp_path_factory) -> Case:
    rig, folder = handle_rig(request.param), tmp_path_factory.mktemp(request.param)
    machine = folder / "machine.toml"
    machine.write_text(rig.text, encoding="utf-8")
    return Case(rig, rig.write(folder / "result"), rig.write_capacity(folder / "capacity.json"), machine)


@dataclass(frozen=True)
class Answer:
    words: str
    record: dict


@pytest.fixture
def ask(capsys):
    """A command's words and its JSON."""

    def run(*words: object) -> Answer:
        told = []
        for more in ((), ("--json",)):
            assert main([*map(str, words), *more]) in (0, 1)
            told.append(capsys.readouterr().out)
        return Answer(told[0], json.loads(told[1]))

    return run


def truth(case: Case, rotation_rad: float) -> tuple[float, float]:
    """Part of the measured travel and way from the start stop (mm) of the emulated handle."""
    made = case.rig.profile
    ends = case.rig.way_m(made.angle_rad[[0, -1]] - made.start_angle_rad)
    way = float(case.rig.way_m(np.array([rotation_rad]))[0])
    return (way - ends[0]) / (ends[1] - ends[0]), 1e3 * way


def require_true(case: Case, place: dict[str, float]) -> None:
    """A position in JSON is one of the emulated handle, and has an angle only where the handle has one."""
    made = case.rig.profile
    q = np.linspace(0.0, made.angle_rad[-1] - made.start_angle_rad + 0.2, 4001)
    rotation = float(np.interp(place["handle_travel_mm"], 1e3 * case.rig.way_m(q), q))
    share, _ = truth(case, rotation)
    assert place["travel_percent"] == pytest.approx(100.0 * share, abs=0.05)
    if case.rig.angle is None:
        assert not {"angle_deg", "handle_line_deg"} & set(place)
        assert place["rotation_deg"] == pytest.approx(np.degrees(rotation), abs=0.2)
        return
    name = "angle_deg" if case.rig.name == "lever" else "handle_line_deg"
    assert place[name] == pytest.approx(np.degrees(case.rig.angle(np.array([rotation]))[0]), abs=0.1)


def require_words(case: Case, words: str) -> None:
    """Nothing calls the rotation of a drum, a wheel or a crank a position in degrees."""
    degrees = [int(found.replace("−", "-")) for found in re.findall(r"([−\d]+)°", words)]
    if case.rig.angle is None:
        assert not degrees, words
        return
    made = case.rig.profile
    line = np.degrees(case.rig.angle(made.angle_rad - made.start_angle_rad))
    assert all(line.min() - 1.0 <= angle <= line.max() + 1.0 for angle in degrees), words
    if case.rig.name == "coupler":
        assert words.count("°") <= 2 * words.count("handle line"), words


def read_page(page: Path) -> str:
    """A page's text with plain blanks."""
    return page.read_text(encoding="utf-8").replace("\u00a0", " ").replace("&nbsp;", " ")


def heaviest(case: Case) -> float:
    """Rotation at which the emulated machine with 40 kg is truly heaviest in the measured travel."""
    made = case.rig.profile
    q = made.angle_rad - made.start_angle_rad
    return float(q[np.argmax(case.rig.scenario.static_force_n(q, 40.0))])


def test_the_table_of_a_result_has_the_handles_way(case) -> None:
    made = case.rig.profile
    q = made.angle_rad - made.start_angle_rad
    with (case.result / "profile.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))[: q.size]
    for row, rotation in list(zip(rows, q, strict=True))[::20]:
        share, way_mm = truth(case, float(rotation))
        assert float(row["handle_travel_mm"]) == pytest.approx(way_mm, abs=0.05)
        assert float(row["travel_percent"]) == pytest.approx(100.0 * share, abs=0.02)
    assert ("angle_deg" in rows[0]) == (case.rig.name == "lever")
    summary = json.loads((case.result / "profile.json").read_text(encoding="utf-8"))
    kinds = {"lever": "lever-angle", "coupler": "handle-line", "cable": "rotation", "sled": "rotation"}
    assert summary["positions"]["angle_is"] == kinds[case.rig.name]
    require_true(case, summary["peak"][1])


def test_the_report_says_where_it_is_heaviest(case) -> None:
    page = read_page(case.result / "report.html")
    share, _ = truth(case, heaviest(case))
    if case.rig.name != "sled":
        said = re.search(r"heaviest at (?:(\d+) % of the travel|the (start|end) of the travel)", page)
        percent = float(said[1]) if said[1] else 100.0 * (said[2] == "end")
        assert percent == pytest.approx(100.0 * share, abs=1.6)
    labels = {"lever": "lever angle", "coupler": "angle of the handle"}
    axis = "part of the travel · handle travel from the start stop"
    assert axis in page
    assert (f"{axis} · {labels[case.rig.name]}" in page) if case.rig.angle else f"{axis} · " not in page
    for text in re.findall(r"<p class=\"headline\">(.*?)</p>", page):
        require_words(case, text)


def test_check(case, ask) -> None:
    answer = ask("check", case.result, "--machine", case.machine, "--force-overwrite")
    require_true(case, answer.record["explanation"]["largest"])
    require_words(case, re.split(r" with \d+ kg", answer.words)[0])
    kept = json.loads((case.result / "agreement.json").read_text(encoding="utf-8"))
    made = case.rig.profile
    first_mm = truth(case, float(made.angle_rad[0] - made.start_angle_rad))[1]
    assert kept["handle_travel_mm"][0] == pytest.approx(first_mm, abs=0.1)


def test_positions(case, ask) -> None:
    answer = ask("client", "positions", case.result)
    held = re.findall(rf"\d\. {SHARE} \(.*?(\d+) cm from the start stop", answer.words)
    assert len(held) >= 5
    for percent, way_cm in held:
        made = case.rig.profile
        rotation = made.travel.at_share(0.01 * float(percent)) - made.start_angle_rad
        assert truth(case, rotation)[1] == pytest.approx(10.0 * float(way_cm), abs=13.0)
    require_words(case, answer.words)
    assert answer.record["handle_travel_mm"] and answer.record["travel_percent"]


@pytest.mark.parametrize("painful", ["80:95 %", "cm"])
def test_match_keeps_out_of_what_is_marked_in_parts_or_centimetres(case, ask, painful: str) -> None:
    made = case.rig.profile
    ends = [made.travel.at_share(share) for share in (0.8, 0.95)]
    ways_mm = [truth(case, at - made.start_angle_rad)[1] for at in ends]
    text = painful if painful != "cm" else f"{ways_mm[0]:.1f}:{ways_mm[1]:.1f} mm"
    answer = ask("client", "match", case.result, case.capacity, "--load", "40 kg", "--painful", text)
    (span,) = answer.record["painful"]
    assert [span[end]["travel_percent"] for end in ("from", "to")] == pytest.approx([80.0, 95.0], abs=0.1)
    assert [span[end]["handle_travel_mm"] for end in ("from", "to")] == pytest.approx(ways_mm, abs=0.1)
    assert answer.record["turn_at"]["travel_percent"] < 80.0
    for place in (answer.record["turn_at"], answer.record["limiting"], answer.record["work"]["to"]):
        require_true(case, place)
    assert answer.words.startswith("80 to 95 % of the travel (")
    require_words(case, answer.words)


def test_plan_what_if_and_limit(case, ask) -> None:
    plan = ask("client", "plan", case.result, case.capacity, "--load", "40 kg", "--target", "70 %")
    for stretch in plan.record["stretches"]["concentric"]:
        require_true(case, stretch["from"])
        require_true(case, stretch["to"])
    tried = ask("client", "what-if", case.result, case.capacity, "--load", "40 kg", "--stop", "70 %")
    turned = tried.record["changes"][1]
    assert turned["at"]["travel_percent"] == pytest.approx(70.0, abs=0.1)
    require_true(case, turned["at"])
    limit = ask("client", "limit", case.result, "--force", "500 N", "--between", "20:60 %")
    assert 19.9 <= limit.record["at"]["travel_percent"] <= 60.1
    for answer in (plan, tried, limit):
        require_words(case, answer.words)


def test_a_band_is_given_along_the_handles_way(case, ask, tmp_path, capsys) -> None:
    """Slack to the middle of the way, 80 N at its end: the demand that the emulated machine makes with it."""
    made = case.rig.profile
    first_mm, last_mm = (truth(case, end - made.start_angle_rad)[1] for end in made.angle_rad[[0, -1]])
    rows = [(0, 0.0), (50, 0.0), (100, 80.0)]
    words = (
        "client",
        "what-if",
        case.result,
        case.capacity,
        "--load",
        "40 kg",
        "--added",
        tmp_path / "band.csv",
    )
    q = made.angle_rad - made.start_angle_rad
    share = np.array([truth(case, float(rotation))[0] for rotation in q])
    asked = case.rig.scenario.static_force_n(q, 40.0) + case.rig.scenario.friction_n(q, 40.0)
    demand = (asked + np.maximum(160.0 * (share - 0.5), 0.0)) / (900.0 - 400.0 * share)
    for head, scale in (
        ("travel_percent", (0.0, 1.0)),
        ("handle_travel_mm", (first_mm, (last_mm - first_mm) / 100.0)),
    ):
        lines = [f"{scale[0] + scale[1] * percent:.2f},{force}" for percent, force in rows]
        (tmp_path / "band.csv").write_text("\n".join([f"{head},force_n", *lines]), encoding="utf-8")
        banded = ask(*words).record["changes"][1]
        assert banded["added"] == "band"
        assert banded["limiting_demand"] == pytest.approx(demand.max(), abs=0.005)
        mean = np.trapezoid(demand, share) / np.ptp(share)
        assert banded["evenness"] == pytest.approx(mean / demand.max(), abs=0.005)
        require_true(case, banded["limiting"])
    lines = [f"{angle},10" for angle in np.degrees(made.angle_rad[[0, 60, -1]])]
    (tmp_path / "band.csv").write_text("\n".join(["angle_deg,force_n", *lines]), encoding="utf-8")
    code = main([*map(str, words)])
    told = capsys.readouterr().err
    assert code == (0 if case.rig.name == "lever" else 2)
    assert code == 0 or ("no lever angle" in told and told.count("\n") == 1)


def test_sheet(case, tmp_path, capsys) -> None:
    page = tmp_path / "sheet.html"
    words = (
        "client",
        "sheet",
        case.result,
        case.capacity,
        "--load",
        "40 kg",
        "--painful",
        "80:95 %",
        "--out",
        page,
    )
    assert main([*map(str, words)]) == 0
    require_words(case, capsys.readouterr().out)
    text = read_page(page)
    assert "80 to 95 % of the travel" in text
    assert "part of the travel · handle travel from the start stop" in text
    if case.rig.angle is None:
        assert "°" not in re.sub(r"<svg.*?</svg>", "", text, flags=re.DOTALL)


def test_angles_of_another_machine_are_refused_not_misread(case, capsys) -> None:
    """A range in lever angles, typed or kept, names no position of a cable, a sled or a coupler."""
    words = ("client", "match", case.result, case.capacity, "--load", "40 kg", "--painful", "5:15 deg")
    code = main([*map(str, words)])
    told = capsys.readouterr()
    if case.rig.name == "lever":
        assert code == 0
        assert "(5° to 15°)" in told.out or "5° to 15°" in told.out
    else:
        assert code == 2
        assert "names no" in told.err


def test_a_kept_mark_moves_with_the_handle_and_not_to_another_mechanism(case, tmp_path, capsys) -> None:
    folder = ClientFolder.create(tmp_path, code="A1").path
    kept = ("client", "pain", folder, "--result", case.result, "--painful", "40:60 %")
    assert main([*map(str, kept)]) == 0
    require_words(case, capsys.readouterr().out)
    words = ("client", "match", case.result, case.capacity, "--load", "40 kg", "--client", folder, "--json")
    assert main([*map(str, words)]) == 0
    (span,) = json.loads(capsys.readouterr().out)["painful"]
    assert [span[end]["travel_percent"] for end in ("from", "to")] == pytest.approx([40.0, 60.0], abs=0.1)
    # The machine's file is now one of another mechanism, under the same name.
    marker = folder / "client.json"
    record = json.loads(marker.read_text(encoding="utf-8"))
    record["painful"][0]["angle_is"] = "rotation" if case.rig.angle else "lever-angle"
    marker.write_text(json.dumps(record), encoding="utf-8")
    assert main([*map(str, words)]) == 2
    assert "of another kind" in capsys.readouterr().err


def test_machines_of_all_mechanisms_are_compared_by_part_of_the_travel(tmp_path, capsys) -> None:
    results = [handle_rig(name).write(tmp_path / name) for name in RIGS]
    page = tmp_path / "compared.html"
    assert main(["compare", *map(str, results), "--load", "40 kg", "--out", str(page), "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["by"] == "travel"
    for name, difference in zip(RIGS[1:], said["differences"], strict=True):
        share = np.array(difference["travel_percent"]) / 100.0
        assert not {"angle_deg", "rotation_deg", "handle_line_deg"} & set(difference)
        true = []
        for rig in (handle_rig("lever"), handle_rig(name)):
            fine = rig.profile.angle_rad - rig.profile.start_angle_rad
            way = rig.way_m(fine)
            true.append(
                np.interp(share, (way - way[0]) / np.ptp(way), rig.scenario.static_force_n(fine, 40.0))
            )
        (load,) = difference["loads"]
        assert np.array(load["difference_n"]) == pytest.approx(true[0] - true[1], abs=0.5)
    assert all("°" not in sentence for sentence in said["sentences"])
    assert "part of the measured travel, %" in read_page(page)
    lever, cable = results[0], results[2]
    assert main(["compare", str(lever), str(cable), "--by", "angle"]) == 2
    assert "has no lever angle" in capsys.readouterr().err
    assert main(["compare", str(lever), str(cable), "--by", "handle", "--load", "40 kg", "--json"]) == 0
    (difference,) = json.loads(capsys.readouterr().out)["differences"]
    way = 1e-3 * np.array(difference["handle_travel_mm"])
    forces = []
    for rig in (handle_rig("lever"), handle_rig("cable")):
        q = rig.profile.angle_rad - rig.profile.start_angle_rad
        forces.append(np.interp(way, rig.way_m(q), rig.scenario.static_force_n(q, 40.0)))
    assert np.array(difference["loads"][0]["difference_n"]) == pytest.approx(forces[0] - forces[1], abs=0.6)
