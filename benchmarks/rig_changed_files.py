"""Files of every kind that a person hands in, changed at random, and the command that reads each."""

from __future__ import annotations

import contextlib
import copy
import io
import json
import os
import random
import shutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from feltload.app.cli import main

RECORDINGS: Final = Path(__file__).parents[1] / "recordings"

RIG = """name = "bench"
[[streams]]
description = "reference-force"
link = { type = "serial", port = "/dev/feltload-none" }
serial = "C-1042"
rated_capacity_n = 2000.0
set = { force = { unit = "N", scale = 0.01 } }
[[streams]]
description = "reference-inertial"
link = { type = "serial", port = "/dev/feltload-none" }
"""
TABLE = "angle_deg,force_n,u_n\n0,400,20\n20,450,20\n40,430,20\n60,380,20\n80,300,20\n"


@dataclass(frozen=True)
class FileKind:
    """One kind of file.

    Attributes
    ----------
    name : str
        Name of the file in its folder.
    content : bytes
        A sound one.
    words : callable
        Command line that reads the file at a path.
    structure : bool
        It is JSON, whose values are changed too.
    """

    name: str
    content: bytes
    words: Callable[[Path], list[str]]
    structure: bool = False


@dataclass(frozen=True)
class Outcome:
    """How a command ended."""

    code: int
    err: str

    @property
    def is_sound(self) -> bool:
        """Done, a check that did not pass, or one line about the input."""
        if self.code == 2:
            errors = [line for line in self.err.splitlines() if line.startswith("feltload:")]
            return len(errors) == 1 and "internal error" not in self.err and "Traceback" not in self.err
        return self.code in (0, 1) and "Traceback" not in self.err


def run(words: list[str], settings: Path | None = None) -> Outcome:
    """Run one command in this process; what it would raise is raised."""
    out, err = io.StringIO(), io.StringIO()
    before = os.environ.get("FELTLOAD_SETTINGS")
    os.environ["FELTLOAD_SETTINGS"] = os.devnull if settings is None else str(settings)
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = main(words)
    finally:
        if before is None:
            del os.environ["FELTLOAD_SETTINGS"]
        else:
            os.environ["FELTLOAD_SETTINGS"] = before
    return Outcome(code, err.getvalue())


def file_kinds(folder: Path) -> dict[str, FileKind]:
    """Every kind, with what its command needs besides, in `folder`."""
    machine = str(shutil.copy(RECORDINGS / "lever-row.toml", folder / "machine.toml"))
    rig = folder / "rig.toml"
    rig.write_text(RIG)
    taken = folder / "taken.mcap"
    taken.write_bytes(b"taken")
    readings = (RECORDINGS / "cell-readings.csv").read_bytes()
    short = b"\n".join(readings.splitlines()[:34]) + b"\n"
    (folder / "readings.csv").write_bytes(short)
    table = folder / "table.csv"
    table.write_text(TABLE)
    force, imu = _logger_files(folder)
    made = _made(folder, machine, force, imu, table)
    result, client = made["result"], made["client"]
    load = ["--load", "40 kg"]

    def beside(folder: Path, words: Callable[[Path], list[str]]) -> Callable[[Path], list[str]]:
        """The file among copies of its neighbours."""

        def copied(path: Path) -> list[str]:
            for other in folder.iterdir():
                if other.name != path.name and not (path.parent / other.name).exists():
                    shutil.copy(other, path.parent)
            return words(path)

        return copied

    of_client = beside(client, lambda p: ["client", "history", str(p.parent)])

    def imported(*files: str) -> Callable[[Path], list[str]]:
        return lambda path: [
            "import",
            *files[:-1],
            files[-1],
            str(path),
            "--out",
            str(path.parent / "o.mcap"),
        ]

    kept = next(path for path in client.iterdir() if path.name != "client.json")
    kinds = {
        "rig": FileKind(
            "rig.toml",
            RIG.encode(),
            lambda p: ["record", str(p), "--machine", str(machine), *load, "--out", str(taken)],
        ),
        "machine": FileKind("machine.toml", Path(machine).read_bytes(), lambda p: ["survey", str(p)]),
        "certificate": FileKind(
            "cell.json",
            made["certificate"].read_bytes(),
            lambda p: [
                "import",
                "--force",
                str(force),
                "--certificate",
                str(p),
                "--out",
                str(p.parent / "o.mcap"),
            ],
            structure=True,
        ),
        "readings": FileKind(
            "readings.csv",
            short,
            lambda p: ["calibrate", "force", str(p), "--out", str(p.parent / "c.json"), "--force-overwrite"],
        ),
        "recording": FileKind(
            "r.mcap",
            made["recording"].read_bytes(),
            lambda p: ["export", str(p), "--out", str(p.parent / "o"), "--force-overwrite"],
        ),
        "force-csv": FileKind("f.csv", force.read_bytes(), imported("--force")),
        "inertial-csv": FileKind("i.csv", imu.read_bytes(), imported("--imu")),
        "settings": FileKind(
            "settings.toml", b'units = "kgf"\n', lambda p: ["client", "history", str(client)]
        ),
        "client": FileKind("client.json", (client / "client.json").read_bytes(), of_client, structure=True),
        "session": FileKind(kept.name, kept.read_bytes(), of_client, structure=True),
        "capacity": FileKind(
            "capacity.json",
            made["capacity"].read_bytes(),
            lambda p: ["client", "match", str(result), str(p)],
            structure=True,
        ),
        "capacity-table": FileKind(
            "table.csv",
            TABLE.encode(),
            lambda p: [
                *("client", "capacity", str(p), "--machine", str(machine)),
                *("--out", str(p.parent / "c.json"), "--force-overwrite"),
            ],
        ),
    }
    kinds["profile"] = FileKind(
        "model.npz",
        (result / "model.npz").read_bytes(),
        beside(result, lambda p: ["client", "positions", str(p.parent)]),
    )
    kinds["provenance"] = FileKind(
        "provenance.json",
        (result / "provenance.json").read_bytes(),
        beside(result, lambda p: ["compare", str(p.parent), str(result)]),
        structure=True,
    )
    return kinds


def _made(folder: Path, machine: str, force: Path, imu: Path, table: Path) -> Mapping[str, Path]:
    """Sound files that commands write."""
    row = RECORDINGS / "lever-row-40kg.mcap"
    result, client = folder / "result", folder / "A1"
    certificate, capacity, small = folder / "cell.json", folder / "capacity.json", folder / "small.mcap"
    for words in (
        ["profile", str(row), "--out", str(result)],
        ["calibrate", "force", str(folder / "readings.csv"), "--out", str(certificate)],
        ["client", "new", str(folder), "--code", "A1"],
        [
            *("client", "capacity", str(table), "--machine", machine, "--out", str(capacity)),
            *("--client", str(client)),
        ],
        [
            *("import", "--force", str(force), "--imu", str(imu), "--load", "40 kg", "--machine", machine),
            *("--certificate", str(certificate), "--out", str(small)),
        ],
    ):
        done = run(words)
        if not done.is_sound or done.code == 2:
            raise RuntimeError(f"{' '.join(words)}: {done.err}")
    return {
        "result": result,
        "client": client,
        "certificate": certificate,
        "capacity": capacity,
        "recording": small,
    }


def _logger_files(folder: Path, rows: int = 150) -> tuple[Path, Path]:
    force, imu = folder / "f.csv", folder / "i.csv"
    lines = [f"{0.01 * k:.2f},{12000 + 300 * (k % 40)}" for k in range(rows)]
    force.write_text("\n".join(["time_s,force_counts", *lines]) + "\n")
    axes = ",".join(
        f"{kind}_{axis}_{unit}" for kind, unit in (("gyro", "rad_s"), ("accel", "m_s2")) for axis in "xyz"
    )
    lines = [f"{0.01 * k:.2f},0.001,{0.01 * (k % 9):.3f},0.002,0.1,0.2,9.81" for k in range(rows)]
    imu.write_text("\n".join([f"time_s,{axes}", *lines]) + "\n")
    return force, imu


_WORDS: Final = (
    *("", "nan", "inf", "-inf", "1e308", "-1e308", "1e-320", "0", "-0", "-1", "NaN", "null", "true", "0x10"),
    *(
        "1" * 6000,
        "9" * 25,
        "1_000",
        "1,5",
        "٣",
        "\x1b[31m",
        "\x00",
        "\ufeff",
        "é",
        "\u202e",
        '"',
        "'''",
        "#",
    ),
    *(
        "[" * 900,
        "{" * 900,
        "a." * 3000 + "a",
        "a" * 100_000,
        "\n",
        "\r",
        "\t" * 500,
        "../../..",
        "%s%n",
        "${x}",
    ),
)
_VALUES: Final[tuple[Any, ...]] = (
    *(
        None,
        True,
        False,
        0,
        -1,
        1,
        2**63,
        -(2**70),
        1e308,
        -1e308,
        1e-320,
        10**400,
        "",
        "x",
        "\x1b[2J",
        "\x00",
    ),
    *([], {}, [[]], [None], [1.0], {"kind": "x"}, "2026-13-45", "9999-12-31", "a" * 5000, [0.0] * 2000),
)


def changed(kind: FileKind, chance: random.Random) -> bytes:
    """A copy of a sound file with one to three changes."""
    data = kind.content
    for _ in range(chance.choice((1, 1, 1, 2, 3))):
        ways = [_bytes_changed, _bytes_changed, _text_changed, _lines_changed, _encoded]
        if kind.structure:
            ways += [_value_changed] * 5
        data = chance.choice(ways)(data, chance)
    return data


def _bytes_changed(data: bytes, chance: random.Random) -> bytes:
    if not data:
        return data
    out = bytearray(data)
    at = chance.randrange(len(out))
    length = chance.choice((1, 1, 4, 16, 200))
    way = chance.randrange(7)
    if way <= 1:
        out[at] ^= 1 << chance.randrange(8)
    elif way == 2:
        out[at] = chance.randrange(256)
    elif way == 3:
        del out[at:]
    elif way == 4:
        del out[at : at + length]
    elif way == 5:
        out[at:at] = out[chance.randrange(len(out)) :][:length]
    else:
        out[at:at] = bytes(length) if chance.random() < 0.5 else chance.randbytes(length)
    return bytes(out)


def _text_changed(data: bytes, chance: random.Random) -> bytes:
    """A word or number in place of another."""
    import re

    spots = [match.span() for match in re.finditer(rb"[A-Za-z0-9_.+-]+", data[:200_000])]
    if not spots:
        return data
    start, stop = chance.choice(spots)
    return data[:start] + chance.choice(_WORDS).encode() + data[stop:]


def _lines_changed(data: bytes, chance: random.Random) -> bytes:
    lines = data.split(b"\n")
    at = chance.randrange(len(lines))
    way = chance.randrange(4)
    if way == 0:
        del lines[at]
    elif way == 1:
        lines.insert(at, lines[chance.randrange(len(lines))])
    elif way == 2:
        lines[at:at] = [chance.choice(_WORDS).encode()]
    else:
        other = chance.randrange(len(lines))
        lines[at], lines[other] = lines[other], lines[at]
    return b"\n".join(lines)


def _encoded(data: bytes, chance: random.Random) -> bytes:
    text = data.decode("latin-1")
    way = chance.randrange(5)
    if way == 0:
        return text.encode("utf-16")
    if way == 1:
        return text.encode("utf-32-be", errors="replace")
    if way == 2:
        return b"\xef\xbb\xbf" + data
    if way == 3:
        return data.replace(b"\n", b"\r\n")
    return data + "\u00e9\u00e8".encode("latin-1")


def _value_changed(data: bytes, chance: random.Random) -> bytes:
    """JSON with a value replaced, a key left out or added, a list cut or doubled."""
    try:
        document = json.loads(data)
    except ValueError:
        return data
    document = copy.deepcopy(document)
    places: list[tuple[Any, Any]] = []

    def visit(node: Any) -> None:
        items = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
        for key, value in items:
            places.append((node, key))
            visit(value)

    visit(document)
    if not places:
        return data
    node, key = chance.choice(places)
    way = chance.randrange(6)
    if way <= 2:
        node[key] = chance.choice(_VALUES)
    elif way == 3:
        value = node[key]
        number = isinstance(value, int | float) and not isinstance(value, bool)
        node[key] = value * chance.choice((-1, 2, 1e30, 0)) if number else [value, value]
    elif way == 4:
        del node[key]
    elif isinstance(node, dict):
        node[f"{key}_" if isinstance(key, str) else "x"] = node[key]
    else:
        node[key:key] = [node[key]] * chance.choice((1, 3, 500))
    return json.dumps(document).encode()
