"""The bibliography: every key exists, every key is used, wrong entries are named."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from decision import citations
from decision.citations import DATA, Confidence, source, sources
from decision.errors import DataError

ROOT = Path(__file__).parents[2]
BRACKETED = re.compile(r"\[([A-Z]{2,}[A-Z0-9]*(?:-[A-Z0-9]+)+)\]")
QUOTED = re.compile(r'(?:source|cite)"?\s*[=:]\s*"([A-Z][A-Z0-9]*(?:-[A-Z0-9]+)*)')


def tree() -> dict[Path, str]:
    """Text of every file that may cite: code, data and tests, the bibliography apart."""
    files = [
        path
        for folder in ("decision", "service", "tests")
        for suffix in ("py", "toml", "csv")
        for path in (ROOT / folder).rglob(f"*.{suffix}")
        if path.name != "sources.toml"
    ]
    return {path: path.read_text(encoding="utf-8") for path in files}


def test_every_key_of_the_bibliography_is_used_somewhere() -> None:
    text = "\n".join(tree().values())
    unused = [key for key in sources() if key not in text]
    assert unused == []


def test_every_key_that_the_data_cite_is_in_the_bibliography() -> None:
    unknown = {
        (path.name, key)
        for path, text in tree().items()
        if path.suffix == ".toml" and DATA in path.parents
        for key in QUOTED.findall(text)
        if key not in sources()
    }
    assert unknown == set()


def test_every_key_that_the_code_cites_is_in_the_bibliography() -> None:
    unknown = {
        (path.name, key)
        for path, text in tree().items()
        if path.suffix == ".py"
        for key in BRACKETED.findall(text)
        if key not in sources()
    }
    assert unknown == set()


def test_an_unknown_key_is_named() -> None:
    with pytest.raises(DataError, match="no such source") as caught:
        source("NO_SUCH_BOOK")
    assert caught.value.key == "NO_SUCH_BOOK"


def test_a_source_says_how_well_it_is_known() -> None:
    assert source("ASSUMED").confidence is Confidence.ASSUMED
    assert source("CFR-25").confidence is Confidence.FOUND


@pytest.mark.parametrize(
    "row",
    [
        pytest.param({"title": "x", "edition": "y"}, id="no confidence"),
        pytest.param({"title": "x", "edition": "y", "confidence": "sure"}, id="unknown confidence"),
    ],
)
def test_a_malformed_entry_is_named(row: dict[str, str]) -> None:
    with pytest.raises(DataError, match="KEY"):
        citations._source("KEY", row)
