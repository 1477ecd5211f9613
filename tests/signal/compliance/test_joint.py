"""Machines that give, emulated with physics of their own: what is said of them, and the profile of the arm behind."""

import numpy as np
import pytest

from feltload.emulator import Joint, Person, SimulatedRun, scenario, simulate
from feltload.signal import ComplianceFact, HandleTravel, ProfileEstimate, Reference, estimate
from profiled_rigs import session_of


def measured(
    machine: str, joint: Joint | None, seed: int, *, tempo: str = "mixed", person: Person | None = None
) -> tuple[SimulatedRun, ProfileEstimate]:
    run = simulate(scenario(machine, tempo=tempo, joint=joint, person=person), seed=seed)
    q = np.linspace(0.0, run.scenario.machine.travel_rad, 31)
    travel = HandleTravel(q, run.scenario.machine.handle_travel_m(q))
    return run, estimate(
        [session_of(run)], reference=Reference(machine, run.start_angle_rad, 0.0, handle_travel=travel)
    )


def error_of(run: SimulatedRun, result: ProfileEstimate) -> np.ndarray:
    """Relative to the peak; the truth is the static force at the loaded arm's angle."""
    truth = run.scenario.static_force_n(result.angle_rad - run.start_angle_rad)
    return (result.static_n[0] - truth) / np.max(np.abs(truth))


@pytest.mark.parametrize(
    ("machine", "play_deg"), [("rising-arm", 0.6), ("lever-row", 1.0), ("cam-drum", 0.2)]
)
def test_play_before_the_arm_is_sized_and_taken_off(machine: str, play_deg: float) -> None:
    run, result = measured(machine, Joint(float(np.radians(play_deg)), 25.0, 0.03, "handle"), seed=3)
    fact = next(fact for fact in result.warnings if fact.kind == ComplianceFact.PLAY)
    assert fact.figures["place"] == "before"
    assert np.degrees(fact.figure("play_rad")) == pytest.approx(play_deg, abs=0.06)
    assert fact.figure("play_rad") == pytest.approx(np.radians(play_deg), abs=1.5 * fact.figure("u95_rad"))
    travel_m = float(run.scenario.machine.handle_travel_m(np.zeros(1))[0])
    assert fact.figure("handle_m") == pytest.approx(fact.figure("play_rad") * travel_m)
    assert np.sqrt(np.mean(error_of(run, result) ** 2)) < 0.003


@pytest.mark.parametrize("sensor", ["arm", "handle"])
def test_a_mode_is_named_and_its_wind_up_taken_off(sensor: str) -> None:
    joint = Joint(0.0, 8.0, 0.03, sensor)  # type: ignore[arg-type]
    run, result = measured("rising-arm", joint, seed=2, tempo="brisk")
    fact = next(fact for fact in result.warnings if fact.kind == ComplianceFact.FLEX)
    assert fact.figures["place"] == {"arm": "past", "handle": "before"}[sensor]
    assert fact.figure("frequency_hz") == pytest.approx(8.0, rel=0.06)
    # Felt inertia over stiffness is one over the square of the mode.
    scene = run.scenario
    peak_n = np.max(scene.static_force_n(np.linspace(0.0, scene.machine.travel_rad, 50)))
    wind_up = peak_n / (scene.inertia_n_per_rad_s2(np.zeros(1))[0] * (2.0 * np.pi * 8.0) ** 2)
    assert fact.figure("wind_up_rad") == pytest.approx(wind_up, rel=0.5)
    assert np.sqrt(np.mean(error_of(run, result) ** 2)) < 0.003


def test_rigid_machines_are_left_alone() -> None:
    person = Person(tempo="mixed", touch_share=0.5, knock_share=0.3, letgo_share=0.2)
    for seed in (1, 2):
        _, result = measured("lever-row", None, seed, person=person)
        kinds = {fact.kind for fact in result.warnings}
        assert not kinds & set(ComplianceFact)
