"""What a result shows of itself: one line, a table, a figure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from matplotlib.figure import Figure

from feltload.core import Curve, Picture, Shown, Summary, with_u95


@dataclass(frozen=True, repr=False)
class Shelf(Shown):
    sag_mm: float

    def summary(self) -> Summary:
        return Summary("Sag of <a shelf>", ("load", "sag"), (("2 kg", with_u95(self.sag_mm, 0.21, "mm")),))

    def picture(self) -> Picture:
        x = np.array([0.0, 1.0])
        curve = Curve("2 kg", x, x * self.sag_mm, 0.5 + x, (("wet", x),))
        return Picture("Shelf", "place, m", "sag, mm", (curve,), ("floor", 3.0), ((0.2, 0.4),), "split")


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
    assert "<td>1.50 ± 0.21 mm</td>" in table


def test_a_figure_has_band_labels_level_and_spans() -> None:
    ax = Figure().subplots()
    assert Shelf(1.5).plot(ax) is ax
    assert (ax.get_xlabel(), ax.get_ylabel()) == ("place, m", "sag, mm")
    names = [text.get_text() for text in ax.get_legend().get_texts()]
    assert names == ["split", "2 kg", "2 kg, 95 % band", "wet", "floor"]
    low, high = ax.collections[0].get_datalim(ax.transData).intervaly
    assert (low, high) == pytest.approx((-0.5, 3.0))
