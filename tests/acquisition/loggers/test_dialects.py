"""CSV files as spreadsheets and loggers really write them, byte by byte; and those that cannot be determined."""

import csv

import numpy as np
import pytest

from feltload.acquisition import import_csv, parse_columns
from feltload.acquisition.loggers.table import read_csv_table
from feltload.core import InputError

TIME_S = np.arange(600) / 80.0
FORCE_N = np.round(250.0 + 60.0 * np.sin(TIME_S), 2)
GYRO = [f"gyro_{axis}_rad_s" for axis in "xyz"]
ACCEL = [f"accel_{axis}_m_s2" for axis in "xyz"]


def rows(form="{:.4f},{:.2f}"):
    return [form.format(t, f) for t, f in zip(TIME_S, FORCE_N, strict=True)]


def comma(text):
    return text.replace(".", ",")


def imu_file(folder):
    values = np.column_stack([TIME_S, np.full((600, 3), 0.1), np.full((600, 3), 5.6)])
    lines = [",".join(f"{value:.4f}" for value in row) for row in values]
    (folder / "i.csv").write_text("\n".join([",".join(["time_s", *GYRO, *ACCEL]), *lines]) + "\n")
    return folder / "i.csv"


def read(folder, data, **options):
    (folder / "f.csv").write_bytes(data)
    recording = import_csv(folder / "f.csv", imu_file(folder), folder / "r.mcap", load_kg=40.0, **options)
    # The file is kept as it is, to the byte.
    assert recording.info.files["force-f.csv"] == data
    assert recording.health["force"].bad_frames == 0
    return recording.stream("force")


def joined(lines, end="\n"):
    return end.join(lines).encode() + end.encode()


SPREADSHEET_BLANKS = [
    line
    for n, row in enumerate(rows("{:.4f};{:.2f};"))
    for line in ([comma(row), ";;"] if n % 200 == 50 else [comma(row)])
]
DIALECTS = {
    "every cell quoted": joined(['"time_s","force_n"', *rows('"{:.4f}","{:.2f}"')]),
    "some cells quoted, with blanks": joined(["time_s,force_n", *rows('{:.4f}," {:.2f} "')]),
    "a blank before the quotes": joined(['time_s, "force_n"', *rows('{:.4f}, "{:.2f}"')]),
    "semicolons and decimal commas": joined(["time_s;force_n", *map(comma, rows("{:.4f};{:.2f}"))], "\r\n"),
    "the same, quoted": joined(['"time_s";"force_n"', *map(comma, rows('"{:.4f}";"{:.2f}"'))]),
    "commas between and within quoted cells": joined(
        ["time_s,force_n", *('"{}","{}"'.format(*comma(row).split(";")) for row in rows("{:.4f};{:.2f}"))]
    ),
    "byte order mark and carriage returns": b"\xef\xbb\xbf" + joined(["time_s,force_n", *rows()], "\r\n"),
    "separator named in the first line": b"\xef\xbb\xbf"
    + joined(["sep=;", "time_s;force_n", *map(comma, rows("{:.4f};{:.2f}"))], "\r\n"),
    "a delimiter at every row's end": joined(["time_s,force_n", *rows("{:.4f},{:.2f},")]),
    "a delimiter at every row's and the header's end": joined(["time_s,force_n,,", *rows("{:.4f},{:.2f},,")]),
    "empty last cells left out in some rows": joined(
        ["time_s,force_n,note", *(row + (",ok" if n % 16 == 0 else "") for n, row in enumerate(rows()))]
    ),
    "empty rows as spreadsheets write them": joined(
        ["time_s;force_n;", *SPREADSHEET_BLANKS, ";;", ";;"], "\r\n"
    ),
    "blank lines anywhere": joined(["", "  ", "time_s,force_n", "", *rows(), "", "\t"], "\r\n"),
    "comments anywhere": joined(
        [
            "# logger 3, invented",
            "time_s,force_n",
            "# N, by the amplifier",
            *rows()[:300],
            "# paused",
            *rows()[300:],
        ]
    ),
    "a header behind a comment mark": joined(["# logger 3", "#time_s,force_n", *rows()]),
    "lines about the logger before the header": joined(
        ["Logger 3 (invented)", "Started;2026-03-02", "", "time_s;force_n", *rows("{:.4f};{:.2f}")]
    ),
    "a row of units": joined(["time_s,force_n", "s,N", *rows()]),
    "a row of units in brackets after a blank line": joined(
        ["time_s;force_n", "", "[s];[N]", *rows("{:.4f};{:.2f}")]
    ),
    "text with delimiters in quotes": joined(
        ["time_s,note,force_n", *rows('{:.4f},"left, no ""jerk""",{:.2f}')]
    ),
    "no line end after the last row": joined(["time_s,force_n", *rows()])[:-1],
    "tabs and decimal commas": joined(["time_s\tforce_n", *map(comma, rows("{:.4f}\t{:.2f}"))]),
    "UTF-16": "\n".join(["time_s,force_n", *rows(), ""]).encode("utf-16"),
    "carriage returns alone": joined(["time_s,force_n", *rows()], "\r"),
    "the header again in mid-file": joined(
        ["time_s,force_n", "s,N", *rows()[:300], "time_s,force_n", "s,N", *rows()[300:]], "\r\n"
    ),
    "the same name on two columns that are not used": joined(
        ["flag,time_s,flag,force_n", *rows("0,{:.4f},1,{:.2f}")]
    ),
    "other comment marks": joined(["% logger 3", "// invented", "time_s,force_n", *rows()]),
    "a first row without fractions": joined(
        ["time_s;force_n", "0;250", *map(comma, rows("{:.4f};{:.2f}")[1:])]
    ),
}


@pytest.mark.parametrize("dialect", DIALECTS)
def test_what_is_unambiguous_is_read(tmp_path, dialect):
    frame = read(tmp_path, DIALECTS[dialect])
    assert frame["force_n"].to_numpy() == pytest.approx(FORCE_N, abs=1e-12)
    assert frame["host_s"].to_numpy() == pytest.approx(TIME_S, abs=1e-12)


def test_names_in_the_western_code_page(tmp_path):
    """A spreadsheet's plain CSV: not UTF-8, semicolons, decimal commas."""
    lines = ["Zeit in s;Zugkraft für Übung;Größe", *map(comma, rows("{:.4f};{:.2f};groß"))]
    data = "\r\n".join(lines).encode("cp1252") + b"\r\n"
    frame = read(tmp_path, data, columns=parse_columns("time_s=Zeit in s, force_n=Zugkraft für Übung"))
    assert frame["force_n"].to_numpy() == pytest.approx(FORCE_N, abs=1e-12)


def with_row(number, text, header="time_s,force_n", form="{:.4f},{:.2f}", change=str):
    lines = [header, *(change(row) for row in rows(form))]
    return joined([*lines[: number - 1], text, *lines[number:]])


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (
            with_row(40, '0.4875,"1,234"'),
            r'f\.csv: line 40, column force_n: "1,234" has a comma, while times are written with a decimal point; '
            "write all numbers with a decimal point and without thousands marks",
        ),
        (
            with_row(40, "0,4875;1.234", "time_s;force_n", "{:.4f};{:.2f}", comma),
            r'line 40, column force_n: "1\.234" has a point, while times are written with a decimal comma',
        ),
        (
            with_row(40, "0,4875,250,1"),
            r"line 40: 4 columns where the header has 2; give every row as many .* semicolons between them",
        ),
        (with_row(40, "0.4875,250,1"), r"line 40: 3 columns where the header has 2; give every row as many"),
        (
            with_row(40, "0.4875"),
            r"line 40, column force_n: the row ends before it; complete it or leave that row out",
        ),
        (with_row(40, "0.4875,"), r"line 40, column force_n: is empty"),
        (with_row(40, "0.4875,NaN"), r'line 40, column force_n: "NaN" is not a number'),
        (with_row(2, "0.0000,NaN"), r'line 2, column force_n: "NaN" is not a number'),
        (with_row(40, '0.4875,"250'), r"line 40: a quote is not closed; close it or leave that row out"),
        (
            with_row(40, "12:30:04.5,250"),
            r'column time_s: "12:30:04\.5" is not a number; give all times in seconds, or all as clock times',
        ),
        (
            with_row(2, "ms,N"),
            r"line 2, column time_s: is in ms, where s is expected; name the column by its unit, such as time_ms",
        ),
        (
            with_row(2, "s,kgf"),
            r"line 2, column force_n: is in kgf, where N is expected; name the column by its unit",
        ),
        (bytes(range(256)) * 4, "not a text file; save it as CSV"),
        (b"time_s,force_n\n# nothing came\n\n", "has no rows"),
        (b"# only this\n", "has no rows"),
        (b"", "has no rows"),
        (joined(["time_s,force_n,force_n", *rows("{:.4f},{:.2f},1")]), "duplicate column force_n"),
    ],
)
def test_what_cannot_be_told_gets_one_line(tmp_path, data, said):
    with pytest.raises(InputError, match=said) as caught:
        read(tmp_path, data)
    assert "\n" not in str(caught.value)
    assert str(tmp_path / "f.csv") in str(caught.value)
    assert not (tmp_path / "r.mcap").exists()


def test_the_line_is_that_of_an_editor(tmp_path):
    """Comments, blank lines and a row of units count, so that the line can be gone to."""
    lines = ["# invented", "", "time_s,force_n", "s,N", "# begin", *rows()]
    lines[9] = "0.05,x"
    with pytest.raises(InputError, match=r'line 10, column force_n: "x" is not a number'):
        read(tmp_path, joined(lines))
    lines[9] = "-1.0,5"
    with pytest.raises(InputError, match=r"line 10, column time_s: time runs backwards"):
        read(tmp_path, joined(lines))


def test_a_long_file_with_quotes_reads_as_the_standard_library_does(tmp_path):
    """Quotes, delimiters within them, empty rows and comments at random; the reference is the module `csv`."""
    random = np.random.default_rng(3)
    lines = ["time_s;note;force_n"]
    for t, f in zip(TIME_S, FORCE_N, strict=True):
        note = random.choice(["", '"a;b"', '""', '"say ""no"";"', "plain", "'"])
        cells = [f'"{t:.4f}"' if random.random() < 0.5 else f" {t:.4f}", note, f"{f:.2f}"]
        cells[2] = f'"{cells[2]}"' if random.random() < 0.5 else cells[2]
        lines.append(";".join(cells) + random.choice(["", ";", ";;", ' ; "" ']))
        lines += [[], [";;"], ["# x;y"], ['"";']][random.integers(4)]
    data = joined(lines)
    frame = read(tmp_path, data)
    reference = [
        row
        for row in csv.reader(data.decode().split("\n"), delimiter=";", skipinitialspace=True)
        if len(row) >= 3
    ][1:]
    expected = [(float(row[0]), float(row[2])) for row in reference if row[0].strip()]
    assert len(expected) == TIME_S.size
    assert frame[["host_s", "force_n"]].to_numpy() == pytest.approx(np.array(expected))


def test_damaged_files_are_read_or_refused_in_one_line(tmp_path):
    """Pieces put in, taken out and changed at random: never an error of another kind."""
    random = np.random.default_rng(5)
    pieces = (b",", b";", b'"', b"\n", b"\r", b"#", b"\x00", b"\xff", b"\t", b"nan", b"1e999", b"sep=;\n")
    files = [data[: data.rindex(b"\n", 0, 1500) + 1] for data in DIALECTS.values() if b"\n" in data[:1500]]
    path = tmp_path / "f.csv"
    read_well = 0
    for number in range(600):
        data = bytearray(files[number % len(files)])
        for _ in range(random.integers(1, 4)):
            at = int(random.integers(len(data)))
            data[at : at + int(random.integers(3))] = pieces[random.integers(len(pieces))]
        path.write_bytes(data)
        try:
            table = read_csv_table(path, "force")
        except InputError as error:
            assert "\n" not in str(error)
            continue
        assert np.isfinite(table.time.time_s).all()
        read_well += 1
    assert read_well > 5
