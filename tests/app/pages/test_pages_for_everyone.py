"""Pages for those who do not see a figure, who read in the dark, and who print on other paper."""

from __future__ import annotations

import base64
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from feltload.app.files.provenance import Provenance
from feltload.app.jobs.machine_check import check_measured
from feltload.app.jobs.upkeep.changes import compare_entries
from feltload.app.jobs.upkeep.entries import HealthEntry
from feltload.app.jobs.upkeep.health import ArmHealth, MachineHealth, Since
from feltload.app.jobs.upkeep.log import HealthLog
from feltload.app.pages.behind import curve_words, table_along
from feltload.app.pages.certificate.page import certificate_page
from feltload.app.pages.client.page import render_sheet
from feltload.app.pages.client.view import build_sheet
from feltload.app.pages.comparison.drawn import ComparedCurve, DifferenceCurve
from feltload.app.pages.comparison.figures import comparison_figure
from feltload.app.pages.comparison.quantity import force_quantity
from feltload.app.pages.page import page_templates, render_health, render_page, render_survey
from feltload.app.pages.report.assemble import build_view
from feltload.app.pages.result_folder import check_page
from feltload.app.pages.survey.view import build_survey
from feltload.app.pages.upkeep.view import build_health
from feltload.calibration import example_text, parse_machine, plan_survey
from feltload.coaching import LoadLine, match_capacity, plan_help
from feltload.signal import FrictionBand
from lever_profile import lever_profile
from machine_texts import LEVER
from made_capacity import made_capacity
from made_certificate import made_certificate
from made_estimate import made_estimate
from needs import required_program

PAPERS_IN = {"A4": (8.27, 11.69), "Letter": (8.5, 11.0)}


def compared() -> str:
    x = np.linspace(0.0, 70.0, 71)
    curves = [ComparedCurve(f"row {k}", x, 200.0 + 9.0 * k - x, np.full(71, 3.0)) for k in range(6)]
    gaps = [DifferenceCurve(c.label, x, c.values - curves[0].values, c.u95) for c in curves[1:]]
    drawing = comparison_figure(
        curves, gaps, quantity=force_quantity(None), first="row 0", lead="With 40 kg", by="handle"
    )
    page = page_templates().from_string(
        '{% extends "page.html" %}{% import "parts.html" as parts %}{% block title %}made{% endblock %}'
        '{% block head %}<h1>made</h1>{% endblock %}{% block main %}{{ parts.figure(drawing, "tall") }}{% endblock %}'
    )
    return page.render(drawing=drawing)


def surveyed() -> str:
    machine = parse_machine(example_text("cable"))
    return render_survey(build_survey(machine, plan_survey(machine, travel_rad=np.radians(60.0))))


def reported() -> str:
    return render_page(build_view(made_estimate(), Provenance(feltload="0", recordings=(), invented=True)))


def checked() -> str:
    profile = replace(lever_profile(), u_start_angle_rad=0.0)
    provenance = Provenance(feltload="0", recordings=(), invented=True)
    return check_page(check_measured(profile, provenance, parse_machine(LEVER)))


def sheet() -> str:
    profile = lever_profile()
    line, capacity = LoadLine.of(profile), made_capacity().marked([(np.radians(30.0), np.radians(40.0))])
    match, plan = match_capacity(line, capacity, 40.0), plan_help(line, capacity, 40.0, 0.7)
    return render_sheet(build_sheet(profile, line, capacity, match, plan, machine=parse_machine(LEVER)))


def aged() -> str:
    """A machine whose friction rose since last year."""
    made = made_estimate()
    n = made.friction_n.size
    made = replace(made, friction_band=FrictionBand(0.04 * np.eye(n), np.full(made.friction_n.shape, 0.4)))
    entries = [
        HealthEntry.of(
            replace(made, friction_n=made.friction_n + more), Provenance(feltload="0", recordings=())
        )
        for more in (0.0, 3.0)
    ]
    before, now = (
        entry.model_copy(update={"measured": f"203{year}-01-01T10:00:00Z"})
        for year, entry in enumerate(entries)
    )
    since = Since(before, compare_entries(now, before, times=1))
    arm = ArmHealth(made, True, now, (before,), 0, since, None, ())
    return render_health(build_health(MachineHealth((arm,), (), Path("log"), HealthLog((before,)))))


@pytest.fixture(scope="module")
def pages(tmp_path_factory) -> list[Path]:
    folder = tmp_path_factory.mktemp("pages")
    made = {
        "report": reported,
        "comparison": compared,
        "survey": surveyed,
        "check": checked,
        "sheet": sheet,
        "certificate": lambda: certificate_page(made_certificate()),
        "health": aged,
    }
    for name, make in made.items():
        (folder / f"{name}.html").write_text(make(), encoding="utf-8")
    return sorted(folder.iterdir())


@pytest.fixture(scope="module")
def window(chromium):
    driver = required_program("chromedriver")
    from selenium import webdriver

    options = webdriver.ChromeOptions()
    options.binary_location = chromium.program
    for word in ("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-background-networking"):
        options.add_argument(word)
    window = webdriver.Chrome(options=options, service=webdriver.ChromeService(driver))
    yield window
    window.quit()


def test_pages_have_no_serious_finding_in_the_light_nor_in_the_dark(window, pages):
    from axe_core_python.selenium import Axe

    axe = Axe()
    for page in pages:
        for scheme in ("light", "dark") if page.stem == "report" else ("dark",):
            window.execute_cdp_cmd(
                "Emulation.setEmulatedMedia",
                {"features": [{"name": "prefers-color-scheme", "value": scheme}]},
            )
            window.execute_cdp_cmd(
                "Emulation.setDeviceMetricsOverride",
                {"width": 390, "height": 844, "deviceScaleFactor": 1, "mobile": True},
            )
            window.get(page.as_uri())
            window.execute_script("document.querySelectorAll('details').forEach((one) => (one.open = true))")
            found = axe.run(window)["violations"]
            assert [(one["id"], one["nodes"][0]["html"]) for one in found] == [], (page.name, scheme)
            assert window.execute_script("return document.documentElement.scrollWidth") <= 390, page.name
            paper = window.execute_script("return getComputedStyle(document.body).backgroundColor")
            assert (paper == "rgb(255, 255, 255)") == (scheme == "light")


def test_a_page_printed_from_a_dark_screen_is_black_on_white_on_either_paper(window, pages):
    window.execute_cdp_cmd(
        "Emulation.setEmulatedMedia",
        {"media": "print", "features": [{"name": "prefers-color-scheme", "value": "dark"}]},
    )
    window.get(next(page for page in pages if page.stem == "report").as_uri())
    assert (
        window.execute_script("return getComputedStyle(document.body).backgroundColor")
        == "rgb(255, 255, 255)"
    )
    for width_in, height_in in PAPERS_IN.values():
        printed = window.execute_cdp_cmd(
            "Page.printToPDF", {"paperWidth": width_in, "paperHeight": height_in}
        )
        boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", base64.b64decode(printed["data"]))
        assert boxes
        assert all(abs(float(width) / 72.0 - width_in) < 0.02 for width, _ in boxes)


def test_a_figure_is_told_with_its_figures_and_has_its_numbers_behind_it():
    estimate = made_estimate()
    travel, force = estimate.travel, estimate.static_n[1]
    words = curve_words(travel, estimate.angle_rad, force)
    assert f"{force[0]:.0f} N at the start" in words
    assert f"{force.max():.0f} N" in words
    table = table_along(travel, [("40 kg", estimate.angle_rad, force)])
    shown = [float(row[1]) for row in table.rows]
    expected = np.interp(np.linspace(-25.0, 50.0, 11), np.degrees(estimate.angle_rad), force)
    assert shown == pytest.approx(expected, abs=0.51)
    page = reported()
    assert page.count("<details") >= 3
    assert all(f"{force.max():.0f} N" in told for told in re.findall(r'aria-label="(Resistance[^"]*)"', page))


def test_what_is_not_known_of_a_curve_has_no_number():
    estimate = made_estimate()
    force = np.where(estimate.angle_rad < 0.0, np.nan, estimate.static_n[0])
    table = table_along(estimate.travel, [("20 kg", estimate.angle_rad, force)])
    assert table.rows[0][1] == "–"
    assert float(table.rows[-1][1]) > 0.0
    assert "not known" in curve_words(estimate.travel, estimate.angle_rad, force * np.nan)
