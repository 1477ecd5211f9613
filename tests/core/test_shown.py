"""What a result shows of itself: one line, a table, a figure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from matplotlib.figure import Figure

from feltload.core import Curve, InputError, Intervals, Picture, Scale, Shown, Summary, with_u95


@dataclass(frozen=True, repr=False)
class Shelf(Shown):
    sag_mm: float

    def summary(self) -> Summary:
        return Summary("Sag of <a shelf>", ("load", "sag"), (("2 kg", with_u95(self.sag_mm, 0.21, "mm")),))

    def picture(self) -> Picture:
        x = np.array([0.0, 1.0])
        curves = (
            Curve.within("2 kg", x, x * self.sag_mm, 0.5 + x, (("wet", x),)),
            Curve("3 kg", x, x * (self.sag_mm + 0.001)),
        )
        scales = Scale("travel", "place, m", lambda x: x), Scale("handle", "place, mm", lambda x: 1e3 * x)
        return Picture(
            "Shelf",
            "sag, mm",
            curves,
            scales,
            "dry",
            level=("floor", 3.0),
            spans=((0.2, 0.4),),
            spans_name="split",
        )


@pytest.mark.parametrize(
    ("value", "u95", "said"),
    [
        (236.123, 2.24, "236.1 ± 2.2 N"),
        (236.123, 9.96, "236 ± 10 N"),
        (-0.0001, 0.04, "0.000 ± 0.040 N"),
        (-12.34, 120.0, "−12 ± 120 N"),
        (float("nan"), 1.0, "not known"),
        (12.0, float("nan"), "12 N (uncertainty not known)"),
    ],
)
def test_a_value_has_as_many_places_as_its_band(value: float, u95: float, said: str) -> None:
    assert with_u95(value, u95, "N") == said


def test_line_and_table_say_the_same() -> None:
    assert repr(Shelf(1.5)) == "<Sag of <a shelf>: load 2 kg, sag 1.50 ± 0.21 mm>"
    table = Shelf(1.5)._repr_html_()
    assert "<caption>Sag of &lt;a shelf&gt;</caption>" in table
    assert ">1.50 ± 0.21 mm</td>" in table


def test_a_figure_has_band_labels_level_and_spans() -> None:
    ax = Figure().subplots()
    assert Shelf(1.5).plot(ax) is ax
    assert (ax.get_xlabel(), ax.get_ylabel()) == ("place, m", "sag, mm")
    legend = ax.get_legend()
    assert [text.get_text() for text in legend.get_texts()] == ["split", "dry", "95 % band", "wet", "floor"]
    low, high = ax.collections[0].get_datalim(ax.transData).intervaly
    assert (low, high) == pytest.approx((-0.5, 3.0))


def test_no_legend_covers_a_curve_and_names_at_the_ends_do_not_cover_each_other() -> None:
    figure = Figure(layout="constrained")
    ax = Shelf(1.5).plot(figure.subplots())
    figure.draw_without_rendering()
    assert ax.get_legend().get_window_extent().y1 < ax.bbox.y0
    one, other = (text.get_window_extent() for text in ax.texts)
    assert not one.overlaps(other)
    assert min(one.x0, other.x0) > ax.lines[0].get_window_extent().x1
    assert max(one.x1, other.x1) <= figure.bbox.x1


def test_positions_are_drawn_as_asked_or_refused_with_what_there_is() -> None:
    ax = Shelf(1.5).plot(Figure().subplots(), positions="handle")
    assert ax.get_xlabel() == "place, mm"
    assert ax.lines[0].get_xdata() == pytest.approx([0.0, 1000.0])
    assert ax.patches[0].get_extents().transformed(ax.transData.inverted()).intervalx == pytest.approx(
        (200, 400)
    )
    with pytest.raises(InputError, match=r'"angle".*use "travel" or "handle"'):
        Shelf(1.5).plot(positions="angle")


def test_intervals_are_drawn_where_they_are_known() -> None:
    limits = np.array([1.0, 2.0]), np.array([3.0, np.inf])
    picture = Intervals("Scatter", "sd, N", ("days", "people"), np.array([2.0, 2.5]), limits)
    ax = picture.draw(Figure().subplots())
    assert [tick.get_text() for tick in ax.get_yticklabels()] == ["days", "people"]
    (bars,) = ax.collections
    assert [segment[:, 0].tolist() for segment in bars.get_segments()] == [[1.0, 3.0]]
    with pytest.raises(InputError, match="has no positions"):
        picture.at("travel")
