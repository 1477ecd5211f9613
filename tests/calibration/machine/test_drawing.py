"""Drawings of machines: every part is there, and names stand apart."""

from __future__ import annotations

import itertools
from pathlib import Path

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text

import machine_texts as texts
from feltload.calibration.machine.drawing import draw_machine, save_drawing
from feltload.calibration.machine.file import parse_machine
from feltload.calibration.machine.mechanisms import MECHANISMS
from feltload.calibration.machine.survey import example_text


@pytest.mark.parametrize("kind", sorted(MECHANISMS))
def test_a_drawing_holds_its_parts_and_dimensions(kind: str) -> None:
    machine = parse_machine(example_text(kind))
    figure = draw_machine(machine, ["peg  270 mm"], travel_rad=np.radians(60), load_kg=40.0)
    texts_shown = [text.get_text() for axes in figure.axes for text in axes.texts]
    assert "peg  270 mm" in texts_shown
    names = {f"{rider.name} (40 kg)" if rider.is_load else rider.name for rider in machine.riders}
    assert names <= set(texts_shown)


def test_add_ons_are_drawn_and_saved(tmp_path: Path) -> None:
    machine = parse_machine(texts.LEVER + texts.ADD_ONS)
    plain = save_drawing(
        tmp_path / "plain.png", parse_machine(texts.LEVER), [""], travel_rad=1.0, load_kg=20.0
    )
    added = save_drawing(tmp_path / "added.png", machine, [""], travel_rad=1.0, load_kg=20.0)
    assert added.read_bytes().startswith(b"\x89PNG")
    assert added.read_bytes() != plain.read_bytes()


@pytest.mark.parametrize("kind", [*MECHANISMS, "add-ons"])
def test_labels_of_a_drawing_stand_apart_and_inside(kind: str) -> None:
    text = texts.LEVER + texts.ADD_ONS if kind == "add-ons" else example_text(kind)
    machine = parse_machine(text)
    figure = draw_machine(machine, ["peg  270 mm"], travel_rad=np.radians(80.0), load_kg=40.0)
    FigureCanvasAgg(figure).draw()
    view = figure.axes[0]
    names = {"handle"} | {rider.name for rider in machine.riders}
    # Of the text alone: the extent of an annotation includes its leader.
    boxes = [Text.get_window_extent(t) for t in view.texts if t.get_text().partition(" (")[0] in names]
    assert len(boxes) == len(names)
    assert not any(a.overlaps(b) for a, b in itertools.combinations(boxes, 2))
    frame = view.get_window_extent()
    assert all(frame.contains(*corner) for box in boxes for corner in box.corners())
