"""Emulated rig: invented machines, people and sensors with their errors, for tests and demonstrations."""

from __future__ import annotations

from feltload.emulator.logger_files import write_logger_files
from feltload.emulator.machines.dynamics import Lever, LeverMass, MachineDynamics
from feltload.emulator.machines.friction import Friction
from feltload.emulator.people.person import Person
from feltload.emulator.scenario import Capacity, Partner, Scenario, scenario, scenario_names
from feltload.emulator.sensors.sensor_class import SensorSet, sensor_set
from feltload.emulator.simulate import SimulatedRun, simulate
from feltload.emulator.survey import machine_toml, peg_moved

__all__ = [
    "Capacity",
    "Friction",
    "Lever",
    "LeverMass",
    "MachineDynamics",
    "Partner",
    "Person",
    "Scenario",
    "SensorSet",
    "SimulatedRun",
    "machine_toml",
    "peg_moved",
    "scenario",
    "scenario_names",
    "sensor_set",
    "simulate",
    "write_logger_files",
]
