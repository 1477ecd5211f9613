"""A person's own settings: where they are, what they may hold, what a bad file says."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from feltload.app.cli import main
from feltload.app.errors import UsageError
from feltload.app.files.settings import VARIABLE, load_settings, settings_path


@pytest.fixture
def settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "settings.toml"
    monkeypatch.setenv(VARIABLE, str(path))
    return path


def test_without_a_file_forces_are_in_newtons(settings: Path) -> None:
    assert load_settings().units == "N"


def test_the_file_is_where_the_platform_keeps_settings(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.delenv(VARIABLE)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    assert settings_path().name == "settings.toml"
    assert settings_path().parent.name == "feltload"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("units =", "is not TOML"),
        ('units = "kg"', "units = 'kg' is not possible"),
        ('unit = "kgf"', "unit is not a setting"),
    ],
)
def test_a_bad_file_is_one_line_that_names_it(settings: Path, text: str, words: str) -> None:
    settings.write_text(text, encoding="utf-8")
    with pytest.raises(UsageError) as caught:
        load_settings()
    assert words in str(caught.value)
    assert str(settings) in str(caught.value)


def test_a_command_writes_in_the_settings_unit_unless_told_another(
    settings: Path, measured_row: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    settings.write_text('units = "lbf"\n', encoding="utf-8")
    again = shutil.copytree(measured_row, tmp_path / "again")
    words = ["compare", str(measured_row), str(again)]
    assert main(words) == 0
    assert " lbf (" in capsys.readouterr().out
    assert main([*words, "--units", "kgf"]) == 0
    assert " kgf (" in capsys.readouterr().out
    settings.write_text("units = 3\n", encoding="utf-8")
    assert main(words) == 2
    assert capsys.readouterr().err.count("\n") == 1
