"""Sensor calibration, the geometric model of a machine, and agreement of profile and model."""

from __future__ import annotations

__all__: list[str] = []
