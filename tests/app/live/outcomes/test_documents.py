"""Who may open what: the report that is shown is everybody's, what a person can do is not."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from pathlib import Path

import pytest
from fastapi import FastAPI

from feltload.app.live.outcomes.outcome import Outcome, OutcomeKind
from feltload.app.live.pages.bench import Bench
from feltload.app.live.pages.results.documents import documents_router
from feltload.app.live.server.sessions import Sessions
from feltload.app.live.setup.folder import WorkingFolder

COOKIE = "feltload-1"


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    (tmp_path / "report.html").write_text("<p>a report</p>", encoding="utf-8")
    (tmp_path / "sheet-k7qw3d.html").write_text("<p>a sheet</p>", encoding="utf-8")
    made = Bench(WorkingFolder(tmp_path), Sessions(shared=True), COOKIE)
    made.results.outcome = Outcome(
        OutcomeKind.MACHINE, "row", "row", "heavy", (), document=tmp_path / "report.html"
    )
    return made


def asked(bench: Bench, key: str, path: str) -> int:
    app = FastAPI()
    app.include_router(documents_router(bench))
    cookie = f"{COOKIE}={bench.sessions.open(key)}".encode()
    scope = {
        "type": "http",
        "method": "GET",
        "path": path,
        "raw_path": path.encode(),
        "query_string": b"",
        "headers": [(b"cookie", cookie)],
        "scheme": "http",
        "http_version": "1.1",
        "server": ("127.0.0.1", 1),
        "client": ("127.0.0.1", 2),
        "root_path": "",
    }
    answered: list[int] = []

    async def receive() -> dict[str, object]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: dict[str, object]) -> None:
        if message["type"] == "http.response.start":
            answered.append(int(str(message["status"])))

    asyncio.run(app(scope, receive, send))
    return answered[0]


def test_who_watches_sees_the_report_and_no_sheet(bench: Bench) -> None:
    assert asked(bench, bench.sessions.view_key, "/report/row") == 200
    assert asked(bench, bench.sessions.view_key, "/sheet/sheet-k7qw3d.html") == 403
    assert asked(bench, bench.sessions.own_key, "/sheet/sheet-k7qw3d.html") == 200


def test_only_the_report_that_is_shown_is_served(bench: Bench) -> None:
    assert asked(bench, bench.sessions.own_key, "/report/other") == 404
    bench.results.outcome = replace(bench.results.outcome, document=None)
    assert asked(bench, bench.sessions.own_key, "/report/row") == 404
    for path in ("/sheet/report.html", "/sheet/../report.html", "/sheet/..%2Freport.html", "/sheet/none"):
        assert asked(bench, bench.sessions.own_key, path) == 404
