"""What the machine's drawing shows a client: the places that matter, each once."""

from __future__ import annotations

import numpy as np

from feltload.app.pages.client.marks import client_drawing, handle_marks
from feltload.app.pages.client.shading import SORE
from feltload.calibration import parse_machine
from feltload.coaching import LoadLine, match_capacity, plan_help
from lever_profile import lever_profile
from machine_texts import LEVER
from made_capacity import made_capacity

PROFILE = lever_profile()
LINE = LoadLine.of(PROFILE)


def marks(force_n, painful_deg=()):
    painful = [tuple(np.deg2rad(span)) for span in painful_deg]
    capacity = made_capacity(force_n=force_n).marked(painful)
    match = match_capacity(LINE, capacity, 40.0)
    return handle_marks(LINE, match, plan_help(LINE, capacity, 40.0, 0.7)), match


def test_heaviest_and_hardest_are_where_they_are() -> None:
    shown, match = marks((700.0, 260.0))
    at = {mark.label: mark for mark in shown}
    # The lever's weight and plates pull hardest where its line is level.
    assert abs(np.rad2deg(at["heaviest"].from_rad)) <= 1.0
    assert at["hardest for you"].from_rad == match.limiting_angle_rad


def test_one_place_has_one_mark() -> None:
    # Even strength: the heaviest place is the hardest.
    shown, _ = marks((400.0, 400.0))
    assert [mark.label for mark in shown if "hardest" in mark.label] == ["heaviest, and hardest for you"]


def test_hands_and_pain_are_stretches_inside_the_travel() -> None:
    shown, _ = marks((700.0, 260.0), painful_deg=[(30.0, 60.0)])
    (sore,) = [mark for mark in shown if mark.colour == SORE]
    assert np.rad2deg([sore.from_rad, sore.to_rad]).round().tolist() == [30.0, 45.0]
    hands = [mark for mark in shown if mark.label.startswith("partner")]
    assert hands and all(mark.to_rad is not None and mark.to_rad <= np.deg2rad(28.1) for mark in hands)


def test_the_drawing_names_its_marks() -> None:
    capacity = made_capacity(force_n=(700.0, 260.0))
    match = match_capacity(LINE, capacity, 40.0)
    drawing = client_drawing(PROFILE, parse_machine(LEVER), LINE, match, plan_help(LINE, capacity, 40.0, 0.7))
    assert "hardest for you" in drawing.wide_svg and "hardest for you" in drawing.caption
    assert "40 kg" in drawing.wide_svg
    # For whoever does not see it, with the place.
    told = drawing.wide_svg.split('aria-label="')[1].split('"')[0]
    assert "hardest for you at" in told and "% of the travel" in told
