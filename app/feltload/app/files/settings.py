"""What a person has settled once for every command, in one file of their own."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Literal

import platformdirs
from pydantic import BaseModel, ConfigDict, ValidationError

from feltload.app.errors import UsageError
from feltload.core import parse_toml, read_text

VARIABLE = "FELTLOAD_SETTINGS"
"""Environment variable that names another file."""


class Settings(BaseModel):
    """Defaults of a person's commands.

    `units` is the unit in which forces are written.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    units: Literal["N", "kgf", "lbf"] = "N"


def settings_path() -> Path:
    """Where the file is looked for, such as ``~/.config/feltload/settings.toml``; it need not exist."""
    named = os.environ.get(VARIABLE)
    return Path(named) if named else platformdirs.user_config_path("feltload") / "settings.toml"


def load_settings() -> Settings:
    """Read the file; without one, the defaults.

    Raises
    ------
    UsageError
        Names the file, the key and the remedy.
    """
    path = settings_path()
    if not os.path.lexists(path):
        return Settings()
    text = read_text(path, UsageError, remedy="make it readable, or remove it")
    tables = parse_toml(
        text, UsageError, where=str(path), remedy='write for example units = "kgf", or remove it'
    )
    try:
        return Settings.model_validate(tables)
    except ValidationError as error:
        first = error.errors()[0]
        key = ".".join(map(str, first["loc"]))
        if first["type"] == "extra_forbidden":
            known = ", ".join(Settings.model_fields)
            raise UsageError(
                f"{key} is not a setting", where=str(path), remedy=f"known is: {known}"
            ) from error
        raise UsageError(
            f"{key} = {first['input']!r} is not possible", where=str(path), remedy='write "N", "kgf" or "lbf"'
        ) from error
