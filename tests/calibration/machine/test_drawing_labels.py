"""Names in the side view of a machine: beside the parts, never on them."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text

from feltload.calibration import HandleMark, load_machine, parse_machine
from feltload.calibration.machine.drawing import side_view
from feltload.calibration.machine.mechanisms import MECHANISMS
from feltload.calibration.machine.survey import example_text

SIZES_IN = {"desk": (7.4, 4.3), "phone": (3.75, 3.9)}
PARTS_FROM_PT = 3.0


@pytest.fixture(params=[*MECHANISMS, "recorded"])
def machine(request, pytestconfig):
    if request.param == "recorded":
        return load_machine(pytestconfig.rootpath / "recordings" / "lever-row.toml")
    return parse_machine(example_text(request.param), request.param)


@pytest.mark.parametrize("size", SIZES_IN)
def test_names_hide_neither_the_arm_nor_one_another(machine, size):
    figure = Figure(figsize=SIZES_IN[size], layout="constrained")
    axes = figure.subplots()
    side_view(axes, machine, travel_rad=np.radians(65.0), load_kg=40.0)
    figure.draw_without_rendering()
    names = [text for text in axes.texts if text.get_text() not in ("", "g")]
    assert len(names) >= 2
    boxes = [Text.get_window_extent(text) for text in names]  # without the line that leads to the part
    for one, other in itertools.combinations(boxes, 2):
        assert not one.overlaps(other)
    for line in axes.get_lines():
        if line.get_linewidth() < PARTS_FROM_PT:
            continue
        ends = axes.transData.transform(line.get_xydata())
        along = np.linspace(0.0, len(ends) - 1.0, 2000)
        x, y = (np.interp(along, np.arange(len(ends)), ends[:, k]) for k in range(2))
        for name, box in zip(names, boxes, strict=True):
            hidden = (x > box.x0) & (x < box.x1) & (y > box.y0) & (y < box.y1)
            assert not hidden.any(), name.get_text()


PLACES_DEG = (53.0, 70.0)


@pytest.mark.parametrize("size", SIZES_IN)
def test_the_name_of_a_stretch_is_not_read_as_that_of_a_place_on_it(size):
    # The middle of the stretch is the first place.
    figure = Figure(figsize=SIZES_IN[size], layout="constrained")
    axes = figure.subplots()
    places = [HandleMark(f"place {at:.0f}", np.radians(at)) for at in PLACES_DEG]
    stretch = HandleMark("a long stretch", np.radians(15.0), np.radians(91.0))
    machine = parse_machine(example_text("cable"), "cable")
    side_view(axes, machine, travel_rad=np.radians(95.0), load_kg=40.0, marks=[stretch, *places])
    figure.draw_without_rendering()
    name = {text.get_text(): text for text in axes.texts}
    shown = Text.get_window_extent(name["a long stretch"])
    for place in places:
        own = Text.get_window_extent(name[place.label])
        assert not own.overlaps(shown)
        at = axes.transData.transform(name[place.label].xy)
        nearest = np.clip(at, [own.x0, own.y0], [own.x1, own.y1])
        other = np.clip(at, [shown.x0, shown.y0], [shown.x1, shown.y1])
        assert np.hypot(*(nearest - at)) < np.hypot(*(other - at))
    gravity = Text.get_window_extent(name["g"])
    for text in axes.texts:
        if text.get_text() not in ("", "g"):
            assert not Text.get_window_extent(text).overlaps(gravity)
