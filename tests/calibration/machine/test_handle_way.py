"""The handle's way on every mechanism: published positions, closed forms, geometry that shares no code with ours."""

from __future__ import annotations

import numpy as np
import pytest

import machine_texts as texts
from feltload.calibration import parse_machine, reference_of
from feltload.signal import AngleKind, travel_of
from published_data import published

FINE = 4001


def linkage(lengths_mm: tuple[float, float, float, float], start_deg: float, **handle: object) -> str:
    """A four-bar (ground, input, coupler, rocker) whose handle rides where `handle` says."""
    ground, crank, coupler, rocker = lengths_mm
    rows = "\n".join(
        f'{name} = "{value}"' if isinstance(value, str) else f'{name} = "{value:.6f} mm"'
        for name, value in handle.items()
        if name != "start_angle"
    )
    return f"""
name = "invented linkage"
mechanism = "four-bar"
start_angle = "{handle.get("start_angle", 0.0):.8f} deg"
[four-bar]
ground_length = "{ground} mm"
input_length = "{crank} mm"
input_angle = "{start_deg} deg"
coupler_length = "{coupler} mm"
rocker_length = "{rocker} mm"
{rows}
"""


def joints(
    lengths_mm: tuple[float, float, float, float], crank_deg: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Crank pin and far joint as complex numbers (mm), by two circles that cross: open, as ours is drawn by angles."""
    ground, crank, coupler, rocker = lengths_mm
    pin = crank * np.exp(1j * np.radians(crank_deg))
    gap = ground - pin
    along = (np.abs(gap) ** 2 + coupler**2 - rocker**2) / (2.0 * np.abs(gap))
    across = np.sqrt(coupler**2 - along**2)
    return pin, pin + (along + 1j * across) * gap / np.abs(gap)


def way_mm(points: np.ndarray) -> np.ndarray:
    """Length of a way from its first point, as the sum of its chords."""
    return np.concatenate([[0.0], np.cumsum(np.abs(np.diff(points)))])


NORTON = published("four_bar")
LENGTHS = tuple(NORTON[f"{link}_mm"] for link in ("ground", "input", "coupler", "rocker"))


@pytest.mark.parametrize(
    ("link", "published_deg"),
    [("rocker", NORTON["rocker_deg"]["open"]), ("coupler", NORTON["coupler_deg"]["open"])],
)
def test_line_of_the_handle_on_another_link_is_the_published_angle(link: str, published_deg: float) -> None:
    """Norton, Design of Machinery, example 4-1 (from memory, recomputed), at a crank angle of 40°."""
    first, here = 15.0, NORTON["input_angle_deg"]
    pin, joint = joints(LENGTHS, np.array([first]))
    base = pin if link == "coupler" else LENGTHS[0]
    text = linkage(
        LENGTHS,
        first,
        start_angle=float(np.degrees(np.angle(joint - base)[0])),
        handle_radius=75.0,
        handle_on=link,
    )
    reference = reference_of(parse_machine(text))
    assert reference.angle is AngleKind.HANDLE_LINE
    assert reference.turning_part == "crank"
    line = reference.handle_travel.line_at(np.radians([here - first]))
    assert np.degrees(line) == pytest.approx([published_deg], abs=2e-3)


def test_way_of_a_handle_at_the_slider_is_the_published_displacement() -> None:
    """Norton, Design of Machinery, example 4-2 (from memory, recomputed): a rocker 1 km long slides."""
    given = published("slider_crank")
    crank, coupler, offset = given["crank_mm"], given["coupler_mm"], given["offset_mm"]
    # On the start stop the crank lies along the slide: there the slider is at 40 + sqrt(120² - 20²).
    at_start, far = crank + np.sqrt(coupler**2 - offset**2), 1e6
    # The rocker's pivot lies 1 km below the slide, under the place where the joint begins.
    lengths = (np.hypot(at_start, far - offset), crank, coupler, far)
    text = linkage(
        lengths,
        0.0,
        start_angle=float(np.degrees(np.arcsin(offset / coupler))),
        ground_angle=f"{np.degrees(np.arctan2(offset - far, at_start)):.9f} deg",
        handle_radius=float(coupler),
        handle_on="coupler",
    )
    way = reference_of(parse_machine(text)).handle_travel.path_m(np.radians([0.0, given["crank_angle_deg"]]))
    assert 1e3 * way[1] == pytest.approx(at_start - given["slider_mm"], abs=5e-3)


@pytest.mark.parametrize("link", ["input", "coupler", "rocker"])
def test_way_on_a_linkage_is_the_length_of_the_curve_that_the_handle_draws(link: str) -> None:
    """A bent coupler point: radius 90 mm, 35° off the coupler's line; places by circles that cross, way by chords."""
    lengths, first = (600.0, 250.0, 520.0, 400.0), 60.0
    turned = np.linspace(0.0, 70.0, FINE)
    pin, joint = joints(lengths, first + turned)
    base = {"input": 0.0 * pin, "coupler": pin, "rocker": 0.0 * pin + lengths[0]}[link]
    line = {"input": pin, "coupler": joint - pin, "rocker": joint - lengths[0]}[link]
    handle = base + 90.0 * line / np.abs(line) * np.exp(1j * np.radians(35.0))
    start = float(np.degrees(np.angle(line[0])) + 35.0)
    text = linkage(lengths, first, start_angle=start, handle_radius=90.0, handle_on=link)
    reference = reference_of(parse_machine(text))
    travel = travel_of(reference, reference.start_angle_rad + np.radians(turned))
    assert travel.path_m is not None
    assert 1e3 * travel.path_m == pytest.approx(way_mm(handle), abs=0.01)
    assert np.all(np.diff(travel.path_m) > 0.0)
    assert travel.shares(travel.angle_rad) == pytest.approx(way_mm(handle) / way_mm(handle)[-1], abs=1e-4)
    assert reference.angle is (AngleKind.LEVER if link == "input" else AngleKind.HANDLE_LINE)
    shown = np.unwrap(np.angle(line)) + np.radians(35.0)
    assert travel.shown_rad(travel.angle_rad) == pytest.approx(shown, abs=1e-5)


ROUND_DRUM = """
name = "invented drum"
mechanism = "cable"
start_angle = "-30 deg"
[cable]
drum_radius = "60(0.5) mm"
handle_radius = "61.0(0.5) mm"
"""


@pytest.mark.parametrize(
    ("text", "turned_deg", "kind", "part", "way_mm_at"),
    [
        (texts.LEVER, 75.0, AngleKind.LEVER, "arm", lambda q: 655.0 * q),
        (ROUND_DRUM, 620.0, AngleKind.ROTATION, "drum", lambda q: 61.0 * q),
        (texts.CABLE, 90.0, AngleKind.ROTATION, "drum", lambda q: 350.0 * q),
        (texts.SLED, 700.0, AngleKind.ROTATION, "wheel", lambda q: 50.0 * q),
        (texts.FOUR_BAR, 40.0, AngleKind.LEVER, "crank", lambda q: 700.0 * q),
    ],
)
def test_way_angle_and_part_of_each_mechanism(text, turned_deg, kind, part, way_mm_at) -> None:
    reference = reference_of(parse_machine(text))
    q = np.radians(np.linspace(-3.0, turned_deg, 200))
    travel = travel_of(reference, reference.start_angle_rad + q)
    assert (reference.angle, reference.turning_part) == (kind, part)
    assert 1e3 * travel.path_m == pytest.approx(way_mm_at(q), abs=1e-6)
    assert travel.length_m == pytest.approx(1e-3 * way_mm_at(q[-1] - q[0]))


def test_way_under_a_fixed_line_of_pull_goes_as_far_as_the_line_turns_with_it() -> None:
    # R = r sin(d - q) with d = 116° from the lever's line to the pull: s = r (cos(d - q) - cos d).
    text = """
name = "invented lever"
mechanism = "lever"
start_angle = "-30 deg"
[lever]
handle_radius = "640 mm"
pull_direction = "86 deg"
"""
    handle = reference_of(parse_machine(text)).handle_travel
    q = np.radians(np.linspace(-5.0, 105.0, 12))
    d = np.radians(116.0)
    assert handle.path_m(q) == pytest.approx(0.64 * (np.cos(d - q) - np.cos(d)), abs=1e-6)
    assert handle.path_m(np.radians([0.0, 125.0])) is None


@pytest.mark.parametrize("link", ["input", "coupler"])
def test_uncertainty_of_the_way_is_that_of_drawn_machines(link: str) -> None:
    """Monte Carlo (JCGM 101) over the dimensions of a linkage, against the first order that is stated."""
    text = texts.FOUR_BAR.replace(
        'handle_radius = "700(3) mm"', f'handle_radius = "300(3) mm"\nhandle_on = "{link}"'
    )
    machine = parse_machine(text)
    q = np.radians(np.linspace(0.0, 40.0, 9))
    stated = reference_of(machine).handle_travel.u_path_m(q)
    rng = np.random.default_rng(4)
    ways = []
    for _ in range(150):
        drawn = {p.key: p.value + p.u * rng.standard_normal() for p in machine.parameters}
        ways.append(reference_of(machine.with_parameters(drawn)).handle_travel.path_m(q))
    assert stated[0] == 0.0
    assert stated[1:] == pytest.approx(np.std(ways, axis=0, ddof=1)[1:], rel=0.2)
