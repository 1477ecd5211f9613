"""The client commands as a coach runs them: processes of their own on the shipped, invented recordings."""

from __future__ import annotations

import json
from pathlib import Path

import pytest


@pytest.fixture(scope="module")
def row(measured_row) -> Path:
    return measured_row


@pytest.fixture(scope="module")
def capacity(feltload, recordings, tmp_path_factory) -> Path:
    out = tmp_path_factory.mktemp("client") / "capacity.json"
    done = feltload("client", "capacity", recordings / "client-holds.mcap", "--out", out)
    assert done.code == 0, done.err
    # The brisk repetitions after the holds are no failed holds.
    assert "left out" not in done.err
    assert "maker's instructions" in done.err
    return out


@pytest.fixture(scope="module")
def sheet(feltload, recordings, row, capacity) -> Path:
    out = capacity.parent / "sheet.html"
    words = ("--load", "30 kg", "--session", recordings / "partner-help-40kg.mcap", "--stop", "25 deg")
    done = feltload("client", "sheet", row, capacity, *words, "--code", "K7QW3D", "--out", out)
    assert done.code == 0, done.err
    return out


def test_capacity_is_that_of_the_emulated_client(capacity, recordings):
    """The client of the recordings can hold what the emulated rig says, README of the folder."""
    import numpy as np

    from feltload.calibration import load_machine
    from feltload.emulator import scenario

    kept = json.loads(capacity.read_text())
    assert len(kept["holds"]) == 5
    truth = scenario("lever-row")
    start = load_machine(recordings / "lever-row.toml").start_angle.value
    share = (np.deg2rad(kept["angle_deg"]) - start) / truth.machine.travel_rad
    error = np.abs(np.array(kept["force_n"]) - truth.capacity.force_n(share))
    assert np.mean(error <= 2 * np.array(kept["u_n"])) >= 0.95


def test_client_runs_out_in_the_shortened_position_and_the_plan_helps_there(feltload, row, capacity):
    """As `recordings/README.md` says; the figures come from the emulated rig, the signs from common practice."""
    import numpy as np

    from feltload.emulator import scenario

    done = feltload("client", "match", row, capacity, "--load", "40 kg", "--stop", "15 deg", "--json")
    found = json.loads(done.out)
    truth = scenario("lever-row", load_kg=40.0)
    q = truth.machine.travel_rad * np.array([0.05, 0.95])
    load_n = truth.static_force_n(q) + truth.friction_n(q)
    demand = load_n / truth.capacity.force_n(np.array([0.05, 0.95]))
    assert demand == pytest.approx([0.55, 0.81], abs=0.01)
    assert found["limiting_demand"] == pytest.approx(demand[1], abs=2 * found["limiting_demand_u"] + 0.02)
    assert found["limiting_range"]["from"]["angle_deg"] > 15.0
    assert found["repetitions_short"][0] > found["repetitions_full"][0] + 2.0
    planned = json.loads(
        feltload("client", "plan", row, capacity, "--load", "40 kg", "--target", "0.7", "--json").out
    )
    assert planned["help_n"][0] < -20.0 and 10.0 < planned["help_n"][-1] < 50.0
    first, last = planned["stretches"]["concentric"][0], planned["stretches"]["concentric"][-1]
    assert first["action"] == "resist"
    assert (last["action"], last["course"]) == ("help", "building-up")


@pytest.mark.parametrize(
    ("words", "key"),
    [
        (
            ("match", "ROW", "CAP", "--load", "40 kg", "--demand", "0.8", "--stop", "10 deg"),
            "limiting_demand",
        ),
        (("plan", "ROW", "CAP", "--load", "40 kg", "--target", "0.7"), "help_n"),
        (("limit", "ROW", "--force", "150 N", "--between", "0:20 deg"), "load_kg"),
        (
            (
                "what-if",
                "ROW",
                "CAP",
                "--load",
                "40 kg",
                "--plates",
                "30 kg",
                "--start",
                "-20 deg",
                "--tempo",
                "1",
            ),
            "changes",
        ),
        (("effort", "ROW", "HELPED"), "repetitions"),
        (("delivered", "ROW", "HELPED", "--capacity", "CAP", "--target", "0.7"), "compared_with_plan"),
    ],
    ids=lambda value: value[0] if isinstance(value, tuple) else None,
)
def test_commands_answer_in_json(feltload, recordings, row, capacity, words, key):
    stand_for = {"ROW": row, "CAP": capacity, "HELPED": recordings / "partner-help-40kg.mcap"}
    done = feltload("client", *(stand_for.get(w, w) for w in words), "--json")
    assert done.code == 0, done.err
    assert json.loads(done.out)[key]


def test_help_of_the_shipped_recording_is_found_where_it_was_given(feltload, recordings, row):
    """60 N from half of the travel to its end, raising and lowering (README of the recordings)."""
    done = feltload("client", "delivered", row, recordings / "partner-help-40kg.mcap", "--json")
    found = json.loads(done.out)
    assert found["helped"] is True
    for name in ("concentric_n", "eccentric_n"):
        values = [v for v in found[name] if v is not None]
        assert max(values) == pytest.approx(60.0, abs=3.0)
        assert max(abs(v) for v in values[: len(values) // 3]) < 3.0
    none = feltload("client", "delivered", row, recordings / "lever-row-40kg.mcap", "--json")
    assert json.loads(none.out)["helped"] is False


def test_what_a_damaged_recording_lost_is_said_with_the_capacity(feltload, recordings, tmp_path):
    whole = (recordings / "client-holds.mcap").read_bytes()
    cut = tmp_path / "cut.mcap"
    cut.write_bytes(whole[: int(0.9 * len(whole))])
    done = feltload("client", "capacity", cut, "--out", tmp_path / "capacity.json")
    assert done.code == 0, done.err
    assert "cut.mcap: it was cut or not closed" in done.err
    kinds = [fact["kind"] for fact in json.loads((tmp_path / "capacity.json").read_text())["warnings"]]
    assert {"recording-cut", "recording-ends"} <= set(kinds)


def test_folder_is_made_kept_in_and_deleted(feltload, recordings, tmp_path):
    made = feltload("client", "new", tmp_path, "--code", "K7QW3D", "--json")
    folder = Path(json.loads(made.out)["folder"])
    for number in (1, 2):
        out = tmp_path / "results" / f"capacity-{number}.json"
        done = feltload(
            "client", "capacity", recordings / "client-holds.mcap", "--out", out, "--client", folder
        )
        assert done.code == 0, done.err
        assert (out.stat().st_mode & 0o777, out.parent.stat().st_mode & 0o777) == (0o600, 0o700)
    history = feltload("client", "history", folder, "--json")
    (change,) = json.loads(history.out)["changes"]
    assert change["beyond_noise"] is False
    asked = feltload("client", "delete", folder)
    asked.one_line_error("--yes")
    for name in ("capacity-1.json", "capacity-2.json", "client.json"):
        assert f"{name}\n" in asked.out
    assert folder.is_dir()
    deleted = feltload("client", "delete", folder, "--yes", "--json")
    assert deleted.code == 0, deleted.err
    assert not folder.exists() and not list((tmp_path / "results").iterdir())
    # The recording ships with the project: results were computed from it, and it stays.
    (left,) = json.loads(deleted.out)["left"]
    assert left["kind"] == "client-file-source"
    assert (recordings / "client-holds.mcap").exists()


def test_sheet_says_what_it_is_of_and_speaks_to_the_client(sheet):
    text = sheet.read_text(encoding="utf-8")
    assert sheet.stat().st_mode & 0o777 == 0o600
    assert "Invented data" in text
    assert "K7QW3D" in text
    assert "this client" not in text
    assert "kgf" in text
    assert "−29°" in text and "-29°" not in text
    assert "by hand, with 40" in text
    for caution in ("maker&#39;s instructions", "stop at once on pain", "are estimates"):
        assert caution in text


@pytest.mark.parametrize("width", [390, 1280])
def test_sheet_does_not_overflow(chromium, sheet, tmp_path, width):
    """The page is opened in a frame of that width, since a window may not be narrower than the browser likes."""
    outer = tmp_path / "outer.html"
    script = (
        "onload = () => { const d = document.querySelector('iframe').contentDocument.documentElement;"
        " document.title = 'overflow ' + (d.scrollWidth - d.clientWidth) + ' of ' + d.clientWidth; }"
    )
    page = sheet.read_text(encoding="utf-8").replace("&", "&amp;").replace('"', "&quot;")
    outer.write_text(
        f'<title>none</title><iframe style="border:0;width:{width}px;height:900px" srcdoc="{page}"></iframe>'
        f"<script>{script}</script>",
        encoding="utf-8",
    )
    shown = chromium.run(tmp_path, "--virtual-time-budget=3000", "--dump-dom", outer.as_uri())
    assert f"<title>overflow 0 of {width}</title>" in shown


def test_sheet_prints_as_a_page_for_the_client_and_one_for_the_partner(chromium, sheet, tmp_path):
    assert chromium.printed_pages(sheet, tmp_path) == 2
