"""The reference against the API document that it is written from."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest

from service.documents import pages
from service.reference_page import PAGE, page, reached
from service.resources.operation import API_DOCUMENT

DOCUMENT: dict[str, Any] = json.loads(API_DOCUMENT.read_bytes())
SCHEMAS: dict[str, Any] = DOCUMENT["components"]["schemas"]
TEXT = PAGE.read_text(encoding="utf-8")
DESCRIBED = reached(SCHEMAS, ["Case", "Answer"])


def section(name: str) -> str:
    found = re.search(rf"^### {name}\n(.*?)(?=^##)", TEXT + "##", re.DOTALL | re.MULTILINE)
    assert found is not None, name
    return found[1]


def cells(name: str, member: str) -> list[str]:
    (row,) = [line for line in section(name).splitlines() if line.startswith(f"| `{member}`")]
    return [cell.strip() for cell in re.split(r"(?<!\\)\|", row)[1:-1]]


def test_the_page_is_what_the_document_says() -> None:
    assert page(DOCUMENT) == TEXT, "run: python -m service.openapi"


@pytest.mark.parametrize("name", DESCRIBED)
def test_every_member_of_a_case_and_of_an_answer_is_told_with_its_meaning(name: str) -> None:
    members = SCHEMAS[name].get("properties", {})
    assert section(name).count("\n| `") >= len(members)
    assert [member for member in members if not cells(name, member)[-1]] == []


@pytest.mark.parametrize(
    ("name", "member", "wanted"),
    [
        ("Aircraft", "mass_kg", ["number", "kg", "0 to 700000"]),
        ("Runway", "slope_percent", ["number or null", "percent", "-4 to 4"]),
        ("Case", "alternates", ["list of text or [Alternate](#alternate)", "", "0 to 20 members"]),
        ("Action", "latest_at", ["instant in UTC or null", "", ""]),
        ("Course", "minutes_to_touchdown", ["number or null", "min", ""]),
        ("Answer", "verdict", ["[Verdict](#verdict)", "", ""]),
    ],
)
def test_type_unit_and_range_are_those_of_the_document(
    name: str, member: str, wanted: list[str]
) -> None:
    kind, unit, span = cells(name, member)[1:4]
    assert [kind, unit, span.partition(";")[0]] == wanted


def test_what_must_be_given_is_marked_and_a_default_is_told() -> None:
    assert cells("Aircraft", "mass_kg")[0] == "`mass_kg` *"
    gear = cells("Aircraft", "gear")
    assert (gear[0], gear[-1].partition("Default: ")[2]) == ("`gear`", '`"up"`.')


def test_the_words_of_an_enumeration_are_told() -> None:
    assert "`GO_WITH_CAUTION`" in section("Verdict")


def test_a_type_that_is_named_leads_to_its_place_on_the_page() -> None:
    html = pages()["reference"].html
    named = set(re.findall(r'href="#([\w-]+)"', html))
    assert named
    assert named <= set(re.findall(r'<h3 id="([\w-]+)"', html))
