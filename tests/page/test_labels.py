"""Every label of the page stands for a term: of ICAO, of WMO, of an RFC, or of the glossary."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest

from decision.case.demos import installed_demos
from service.app import create_app
from service.documents import FOLDER
from service.settings import ROOT
from tests.counts import IS_LONG
from tests.service.builders import service_settings

ROW = re.compile(r"^\| (?P<label>[^|]+) \| (?P<says>[^|]+) \| (?P<term>[^|]+) \|$", re.MULTILINE)
ENTRY = re.compile(r"^\| (?P<word>[^|]+) \| [^|]+ \|$", re.MULTILINE)
STANDARD = re.compile(r"^(?:ICAO (?:Annex \d+|Doc \d+)|WMO-No\. \d+|RFC \d+)\b.*, .+")
OWN = "glossary: "
TOGETHER = (
    "engine-out-gradient",
    "engine-out-nearer-place",
    "slush-and-crosswind",
    "alternate-report-unreadable",
    "funnel-cloud-passing",
    "smoke-nearer-runway",
)
"""Demo cases that have every label among them; the long tier asks all."""
TAGS = ("dt", "h2", "h3", "summary")
SCOPES = ("col", "rowgroup")


class Labels(HTMLParser):
    """Headings, terms and heads of tables."""

    def __init__(self) -> None:
        super().__init__()
        self.found: set[str] = set()
        self._open: list[tuple[str, list[str]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in TAGS or (tag == "th" and dict(attrs).get("scope") in SCOPES):
            self._open.append((tag, []))

    def handle_endtag(self, tag: str) -> None:
        if self._open and self._open[-1][0] == tag:
            self.found.add(plain(" ".join("".join(self._open.pop()[1]).split())))

    def handle_data(self, data: str) -> None:
        if self._open:
            self._open[-1][1].append(data)


def plain(label: str) -> str:
    """A label without what differs from flight to flight."""
    label = re.sub(r"\b\d\d:\d\dZ", "TIME", label)
    label = re.sub(r"\bX[A-Z]{3}\b", "PLACE", label)
    return re.sub(r"\b\d+\b", "N", label)


@pytest.fixture(scope="module")
def on_pages(tmp_path_factory: pytest.TempPathFactory) -> set[str]:
    folder = tmp_path_factory.mktemp("labels")
    client = create_app(service_settings(folder, APPROACH_LOG_LEVEL="ERROR")).test_client()
    labels = Labels()
    for demo in installed_demos():
        if not (IS_LONG or demo.name in TOGETHER):
            continue
        body = {
            **demo.request(),
            "include": ["ahead", "flip_points", "uncertainty"],
            "compare_rulebooks": demo.name == TOGETHER[0],
        }
        answer = client.post("/v1/decisions", json=body, headers={"Accept": "text/html"})
        assert answer.status_code == 201
        labels.feed(answer.text)
    return labels.found


def listed() -> Iterator[tuple[str, str]]:
    text = (FOLDER / "page.md").read_text(encoding="utf-8")
    for row in ROW.finditer(text.partition("## Labels")[2].partition("\n## ")[0]):
        if row["label"] not in ("label", "---"):
            yield row["label"], row["term"]


def glossary() -> set[str]:
    text = (Path(ROOT) / "DEVELOPERS.md").read_text(encoding="utf-8")
    part = text.partition("## Glossary")[2].partition("\n## ")[0]
    return {row["word"] for row in ENTRY.finditer(part)}


def test_each_label_of_the_page_is_listed_once_and_each_that_is_listed_is_there(
    on_pages: set[str],
) -> None:
    labels = [label for label, _ in listed()]
    assert len(on_pages) > 80
    assert on_pages - {*labels} == set()
    assert len(labels) == len({*labels})
    only_sometimes = {"Why: missed approach climb"}  # no demo case is decided by its climb
    assert {*labels} - on_pages - only_sometimes == set()


def test_each_label_has_the_term_of_a_standard_or_of_the_glossary() -> None:
    words = glossary()
    assert len(words) > 20
    for label, term in listed():
        own = term.removeprefix(OWN)
        assert (own in words) if term.startswith(OWN) else STANDARD.match(term), label
