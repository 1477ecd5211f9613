"""Side view of a machine through its travel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle

from feltload.calibration.machine.drawing_labels import Label, Way, place_labels
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.mechanisms.masses import RidingMass
from feltload.calibration.machine.parameters import ParameterKey
from feltload.core import Floats, replacing

_INK: Final = "#1f2a36"
_FAINT: Final = "#9fb0bf"
_SOFT: Final = "#5c6b78"
_LOAD: Final = "#b3541e"
_MASS: Final = "#3d6a8f"
_HAND: Final = "#2f7d4f"
MARK_COLOUR: Final = "#8a1f4b"
_POSITIONS: Final = 6
_LONG_ROW: Final = 34
_GRAVITY_BOX: Final = np.array([[0.9, 0.84], [1.0, 1.0]])
"""Where the arrow of gravity is, as parts of the axes."""


def draw_machine(machine: Machine, dimensions: Sequence[str], *, travel_rad: float, load_kg: float) -> Figure:
    """Draw the machine on its start stop (dark), through its travel (faint), with its dimensions.

    Parameters
    ----------
    machine : Machine
        The survey.
    dimensions : sequence of str
        Lines about its dimensions, written below.
    travel_rad : float
        Travel from the start stop to draw.
    load_kg : float
        Load, for the label of what is loaded.

    Returns
    -------
    Figure
        Metres to scale, x right, y up, concentric rotation counter-clockwise.
    """
    columns = 3 if max(map(len, dimensions)) < _LONG_ROW else 2
    depth = -(-len(dimensions) // columns)
    below = 0.2 * depth + 0.2
    figure = Figure(figsize=(7.0, 6.0 + below), layout="constrained")
    axes, table = figure.subplots(2, 1, height_ratios=[6.0, below])
    side_view(axes, machine, travel_rad=travel_rad, load_kg=load_kg)
    axes.set_title(
        f"{machine.name}: from the start stop through {np.degrees(travel_rad):.0f}°", loc="left", color=_INK
    )
    _dimensions(table, [dimensions[i : i + depth] for i in range(0, len(dimensions), depth)], columns)
    return figure


@dataclass(frozen=True)
class HandleMark:
    """Something to show on the handle's path: a place, or a stretch when `to_rad` is given (rotation from the stop)."""

    label: str
    from_rad: float
    to_rad: float | None = None
    colour: str = MARK_COLOUR


def side_view(
    axes: Axes,
    machine: Machine,
    *,
    travel_rad: float,
    load_kg: float,
    load_label: str = "",
    marks: Sequence[HandleMark] = (),
) -> None:
    """Draw the machine alone, without title and dimensions, into axes that are there already.

    `load_label` is the load as it is written, `marks` are shown on the handle's path, where the machine has one.
    """
    q = np.linspace(0.0, travel_rad, 61)
    frames = machine.mechanism.frames(q, machine.values)
    shown = np.linspace(0.0, travel_rad, _POSITIONS)
    for position in shown[::-1]:
        _outline(axes, machine, float(position), faint=position > 0.0)
    handle = machine.mechanism.handle(frames, q, machine.values).path
    labels = []
    if handle is not None:
        _track(axes, handle.position, _HAND)
        _dot(axes, handle.position[0], _HAND, 9)
        labels.append(Label(handle.position[0], "handle", _HAND))
        # Places first: their names belong right beside them.
        places = [mark.from_rad for mark in marks if mark.to_rad is None]
        for mark in sorted(marks, key=lambda mark: mark.to_rad is not None):
            labels.append(_mark(axes, q, handle.position, mark, places))
    for rider in machine.riders:
        frame = frames[rider.on or machine.mechanism.links[0]]
        path = frame.point(*rider.anchor(machine.values)).position
        load = isinstance(rider, RidingMass) and rider.is_load
        colour = _LOAD if load else _MASS
        _track(axes, path, colour)
        label = f"{rider.name} ({load_label or f'{load_kg:g} kg'})" if load else rider.name
        _dot(axes, path[0], colour, 12 if load else 8)
        labels.append(Label(path[0], label, colour))
        origin = frame.origin.position[0]
        if ParameterKey("radius", rider.name) in machine.values:
            axes.plot(*np.column_stack((origin, path[0])), color=colour, lw=1.0, ls=(0, (4, 3)), zorder=3)
        _tether(axes, machine, rider.name, path[0])
    for pivot in _pivots(machine):
        axes.plot(*pivot, marker="o", ms=9, mfc="white", mec=_INK, mew=1.8, zorder=7)
    _gravity(axes)
    axes.set_aspect("equal", adjustable="datalim")
    axes.margins(0.12)
    axes.set_xlabel("metres from the main pivot", color=_SOFT)
    axes.grid(True, color="#e6ebf0", lw=0.6)
    axes.set_axisbelow(True)
    for side in ("top", "right", "left", "bottom"):
        axes.spines[side].set_visible(False)
    axes.tick_params(length=0, colors=_SOFT, labelsize=8)
    ways = [
        Way(np.asarray(line.get_xydata(), dtype=float), line.get_linewidth()) for line in axes.get_lines()
    ]
    place_labels(axes, labels, ways, kept_free=[_GRAVITY_BOX])


def save_drawing(
    path: FilePath | str, machine: Machine, dimensions: Sequence[str], *, travel_rad: float, load_kg: float
) -> FilePath:
    """Draw into an SVG or PNG file; the ending chooses."""
    path = FilePath(path)
    figure = draw_machine(machine, dimensions, travel_rad=travel_rad, load_kg=load_kg)
    with replacing(path) as part:
        figure.savefig(part, format=path.suffix.lstrip(".") or None, dpi=150)
    return path


def _outline(axes: Axes, machine: Machine, q: float, *, faint: bool) -> None:
    for stroke in machine.mechanism.outline(q, machine.values):
        if faint and not stroke.moving:
            continue
        colour = _FAINT if faint else _INK
        width = 1.2 if faint else 3.2
        style = "-" if stroke.moving else (0, (6, 4))
        if stroke.radius is not None:
            if faint:
                continue  # circles over circles tell nothing
            centre = (float(stroke.points[0, 0]), float(stroke.points[0, 1]))
            axes.add_patch(Circle(centre, stroke.radius, fill=False, ec=colour, lw=width * 0.6, zorder=2))
            continue
        axes.plot(
            stroke.points[:, 0],
            stroke.points[:, 1],
            color=colour,
            lw=width if stroke.moving else 1.4,
            ls=style,
            solid_capstyle="round",
            solid_joinstyle="round",
            zorder=1 if faint else 4,
        )


def _track(axes: Axes, points: Floats, colour: str) -> None:
    axes.plot(points[:, 0], points[:, 1], color=colour, lw=1.0, alpha=0.6, zorder=2)
    if np.hypot(*(points[-1] - points[-2])) > 1e-9:
        axes.annotate(
            "",
            (float(points[-1, 0]), float(points[-1, 1])),
            (float(points[-4, 0]), float(points[-4, 1])),
            arrowprops={"arrowstyle": "-|>", "color": colour, "alpha": 0.7, "shrinkA": 0, "shrinkB": 0},
            zorder=2,
        )


def _dot(axes: Axes, at: Floats, colour: str, size: float) -> None:
    # Small ones lie on top, so that two parts at one place both show.
    axes.plot(*at, marker="o", ms=size, color=colour, mec="white", mew=1.2, zorder=7.0 - 0.05 * size)


def _mark(axes: Axes, q: Floats, path: Floats, mark: HandleMark, places: Sequence[float]) -> Label:
    """A dot or a broad stretch on the handle's path, and its name: that of a stretch clear of the places marked."""

    def at(rotation: float | Floats) -> Floats:
        return np.column_stack([np.interp(rotation, q, path[:, axis]) for axis in (0, 1)])

    if mark.to_rad is None:
        place = at(np.array([mark.from_rad]))[0]
        axes.plot(*place, marker="o", ms=11, mfc="white", mec=mark.colour, mew=2.4, zorder=8)
        return Label(place, mark.label, mark.colour)
    stretch = at(np.linspace(mark.from_rad, mark.to_rad, 21))
    axes.plot(
        stretch[:, 0], stretch[:, 1], color=mark.colour, lw=6.0, alpha=0.45, solid_capstyle="butt", zorder=3
    )
    inner = np.linspace(mark.from_rad, mark.to_rad, 9)[1:-1]
    middle = np.abs(inner - inner[3])
    clear = np.abs(np.subtract.outer(inner, places)).min(axis=1) if places else -middle
    return Label(at(inner[[np.argmax(clear)]])[0], mark.label, mark.colour)


def _tether(axes: Axes, machine: Machine, name: str, at: Floats) -> None:
    """A spring or band to its anchor, a chain to the floor."""
    values = machine.values
    anchor = [ParameterKey(f"anchor_{axis}", name) for axis in "xy"]
    floor = ParameterKey("floor", name)
    if anchor[0] in values:
        end = np.array([values[key] for key in anchor])
        axes.plot(*np.column_stack((at, end)), color=_MASS, lw=1.6, ls=(0, (1, 1.2)), zorder=5)
        axes.plot(*end, marker="s", ms=6, color=_MASS, zorder=6)
    elif floor in values:
        axes.plot([at[0], at[0]], [at[1], values[floor]], color=_MASS, lw=2.0, ls=":", zorder=5)


def _pivots(machine: Machine) -> list[Floats]:
    """Fixed pivots: origins of the turning links that stay put."""
    few = machine.mechanism.frames(np.linspace(0.0, 0.1, 3), machine.values)
    places = [f.origin.position for name, f in few.items() if name not in machine.mechanism.sliding]
    return [place[0] for place in places if np.ptp(place, axis=0).max() < 1e-12]


def _gravity(axes: Axes) -> None:
    axes.annotate(
        "",
        (0.965, 0.86),
        (0.965, 0.96),
        xycoords="axes fraction",
        arrowprops={"arrowstyle": "-|>", "color": _SOFT, "lw": 1.4},
    )
    axes.text(
        0.945, 0.91, "g", transform=axes.transAxes, ha="right", va="center", color=_SOFT, style="italic"
    )


def _dimensions(table: Axes, blocks: Sequence[Sequence[str]], columns: int) -> None:
    """The surveyed dimensions under the drawing, in columns."""
    table.set_axis_off()
    for i, block in enumerate(blocks):
        table.text(
            0.02 + i / columns,
            1.0,
            "\n".join(block),
            transform=table.transAxes,
            fontsize=7.5,
            color="#3b4854",
            va="top",
            linespacing=1.6,
        )
