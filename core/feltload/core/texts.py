"""Text files and TOML that a person hands in, read within bounds: whatever is in them, an error says so in one line."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from feltload.core.errors import FeltloadError

LARGEST_TEXT: Final = 64_000_000
"""Bytes; the longest file that a person writes or a program writes for one is a certificate, far below it."""
_DEEPEST: Final = 32
_MANY_PARTS: Final = re.compile(r"""(?<![\w.-])(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){32}""")
"""A key of thirty-two parts or more; the parser takes a time that grows with their square."""


def read_text(
    path: Path, error: type[FeltloadError], *, missing: str = "no such file", remedy: str = "check the path"
) -> str:
    """Text of a file in UTF-8, with or without a byte order mark.

    Parameters
    ----------
    path : Path
    error : type of FeltloadError
        What to raise.
    missing : str
        What is wrong where there is no such file.
    remedy : str
        What to do where it is missing or cannot be read.

    Raises
    ------
    FeltloadError
        Of the kind `error`: the file is missing, cannot be read, is too large, or is not UTF-8.
    """
    where = _shown(path)
    try:
        with path.open("rb") as stream:
            data = stream.read(LARGEST_TEXT + 1)
    except FileNotFoundError:
        raise error(missing, where=where, remedy=remedy) from None
    except OSError as failure:
        raise error(f"cannot be read ({failure.strerror or failure})", where=where, remedy=remedy) from None
    except ValueError:
        raise error("the name holds a NUL", where=where, remedy=remedy) from None
    if len(data) > LARGEST_TEXT:
        raise error(
            f"is larger than {LARGEST_TEXT // 1_000_000} MB, which no such file is",
            where=where,
            remedy=remedy,
        )
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as failure:
        wide = data.startswith((b"\xff\xfe", b"\xfe\xff"))
        seems = ", it looks like UTF-16" if wide else f" (byte {failure.start})"
        raise error(f"is not UTF-8 text{seems}", where=where, remedy="save it again as UTF-8") from None


def parse_toml(text: str, error: type[FeltloadError], *, where: str, remedy: str) -> dict[str, Any]:
    """Tables of a TOML text.

    Parameters
    ----------
    text : str
    error : type of FeltloadError
        What to raise.
    where : str
        Its file, for messages.
    remedy : str
        What to do where it is not TOML.

    Raises
    ------
    FeltloadError
        Of the kind `error`: not TOML, a number of thousands of digits, or nested deeper than any such file.
    """
    deep = error(
        f"is nested more than {_DEEPEST} deep", where=where, remedy="write plain keys in plain tables"
    )
    if _MANY_PARTS.search(text):
        raise deep
    try:
        tables = tomllib.loads(text)
    except RecursionError:
        raise deep from None
    except tomllib.TOMLDecodeError as failure:
        raise error(f"is not TOML ({failure})", where=where, remedy=remedy) from None
    except ValueError as failure:
        # Such as an integer of more digits than Python converts.
        raise error(f"holds a value that cannot be read ({failure})", where=where, remedy=remedy) from None
    if _depth_exceeds(tables, _DEEPEST):
        raise deep
    return tables


def _depth_exceeds(tables: Mapping[str, Any], most: int) -> bool:
    level: list[Any] = [tables]
    for _ in range(most):
        below: list[Any] = []
        for node in level:
            below += node.values() if isinstance(node, dict) else node if isinstance(node, list) else ()
        level = below
    return bool(level)


def _shown(path: Path) -> str:
    return str(path).replace("\x00", "\\x00")
