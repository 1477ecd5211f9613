"""Names out of files reach the terminal as text: nothing in them moves the cursor, colours or renames a window."""

from __future__ import annotations

import io

import pytest
from rich.live import Live
from rich.text import Text

from feltload.app.cli import main
from feltload.app.terminal import Terminal, printable

NASTY = "row\x1b[2J\x1b]0;mine\x07\u202e\x9b31m"
SHOWN = "row\\x1b[2J\\x1b]0;mine\\x07\\u202e\\x9b31m"


def test_what_steers_a_terminal_is_written_out():
    assert printable(NASTY) == SHOWN
    assert printable("Größe 5 °C\tµ\nnew") == "Größe 5 °C\tµ\nnew"
    assert printable("\udcff") == "\\udcff"


def test_whatever_way_it_is_printed():
    out = io.StringIO()
    terminal = Terminal(file=out, force_terminal=True, width=120, highlight=False)
    terminal.print(NASTY, markup=False)
    terminal.print(Text(NASTY))
    with Live(Text(NASTY), console=terminal, auto_refresh=False) as live:
        live.update(Text(NASTY), refresh=True)
    shown = out.getvalue()
    # Rich drops the bell by itself.
    assert shown.count(SHOWN.replace("\\x07", "")) >= 3
    assert "\x1b[2J" not in shown
    assert "\x1b]0" not in shown


def test_a_machine_s_name_in_survey_and_in_errors(tmp_path, recordings, capsys):
    text = (recordings / "lever-row.toml").read_text()
    path = tmp_path / "m.toml"
    path.write_text(text.replace('name = "', 'name = "\\u001b[31m', 1))
    assert main(["survey", str(path)]) == 0
    assert "\x1b" not in capsys.readouterr().out
    path.write_text(text.replace("handle_radius", '"\\u001b[31m"', 1))
    assert main(["survey", str(path)]) == 2
    error = capsys.readouterr().err
    assert "\x1b" not in error
    assert "\\x1b[31m" in error


@pytest.mark.parametrize("key", ["port", "path"])
def test_what_is_opened_holds_no_nul(tmp_path, recordings, capsys, key):
    kind = "serial" if key == "port" else "replay"
    path = tmp_path / "rig.toml"
    path.write_text(
        'name = "r"\n[[streams]]\ndescription = "reference-force"\n'
        f'link = {{ type = "{kind}", {key} = "/dev/a\\u0000" }}\n'
    )
    machine = str(recordings / "lever-row.toml")
    words = ["record", str(path), "--machine", machine, "--load", "40 kg", "--out", str(tmp_path / "o.mcap")]
    assert main(words) == 2
    error = capsys.readouterr().err
    assert f"{key}: a control character is in it" in error
    assert len(error.splitlines()) == 1
