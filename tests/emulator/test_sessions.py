"""Drawn sessions: streams, clocks and delays as they say they are."""

from dataclasses import replace

import numpy as np
import pytest

from feltload.acquisition.wire.checks.named import check_by_name
from feltload.core.errors import InputError
from feltload.emulator import Partner, Person, machine_toml, peg_moved, scenario, simulate, write_logger_files
from feltload.emulator.boards.faults import Faults, parse_faults, spoiled
from feltload.emulator.boards.wire import crc16, force_frame
from feltload.emulator.sensors.low_pass import CausalLowPass


def test_same_seed_same_session_other_seed_another() -> None:
    scene = scenario("lever-row", person=Person(repetitions=2))
    first, again, other = (simulate(scene, seed=seed) for seed in (7, 7, 8))
    assert first.force.equals(again.force)
    assert first.inertial.equals(again.inertial)
    assert first.errors["gyro_scale"] != other.errors["gyro_scale"]


def test_rates_follow_by_central_differences() -> None:
    person = Person(repetitions=4, handle_knocks=1, cheat_share=0.5, partial_share=0.5)
    truth = simulate(scenario("lever-row", sensors="fast", person=person), seed=2).truth
    t, q, rate = (truth[key].to_numpy() for key in ("t_s", "q_rad", "rate_rad_s"))
    assert np.abs(np.gradient(q, t)[1:-1] - rate[1:-1]).max() < 2e-3
    assert np.sqrt(np.mean((np.gradient(rate, t) - truth["accel_rad_s2"]) ** 2)) < 0.02


def test_hands_off_the_cell_feels_nothing() -> None:
    run = simulate(scenario("lever-row", person=Person(repetitions=2)), seed=3)
    rest = run.truth["phase"] == "rest"
    assert run.truth.loc[rest, "handle_force_n"].abs().max() == 0.0
    early = run.force[run.force["host_s"] < 2.5]["force_n"]
    assert early.mean() == pytest.approx(run.errors["force_zero_n"], abs=0.2)


@pytest.mark.parametrize("sensors", ["ordinary", "cheap", "fast"])
def test_force_is_late_by_the_delay_stated(sensors: str) -> None:
    # Independent of the filter's formula: shift the true force until it fits the readings best.
    person = Person(repetitions=3, tempo="slow", wobble_deg=0.0)
    run = simulate(scenario("lever-row", sensors=sensors, tempo="slow", person=person), seed=5)
    taken = run.force_samples.kept
    sample_s = run.force_samples.sample_s[taken]
    floor = run.scenario.sensors.force.transport.floor_s
    truth = run.truth
    shifts = np.linspace(-0.01, 0.01, 81)
    cost = []
    for shift in shifts:
        at = sample_s - (run.force_delay_s - floor) - shift
        wanted = np.interp(at, truth["t_s"], truth["handle_force_n"]) + run.errors["force_zero_n"]
        cost.append(np.mean((run.force["force_n"].to_numpy() - wanted) ** 2))
    assert shifts[int(np.argmin(cost))] == pytest.approx(0.0, abs=0.0015)


def test_low_pass_halves_the_power_at_its_corner() -> None:
    # Definition of a Butterworth corner: -3.01 dB.
    grid_hz, corner_hz = 2000.0, 18.0
    t = np.arange(8000) / grid_hz
    out = CausalLowPass(corner_hz, grid_hz)(np.sin(2.0 * np.pi * corner_hz * t))
    assert np.ptp(out[4000:]) / 2.0 == pytest.approx(np.sqrt(0.5), rel=2e-3)


def test_arrivals_are_never_early_and_clocks_run_at_their_own_rate() -> None:
    run = simulate(scenario("lever-row", sensors="cheap"), seed=6)
    for samples, name in ((run.force_samples, "force"), (run.inertial_samples, "inertial")):
        floor = getattr(run.scenario.sensors, name).transport.floor_s
        late = samples.arrival_s - samples.sample_s
        assert late.min() >= floor
        assert np.all(np.diff(samples.arrival_s) >= 0.0)
        slope = np.polyfit(samples.sample_s, samples.device_us / 1e6, 1)[0]
        assert slope - 1.0 == pytest.approx(run.errors[f"{name}_clock_skew"], abs=2e-7)


def test_accelerometer_sees_one_g_upward_at_rest() -> None:
    run = simulate(scenario("lever-row", person=Person(repetitions=1)), seed=9)
    still = run.inertial[run.inertial["host_s"] < 2.0]
    size = np.linalg.norm(still[["accel_x_m_s2", "accel_y_m_s2", "accel_z_m_s2"]].mean())
    assert size == pytest.approx(9.80665, abs=0.8)


def test_partner_takes_from_the_hands_what_he_gives() -> None:
    scene = scenario("lever-row", person=Person(repetitions=3), partner=Partner(60.0, 0.5, 1.0))
    truth = simulate(scene, seed=10).truth
    lifting = truth["phase"].isin(["raise", "lower", "hold"])
    felt = truth["handle_force_n"] + truth["partner_force_n"]
    np.testing.assert_allclose(felt[lifting], truth["required_force_n"][lifting], atol=1e-9)
    low = truth["q_rad"] < 0.45 * scene.machine.travel_rad
    assert truth.loc[low, "partner_force_n"].abs().max() < 1e-9
    assert truth["partner_force_n"].max() == pytest.approx(60.0, abs=1.0)


def test_isometric_holds_push_what_the_person_can() -> None:
    scene = scenario("lever-row", person=Person(repetitions=0, holds=(0.1, 0.8)))
    truth = simulate(scene, seed=11).truth
    for number, share in ((1, 0.1), (2, 0.8)):
        hold = truth[(truth["phase"] == "isometric") & (truth["repetition"] == number)]
        assert hold["rate_rad_s"].abs().max() == 0.0
        able = scene.capacity.force_n(np.array([share]))[0]
        assert 0.95 * able < hold["handle_force_n"].max() <= able


def test_systematic_errors_are_drawn_at_their_uncertainty() -> None:
    scene = scenario("lever-row", person=Person(repetitions=1, rest_s=0.5), systematic=True)
    runs = [simulate(scene, seed=seed) for seed in range(60)]
    shift = np.array([run.stated["start_angle_rad"][0] - run.start_angle_rad for run in runs])
    assert 0.75 < shift.std() / scene.u_start_angle_rad < 1.3
    exact = simulate(replace(scene, systematic=False), seed=0)
    assert exact.errors["force_gain"] == 0.0


def test_crc_of_the_wire_is_the_catalogue_s() -> None:
    # CRC catalogue: CRC-16/IBM-3740 of "123456789" is 0x29B1.
    assert crc16(b"123456789") == 0x29B1
    frame = force_frame(70_000, 2**32 + 5, -1234)
    assert frame.count(0) == 1
    assert check_by_name("CRC-16/IBM-3740").of(b"123456789") == crc16(b"123456789")


def test_spoiled_frames_stay_one_frame() -> None:
    rng = np.random.default_rng(0)
    frame = force_frame(1, 2, 3)
    for _ in range(300):
        other = spoiled(frame, rng)
        assert other != frame
        assert other.count(0) == 1
        assert other.endswith(b"\x00")


def test_faults_are_read_or_refused_in_one_line() -> None:
    assert parse_faults("corrupt=0.01, reset=12") == Faults(corrupt=0.01, reset=12.0)
    for text in ("fire=1", "drop=x", "drop=2"):
        with pytest.raises(InputError):
            parse_faults(text)


def test_unknown_machine_is_named(tmp_path) -> None:
    with pytest.raises(InputError, match="no-such"):
        scenario("no-such")
    with pytest.raises(InputError, match="plain lever"):
        machine_toml(scenario("cam-drum"))


def test_peg_moves_and_survey_does_not(tmp_path) -> None:
    scene = scenario("lever-row")
    moved = peg_moved(scene, 0.015)
    at = np.array([0.3])
    assert moved.static_force_n(at)[0] > scene.static_force_n(at)[0] + 5.0
    write_logger_files(simulate(replace(scene, person=Person(repetitions=1)), seed=1), tmp_path)
    header = (tmp_path / "force.csv").read_text().splitlines()[0]
    assert header == "time_s,host_time_s,force_n"
    assert 'radius = "300.0 +/- 2 mm"' in (tmp_path / "machine.toml").read_text()
