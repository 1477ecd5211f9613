"""What every mass and add-on of a machine file has: a name, a link it rides on, and a point of that link."""

from __future__ import annotations

from collections.abc import Sequence

from feltload.calibration.machine.mechanism import Values
from feltload.calibration.machine.parameters import Parameter, ParameterKey, Section, parameters_of


class Part(Section):
    """A named row of a machine file that rides on a link of the mechanism."""

    name: str
    on: str | None = None

    def key(self, dimension: str) -> ParameterKey:
        """Key of one of its dimensions."""
        return ParameterKey(dimension, self.name)

    def parameters(self) -> Sequence[Parameter]:
        """Its surveyed dimensions."""
        return tuple(parameters_of(self, self.name))

    def anchor(self, values: Values) -> tuple[float, float]:
        """Radius (m) and elevation on the start stop (rad) of the point where it holds the link."""
        return values.get(self.key("radius"), 0.0), values.get(self.key("angle"), 0.0)
