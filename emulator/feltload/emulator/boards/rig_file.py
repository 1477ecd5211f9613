"""Rig file (stream descriptions with ports) of an emulated rig."""

from __future__ import annotations

from feltload.emulator.scenarios import Scenario


def rig_toml(scenario: Scenario, force_port: str, inertial_port: str) -> str:
    """Text of the rig file for the reference firmware on these two ports."""
    force, inertial = scenario.sensors.force, scenario.sensors.inertial
    return f"""# Emulated rig (invented): ports of this run only.
name = "{scenario.name}, emulated (invented)"
invented = true

[[streams]]
description = "reference-force"
rate_hz = {force.rate_hz}
rated_capacity_n = {force.capacity_n}
link = {{ type = "serial", port = "{force_port}" }}
set = {{ force = {{ unit = "N", scale = {force.count_n} }} }}

[[streams]]
description = "reference-inertial"
rate_hz = {inertial.rate_hz}
link = {{ type = "serial", port = "{inertial_port}" }}
"""
