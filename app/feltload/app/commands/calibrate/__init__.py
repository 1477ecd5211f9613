"""``feltload calibrate ...``: certificates of load cells and inertial sensors, and keys to sign them with.

In: What a person typed.
Out: An exit code; certificates, keys.
"""

from __future__ import annotations

from cyclopts import App

app = App(name="calibrate", help="Make a calibration certificate of a sensor.")

_HERE = "feltload.app.commands.calibrate"
for _name, _target in {
    "force": "readings:force",
    "inertial": "readings:inertial",
    "keys": "keys:keys",
}.items():
    app.command(f"{_HERE}.{_target}", name=_name)
