"""The report as a browser shows it, at a desk and on a phone."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from feltload.acquisition import DamageFact, HealthFact
from feltload.app.files.provenance import Provenance, RecordingSource, StreamState
from feltload.app.pages.page import page_templates, render_page
from feltload.app.pages.report.assemble import build_view
from feltload.app.pages.report.rows import budget_rows
from feltload.app.scripts.swing import Swing
from feltload.app.text.numbers import NO_BREAK
from feltload.core import Fact
from feltload.signal import ComplianceFact
from made_estimate import made_estimate
from needs import required_program

PHONE_WIDTHS = (390, 360)


def made_page() -> str:
    """A page of invented figures, with a name that would break it if it were not escaped."""
    sources = tuple(
        RecordingSource(
            name=f"lever-{load}kg.mcap",
            sha256="9f" * 32,
            load_kg=load,
            started_utc="2026-01-05T09:30:00+00:00",
            damage=(Fact(DamageFact.BLOCK_LEFT_OUT, figures={"duration_s": 0.4}),) if load == 40 else (),
            streams=(
                StreamState(
                    name="force",
                    samples=900,
                    rate_hz=80.0,
                    faults=(Fact(HealthFact.SAMPLES_MISSING, stream="force", figures={"count": 3}),),
                ),
            ),
        )
        for load in (20, 40)
    )
    provenance = Provenance(feltload="0.0.0", recordings=sources, invented=True)
    return render_page(build_view(made_estimate(), provenance))


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("report") / "report.html"
    path.write_text(made_page(), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def browser(chromium) -> Iterator[object]:
    """A headless browser that can be driven."""
    driver = required_program("chromedriver")
    from selenium import webdriver

    options = webdriver.ChromeOptions()
    options.binary_location = chromium.program
    for word in ("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-background-networking"):
        options.add_argument(word)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    window = webdriver.Chrome(options=options, service=webdriver.ChromeService(driver))
    yield window
    window.quit()


def show(browser, page: Path, width: int) -> None:
    browser.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": width, "height": 844, "deviceScaleFactor": 2, "mobile": width < 600},
    )
    browser.get(page.as_uri())


@pytest.mark.parametrize("width", [*PHONE_WIDTHS, 1280])
def test_page_fits_its_width_and_complains_of_nothing(browser, page, width):
    show(browser, page, width)
    assert browser.execute_script("return document.documentElement.scrollWidth") <= width
    assert browser.get_log("browser") == []


@pytest.mark.parametrize(("width", "shown"), [(390, "on-narrow"), (1280, "on-wide")])
def test_each_width_gets_its_own_rendering_of_a_figure(browser, page, width, shown):
    show(browser, page, width)
    heights = browser.execute_script(
        "return Object.fromEntries(['on-narrow', 'on-wide'].map("
        "c => [c, document.querySelector('.' + c).getBoundingClientRect().height]))"
    )
    assert heights[shown] > 200
    assert sum(heights.values()) == heights[shown]


def test_text_in_figures_is_readable_on_a_phone(browser, page):
    show(browser, page, 390)
    heights = browser.execute_script(
        "return [...document.querySelectorAll('.on-narrow svg text')]"
        ".map(t => t.getBoundingClientRect()).filter(b => b.width > b.height).map(b => b.height)"
    )
    assert len(heights) > 10
    assert min(heights) > 9.0


def test_ids_are_unique(browser, page):
    show(browser, page, 1280)
    ids = browser.execute_script("return [...document.querySelectorAll('[id]')].map(e => e.id)")
    assert len(ids) == len(set(ids))


def test_page_needs_nothing_from_outside(page):
    text = page.read_text(encoding="utf-8")
    loaded = re.findall(r"""(?:src|href)\s*=\s*["']([^"'#][^"']*)|url\((?!#)([^)]*)\)|@import""", text)
    # xlink:href="#..." inside the figures points into the page itself.
    assert loaded == []
    assert "<script" not in text


def test_page_says_the_figures_the_profile_holds(page):
    text = page.read_text(encoding="utf-8").replace(NO_BREAK, " ")
    estimate = made_estimate()
    peak = estimate.static_n[1].max()
    assert f"{peak:.0f} N" in text
    assert f"{peak / 9.80665:.1f} kg" in text
    assert "Invented data" in text
    assert "lever-40kg.mcap: a block of 0.40 s is damaged and was left out" in text
    assert "3 samples are missing" in text


def test_a_load_that_did_not_cover_every_angle_still_makes_a_page():
    from dataclasses import replace

    made = made_estimate()
    gaps = np.zeros_like(made.static_n)
    gaps[1, :20] = gaps[1, -5:] = np.nan
    names = ("static_n", "static_u95_n", "friction_n")
    estimate = replace(made, **{name: getattr(made, name) + gaps for name in names})
    text = render_page(build_view(estimate, Provenance(feltload="0", recordings=())))
    assert f"{np.nanmax(estimate.static_n[1]):.0f} N" in text
    assert "nan" not in text.lower().split()


@pytest.mark.parametrize("found", [False, True])
def test_what_play_the_recording_could_not_show_is_said_once(found: bool) -> None:
    bends = Fact(
        ComplianceFact.FLEX,
        figures={
            "place": "past",
            "frequency_hz": 12.0,
            "u95_hz": 0.3,
            "damping": 0.03,
            "u95_damping": 0.01,
            "wind_up_rad": 0.004,
            "count": 5,
        },
    )
    estimate = replace(made_estimate(), warnings=(bends,) if found else ())
    view = build_view(estimate, Provenance(feltload="0.0.0", recordings=(), invented=True))
    said = [*view.warnings, *dict(view.made_with).values()]
    assert sum("would not show here" in words for words in said) == 1
    assert ("Play" in dict(view.made_with)) == (not found)


def test_symbols_are_set_below_the_line_and_the_rest_escaped():
    set_text = page_templates().from_string('{% import "parts.html" as parts %}{{ parts.symbols(text) }}')
    assert set_text.render(text="E_n is 2 < 3") == "<i>E</i><sub>n</sub> is 2 &lt; 3"


def test_names_are_escaped():
    from dataclasses import replace

    estimate = replace(made_estimate(), machine_name="<script>alert(1)</script>")
    text = render_page(build_view(estimate, Provenance(feltload="0", recordings=())))
    assert "<script" not in text


def test_budget_gathers_sessions_and_keeps_the_whole_variance():
    from dataclasses import replace

    items = made_estimate().budget
    half = items[0].curve_n / np.sqrt(2.0)
    split = [replace(items[0], curve_n=half, session=name) for name in ("a", "b")]
    rows = budget_rows([*split, *items[1:]])
    assert [row.source for row in rows].count("force calibration gain (not stated: default)") == 1
    assert sum(row.share_percent for row in rows) == pytest.approx(100.0)


def test_swing_counts_repetitions_from_gravity():
    import math

    swing = Swing()
    for step in range(160):
        # Four readings a second, a repetition of 70 degrees every five seconds, after two seconds' rest.
        turn = math.radians(70.0) * 0.5 * (1 - math.cos(2 * math.pi * max(0, step - 8) / 20))
        swing.feed(
            {
                "accel_x_m_s2": 9.81 * math.sin(turn),
                "accel_y_m_s2": 0.0,
                "accel_z_m_s2": 9.81 * math.cos(turn),
            }
        )
    assert swing.widest_deg == pytest.approx(70.0, abs=5.0)
    assert swing.turns == 7
