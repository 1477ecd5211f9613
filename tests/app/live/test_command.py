"""What `feltload live` refuses, in one line and before anything is served."""

from __future__ import annotations

import socket
from pathlib import Path

from feltload.app.live.server.address import LOOPBACK
from feltload.app.live.setup.folder import WorkingFolder
from feltload.app.live.setup.replay import replay_request


def test_two_things_at_once_are_refused(feltload, recordings: Path, tmp_path: Path) -> None:
    recording = recordings / "lever-row-40kg.mcap"
    feltload("live", "--replay", recording, "--emulated", cwd=tmp_path).one_line_error(
        "--emulated", "exclude"
    )


def test_what_cannot_be_read_is_named(feltload, tmp_path: Path) -> None:
    (tmp_path / "rig.toml").write_text("name = 3\n", encoding="utf-8")
    feltload("live", tmp_path / "rig.toml", cwd=tmp_path).one_line_error("rig.toml")
    feltload("live", "--replay", tmp_path / "none.mcap", cwd=tmp_path).one_line_error("none.mcap")


def test_holds_are_played_beside_the_profile_of_their_machine(
    feltload, recordings: Path, tmp_path: Path
) -> None:
    holds = recordings / "client-holds.mcap"
    feltload("live", "--replay", holds, "--no-browser", "--port", "0", cwd=tmp_path).one_line_error(
        "client-holds.mcap", "profile"
    )
    feltload("profile", recordings / "lever-row-40kg.mcap", "--out", "row", cwd=tmp_path)
    request = replay_request(holds, WorkingFolder(tmp_path))
    assert request.person.result == tmp_path / "row"


def test_a_port_that_is_taken_is_named(feltload, tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind((LOOPBACK, 0))
        taken.listen()
        port = taken.getsockname()[1]
        feltload("live", "--port", str(port), "--no-browser", cwd=tmp_path).one_line_error(
            str(port), "--port"
        )
