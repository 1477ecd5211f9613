"""Sets the client's page as one HTML file that needs nothing from outside."""

from __future__ import annotations

from feltload.app.pages.client.view import SheetView
from feltload.app.pages.page import page_templates


def render_sheet(view: SheetView) -> str:
    """Return the page as HTML, styles and figures inside."""
    return page_templates().get_template("client_sheet.html").render(view=view)
