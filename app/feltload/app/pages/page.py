"""Sets a page as one HTML file that needs nothing from outside."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from jinja2 import Environment, PackageLoader, StrictUndefined

from feltload.app.text.numbers import NO_BREAK

if TYPE_CHECKING:
    from feltload.app.pages.comparison.view import ComparisonView
    from feltload.app.pages.design.view import DesignView
    from feltload.app.pages.prediction.view import PredictionView
    from feltload.app.pages.report.view import ReportView
    from feltload.app.pages.survey.view import SurveyView
    from feltload.app.pages.upkeep.view import HealthView


def page_templates() -> Environment:
    """Templates of all pages, with the filter that keeps numbers with their units."""
    environment = Environment(
        loader=PackageLoader("feltload.app.pages", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["unbroken"] = unbroken
    return environment


def render_page(view: ReportView) -> str:
    """Return the report as HTML.

    Parameters
    ----------
    view : ReportView
        What the page says.

    Returns
    -------
    str
        A complete document: styles and figures are inside it.
    """
    return page_templates().get_template("report.html").render(view=view)


def render_comparison(view: ComparisonView) -> str:
    """Return the page of a comparison as HTML."""
    return page_templates().get_template("compare.html").render(view=view)


def render_survey(view: SurveyView) -> str:
    """Return the page of a surveyed machine as HTML."""
    return page_templates().get_template("survey.html").render(view=view)


def render_prediction(view: PredictionView) -> str:
    """Return the page of a predicted machine as HTML."""
    return page_templates().get_template("prediction.html").render(view=view)


def render_design(view: DesignView) -> str:
    """Return the page of a proposed design as HTML."""
    return page_templates().get_template("design.html").render(view=view)


def render_health(view: HealthView) -> str:
    """Return the page of a machine over time as HTML."""
    return page_templates().get_template("health.html").render(view=view)


def unbroken(text: str) -> str:
    """The text with numbers kept on one line with their units."""
    return re.sub(r"(?<=[\d±%]) (?=[%\d±]|N\b|kgf?\b|lbf?\b|cm\b)", NO_BREAK, text)
