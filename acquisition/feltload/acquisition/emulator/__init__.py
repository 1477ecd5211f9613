"""Emulated rig: invented machines, people and sensors with their errors, for tests and demonstrations."""

from __future__ import annotations

from feltload.acquisition.emulator.friction import Friction
from feltload.acquisition.emulator.logger_files import write_logger_files
from feltload.acquisition.emulator.machine_dynamics import Lever, LeverMass, MachineDynamics
from feltload.acquisition.emulator.person import Person
from feltload.acquisition.emulator.scenario import Capacity, Partner, Scenario, scenario, scenario_names
from feltload.acquisition.emulator.sensor_class import SensorSet, sensor_set
from feltload.acquisition.emulator.simulate import SimulatedRun, simulate
from feltload.acquisition.emulator.survey import machine_toml, peg_moved

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
