"""Reports and sheets of the working folder, served by their names; nothing else of the disk is."""

from __future__ import annotations

from pathlib import Path
from urllib.parse import quote

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, Response

from feltload.app.live.pages.bench import Bench
from feltload.app.live.pages.elements import Plain, Share
from feltload.app.live.server.guard import token_of
from feltload.app.live.server.headers import document_policy
from feltload.app.live.server.sessions import Role
from feltload.app.live.setup.contents import SHEET
from feltload.app.text.live import documents as words

REPORTS, SHEETS = "/report", "/sheet"


def documents_router(bench: Bench) -> APIRouter:
    """Their routes. A sheet, or a report that is not shown now, is for whoever controls."""
    router = APIRouter()

    @router.get(f"{REPORTS}/{{name}}")
    def report(name: str, request: Request, save: bool = False) -> Response:
        shown = bench.results.outcome
        pages = {} if shown is None else {one.name: one.document for one in shown.documented}
        page = pages.get(name)
        if page is None:
            raise HTTPException(404)
        return _page(page, f"{name}.html", save=save)

    @router.get(f"{SHEETS}/{{name}}")
    def sheet(name: str, request: Request, save: bool = False) -> Response:
        if bench.sessions.role(token_of(request.headers, bench.cookie)) is not Role.CONTROL:
            raise HTTPException(403)
        known = {path.name: path for path in bench.folder.path.glob(f"{SHEET}*.html")}
        if name not in known:
            raise HTTPException(404)
        return _page(known[name], name, save=save)

    return router


def _page(path: Path, name: str, *, save: bool) -> Response:
    if not path.exists():
        raise HTTPException(404)
    headers = {"content-security-policy": document_policy(), "cache-control": "no-store"}
    if save:
        headers["content-disposition"] = f"attachment; filename*=UTF-8''{quote(name)}"
    return HTMLResponse(path.read_text(encoding="utf-8"), headers=headers)


def report_address(name: str) -> str:
    """Where the report of the result that is shown comes from."""
    return f"{REPORTS}/{quote(name)}"


def sheet_address(name: str) -> str:
    """Where a sheet of the folder comes from."""
    return f"{SHEETS}/{quote(name)}"


def document_row(address: str, file: str, *, opens: str) -> None:
    """Open it, save it, and share it where the browser can."""
    with Plain("div", classes="row"):
        Plain("a", opens, "act main", {"href": address})
        Plain("a", words.SAVE, "act", {"href": f"{address}?save=true"})
        Share(words.SHARE, address, file, words.SHARE_FAILED)
