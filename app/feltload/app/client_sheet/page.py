"""Sets the client's page as one HTML file that needs nothing from outside."""

from __future__ import annotations

import re

from jinja2 import Environment, PackageLoader, StrictUndefined

from feltload.app.client_sheet.view import SheetView


def render_sheet(view: SheetView) -> str:
    """Return the page as HTML, styles and figures inside."""
    environment = Environment(
        loader=PackageLoader("feltload.app.report", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["unbroken"] = unbroken
    return environment.get_template("client_sheet.html").render(view=view)


def unbroken(text: str) -> str:
    """The text with numbers kept on one line with their units."""
    return re.sub(r"(?<=[\d±]) (?=[%\d]|N\b|kgf?\b|±)", "\u00a0", text)
