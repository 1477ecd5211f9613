"""The tutorials' pictures, drawn when the documents are built: where cell, strap, sensor and stops go."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

from canvas import CELL, INK, LOAD, QUIET, SENSOR, WRONG, Canvas

PIVOT = (150.0, 230.0)
REACH = 330.0


def at(angle_deg: float, distance: float, pivot: tuple[float, float] = PIVOT) -> tuple[float, float]:
    """A point on the arm, the angle counted up from the horizontal."""
    a = math.radians(angle_deg)
    return pivot[0] + distance * math.cos(a), pivot[1] - distance * math.sin(a)


def frame_and_arm(picture: Canvas, angle_deg: float, *, start_stop: bool = True) -> None:
    """Upright, pivot, arm at an angle, plates."""
    x, y = PIVOT
    picture.line([(x, 420), (x, y - 70)], QUIET, 10)
    picture.line([(x - 60, 420), (x + 470, 420)], QUIET, 6)
    if start_stop:
        stop = at(-22, 120)
        picture.line([(stop[0], stop[1] + 12), (stop[0], 420)], QUIET, 8)
        picture.box(stop[0], stop[1] + 14, 34, 12, QUIET, QUIET)
    picture.line([PIVOT, at(angle_deg, REACH)], INK, 9)
    picture.circle(x, y, 11, "#ffffff")
    px, py = at(angle_deg, 190)
    picture.circle(px, py, 34, "#f3ded2", LOAD)
    picture.circle(px, py, 5, LOAD, LOAD)


def setup() -> Canvas:
    """The whole rig on a lever."""
    picture = Canvas(720, 450, "A lever machine: cell at the handle, inertial sensor on the arm, stops")
    for angle in (0.0, 22.0):
        picture.line([PIVOT, at(angle, REACH)], QUIET, 2, "6 6")
    frame_and_arm(picture, -22)
    hx, hy = at(-22, REACH)
    picture.box(hx + 8, hy - 34, 22, 40, "#d6e4f2", CELL)
    picture.line([(hx + 3, hy), (hx + 8, hy - 14)], CELL, 3)
    picture.line([(hx + 8, hy - 54), (hx + 8, hy - 84)], CELL, 3)
    picture.line([(hx - 22, hy - 84), (hx + 38, hy - 84)], INK, 8)
    sx, sy = at(-22, 268)
    picture.box(sx + 5, sy - 13, 40, 15, "#e9ddf1", SENSOR, 22)
    end = at(22, 120)
    picture.box(end[0], end[1] - 16, 34, 12, QUIET, QUIET)
    picture.line([(end[0], end[1] - 22), (end[0], end[1] - 60), (PIVOT[0], end[1] - 60)], QUIET, 8)
    picture.arrow(at(-14, REACH + 28), at(14, REACH + 28), QUIET)
    picture.text(545, 232, "raising: it loads\nthe hands", color=QUIET)
    picture.text(hx + 30, hy - 30, "load cell in the line\nof the hands", color=CELL, bold=True)
    picture.text(hx + 48, hy - 80, "handle")
    picture.text(300, 378, "inertial sensor, flat on the\nrigid arm, strapped tight", color=SENSOR, bold=True)
    picture.line([(390, 364), (sx + 6, sy - 6)], SENSOR, 1.5)
    px, py = at(-22, 190)
    picture.text(px - 4, py - 42, "plates", color=LOAD)
    picture.text(end[0] + 26, end[1] - 50, "end stop")
    picture.text(166, 330, "start stop:\nthe arm\nrests here\nfor the zero", size=13)
    picture.text(20, 140, "pivot")
    picture.line([(60, 145), (138, 222)], QUIET, 1.5)
    return picture


def cell_in_line() -> Canvas:
    """The cell pulled straight, and two ways not to."""
    picture = Canvas(
        720,
        325,
        "The load cell hangs straight; never around an edge, never beside the pull",
    )
    for x, words, right in (
        (130, "straight, free to turn\nat both ends", True),
        (360, "around an edge: the edge\ncarries a part", False),
        (590, "beside the line of pull:\nthe cell carries nothing", False),
    ):
        (picture.tick if right else picture.cross)(x, 40)
        picture.text(x, 262, words, anchor="middle")
    picture.line([(130, 75), (130, 230)], INK, 3)
    picture.box(130, 150, 30, 54, "#d6e4f2", CELL)
    for y in (104, 198):
        picture.circle(130, y, 9)
    picture.box(330, 190, 80, 70, "#e6e9ed", QUIET)
    picture.line([(395, 75), (371, 150), (371, 230)], INK, 3)
    picture.box(384, 108, 26, 46, "#d6e4f2", CELL, 18)
    picture.line([(570, 75), (570, 230)], INK, 5)
    picture.line([(570, 95), (622, 110), (622, 195), (570, 212)], CELL, 2, "5 5")
    picture.box(622, 152, 26, 46, "#d6e4f2", CELL)
    picture.text(
        360,
        314,
        "Rated capacity of cell, shackles and straps: several times the force you expect.",
        anchor="middle",
        size=14,
        color=QUIET,
    )
    return picture


def sensor_on_arm() -> Canvas:
    """Where the inertial sensor goes, and where it does not."""
    picture = Canvas(
        720,
        300,
        "The sensor sits flat on the rigid arm; never on padding or a swivelling handle",
    )
    for x, words, right in (
        (130, "flat on the bare arm,\nanywhere along it", True),
        (360, "on padding or clothes:\nit rocks", False),
        (590, "on a handle that swivels,\non a rope or a plate", False),
    ):
        (picture.tick if right else picture.cross)(x, 40)
        picture.text(x, 240, words, anchor="middle")
    picture.line([(60, 175), (200, 140)], INK, 14)
    picture.box(128, 142, 52, 18, "#e9ddf1", SENSOR, -14)
    picture.line([(112, 132), (118, 178)], SENSOR, 4)
    picture.line([(142, 124), (148, 170)], SENSOR, 4)
    picture.line([(290, 175), (430, 140)], INK, 14)
    picture.box(358, 145, 86, 30, "#f0f0f0", QUIET, -14)
    picture.box(356, 118, 52, 18, "#e9ddf1", SENSOR, -32)
    picture.line([(520, 175), (600, 155)], INK, 14)
    picture.circle(606, 153, 8, "#ffffff")
    picture.line([(606, 161), (620, 195)], INK, 6)
    picture.box(635, 186, 46, 16, "#e9ddf1", SENSOR, 70)
    picture.text(
        360,
        286,
        "It may slip by nothing: two straps, or tape under it. Its direction does not matter.",
        anchor="middle",
        size=14,
        color=QUIET,
    )
    return picture


def pinned_arm() -> Canvas:
    """The arm held for maximal holds."""
    picture = Canvas(
        720,
        450,
        "For holds one pin keeps the arm from rising, a lower one from falling",
    )
    frame_and_arm(picture, 4, start_stop=False)
    x = PIVOT[0] + 250
    picture.line([(x, 420), (x, 90)], QUIET, 12)
    for y in (120, 150, 180, 270, 300, 330):
        picture.circle(x, y, 4, "#ffffff", QUIET)
    bar = at(4, 250)
    picture.box(x, bar[1] - 18, 60, 13, INK, INK)
    picture.box(x, bar[1] + 26, 60, 13, INK, INK)
    hx, hy = at(4, REACH)
    picture.box(hx, hy - 34, 22, 40, "#d6e4f2", CELL)
    picture.line([(hx - 28, hy - 66), (hx + 28, hy - 66)], INK, 8)
    picture.arrow((hx + 50, hy - 30), (hx + 50, hy - 95), CELL)
    picture.text(hx + 62, hy - 70, "the client pulls\nas hard as planned", color=CELL)
    picture.text(x - 40, 70, "upper pin: the arm cannot rise", anchor="middle", bold=True)
    picture.line([(x - 30, 78), (x - 6, bar[1] - 26)], QUIET, 1.5)
    picture.text(x + 44, 300, "lower pin: it cannot fall", bold=True)
    picture.line([(x + 42, 292), (x + 18, bar[1] + 30)], QUIET, 1.5)
    picture.text(
        448,
        356,
        "Never hold it by hand,\nby a rope, or by plates\nthat a jerk lifts.",
        color=WRONG,
        bold=True,
    )
    picture.cross(428, 376, 9)
    return picture


def reading() -> Canvas:
    """What the curves of a profile are."""
    picture = Canvas(
        720,
        400,
        "A profile: force to hold still with its band, raising above, lowering below",
    )
    left, right, bottom = 80, 640, 330

    def curve(t: float) -> float:
        return 215.0 - 120.0 * math.sin(math.pi * (0.12 + 0.75 * t))

    points = [(left + (right - left) * k / 60, curve(k / 60)) for k in range(61)]
    band = [(x, y - 9) for x, y in points] + [(x, y + 9) for x, y in reversed(points)]
    picture.line([(left, 60), (left, bottom), (right, bottom)], INK, 2)
    picture.line(band + band[:1], "#a9c4df", 2)
    picture.line([(x, y - 26) for x, y in points], CELL, 2, "9 5")
    picture.line([(x, y + 26) for x, y in points], CELL, 2, "2 5")
    picture.line(points, CELL, 4)
    top = min(points, key=lambda point: point[1])
    picture.circle(*top, 7, "#ffffff", CELL)
    picture.text(top[0] + 6, top[1] - 40, "heaviest position", anchor="middle", bold=True)
    picture.text(96, 102, "raising", color=CELL)
    picture.text(150, 232, "lowering", color=CELL)
    picture.text(470, 212, "solid: to hold it still\nits two edges: 95 % band", color=CELL)
    picture.text(left - 20, 28, "force at the handle")
    picture.text(left, bottom + 24, "start stop")
    picture.text(right, bottom + 24, "end of the travel", anchor="end")
    picture.text(
        360,
        bottom + 54,
        "Half the gap between raising and lowering is friction.",
        anchor="middle",
        color=QUIET,
    )
    return picture


def by_hand() -> Canvas:
    """A scale that is read at stops."""
    picture = Canvas(
        720,
        450,
        "A hanging scale is read at marked stops, creeping up and creeping down",
    )
    for angle in (-22, -11, 0, 11, 22):
        picture.line([at(angle, REACH - 20), at(angle, REACH + 14)], QUIET, 3)
    frame_and_arm(picture, 0)
    hx, hy = at(0, REACH)
    picture.line([(hx, hy), (hx, hy - 32)], CELL, 3)
    picture.box(hx, hy - 56, 44, 46, "#d6e4f2", CELL)
    picture.text(hx, hy - 51, "22.4", anchor="middle", color=CELL, bold=True)
    picture.line([(hx, hy - 79), (hx, hy - 104)], CELL, 3)
    picture.line([(hx - 28, hy - 106), (hx + 28, hy - 106)], INK, 8)
    picture.arrow((hx + 56, hy - 10), (hx + 56, hy - 60), INK)
    picture.arrow((hx + 74, hy - 60), (hx + 74, hy - 10), INK)
    picture.text(hx + 88, hy - 42, "read creeping\nup, then down")
    picture.text(hx - 96, hy - 118, "hanging scale,\nsquare to the arm", color=CELL, bold=True, anchor="end")
    picture.text(525, 352, "marks at the stops:\nboth ends and between", color=QUIET)
    picture.line([(520, 346), at(-11, REACH + 16)], QUIET, 1.5)
    return picture


PICTURES: dict[str, Callable[[], Canvas]] = {
    "setup": setup,
    "cell-in-line": cell_in_line,
    "sensor-on-arm": sensor_on_arm,
    "pinned-arm": pinned_arm,
    "reading": reading,
    "by-hand": by_hand,
}


def write_pictures(folder: Path) -> None:
    """Write every picture; one that is right already is left alone."""
    folder.mkdir(exist_ok=True)
    for name, draw in PICTURES.items():
        path, text = folder / f"{name}.svg", draw().svg()
        if not path.exists() or path.read_text(encoding="utf-8") != text:
            path.write_text(text, encoding="utf-8")
