"""Invented machines whose handles move in different ways, and where those handles truly are.

Each is a machine of the emulated rig with a machine file written from the same lengths, and the place of the handle
computed by complex numbers, which shares nothing with the model of the machine file.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cache, cached_property
from pathlib import Path

import numpy as np
from numpy.polynomial import Chebyshev

from built_estimate import built_estimate
from feltload.app.files.provenance import Provenance
from feltload.app.pages.result_folder import write_result
from feltload.calibration import parse_machine, reference_of
from feltload.coaching import CapacityCurve, CapacitySource, capacity_to_json
from feltload.core import Floats
from feltload.emulator import Friction, Lever, LeverMass, Person, Scenario, sensor_set, simulate
from feltload.emulator.machines.linked import FourBarLever
from feltload.signal import BudgetItem, BudgetSource, ProfileEstimate, Repetition, with_positions
from feltload.signal.pipeline import estimate
from profiled_rigs import session_of

LOADS_KG = (20.0, 40.0)


@dataclass(frozen=True)
class Hoist:
    """Plates on a rope that a drum or wheel takes up unevenly, and a handle at another rope or on a carriage."""

    lift_m: Callable[[Floats], Floats]
    lift_slope_m: Callable[[Floats], Floats]
    handle_m: float
    own_kg: float
    travel_rad: float
    start_angle_rad: float = 0.0
    hinge_inclination_rad: float = 0.0
    friction: Friction = field(default_factory=lambda: Friction(6.0, 0.1, viscous_n_per_rad_s=0.2))

    def potential_slope_n_m(self, q_rad: Floats, load_kg: float, g_m_s2: float) -> Floats:
        return (self.own_kg + load_kg) * g_m_s2 * self.lift_m(q_rad)

    def inertia_kg_m2(self, q_rad: Floats, load_kg: float) -> Floats:
        return (self.own_kg + load_kg) * self.lift_m(q_rad) ** 2 + 0.02 * self.handle_m**2

    def inertia_slope_kg_m2(self, q_rad: Floats, load_kg: float) -> Floats:
        return 2.0 * (self.own_kg + load_kg) * self.lift_m(q_rad) * self.lift_slope_m(q_rad)

    def handle_travel_m(self, q_rad: Floats) -> Floats:
        return np.full_like(np.asarray(q_rad, dtype=float), self.handle_m)


@dataclass(frozen=True)
class CouplerHandle(FourBarLever):
    """The linkage with its handle on the coupler, `handle_radius_m` from the pin, `handle_turn_rad` off its line."""

    handle_turn_rad: float = 0.0

    def places(self, q_rad: Floats) -> tuple[Floats, Floats]:
        """Handle as complex numbers, and the elevation of its line on the coupler."""
        pin = self.crank_m * np.exp(1j * (self.crank_elevation_rad + q_rad))
        joint = complex(*self.rocker_pivot_m) + self.rocker_m * np.exp(1j * self._rocker_elevation(q_rad))
        line = np.unwrap(np.angle(joint - pin)) + self.handle_turn_rad
        return pin + self.handle_radius_m * np.exp(1j * line), line

    def handle_travel_m(self, q_rad: Floats) -> Floats:
        domain = [-0.1, self.travel_rad + 0.1]
        nodes = 0.5 * (domain[0] + domain[1]) + 0.5 * (domain[1] - domain[0]) * np.cos(
            np.pi * np.arange(60) / 59
        )
        place, _ = self.places(np.sort(nodes))
        rates = [
            Chebyshev.fit(np.sort(nodes), part, 40, domain=domain).deriv()(np.asarray(q_rad, dtype=float))
            for part in (place.real, place.imag)
        ]
        return np.hypot(*rates)


@dataclass(frozen=True)
class HandleRig:
    """An emulated machine, its file, and where its handle truly is.

    Attributes
    ----------
    name, text : str
    scenario : Scenario
    way_m : callable
        Way of the handle from the start stop at rotations.
    angle : callable or None
        Angle that a person may be told there, rad; None where the handle has none.
    """

    name: str
    text: str
    scenario: Scenario
    way_m: Callable[[Floats], Floats]
    angle: Callable[[Floats], Floats] | None

    def measured(self) -> ProfileEstimate:
        """Profiled from sessions of the emulated rig; takes a few seconds."""
        reference = reference_of(parse_machine(self.text))
        runs = [simulate(replace(self.scenario, load_kg=load), seed=3) for load in LOADS_KG]
        sessions = [session_of(run, f"{load:g}kg") for run, load in zip(runs, LOADS_KG, strict=True)]
        return estimate(sessions, reference=reference)

    @cached_property
    def profile(self) -> ProfileEstimate:
        """What a measurement without errors would give: the emulated machine's own forces, positions by its file."""
        machine, reference = self.scenario.machine, reference_of(parse_machine(self.text))
        q = np.linspace(0.02, 0.97, 121) * machine.travel_rad
        static = np.array([self.scenario.static_force_n(q, load) for load in LOADS_KG])
        repetitions = tuple(
            Repetition(
                session=f"{load:g}kg", side=None, load_kg=load, index=index, start_s=5.0 * index,
                turn_s=5.0 * index + 2.0, end_s=5.0 * index + 4.5, low_rad=0.0,
                high_rad=float(machine.travel_rad), range_lost=0.0, concentric_s=2.0, eccentric_s=2.5, hold_s=0.0,
                mean_rate_rad_s=0.5, peak_rate_rad_s=1.0, mean_n=float(row.mean()), peak_n=float(row.max()),
                work_j_per_m=100.0, work_j=100.0, peak_power_w=100.0, impulse_n_s=100.0, under_tension_s=4.5,
                complete=True,
            )
            for load, row in zip(LOADS_KG, static, strict=True)
            for index in range(3)
        )  # fmt: skip
        made = built_estimate(
            reference.start_angle_rad + q,
            static,
            LOADS_KG,
            machine_name=reference.machine_name,
            start_angle_rad=reference.start_angle_rad,
            friction_n=np.array([self.scenario.friction_n(q, load) for load in LOADS_KG]),
            repetitions=repetitions,
            budget=(BudgetItem(BudgetSource.START_ANGLE, np.gradient(static, q, axis=1) * 0.005),),
        )
        return with_positions(made, reference)

    def write(self, folder: Path) -> Path:
        """Its result as `feltload profile` writes it."""
        folder.mkdir(parents=True, exist_ok=True)
        write_result(
            folder,
            self.profile,
            Provenance(feltload="test", recordings=(), machine_toml=self.text, invented=True),
        )
        return folder

    def write_capacity(self, path: Path) -> Path:
        """A client who is weakest at the end: capacity 900 N at the start and 500 N at the end, even along the way."""
        made = self.profile
        share = made.travel.shares(made.angle_rad)
        force = 900.0 - 400.0 * share
        curve = CapacityCurve(
            made.angle_rad,
            force,
            np.diag((0.02 * force) ** 2),
            CapacitySource.HOLDS,
            angle=made.scale.angle,
            path_m=made.handle_path_m,
        )
        path.write_text(capacity_to_json(curve, machine=made.machine_name), encoding="utf-8")
        return path


def _scene(name: str, machine: object) -> Scenario:
    return Scenario(name, machine, Person(), sensor_set("ordinary"), 40.0)  # type: ignore[arg-type]


def _lever() -> HandleRig:
    start = np.radians(-30.0)
    machine = Lever(
        masses=(
            LeverMass("arm", 8.0, 0.35, np.radians(-26.0), 0.3),
            LeverMass("plates", None, 0.30, np.radians(-14.0), 0.012),
        ),
        handle_radius_m=0.64,
        start_angle_rad=start,
        travel_rad=np.radians(66.0),
        friction=Friction(5.0, 0.14),
    )
    text = """
name = "lever (invented)"
mechanism = "lever"
start_angle = "-30(0.3) deg"
[lever]
handle_radius = "640(2) mm"
[[lever.mass]]
name = "arm"
mass = "8.00(0.05) kg"
radius = "350(2) mm"
angle = "-26(0.5) deg"
[[lever.mass]]
name = "plates"
mass = "load"
radius = "300(2) mm"
angle = "-14(0.5) deg"
"""
    return HandleRig("lever", text, _scene("lever", machine), lambda q: 0.64 * q, lambda q: start + q)


def _coupler() -> HandleRig:
    machine = CouplerHandle(
        crank_m=0.24, coupler_m=0.52, rocker_m=0.36, rocker_pivot_m=(0.55, 0.10),
        crank_elevation_rad=np.radians(62.0), above=True, handle_radius_m=0.75, start_angle_rad=0.0,
        travel_rad=np.radians(55.0), arm_kg_m=0.0, arm_elevation_rad=0.0, arm_inertia_kg_m2=0.4, rocker_kg_m=0.0,
        rocker_inertia_kg_m2=0.3, peg_radius_m=0.44, peg_lead_rad=np.radians(-105.0), friction=Friction(7.0, 0.16),
        handle_turn_rad=np.radians(10.0),
    )  # fmt: skip
    _, line = machine.places(np.zeros(1))
    machine = CouplerHandle(**{**vars(machine), "start_angle_rad": float(line[0])})
    rocker_deg = float(np.degrees(machine._rocker_elevation(np.zeros(1))[0]))
    text = f"""
name = "linkage (invented)"
mechanism = "four-bar"
start_angle = "{np.degrees(line[0]):.4f}(0.3) deg"
[four-bar]
ground_length = "{1e3 * np.hypot(0.55, 0.10):.3f}(1) mm"
ground_angle = "{np.degrees(np.arctan2(0.10, 0.55)):.4f}(0.3) deg"
input_length = "240(1) mm"
input_angle = "62(0.3) deg"
coupler_length = "520(1) mm"
rocker_length = "360(1) mm"
handle_radius = "750(2) mm"
handle_on = "coupler"
[[four-bar.mass]]
name = "plates"
mass = "load"
radius = "440(2) mm"
angle = "{rocker_deg - 105.0:.4f}(0.5) deg"
"""
    fine = np.linspace(-0.2, 1.2, 7001)
    place, _ = machine.places(fine)
    chords = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(place)))])
    way = chords - np.interp(0.0, fine, chords)
    return HandleRig(
        "coupler",
        text,
        _scene("coupler", machine),
        lambda q: np.interp(q, fine, way),
        lambda q: np.interp(q, fine, machine.places(fine)[1]),
    )


def _cable() -> HandleRig:
    start, swing, cycles = np.radians(-50.0), 0.015, 0.29
    machine = Hoist(
        lift_m=lambda q: 0.055 + swing * np.sin(cycles * np.asarray(q, float)),
        lift_slope_m=lambda q: swing * cycles * np.cos(cycles * np.asarray(q, float)),
        handle_m=0.061,
        own_kg=4.0,
        travel_rad=np.radians(620.0),
        start_angle_rad=start,
    )
    rows = ", ".join(
        f'["{deg} deg", "{1e3 * (0.055 + swing * np.sin(cycles * np.radians(deg))):.4f}(0.3) mm"]'
        for deg in range(-40, 681, 20)
    )
    text = f"""
name = "cable (invented)"
mechanism = "cable"
start_angle = "-50(0.5) deg"
[cable]
cam = [{rows}]
handle_radius = "61.0(0.3) mm"
[[cable.mass]]
name = "carriage"
mass = "4.00(0.05) kg"
[[cable.mass]]
name = "plates"
mass = "load"
"""
    return HandleRig("cable", text, _scene("cable", machine), lambda q: 0.061 * q, None)


def _sled() -> HandleRig:
    incline = np.radians(40.0)
    lift = 0.05 * np.sin(incline)
    machine = Hoist(
        lift_m=lambda q: np.full_like(np.asarray(q, float), lift),
        lift_slope_m=lambda q: np.zeros_like(np.asarray(q, float)),
        handle_m=0.05,
        own_kg=30.0,
        travel_rad=np.radians(700.0),
    )
    text = """
name = "sled (invented)"
mechanism = "sled"
start_angle = "0 deg"
[sled]
incline = "40(0.3) deg"
wheel_radius = "50(0.3) mm"
[[sled.mass]]
name = "sled"
mass = "30.0(0.2) kg"
[[sled.mass]]
name = "plates"
mass = "load"
"""
    return HandleRig("sled", text, _scene("sled", machine), lambda q: 0.05 * q, None)


@cache
def handle_rig(name: str) -> HandleRig:
    """One of `RIGS`."""
    return {"lever": _lever, "coupler": _coupler, "cable": _cable, "sled": _sled}[name]()


RIGS = ("lever", "coupler", "cable", "sled")
