"""Text files and TOML that no one should have written: one line each, whatever is in them."""

from __future__ import annotations

import pytest

from feltload.core import FeltloadError, InputError, parse_toml, read_text


def refusal(text: str) -> str:
    with pytest.raises(InputError) as caught:
        parse_toml(text, InputError, where="m.toml", remedy="correct that line")
    return str(caught.value)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ("größe\n".encode("utf-16"), "is not UTF-8 text, it looks like UTF-16"),
        ("größe\n".encode("latin-1"), "is not UTF-8 text (byte 2)"),
    ],
)
def test_other_encodings_are_named(tmp_path, data, words):
    path = tmp_path / "m.toml"
    path.write_bytes(data)
    with pytest.raises(InputError) as caught:
        read_text(path, InputError)
    assert str(caught.value) == f"{path}: {words}; save it again as UTF-8"


def test_a_byte_order_mark_is_no_content(tmp_path):
    (tmp_path / "m.toml").write_text("größe = 1", encoding="utf-8-sig")
    assert read_text(tmp_path / "m.toml", InputError) == "größe = 1"


def test_missing_unreadable_and_unnameable_files(tmp_path):
    for path, words in (
        (tmp_path / "none", "no such file"),
        (tmp_path, "cannot be read (Is a directory)"),
        (tmp_path / "a\x00b", "the name holds a NUL"),
    ):
        with pytest.raises(FeltloadError, match="check the path") as caught:
            read_text(path, InputError)
        assert words in str(caught.value)


def test_an_endless_file_is_not_read_to_its_end(tmp_path):
    path = tmp_path / "m.toml"
    with path.open("wb") as file:
        file.truncate(3_000_000_000)
    with pytest.raises(InputError, match="larger than 64 MB"):
        read_text(path, InputError)


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 900 + "]" * 900,
        "a = " + "[" * 40 + "]" * 40,
        "a" + ".a" * 50_000 + " = 1",
        "['a'" + '."a"' * 50_000 + "]",
        "x = {" + "a . " * 50_000 + "a = 1}",
        "".join(f"[{'.'.join('t' * (n + 1))}]\n" for n in range(40)),
    ],
)
def test_what_is_nested_without_end_is_refused_at_once(text):
    assert refusal(text) == "m.toml: is nested more than 32 deep; write plain keys in plain tables"


def test_numbers_without_end():
    assert "cannot be read" in refusal("a = " + "9" * 6000)
    assert "is not TOML" in refusal("a = ")


def test_dots_in_values_and_comments_are_no_parts_of_a_key():
    text = f'# {"." * 200}\nvalues = [{", ".join(["0.25"] * 100)}]\nname = "{"a" * 100_000}"\n'
    assert len(parse_toml(text, InputError, where="m.toml", remedy="")["values"]) == 100
