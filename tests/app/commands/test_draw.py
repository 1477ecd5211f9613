"""`feltload draw`: files for the shop, read back by a library that knows nothing of machines."""

from __future__ import annotations

import csv
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pytest

from feltload.calibration import MECHANISMS, Machine, ParameterKey, example_text, parse_machine


@pytest.fixture(scope="module")
def cam_drawings(feltload, tmp_path_factory):
    """A cam machine as the shop gets it: its folder and what the command said."""
    folder = tmp_path_factory.mktemp("shop")
    (folder / "machine.toml").write_text(example_text("cable"), encoding="utf-8")
    ran = feltload("draw", folder / "machine.toml", "--out", folder / "out", "--travel", "90 deg")
    assert ran.code == 0, ran.err
    return folder, ran


def surveyed(machine: Machine, label: str) -> float:
    """What the machine file has for the label of a dimension: its value in mm or degrees."""
    found = []
    for p in machine.parameters:
        name = p.key.part or p.key.dimension.replace("_", " ")
        number = f"{p.value / p.per_unit:.6g}".replace("-", "−")
        if label.startswith(name) and number in label.split():
            found.append(abs(p.value / p.per_unit))
    assert found, label
    return found[0]


@pytest.mark.parametrize("kind", sorted(MECHANISMS))
def test_distances_of_the_drawing_are_those_of_the_machine_file(kind, tmp_path):
    from feltload.app.pages.shop.drawings import draw_for_shop

    machine = parse_machine(example_text(kind))
    draw_for_shop(machine, tmp_path, travel_rad=1.0, overwrite=False)
    document = ezdxf.readfile(tmp_path / "side-view.dxf")
    audit = document.audit()
    assert audit.errors == [] and audit.fixes == []
    assert document.units == ezdxf.units.MM
    dimensions = document.modelspace().query("DIMENSION")
    assert len(dimensions) >= 1
    for entity in dimensions:
        assert entity.dxf.layer == "DIMENSIONS"
        # The text alone is the drawing's own; points are measured by the library.
        assert entity.get_measurement() == pytest.approx(surveyed(machine, entity.dxf.text), abs=1e-6)
    words = [text.dxf.text for text in document.modelspace().query("TEXT")]
    assert machine.name in words and "no strength calculation" in words
    assert any(word.endswith("on paper; the DXF is 1 : 1") for word in words)
    with (tmp_path / "dimensions.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert {row["dimension"] for row in rows} == {p.key.dotted for p in machine.parameters}
    for row in rows:
        p = machine.parameter(ParameterKey.from_dotted(row["dimension"]))
        assert float(row["value"]) == pytest.approx(p.value / p.per_unit, rel=1e-5)
        assert (row["plus_minus_k2"] == "") == p.u_is_default
    assert sum(row["on_drawing"] == "yes" for row in rows) == len(dimensions)


@pytest.mark.parametrize("kind", sorted(MECHANISMS))
def test_words_of_the_drawing_stay_words_and_keep_apart(kind, tmp_path):
    from feltload.app.text.proposed.drawing import NOTES, dimension_labels
    from feltload.calibration import machine_sheet, sheet_svg

    machine = parse_machine(example_text(kind))
    sheet = machine_sheet(machine, dimension_labels(machine), title=machine.name, notes=NOTES)
    root = ElementTree.fromstring(sheet_svg(sheet))
    words = [text.text for text in root.iter("{http://www.w3.org/2000/svg}text")]
    for placed in sheet.dimensions:
        assert placed.text in words
    assert any("no strength" in word for word in words)
    # Letters as discs along their line: no two names or dimensions touch.
    letter = sheet.letter_mm
    spots = []
    for text, at, turn in [
        *((d.text, d.at, d.turn_rad) for d in sheet.dimensions),
        *((n.text, n.at, 0.0) for n in sheet.names),
    ]:
        half = 0.25 * len(text) * letter
        along = np.linspace(-half, half, len(text))[:, None] * (np.cos(turn), np.sin(turn))
        spots.append(at + along)
    for i, one in enumerate(spots):
        for other in spots[i + 1 :]:
            gap = np.hypot(*(one[:, None] - other[None, :]).transpose(2, 0, 1))
            assert gap.min() > 0.9 * letter


def test_the_cams_outline_gives_its_table(cam_drawings):
    folder, ran = cam_drawings
    assert "Drawing:" in ran.out and "cam" not in ran.out.lower().replace("cam.dxf", "").replace("camx", "")
    document = ezdxf.readfile(folder / "out" / "cam.dxf")
    assert document.audit().errors == []
    (outline,) = document.modelspace().query('LWPOLYLINE[layer=="CAM"]')
    assert outline.closed
    corners = np.array([point[:2] for point in outline.get_points()])
    # The cable hangs down on the side that goes up: its arm is the farthest corner to the right, and half a cable more.
    for turn, arm in ((0.0, None), (20.0, 92.0), (60.0, 105.0), (100.0, 104.0)):
        angle = np.radians(turn)
        right = (corners @ (np.cos(angle), -np.sin(angle))).max() + 2.5
        if arm is not None:
            assert right == pytest.approx(arm, abs=0.05)


def test_drawings_are_not_written_over(cam_drawings, feltload):
    folder, _ = cam_drawings
    words = ("draw", folder / "machine.toml", "--out", folder / "out")
    feltload(*words).one_line_error("--force-overwrite")


def test_a_hollow_cam_is_drawn_and_said_to_be(feltload, tmp_path):
    text = example_text("cable").replace('"104(1) mm"', '"85(1) mm"')
    (tmp_path / "m.toml").write_text(text, encoding="utf-8")
    ran = feltload("draw", tmp_path / "m.toml", "--out", tmp_path / "out", "--travel", "90 deg")
    assert ran.code == 0, ran.err
    assert "hollow" in ran.out
