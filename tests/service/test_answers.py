"""The declared form of an answer: every member that the engine gives is in it, with its meaning."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from decision.case import case_from_mapping
from decision.recommend import recommend_mapping
from service.answers import ANSWERS
from tests.case.builders import CASES, demo

NAMES = sorted(path.stem for path in CASES.glob("*.json"))
ROOT = {"components": {"schemas": dict(ANSWERS)}}
# Members of the answer whose meaning a name and a unit in it do not tell.
EXPLAINED = (
    ("Decision", "deadline"),
    ("Decision", "until_then"),
    ("Decision", "instead"),
    ("Decision", "ways_out"),
    ("Decision", "ask"),
    ("Decision", "fuel_on_board_kg"),
    ("Decision", "minimum_fuel_to_start_kg"),
    ("Course", "advised_against"),
    ("Course", "breaks"),
    ("Course", "touchdown_at"),
    ("Course", "minutes_to_touchdown"),
    ("Course", "unknown"),
    ("Course", "rests_on"),
    ("Attempt", "tailwind_kt"),
    ("Attempt", "headwind_kt"),
    ("Break", "endangers"),
)


def told(name: str) -> Any:
    answer = recommend_mapping(case_from_mapping({**demo(name), "compare_rulebooks": True}))
    return json.loads(json.dumps(answer))


def resolved(schema: dict[str, Any]) -> dict[str, Any]:
    """The schema behind references and choices; of a choice, the one that is not null."""
    if "$ref" in schema:
        return resolved(ANSWERS[schema["$ref"].rsplit("/", 1)[1]])
    for choice in schema.get("anyOf", ()):
        if choice != {"type": "null"}:
            return resolved(choice)
    merged: dict[str, Any] = dict(schema)
    for part in schema.get("allOf", ()):
        inner = resolved(part)
        merged["properties"] = {**merged.get("properties", {}), **inner["properties"]}
    return merged


def undeclared(schema: dict[str, Any], value: Any, where: str) -> Iterator[str]:
    """Members of a value that its schema does not name, however deep."""
    schema = resolved(schema)
    if isinstance(value, list) and "items" in schema:
        for each in value:
            yield from undeclared(schema["items"], each, f"{where}/-")
    if not isinstance(value, dict) or "properties" not in schema:
        return
    for name, inner in value.items():
        if name not in schema["properties"]:
            yield f"{where}/{name}"
        else:
            yield from undeclared(schema["properties"][name], inner, f"{where}/{name}")


@pytest.mark.parametrize("name", NAMES)
def test_every_member_of_an_answer_is_declared_and_has_its_declared_form(name: str) -> None:
    answer = told(name)
    assert set(undeclared(ANSWERS["Decision"], answer, "")) == set()
    schema = {"$ref": "#/components/schemas/Decision", **ROOT}
    errors = [
        f"{error.json_path}: {error.message[:200]}"
        for error in Draft202012Validator(schema).iter_errors(answer)
    ]
    assert errors == []


def test_a_member_that_is_not_declared_is_found() -> None:
    answer = told("gear-stuck")
    answer["courses"][0]["attempts"][0]["colour"] = "red"
    assert set(undeclared(ANSWERS["Decision"], answer, "")) == {"/courses/-/attempts/-/colour"}


@pytest.mark.parametrize(("schema", "member"), EXPLAINED)
def test_a_member_that_does_not_explain_itself_is_explained(schema: str, member: str) -> None:
    assert ANSWERS[schema]["properties"][member]["description"]
