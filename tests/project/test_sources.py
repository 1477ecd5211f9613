"""Every published value and every work named has a listed source, a verification and a use."""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path

import pytest

from published_data import HERE, VERIFICATIONS, published_rows, sources

ROOT = Path(__file__).parents[2]
_spec = importlib.util.spec_from_file_location("sources_page", ROOT / "tools" / "sources_page.py")
assert _spec is not None and _spec.loader is not None
sources_page = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(sources_page)

WITH_VALUES = [name for name, source in sources().items() if source.data or source.file]
# A standard by its number, a DOI, or authors with a year.
CITATION = re.compile(
    r"\b(?:ISO(?:/IEC)? \d+(?:-\d)?|IEEE Std \d+|OIML [RD] \d+|ASTM E\d+|JCGM \d+|GUM\b|NIST \w+|doi:(?=10)\S+"
    r"|[A-Z][a-zé]+(?: (?:&|and) [A-Z][a-z]+)?(?: et al\.)?,? \(?(?:18|19|20)\d\d\b)"
)
# A format of dates, no source of a method or a value.
NO_SOURCE = ("ISO 8601",)


@pytest.mark.parametrize("name", sources())
def test_a_source_says_what_it_is_what_it_backs_and_whether_anybody_looked(name: str) -> None:
    source = sources()[name]
    assert len(source.source) > 20
    assert len(source.backs) > 10
    assert source.verification in VERIFICATIONS
    # A claim of having looked says where; a recollection of values says what is recalled.
    assert len(source.how) > 10 or (source.verification == "from memory" and not source.data)


@pytest.mark.parametrize("name", sources())
def test_a_source_is_used(name: str) -> None:
    source = sources()[name]
    assert sources_page.readers(source) if name in WITH_VALUES else sources_page.citing(source)


@pytest.mark.parametrize("name", WITH_VALUES)
def test_every_published_value_is_read_by_a_test(name: str) -> None:
    source = sources()[name]
    text = "\n".join(path.read_text(encoding="utf-8") for path in sources_page.readers(source))
    if source.file:
        assert len(published_rows(name)) > 1
        return
    # A test that goes through a whole table reads all of it; otherwise each value is asked for by its name.
    if re.search(rf"""published\(\s*["']{name}["']\s*\)(?:\.items\(\)|\.values\(\))""", text):
        return
    unread = [key for key in source.data if not re.search(rf"""["']{re.escape(key)}["']""", text)]
    assert unread == []


def test_no_file_of_values_is_without_a_source() -> None:
    known = {source.file for source in sources().values()} | {s.licence for s in sources().values()}
    stray = {
        path.name for path in HERE.iterdir() if path.is_file() and path.suffix not in {".toml", ".py", ".pyc"}
    }
    assert stray == known - {""}


@pytest.mark.parametrize("name", [s.name for s in sources().values() if s.licence])
def test_a_licence_that_asks_for_its_notice_is_kept(name: str) -> None:
    notice = (HERE / sources()[name].licence).read_text(encoding="utf-8")
    assert sources()[name].file in notice
    # The zlib licence and the MIT licence ask for it in these words.
    asked = ("This notice may not be removed", "this permission notice shall be included in all")
    assert "Copyright" in notice and any(words in notice for words in asked)


def test_every_work_that_is_named_is_listed() -> None:
    listed = sorted(
        {words for source in sources().values() for words in source.cited_as}, key=len, reverse=True
    )
    unlisted = set()
    for path in sources_page.cited_texts():
        text = sources_page.flowing(path)
        for words in (*listed, *NO_SOURCE):
            text = text.replace(words, "")
        unlisted |= {(str(path.relative_to(ROOT)), hit.group()) for hit in CITATION.finditer(text)}
    assert unlisted == set(), "list it in tests/published/cited.toml"


def test_the_page_is_what_the_files_say() -> None:
    written = sources_page.PAGE.read_text(encoding="utf-8")
    assert written == sources_page.page(), "run `make sources`"
