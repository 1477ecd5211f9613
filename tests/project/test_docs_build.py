"""The documents build without a warning: pages, pictures, internal links, and one layer of the reference."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest

from source_tree import ROOT

DOCS = ROOT / "docs"


@pytest.fixture(scope="module")
def built(tmp_path_factory) -> tuple[Path, str]:
    """A copy of the documents, read as `make docs` reads them, and what was said of them."""
    folder = tmp_path_factory.mktemp("documents")
    source = folder / "docs"
    shutil.copytree(DOCS, source, ignore=shutil.ignore_patterns("_build", "api", "pictures"))
    words = ["-W", "--keep-going", "-q", "-t", "quick", "-b", "dummy", str(source), str(folder / "out")]
    done = subprocess.run(
        [sys.executable, "-m", "sphinx", *words], capture_output=True, text=True, timeout=600, check=False
    )
    assert done.returncode == 0, done.stderr[-3000:]
    return source, done.stderr


@pytest.mark.timeout(600)
def test_no_warning_and_no_broken_internal_link(built):
    assert built[1].strip() == ""


@pytest.mark.timeout(600)
def test_every_picture_is_drawn_and_used(built):
    folder = built[0] / "pictures"
    drawn = {path.name for path in folder.iterdir()}
    used = {
        name
        for page in DOCS.glob("*.md")
        for name in re.findall(r"\]\(pictures/([\w.-]+)\)", page.read_text(encoding="utf-8"))
    }
    assert drawn == used
    for path in folder.iterdir():
        root = ElementTree.parse(path).getroot()
        width, height = (float(value) for value in root.attrib["viewBox"].split()[2:])
        for text in root.iter("{http://www.w3.org/2000/svg}text"):
            # A sans-serif letter is about 0.62 of its size wide.
            length = 0.62 * float(text.attrib["font-size"]) * len(text.text or "")
            start = {"start": 0.0, "middle": -0.5, "end": -1.0}[text.attrib["text-anchor"]] * length
            left = float(text.attrib["x"]) + start
            assert left > -5 and left + length < width + 5, (path.name, text.text)
            assert 0 < float(text.attrib["y"]) < height, (path.name, text.text)


def test_every_page_is_reached_from_the_first():
    pages = {path.stem: path.read_text(encoding="utf-8") for path in DOCS.glob("*.md")}
    reached, left = set(), ["index"]
    while left:
        page = left.pop()
        if page in reached or page not in pages:
            continue
        reached.add(page)
        for tree in re.findall(r"```\{toctree\}(.*?)```", pages[page], flags=re.DOTALL):
            left += re.findall(r"^(?:.*<)?([\w-]+)>?$", tree, flags=re.MULTILINE)
    assert set(pages) == reached
