"""Examples of the API document: each answer has one, and each is what the document says it is."""

from __future__ import annotations

import json
from http import HTTPStatus
from typing import Any

import pytest
from flask.testing import FlaskClient

from service import examples
from service.address import View
from service.examples import FORMS, ITSELF, SHOWN_ID, Example
from service.member_examples import tell_members
from service.negotiation import JSON, JSON_LINES, TEXT
from service.problems import MEDIA_TYPE
from service.resources import VIEWS
from tests.service.test_openapi import DOCUMENT, PUBLISHED, breaks, schema_errors, shown

LONGEST_BYTES = 32_000

SHOWABLE = [
    pytest.param(view, status, form, id=f"{view.id}-{status}-{form}")
    for view in VIEWS
    for status in view.address.successes
    for form in view.address.forms
    if form in FORMS and status is not HTTPStatus.NOT_MODIFIED and view.id != ITSELF
]


def operation(view: View) -> Any:
    return DOCUMENT["paths"][view.address.template][view.address.method.lower()]


def view_of(name: str) -> View:
    return next(view for view in VIEWS if view.id == name)


@pytest.mark.parametrize(("view", "status", "form"), SHOWABLE)
def test_every_answer_has_an_example_of_the_documented_form(
    view: View, status: HTTPStatus, form: str
) -> None:
    media = operation(view)["responses"][str(status.value)]["content"][form]
    assert "examples" in media, "say in service/examples.py how it is asked"
    [example] = shown(media)
    assert len(json.dumps(example)) < LONGEST_BYTES
    if form == JSON:
        assert breaks(media["schema"], example) == []
    elif form in JSON_LINES:
        lines = [json.loads(line) for line in example.splitlines()]
        assert [breaks(media["x-line-schema"], line) for line in lines] == [[]] * len(lines)
        assert lines[-1] == {"end": True, "count": len(lines) - 1}
    else:
        assert example.endswith("\n")


@pytest.mark.parametrize("view", VIEWS, ids=lambda view: view.id)
def test_every_problem_of_an_address_has_an_example_with_its_status(view: View) -> None:
    seen = []
    for status, response in operation(view)["responses"].items():
        media = response.get("content", {}).get(MEDIA_TYPE)
        if media is None:
            continue
        for example in shown(media):
            assert schema_errors("ProblemDocument", example) == []
            assert example["status"] == int(status)
            seen.append(example["title"])
    assert sorted(seen) == sorted(kind.title for kind in view.address.problems)


def test_an_example_is_in_the_document_once() -> None:
    told = [json.dumps(each["value"]) for each in DOCUMENT["components"]["examples"].values()]
    assert len(told) > 50
    assert len(set(told)) == len(told)


def test_a_decision_is_read_again_as_it_was_answered() -> None:
    paths = DOCUMENT["paths"]
    made = paths["/v1/decisions"]["post"]["responses"]["201"]["content"]
    read = paths["/v1/decisions/{id}"]["get"]["responses"]["200"]["content"]
    for form in (JSON, TEXT):
        assert made[form]["examples"] == read[form]["examples"]
    [answer] = shown(made[JSON])
    assert answer["id"] == SHOWN_ID


def test_the_examples_of_members_are_of_the_documented_form() -> None:
    found = [
        (f"{name}.{member}", breaks(inner, each))
        for name, schema in DOCUMENT["components"]["schemas"].items()
        for member, inner in schema.get("properties", {}).items()
        for each in inner.get("examples", ())
    ]
    assert len(found) > 500
    assert [each for each in found if each[1]] == []


def plain(schema: dict[str, Any]) -> bool:
    """Whether it is a text or a figure, whose kind alone does not say what it looks like."""
    arms = schema.get("anyOf", [schema])
    return any(
        each.get("type") in ("string", "integer", "number") and not each.keys() & {"enum", "const"}
        for each in arms
    )


def test_nearly_every_text_and_figure_of_an_answer_has_an_example() -> None:
    """The others are null or longer than a line in every answer that is asked for here."""
    members = {
        f"{name}.{member}": "examples" in inner
        for name in PUBLISHED
        for member, inner in DOCUMENT["components"]["schemas"][name].get("properties", {}).items()
        if plain(inner)
    }
    assert len(members) > 400
    assert sum(members.values()) > 0.85 * len(members)


def test_an_address_that_nobody_says_how_to_ask_is_named(
    real_client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(examples, "GIVEN", {})
    with pytest.raises(ValueError, match="profile: GIVEN does not say id"):
        list(examples._of_view(view_of("profile"), real_client))


def test_an_address_that_answers_otherwise_is_named(
    real_client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(examples, "GIVEN", {"profile": {"id": "none"}})
    with pytest.raises(ValueError, match="profile answers 404"):
        list(examples._of_view(view_of("profile"), real_client))


def test_a_long_answer_is_cut_where_it_says_so_and_kept_whole_beside(
    real_client: FlaskClient,
) -> None:
    [(_, example)] = examples._of_view(view_of("rulebook"), real_client)
    assert isinstance(example, Example)
    assert "first of `rows`" in example.summary
    assert list(example.value["rows"].items()) == list(example.whole["rows"].items())[:4]
    assert len(example.whole["rows"]) > 50


def test_a_member_gets_the_first_value_that_says_something() -> None:
    schemas: dict[str, Any] = {
        "Row": {
            "properties": {
                "figure": {"anyOf": [{"type": "number"}, {"type": "null"}]},
                "word": {"$ref": "#/components/schemas/Word"},
                "right": {"type": "boolean"},
            },
            "type": "object",
            "required": ["figure", "word", "right"],
            "additionalProperties": False,
        },
        "Word": {"type": "string", "enum": ["in", "out"]},
        "Other": {"type": "object", "properties": {}, "additionalProperties": False},
    }
    rows = {
        "type": "object",
        "additionalProperties": {
            "anyOf": [{"$ref": f"#/components/schemas/{name}"} for name in ("Other", "Row")]
        },
    }
    value = {
        "a": {"figure": None, "word": "in", "right": True},
        "b": {"figure": 2.5, "word": "in", "right": True},
        "c": {"figure": 3.5, "word": "in", "right": True},
    }
    tell_members(schemas, rows, value)
    told = schemas["Row"]["properties"]
    assert {name: each.get("examples") for name, each in told.items()} == {
        "figure": [2.5],
        "word": None,
        "right": None,
    }
