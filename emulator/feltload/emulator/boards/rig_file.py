"""Rig file (stream descriptions with ports) of an emulated rig."""

from __future__ import annotations

from feltload.emulator.boards.protocols import Protocol
from feltload.emulator.scenarios import Scenario


def rig_toml(
    scenario: Scenario, protocol: Protocol, force_port: str, inertial_port: str, *, serial: str | None = None
) -> str:
    """Text of the rig file for a protocol on these two ports; of a cell with a serial number the counts are kept."""
    force, inertial = scenario.sensors.force, scenario.sensors.inertial
    unit = 'unit = "N"' if protocol.scaled else f'unit = "N", scale = {force.count_n}'
    if serial is not None:
        unit = 'unit = "counts"'
    known = "" if serial is None else f'serial = "{serial}"\n'
    return f"""# Emulated rig (invented): ports of this run only.
name = "{scenario.name}, emulated (invented)"
invented = true

[[streams]]
name = "force"
kind = "force"
{known}{protocol.keys}
rate_hz = {force.rate_hz}
rated_capacity_n = {force.capacity_n}
link = {{ type = "serial", port = "{force_port}" }}
fields = [
{protocol.force_fields.replace("FORCE", unit)}
]

[[streams]]
name = "inertial"
kind = "inertial"
{protocol.keys}
rate_hz = {inertial.rate_hz}
link = {{ type = "serial", port = "{inertial_port}" }}
fields = [
{protocol.inertial_fields}
]
"""
