"""Emulated machines of every mechanism with a drawn survey in which one dimension is wrong, as the check sees them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np

from feltload.calibration import (
    Agreement,
    Machine,
    ParameterKey,
    check_agreement,
    parse_machine,
    reference_of,
)
from feltload.emulator import Scenario, machine_toml, scenario, simulate
from feltload.emulator.machines.dynamics import Lever, LeverMass
from feltload.emulator.machines.friction import Friction
from feltload.emulator.machines.linked import CamDrum, SprungLever
from feltload.signal import ProfileEstimate, Session, estimate
from rig_agreement import GRAVITY
from rig_session import same_cell, session_of
from rig_wrong_load import SurveyPen, scene_of, survey_toml

MACHINES = (
    "one-mass",
    "lever-row",
    "over-the-top",
    "inclined-lever",
    "fixed-pull",
    "four-bar",
    "cable-round",
    "cam-drum",
    "sled",
    "spring-arm",
    "band-arm",
)
LOADS_KG = {1: (40.0,), 2: (20.0, 40.0)}


@dataclass(frozen=True)
class Rig:
    """What was measured on one machine, and its survey.

    Attributes
    ----------
    name : str
    sessions : list of Session
    survey : Machine
        Drawn at its stated uncertainties, nothing else wrong.
    made : dict
        Profiles made already, by what a machine file tells the estimator.
    """

    name: str
    sessions: list[Session]
    survey: Machine
    made: dict[tuple[tuple[str, float], ...], ProfileEstimate] = field(default_factory=dict)

    def measured(self, machine: Machine) -> ProfileEstimate:
        """The profile as `feltload profile` makes it with a machine file; masses do not change it."""
        told = machine.values.keys() - {key for key in machine.values if key.part and key.part != "cam"}
        given = tuple(sorted((key.dotted, machine.values[key]) for key in told))
        if given not in self.made:
            self.made[given] = estimate(self.sessions, reference=reference_of(machine))
        return self.made[given]

    def checked(self, machine: Machine) -> Agreement:
        """What `feltload check` says of a machine file."""
        return check_agreement(self.measured(machine), machine, gravity=GRAVITY, trials=100)


def rig(name: str, seed: int, loads: int = 2, sensors: str = "ordinary") -> Rig:
    """One machine recorded with one load or two, everything about sensors, person and survey drawn."""
    scenes = [culprit_scene(name, load, sensors) for load in LOADS_KG[loads]]
    survey = parse_machine(culprit_toml(scenes[0], np.random.default_rng([seed, 1])))
    runs = [simulate(scene, seed=1000 * seed + k) for k, scene in enumerate(scenes)]
    runs = [same_cell(run, runs[0]) for run in runs]
    sessions = [session_of(run, f"{run.load_kg:g} kg") for run in runs]
    return Rig(name, sessions, survey)


def culprit_scene(name: str, load_kg: float, sensors: str) -> Scenario:
    """An emulated session on one of the study's machines."""
    base = scenario("lever-row", load_kg=load_kg, sensors=sensors, systematic=True)
    friction = Friction(5.0, 0.12)
    if name == "one-mass":
        lever = Lever(
            (LeverMass("plates", None, 0.42, np.radians(-20.0), 0.012),),
            0.80,
            np.radians(-35.0),
            np.radians(70.0),
            friction=friction,
        )
        return replace(base, name=name, machine=lever)
    if name == "cable-round":
        drum = CamDrum(
            0.11, 0.0, 1.0, 0.0, 4.0, 1.0, 1.1, np.radians(-60.0), 0.6, 0.34, np.radians(-60.0),
            np.radians(110.0), friction=friction,
        )  # fmt: skip
        return replace(base, name=name, machine=drum)
    if name == "spring-arm":
        lever = Lever(
            (
                LeverMass("arm", 7.0, 0.40, np.radians(-40.0), 0.35),
                LeverMass("plates", None, 0.30, np.radians(-35.0), 0.012),
            ),
            0.75,
            np.radians(-40.0),
            np.radians(65.0),
            friction=friction,
        )
        sprung = SprungLever(lever, (-0.05, -0.55), 0.25, np.radians(-40.0), 0.30, 700.0)
        return replace(base, name=name, machine=sprung)
    return scene_of(name, load_kg, sensors)


def culprit_toml(scene: Scenario, rng: np.random.Generator) -> str:
    """Machine file of such a session, every value drawn at its stated uncertainty."""
    machine = scene.machine
    if isinstance(machine, SprungLever):
        lever = machine_toml(replace(scene, machine=machine.lever), rng=rng)
        return "\n".join([lever, *_tether(machine, SurveyPen(rng))])
    if scene.name == "cable-round":
        return _round_toml(scene, SurveyPen(rng))
    return survey_toml(scene, rng)


def _tether(machine: SprungLever, pen: SurveyPen) -> list[str]:
    ends = [
        f"radius = {pen.length(machine.hook_radius_m)}",
        f"angle = {pen.angle(machine.hook_elevation_rad)}",
        f"anchor_x = {pen.length(machine.anchor_m[0])}",
        f"anchor_y = {pen.length(machine.anchor_m[1])}",
    ]
    if not machine.hardening_n_m3:
        stiffness = pen.drawn(machine.stiffness_n_m, 0.02 * machine.stiffness_n_m)
        return [
            "[[spring]]",
            'name = "spring"',
            f'stiffness = "{stiffness:.1f} +/- {0.02 * machine.stiffness_n_m:.1f} N/m"',
            f"free_length = {pen.length(machine.free_length_m)}",
            *ends,
        ]
    stretch = np.linspace(0.0, 0.5, 26)
    force = machine.stiffness_n_m * stretch + machine.hardening_n_m3 * stretch**3
    scale = pen.drawn(1.0, 0.02)
    rows = ", ".join(
        f'["{1e3 * (machine.free_length_m + s):.1f} mm", "{scale * f:.3f} +/- {0.02 * f:.3f} N"]'
        for s, f in zip(stretch, force, strict=True)
    )
    return ["[[band]]", 'name = "band"', f"table = [{rows}]", *ends]


def _round_toml(scene: Scenario, pen: SurveyPen) -> str:
    drum = scene.machine
    assert isinstance(drum, CamDrum)
    arm_m = 0.3
    lines = [
        f'name = "{scene.name}, emulated (invented)"',
        'mechanism = "cable"',
        f"start_angle = {pen.angle(drum.start_angle_rad)}",
        "[cable]",
        f"drum_radius = {pen.length(drum.mean_radius_m, 0.001)}",
        f"handle_radius = {pen.length(drum.handle_radius_m)}",
        "[[cable.mass]]",
        'name = "carriage"',
        f"mass = {pen.mass(drum.carriage_kg)}",
        "[[cable.mass]]",
        'name = "plates"',
        'mass = "load"',
        "[[cable.mass]]",
        'name = "arm"',
        f"mass = {pen.mass(drum.arm_kg_m / arm_m)}",
        f"radius = {pen.length(arm_m)}",
        f"angle = {pen.angle(drum.arm_elevation_rad)}",
        'on = "drum"',
    ]
    return "\n".join(lines)


@dataclass(frozen=True)
class Telling:
    """How well survey and data together know one dimension.

    Attributes
    ----------
    key : ParameterKey
    sd : float
        Standard deviation of what the data say against what the survey says, SI; infinite where they say nothing.
    """

    key: ParameterKey
    sd: float


def tellings(right: Agreement) -> Iterator[Telling]:
    """Of every uncertain dimension, from the check of the right file: its fitted uncertainty without the survey's."""
    for dimension in right.fitted:
        u, fitted = dimension.surveyed.u, dimension.u
        data = 1.0 / fitted**2 - 1.0 / u**2
        yield Telling(dimension.key, float(np.sqrt(u**2 + 1.0 / data)) if data > 1e-6 / u**2 else np.inf)
