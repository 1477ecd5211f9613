"""Sets a `ReportView` as one HTML file that needs nothing from outside."""

from __future__ import annotations

from jinja2 import Environment, PackageLoader, StrictUndefined

from feltload.app.report.view import ReportView


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
    environment = Environment(
        loader=PackageLoader("feltload.app.report", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template("report.html").render(view=view)
