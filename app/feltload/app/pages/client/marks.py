"""What is marked for a client on the machine's drawing."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from feltload.app.pages.canvas import Drawing
from feltload.app.pages.client.shading import SORE
from feltload.app.pages.side_view import marked_drawing
from feltload.calibration import HandleMark, Machine
from feltload.coaching import HandAction, HelpPlan, LoadLine, Match, Phase
from feltload.signal import ProfileEstimate

HANDS = {HandAction.HELP: "partner helps", HandAction.RESIST: "partner resists"}
HANDS_COLOUR = "#6a4fa3"
SAME_PLACE_RAD = np.deg2rad(3.0)
"""Two marks nearer to one another than this are one."""


def client_drawing(
    profile: ProfileEstimate, machine: Machine, line: LoadLine, match: Match, plan: HelpPlan
) -> Drawing:
    """The machine with the match's load, and on the handle's path what matters to this client."""
    marks = handle_marks(line, match, plan)
    start = profile.start_angle_rad
    moved = [
        HandleMark(
            mark.label,
            mark.from_rad - start,
            None if mark.to_rad is None else mark.to_rad - start,
            mark.colour,
        )
        for mark in marks
    ]
    return marked_drawing(profile, machine, moved, load_kg=match.load_kg, height_factor=0.95)


def handle_marks(line: LoadLine, match: Match, plan: HelpPlan) -> Sequence[HandleMark]:
    """Painful ranges, where it is heaviest, where it is hardest for the client, and where hands are on while raising.

    Lever angles in place of the rotation from the start stop.
    """
    low, high = match.travel.measured_rad
    sore = [
        HandleMark("painful: keep out", max(low, first), min(high, last), SORE)
        for first, last in match.travel.avoided_rad
        if min(high, last) > max(low, first)
    ]
    hands = [
        HandleMark(HANDS[stretch.action], stretch.from_rad, stretch.to_rad, HANDS_COLOUR)
        for stretch in plan.in_order(Phase.CONCENTRIC)
        if stretch.action in HANDS
    ]
    heaviest = float(line.angle_rad[int(np.argmax(line.raising_n(match.load_kg)))])
    hardest = match.limiting_angle_rad
    if abs(heaviest - hardest) < SAME_PLACE_RAD:
        return [*sore, *hands, HandleMark("heaviest, and hardest for you", hardest)]
    return [*sore, *hands, HandleMark("heaviest", heaviest), HandleMark("hardest for you", hardest)]
