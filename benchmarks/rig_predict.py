"""Machines whose dimensions are drawn: the file that a prediction is made from, and the emulated machine that is true.

The emulated machines share no code with the product; each world says both the file and the machine from the same
dimensions. Values are in the units of the file.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from feltload.core import Floats
from feltload.emulator import Friction, Lever, LeverMass
from feltload.emulator.machines.dynamics import MachineDynamics
from feltload.emulator.machines.linked import CamDrum, FourBarLever, SprungLever
from feltload.emulator.machines.straight import fixed_pulley, sled, travelling_pulley

Values = Mapping[str, float]
NOTHING = Friction(0.0, 0.0, viscous_n_per_rad_s=0.0)


@dataclass(frozen=True)
class World:
    """A kind of machine with its dimensions.

    Attributes
    ----------
    name : str
    dimensions : dict
        Name -> value, standard uncertainty, unit.
    file : str
        Text of the machine file, with ``{name}`` for each dimension.
    build : callable
        The emulated machine of some values.
    travel_rad, load_kg : float
    friction_n : callable, optional
        Friction of some values with a load and gravity, by hand, where the file states losses.
    """

    name: str
    dimensions: dict[str, tuple[float, float, str]]
    file: str
    build: Callable[[Values], MachineDynamics]
    travel_rad: float
    load_kg: float = 40.0
    friction_n: Callable[[Values, float, float], float] | None = None
    beside_n: Callable[[Values, float, float], float] = field(default=lambda _values, _load, _g: 0.0)
    """What losses add to the force midway between raising and lowering, by hand."""

    @property
    def values(self) -> dict[str, float]:
        """As the file has them."""
        return {name: value for name, (value, _, _) in self.dimensions.items()}

    def drawn(self, rng: np.random.Generator) -> dict[str, float]:
        """One machine as uncertain as the file says."""
        return {name: value + u * rng.standard_normal() for name, (value, u, _) in self.dimensions.items()}

    def text(self, values: Values) -> str:
        """The machine file of some values, with the stated uncertainties."""
        written = {
            name: f'"{values[name]!r}{f" +/- {u!r}" if u else "(0)"} {unit}"'
            for name, (_, u, unit) in self.dimensions.items()
        }
        return self.file.format(**written, **{f"{name}_u": u for name, (_, u, _) in self.dimensions.items()})

    def static_n(self, values: Values, q_rad: Floats, g_m_s2: float) -> Floats:
        """Force midway between slow raising and lowering of the true machine."""
        machine = self.build(values)
        slope = machine.potential_slope_n_m(q_rad, self.load_kg, g_m_s2)
        return np.asarray(slope / machine.handle_travel_m(q_rad)) + self.beside_n(
            values, self.load_kg, g_m_s2
        )

    def looser(self, factor: float, name: str) -> World:
        """The same with every uncertainty that a file can state larger by a factor."""
        wider = {
            key: (value, u if key == "mounting" else factor * u, unit)
            for key, (value, u, unit) in self.dimensions.items()
        }
        return replace(self, name=name, dimensions=wider)


def rad(degrees: float) -> float:
    return float(np.radians(degrees))


def _mass_text(name: str, mass: str) -> str:
    return f'[[lever.mass]]\nname = "{name}"\nmass = {mass}\nradius = {{{name}_radius}}\nangle = {{{name}_angle}}\n'


_LEVER = (
    'name = "drawn lever"\nmechanism = "lever"\nstart_angle = {start}\n[lever]\nhandle_radius = {handle}\n'
    "hinge_inclination = {tilt}\n"
)


def _lever_masses(values: Values, names: tuple[str, ...]) -> tuple[LeverMass, ...]:
    return tuple(
        LeverMass(
            name,
            None if name == "plates" else values[f"{name}_mass"],
            1e-3 * values[f"{name}_radius"],
            rad(values[f"{name}_angle"]),
        )
        for name in names
    )


def lever(
    name: str,
    masses: dict[str, tuple[float | None, float, float]],
    *,
    start: float = -25.0,
    pull: float | None = None,
    travel: float = 80.0,
) -> World:
    """A lever with masses (kg, mm, degrees); plates without a mass of their own."""
    dimensions: dict[str, tuple[float, float, str]] = {
        "start": (start, 0.3, "deg"),
        "handle": (655.0, 2.0, "mm"),
        "tilt": (0.0, 0.5, "deg"),
    }
    file = _LEVER
    if pull is not None:
        dimensions["pull"] = (pull, 0.5, "deg")
        file += "pull_direction = {pull}\n"
    for part, (mass, radius, angle) in masses.items():
        file += _mass_text(part, '"load"' if mass is None else f"{{{part}_mass}}")
        if mass is not None:
            dimensions[f"{part}_mass"] = (mass, 0.01 * mass, "kg")
        dimensions[f"{part}_radius"] = (radius, 3.0, "mm")
        dimensions[f"{part}_angle"] = (angle, 0.8, "deg")

    def build(values: Values) -> Lever:
        return Lever(
            masses=_lever_masses(values, tuple(masses)),
            handle_radius_m=1e-3 * values["handle"],
            start_angle_rad=rad(values["start"]),
            travel_rad=rad(travel),
            hinge_inclination_rad=rad(values["tilt"]),
            pull_direction_rad=None if pull is None else rad(values["pull"]),
            friction=NOTHING,
        )

    return World(name, dimensions, file, build, rad(travel))


def four_bar(name: str, *, coupler: float = 520.0, travel: float = 55.0) -> World:
    """A handle lever that lifts plates on a rocker through a coupler."""
    dimensions = {
        "start": (20.0, 0.3, "deg"), "ground": (600.0, 2.0, "mm"), "ground_angle": (-10.0, 0.5, "deg"),
        "crank": (250.0, 2.0, "mm"), "crank_angle": (70.0, 0.5, "deg"), "coupler": (coupler, 2.0, "mm"),
        "rocker": (400.0, 2.0, "mm"), "handle": (700.0, 3.0, "mm"), "peg": (500.0, 3.0, "mm"),
        "peg_angle": (40.0, 0.8, "deg"), "bar_mass": (2.0, 0.1, "kg"), "bar_radius": (350.0, 5.0, "mm"),
        "bar_angle": (20.0, 1.0, "deg"),
    }  # fmt: skip
    file = (
        'name = "drawn linkage"\nmechanism = "four-bar"\nstart_angle = {start}\n[four-bar]\n'
        "ground_length = {ground}\nground_angle = {ground_angle}\ninput_length = {crank}\n"
        "input_angle = {crank_angle}\ncoupler_length = {coupler}\nrocker_length = {rocker}\n"
        "handle_radius = {handle}\n"
        '[[four-bar.mass]]\nname = "plates"\nmass = "load"\nradius = {peg}\nangle = {peg_angle}\n'
        '[[four-bar.mass]]\nname = "bar"\nmass = {bar_mass}\nradius = {bar_radius}\nangle = {bar_angle}\n'
        'on = "input"\n'
    )

    def build(values: Values) -> FourBarLever:
        pivot = 1e-3 * values["ground"] * np.exp(1j * rad(values["ground_angle"]))
        made = FourBarLever(
            crank_m=1e-3 * values["crank"],
            coupler_m=1e-3 * values["coupler"],
            rocker_m=1e-3 * values["rocker"],
            rocker_pivot_m=(float(pivot.real), float(pivot.imag)),
            crank_elevation_rad=rad(values["crank_angle"]),
            above=True,
            handle_radius_m=1e-3 * values["handle"],
            start_angle_rad=rad(values["start"]),
            travel_rad=rad(travel),
            arm_kg_m=1e-3 * values["bar_mass"] * values["bar_radius"],
            arm_elevation_rad=rad(values["bar_angle"]),
            arm_inertia_kg_m2=0.3,
            rocker_kg_m=0.0,
            rocker_inertia_kg_m2=0.0,
            peg_radius_m=1e-3 * values["peg"],
            peg_lead_rad=0.0,
            friction=NOTHING,
        )
        # The file gives the peg's elevation on the start stop, the emulated rocker its lead on the rocker's line.
        rocker = float(made._rocker_elevation(np.zeros(1))[0])
        return replace(made, peg_lead_rad=rad(values["peg_angle"]) - rocker)

    return World(name, dimensions, file, build, rad(travel))


def cam(name: str) -> World:
    """Plates on a cable over a cam, its arms read every 10 degrees, all off by the same and turned by a little."""
    turns = np.arange(-5.0, 106.0, 10.0)
    nominal = CamDrum(
        0.13, 0.045, 1.9, -0.1, 0.0, 1.0, 0.8, rad(-75.0), 0.4, 0.3, rad(-80.0), rad(95.0), friction=NOTHING
    )
    arms_mm = 1e3 * nominal._lift_m(np.radians(turns))
    rows = ", ".join(
        f'["{turn!r} deg", "{arm:.2f} +/- {{offset_u}} mm"]'
        for turn, arm in zip(turns.tolist(), arms_mm, strict=True)
    )
    dimensions = {
        "start": (-80.0, 0.3, "deg"), "handle": (300.0, 2.0, "mm"), "ratio": (1.0, 0.0, ""),
        "arm_mass": (4.0, 0.1, "kg"), "arm_radius": (200.0, 3.0, "mm"), "arm_angle": (-75.0, 1.0, "deg"),
        "offset": (0.0, 1.0, "mm"), "mounting": (0.0, 0.5, "deg"),
    }  # fmt: skip
    file = (
        'name = "drawn cam"\nmechanism = "cable"\nstart_angle = {start}\n[cable]\ncam = ['
        + rows
        + "]\nhandle_radius = {handle}\n"
        '[[cable.mass]]\nname = "stack"\nmass = "load"\n'
        '[[cable.mass]]\nname = "arm"\nmass = {arm_mass}\nradius = {arm_radius}\nangle = {arm_angle}\n'
        'on = "drum"\n'
    )

    def build(values: Values) -> CamDrum:
        return replace(
            nominal,
            mean_radius_m=0.13 + 1e-3 * values["offset"],
            phase_rad=-0.1 + 1.9 * rad(values["mounting"]),
            arm_kg_m=1e-3 * values["arm_mass"] * values["arm_radius"],
            arm_elevation_rad=rad(values["arm_angle"]),
            handle_radius_m=1e-3 * values["handle"],
            start_angle_rad=rad(values["start"]),
        )

    return World(name, dimensions, file, build, rad(95.0))


def sprung(name: str) -> World:
    """The rowing lever against a spring."""
    plain = lever(name, {"arm": (8.0, 360.0, -26.0), "plates": (None, 280.0, -10.0)}, travel=60.0)
    dimensions = {
        **plain.dimensions,
        "hook": (450.0, 3.0, "mm"), "hook_angle": (-40.0, 0.8, "deg"), "across": (-100.0, 3.0, "mm"),
        "up": (-620.0, 3.0, "mm"), "stiffness": (850.0, 40.0, "N/m"), "free": (380.0, 4.0, "mm"),
    }  # fmt: skip
    file = plain.file + (
        '[[spring]]\nname = "spring"\nradius = {hook}\nangle = {hook_angle}\nanchor_x = {across}\n'
        "anchor_y = {up}\nstiffness = {stiffness}\nfree_length = {free}\n"
    )

    def build(values: Values) -> SprungLever:
        own = plain.build(values)
        assert isinstance(own, Lever)
        return SprungLever(
            own,
            (1e-3 * values["across"], 1e-3 * values["up"]),
            1e-3 * values["hook"],
            rad(values["hook_angle"]),
            1e-3 * values["free"],
            values["stiffness"],
        )

    return replace(plain, dimensions=dimensions, file=file, build=build)


def rails(name: str) -> World:
    """A sled on rails that rub: friction is its coefficient times the force on the rails."""
    dimensions = {
        "incline": (45.0, 0.5, "deg"), "wheel": (55.0, 0.5, "mm"), "rub": (0.03, 0.008, ""), "mass": (30.0, 0.5, "kg"),
    }  # fmt: skip
    file = (
        'name = "drawn sled"\nmechanism = "sled"\n[sled]\nincline = {incline}\nwheel_radius = {wheel}\n'
        'rail_friction = {rub}\n[[sled.mass]]\nname = "sled"\nmass = {mass}\n'
        '[[sled.mass]]\nname = "plates"\nmass = "load"\n'
    )
    return World(
        name,
        dimensions,
        file,
        lambda v: sled(1e-3 * v["wheel"], rad(v["incline"]), v["mass"], 0.42, NOTHING),
        0.42 / 0.055,
        friction_n=lambda v, load, g: v["rub"] * (v["mass"] + load) * g * float(np.cos(rad(v["incline"]))),
    )


def rope(name: str, *, travelling: bool) -> World:
    """A weight on a rope over a pulley that passes on less than it gets."""
    advantage = 2.0 if travelling else 1.0
    dimensions = {
        "pulley": (50.0, 0.5, "mm"), "passes": (0.96, 0.01, ""), "carriage": (2.0, 0.05, "kg"),
    }  # fmt: skip
    file = (
        'name = "drawn rope"\nmechanism = "straight-pull"\n[straight-pull]\npulley_radius = {pulley}\n'
        f'advantage = "{1 if not travelling else 2}:1"\npulleys = 1\npulley_efficiency = {{passes}}\n'
        '[[straight-pull.mass]]\nname = "stack"\nmass = "load"\n'
        '[[straight-pull.mass]]\nname = "carriage"\nmass = {carriage}\n'
    )

    def sides(v: Values, load: float, g: float) -> tuple[float, float]:
        # Strands one after the other: behind each pulley that it passes, a strand holds e times what it held before.
        e, weight = v["passes"], (v["carriage"] + load) * g
        if not travelling:
            return weight / e, weight * e
        return weight / (e * (1.0 + e)), weight * e**2 / (1.0 + e)

    def build(v: Values) -> MachineDynamics:
        make = travelling_pulley if travelling else fixed_pulley
        return make(1e-3 * v["pulley"], v["carriage"], 0.6, NOTHING)

    return World(
        name,
        dimensions,
        file,
        build,
        0.6 / (0.05 * advantage),
        friction_n=lambda v, load, g: 0.5 * (sides(v, load, g)[0] - sides(v, load, g)[1]),
        beside_n=lambda v, load, g: 0.5 * sum(sides(v, load, g)) - (v["carriage"] + load) * g / advantage,
    )


def worlds() -> list[World]:
    """Every kind, as surveyed with a tape and worse, near dead points, and with forces that change their sign."""
    row = lever(
        "lever, counterweight",
        {"arm": (9.5, 380.0, -21.0), "plates": (None, 270.0, 13.0), "weight": (4.0, 300.0, 160.0)},
    )
    heavy = {"arm": (40.0, 500.0, -21.0), "plates": (None, 150.0, 0.0), "weight": (38.0, 520.0, 158.0)}
    over = {"arm": (12.0, 460.0, 30.0), "plates": (None, 210.0, 55.0)}
    pulled = {"arm": (8.6, 360.0, -26.0), "plates": (None, 300.0, -14.0)}
    sign = lever("over the top: sign changes", over, start=0.0, travel=85.0)
    strap = lever("strap, up to 8° from the dead point", pulled, start=-30.0, pull=58.0, travel=80.0)
    linkage, drum, spring = four_bar("four-bar"), cam("cam"), sprung("lever with a spring")
    return [
        row,
        row.looser(5.0, "the same, uncertainties times 5"),
        lever("heavy arm nearly balanced", heavy),
        sign,
        sign.looser(4.0, "over the top, times 4"),
        lever("strap, pull far from the dead point", pulled, start=-30.0, pull=100.0, travel=60.0),
        strap,
        strap.looser(3.0, "the same, times 3"),
        linkage,
        linkage.looser(3.0, "four-bar, times 3"),
        four_bar("four-bar up to 14° from its toggle", coupler=420.0, travel=52.0),
        four_bar("four-bar up to 7° from its toggle", coupler=420.0, travel=59.0),
        drum,
        drum.looser(4.0, "cam, times 4"),
        spring,
        spring.looser(3.0, "lever with a spring, times 3"),
        rails("sled on rails that rub"),
        rope("rope over a pulley", travelling=False),
        rope("travelling pulley", travelling=True),
    ]
