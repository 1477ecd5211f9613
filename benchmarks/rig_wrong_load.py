"""Emulated machines with a drawn survey, recorded with a load that is stated right or wrong, through the whole chain.

The recording is a file, as `feltload import` makes one; `measure` and `check_measured` are what `feltload profile` and
`feltload check` call.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from feltload.acquisition import import_csv
from feltload.app.jobs.machine_check import MachineCheck, check_measured
from feltload.app.jobs.measuring.measurement import Measurement, measure
from feltload.calibration import Machine
from feltload.core import NORMAL_COVERAGE_95
from feltload.emulator import Scenario, SimulatedRun, machine_toml, scenario, simulate, write_logger_files
from feltload.emulator.machines.dynamics import Lever, MachineDynamics
from feltload.emulator.machines.friction import Friction
from feltload.emulator.machines.linked import CamDrum, FourBarLever
from feltload.emulator.machines.sled import RailSled
from rig_session import same_cell

SLED_INCLINE_DEG = 35.0
SLED_WHEEL_M = 0.30
MACHINES = ("lever-row", "rising-arm", "over-the-top", "fixed-pull", "four-bar", "cam-drum", "sled")
U_LENGTH_M, U_CAM_M, U_ANGLE_DEG, U_MASS_KG = 0.002, 0.001, 0.5, 0.05


@dataclass(frozen=True)
class Case:
    """One result with loads stated right or wrong.

    Attributes
    ----------
    true_kg, stated_kg : tuple of float
        Of its recordings.
    measurement : Measurement
    check : MachineCheck
    beyond : float
        Largest difference that the wrong loads make, over the combined 95 % band of measurement and model there.
    """

    true_kg: tuple[float, ...]
    stated_kg: tuple[float, ...]
    measurement: Measurement
    check: MachineCheck
    beyond: float


def scene_of(name: str, load_kg: float, sensors: str = "ordinary") -> Scenario:
    """An emulated session on one of the machines."""
    if name != "sled":
        return scenario(name, load_kg=load_kg, sensors=sensors, systematic=True)
    sled = RailSled(
        wheel_radius_m=SLED_WHEEL_M,
        incline_rad=float(np.radians(SLED_INCLINE_DEG)),
        sled_kg=18.0,
        wheels_kg_m2=0.4,
        travel_rad=2.0,
        friction=Friction(5.0, 0.35, viscous_n_per_rad_s=3.0),
    )
    return replace(
        scenario("lever-row", load_kg=load_kg, sensors=sensors, systematic=True), name="sled", machine=sled
    )


def survey_toml(scene: Scenario, rng: np.random.Generator | None = None) -> str:
    """Machine file of a scene, every value drawn at its stated uncertainty; exact without a generator."""
    machine = scene.machine
    if isinstance(machine, Lever):
        return machine_toml(scene, rng=rng)
    pen = SurveyPen(rng)
    u_start = max(round(float(np.degrees(scene.u_start_angle_rad)), 2), 0.01)
    head = [f'name = "{scene.name}, emulated (invented)"']
    start = f"start_angle = {pen.angle(machine.start_angle_rad, u_start)}"
    if isinstance(machine, FourBarLever):
        return "\n".join([*head, 'mechanism = "four-bar"', start, *_four_bar(machine, pen)])
    if isinstance(machine, RailSled):
        incline, radius = np.radians(SLED_INCLINE_DEG), pen.length(SLED_WHEEL_M)
        lines = ["[sled]", f"incline = {pen.angle(incline)}", f"wheel_radius = {radius}"]
        lines += _mass("sled", "sled", pen.mass(machine.sled_kg)) + _mass("sled", "plates", '"load"')
        return "\n".join([*head, 'mechanism = "sled"', 'start_angle = "0 deg"', *lines])
    return "\n".join([*head, 'mechanism = "cable"', start, *_cable(machine, pen)])


class SurveyPen:
    """Writes surveyed values down, drawn at their uncertainties."""

    def __init__(self, rng: np.random.Generator | None) -> None:
        self._rng = rng

    def drawn(self, value: float, u: float) -> float:
        """A value off by its uncertainty; exact without a generator."""
        return value if self._rng is None else value + float(self._rng.normal(0.0, u))

    def length(self, value_m: float, u_m: float = U_LENGTH_M) -> str:
        """A length."""
        return f'"{1e3 * self.drawn(value_m, u_m):.2f} +/- {1e3 * u_m:g} mm"'

    def angle(self, value_rad: float, u_deg: float = U_ANGLE_DEG) -> str:
        """An angle."""
        return f'"{self.drawn(float(np.degrees(value_rad)), u_deg):.3f} +/- {u_deg:g} deg"'

    def mass(self, value_kg: float) -> str:
        """A mass."""
        return f'"{self.drawn(value_kg, U_MASS_KG):.3f} +/- {U_MASS_KG:g} kg"'


def _mass(kind: str, name: str, mass: str, **more: str) -> list[str]:
    return [
        f"[[{kind}.mass]]",
        f'name = "{name}"',
        f"mass = {mass}",
        *(f"{k} = {v}" for k, v in more.items()),
    ]


def _four_bar(machine: FourBarLever, pen: SurveyPen) -> list[str]:
    ground = complex(*machine.rocker_pivot_m)
    lead = float(machine._rocker_elevation(np.zeros(1))[0]) + machine.peg_lead_rad
    arm_m, rocker_m = 0.4, 0.3
    return [
        "[four-bar]",
        f"ground_length = {pen.length(abs(ground))}",
        f"ground_angle = {pen.angle(float(np.angle(ground)))}",
        f"input_length = {pen.length(machine.crank_m)}",
        f"input_angle = {pen.angle(machine.crank_elevation_rad)}",
        f"coupler_length = {pen.length(machine.coupler_m)}",
        f"rocker_length = {pen.length(machine.rocker_m)}",
        f"handle_radius = {pen.length(machine.handle_radius_m)}",
        *_mass(
            "four-bar",
            "arm",
            pen.mass(machine.arm_kg_m / arm_m),
            radius=pen.length(arm_m),
            angle=pen.angle(machine.arm_elevation_rad),
            on='"input"',
        ),
        *_mass(
            "four-bar",
            "rocker",
            pen.mass(machine.rocker_kg_m / rocker_m),
            radius=pen.length(rocker_m),
            angle=pen.angle(lead),
        ),
        *_mass(
            "four-bar", "plates", '"load"', radius=pen.length(machine.peg_radius_m), angle=pen.angle(lead)
        ),
    ]


def _cable(machine: CamDrum, pen: SurveyPen) -> list[str]:
    q = np.linspace(np.radians(-4.0), machine.travel_rad + np.radians(4.0), 25)
    arms = machine.mean_radius_m + machine.swing_m * np.sin(machine.cycles * q + machine.phase_rad)
    # A table is one survey: its rows are off together.
    off = pen.drawn(0.0, U_CAM_M)
    rows = ", ".join(
        f'["{np.degrees(a):.2f} deg", "{1e3 * (r + off):.2f} +/- {1e3 * U_CAM_M:g} mm"]'
        for a, r in zip(q, arms, strict=True)
    )
    arm_m = 0.2
    return [
        "[cable]",
        f"cam = [{rows}]",
        f"handle_radius = {pen.length(machine.handle_radius_m)}",
        *_mass("cable", "carriage", pen.mass(machine.carriage_kg)),
        *_mass("cable", "plates", '"load"'),
        *_mass(
            "cable",
            "arm",
            pen.mass(machine.arm_kg_m / arm_m),
            radius=pen.length(arm_m),
            angle=pen.angle(machine.arm_elevation_rad),
            on='"drum"',
        ),
    ]


def made_case(
    name: str,
    sensors: str,
    true_kg: Sequence[float],
    stated_kg: Sequence[float],
    seed: int,
    folder: Path,
    *,
    changed: Callable[[MachineDynamics], MachineDynamics] | None = None,
) -> Case:
    """Record, profile and check one emulated machine with the loads stated as given.

    `changed` makes the true machine another than the one that was surveyed.
    """
    scenes = [scene_of(name, load, sensors) for load in true_kg]
    survey = survey_toml(scenes[0], np.random.default_rng([seed, 1]))
    if changed is not None:
        scenes = [replace(scene, machine=changed(scene.machine)) for scene in scenes]
    runs: list[SimulatedRun] = []
    for number, scene in enumerate(scenes):
        run = simulate(scene, seed=1000 * seed + number)
        runs.append(same_cell(run, runs[0]) if runs else run)
    paths = []
    for number, (run, stated) in enumerate(zip(runs, stated_kg, strict=True)):
        write_logger_files(run, folder)
        path = folder / f"{number}.mcap"
        # A weighed load, stated as such.
        told = stated * run.stated["load_kg"][0] / run.load_kg
        import_csv(
            folder / "force.csv",
            folder / "imu.csv",
            path,
            load_kg=told,
            load_u_kg=stated * run.scenario.u_load_share,
            machine_toml=survey,
            overwrite=True,
        )
        paths.append(path)
    measurement = measure(paths)
    check = check_measured(measurement.estimate, measurement.provenance, measurement.machine)
    return Case(
        tuple(true_kg),
        tuple(stated_kg),
        measurement,
        check,
        _beyond(measurement.machine, check, true_kg, stated_kg),
    )


def _beyond(
    machine: Machine, check: MachineCheck, true_kg: Sequence[float], stated_kg: Sequence[float]
) -> float:
    agreement = check.agreement
    q = np.unique(agreement.angle_rad) - check.estimate.start_angle_rad
    wrong = [
        machine.midway_force_n(q, true_kg[k]) - machine.midway_force_n(q, stated_kg[k])
        for k in np.argsort(stated_kg)
    ]
    band = NORMAL_COVERAGE_95 * np.hypot(agreement.measured_u_n, agreement.model_u_n)
    return float(np.max(np.abs(np.concatenate(wrong)) / band))
