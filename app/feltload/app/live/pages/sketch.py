"""The drawing of a machine that is being described."""

from __future__ import annotations

from typing import Any

from nicegui import ui

from feltload.app.live.pages.geometry import machine_geometry
from feltload.calibration import Machine


class Sketch(ui.element, component="static/sketch.js"):
    """Side view of a machine on its start stop and through its travel.

    Parameters
    ----------
    label : str
        What it shows, for those who cannot see it.
    classes : str
    """

    def __init__(self, label: str, classes: str = "") -> None:
        super().__init__()
        self._props["label"] = label
        self.classes(classes)

    def draw(self, machine: Machine) -> None:
        """Show a machine."""
        geometry: dict[str, Any] | None = machine_geometry(machine)
        if geometry is not None and geometry != self._props.get("geometry"):
            self._props["geometry"] = geometry
            self.update()
