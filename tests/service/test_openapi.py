from __future__ import annotations

import json
import os
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import HealthCheck, given, settings
from jsonschema import Draft202012Validator
from openapi_spec_validator import validate
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import positive_data_acceptance

from decision.case.spec import RecordSpec
from decision.rulebooks.rulebook import rulebook_ids
from service import routes_table
from service.address import View
from service.app import create_app
from service.clock import utc_now
from service.door.opening import opened_access
from service.examples import DEMOS
from service.keytext import new_key
from service.negotiation import EVENT_STREAM
from service.openapi import EXAMPLES, main, published, rendered, schema_of_any
from service.resources import VIEWS
from service.resources.operation import API_DOCUMENT
from service.scopes import GIVEN as SCOPES
from service.store import SqlDecisionLog
from service.store.access import NewKey
from tests.counts import in_proportion
from tests.service import lines_sent as lines_sent  # noqa: PLC0414 - it registers itself
from tests.service.builders import service_settings

DOCUMENT = json.loads(API_DOCUMENT.read_bytes())
FUZZED_EXAMPLES = in_proportion(12)  # of each address, right ones and wrong ones


def schema_errors(name: str, answer: object) -> list[str]:
    """What an answer breaks of the schema that the document gives it."""
    return breaks({"$ref": f"#/components/schemas/{name}"}, answer)


def breaks(schema: dict[str, Any], answer: object) -> list[str]:
    root = schema | {"components": DOCUMENT["components"]}
    errors = Draft202012Validator(root).iter_errors(answer)
    return [f"{error.json_path}: {error.message[:200]}" for error in errors]


def shown(media: dict[str, Any], *names: str) -> list[Any]:
    """The examples of a media type, all or the named, as the components have them."""
    components = DOCUMENT["components"]["examples"]
    told = media["examples"]
    return [
        components[told[name]["$ref"].removeprefix(EXAMPLES)]["value"] for name in names or told
    ]


CASES_ASKED = DOCUMENT["paths"]["/v1/decisions"]["post"]["requestBody"]["content"]


def test_the_committed_document_is_what_the_shapes_and_the_operations_make() -> None:
    assert API_DOCUMENT.read_bytes() == rendered(), "run: python -m service.openapi"


def test_the_document_is_written_where_it_is_asked_for(tmp_path: Path) -> None:
    assert main(tmp_path / "openapi.json") == 0
    assert (tmp_path / "openapi.json").read_bytes() == API_DOCUMENT.read_bytes()


def test_the_document_is_valid_openapi() -> None:
    validate(DOCUMENT)


def references(value: Any) -> Iterator[str]:
    """What is named by its place in the document."""
    inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    if isinstance(value, dict) and isinstance(value.get("$ref"), str):
        yield value["$ref"]
    for each in inner:
        yield from references(each)


def test_what_the_document_names_by_its_place_is_there() -> None:
    """The validator follows no reference of a body that is no JSON."""
    named = {each.removeprefix("#/components/") for each in references(DOCUMENT)}
    assert len(named) > 200
    told = {f"{kind}/{name}" for kind, all_ in DOCUMENT["components"].items() for name in all_}
    assert named <= told


@pytest.mark.parametrize("page", routes_table.PAGES, ids=lambda page: page.name)
def test_the_table_of_addresses_is_what_the_views_make(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    assert text == routes_table.with_table(text), "run: python -m service.openapi"
    assert all(f"{each.address.method} {each.address.template}`" in text for each in VIEWS)


def test_a_page_without_the_table_is_refused() -> None:
    with pytest.raises(ValueError, match="one table"):
        routes_table.with_table("# Title")


def members(schema: Any, where: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """Every member of every object in a schema, with its place."""
    match schema:
        case list():
            for each in schema:
                yield from members(each, where)
        case {"properties": dict() as properties}:
            for name, inner in properties.items():
                yield f"{where}/{name}", inner
                yield from members(inner, f"{where}/{name}")
        case dict():
            for name in ("items", "anyOf", "additionalProperties"):
                yield from members(schema.get(name), f"{where}/{name}")


PUBLISHED = published()


def test_every_member_of_every_answer_has_a_meaning() -> None:
    told = [each for name, schema in PUBLISHED.items() for each in members(schema, name)]
    assert len(told) > 500
    assert [where for where, schema in told if not schema.get("description")] == []


def test_every_object_of_an_answer_is_closed_and_whole() -> None:
    objects = [schema for schema in PUBLISHED.values() if "properties" in schema]
    assert len(objects) > 50
    assert all(schema["additionalProperties"] is False for schema in objects)
    assert all(set(schema["required"]) == set(schema["properties"]) for schema in objects)


def test_the_service_hands_out_the_committed_document(client: FlaskClient) -> None:
    assert client.get("/openapi.json").data == API_DOCUMENT.read_bytes()


def test_every_route_is_in_the_document_and_the_other_way_round(app: Flask) -> None:
    routed = {
        (method.lower(), re.sub(r"<(?:\w+:)?(\w+)>", r"{\1}", rule.rule))
        for rule in app.url_map.iter_rules()
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}
    }
    paths = DOCUMENT["paths"]
    assert routed == {(method, path) for path, methods in paths.items() for method in methods}


SHAPES = [view.address.body for view in VIEWS if view.address.body is not None]


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: shape.name)
def test_every_field_of_a_request_is_documented_with_its_meaning(shape: RecordSpec) -> None:
    documented = DOCUMENT["components"]["schemas"][shape.name]
    assert documented["additionalProperties"] is False
    assert list(documented["properties"]) == [member.name for member in shape.fields]
    for member in shape.fields:
        assert documented["properties"][member.name]["description"] == member.doc


def test_the_range_and_unit_of_a_number_are_documented() -> None:
    mass = DOCUMENT["components"]["schemas"]["Aircraft"]["properties"]["mass_kg"]
    assert (mass["minimum"], mass["maximum"], mass["x-unit"]) == (0, 700_000, "kg")


@pytest.mark.parametrize("name", list(DEMOS))
def test_a_demo_case_is_an_example_and_gets_the_documented_answer(
    real_client: FlaskClient, name: str
) -> None:
    [example] = shown(CASES_ASKED["application/json"], name)
    assert schema_errors("Case", example) == []
    answer = real_client.post("/v1/decisions?record=false", json=example)
    assert answer.status_code == 200
    assert schema_errors("Answer", answer.get_json()) == []


def test_everything_that_can_be_included_has_the_documented_form(real_client: FlaskClient) -> None:
    case: Any = DEMOS["gear-stuck"]
    included = ["flip_points", "uncertainty", "steps", "ahead"]
    case = case | {"include": included, "compare_rulebooks": True}
    answer = real_client.post("/v1/decisions?record=false", json=case)
    assert schema_errors("Answer", answer.get_json()) == []
    assert answer.get_json()["flip_points"]
    assert answer.get_json()["uncertainty"]
    assert answer.get_json()["fuel_ahead"]
    assert answer.get_json()["courses"][0]["steps"]


@pytest.mark.parametrize(
    "view",
    [view for view in VIEWS if view.address.example is not None and view.address.tag == "tools"],
    ids=lambda view: view.id,
)
def test_the_example_of_a_tool_gets_the_documented_answer(
    real_client: FlaskClient, view: View
) -> None:
    answer = real_client.post(view.address.path, json=view.address.example)
    assert answer.status_code == 200
    assert breaks(schema_of_any(view.answers), answer.get_json()) == []


READ = [
    "/",
    "/v1/profiles",
    "/v1/profiles/xtj150",
    "/v1/profiles/xtwide",
    "/v1/rulebooks",
    *(f"/v1/rulebooks/{id}" for id in rulebook_ids()),
    "/v1/demos",
    "/v1/aerodromes",
    "/v1/aerodromes/XMON",
    "/healthz",
    "/readyz",
]


@pytest.mark.parametrize("path", READ)
def test_what_is_read_has_the_documented_form(
    real_app: Flask, real_client: FlaskClient, path: str
) -> None:
    answer = real_client.get(path)
    assert answer.status_code == 200
    rule, _ = real_app.url_map.bind("").match(path, return_rule=True)
    [view] = [view for view in VIEWS if view.id == rule.endpoint]
    assert breaks(schema_of_any(view.answers), answer.get_json()) == []


def test_the_example_of_a_batch_gets_lines_of_the_documented_form(
    real_client: FlaskClient,
) -> None:
    batch = DOCUMENT["paths"]["/v1/decisions/batch"]["post"]
    sent = batch["requestBody"]["content"]
    assert sent
    for form, media in batch["responses"]["200"]["content"].items():
        [text] = shown(sent[form])
        text += "\n{"
        answer = real_client.post("/v1/decisions/batch", data=text.encode(), content_type=form)
        lines = [json.loads(line) for line in answer.data.splitlines()]
        assert len(lines) == 4
        assert [breaks(media["x-line-schema"], line) for line in lines] == [[]] * 4


def test_errors_have_the_documented_form(real_client: FlaskClient) -> None:
    answer = real_client.post("/v1/decisions", json={"flight_id": 3})
    assert schema_errors("ProblemDocument", json.loads(answer.data)) == []


@pytest.fixture
def keyed(tmp_path: Path, log: SqlDecisionLog) -> Iterator[tuple[Flask, dict[str, str]]]:
    """The installed application behind its door, and a key in the head of a request."""
    settings = service_settings(
        tmp_path,
        APPROACH_HOST="0.0.0.0",  # noqa: S104 - never listened on
        APPROACH_BATCH_PROCESSES="1",
        APPROACH_REQUESTS_PER_MINUTE="0",
    )
    key, access = new_key(os.urandom), opened_access(settings)
    every = frozenset(SCOPES)
    made = NewKey(identifier=key.identifier, name="test", scopes=every, digest=key.digest)
    access.create(made, by="test", at=utc_now())
    yield create_app(settings, log=log), {"Authorization": f"Bearer {key.text}"}
    access.close()


@pytest.mark.parametrize(
    ("view", "mode"),
    [
        *((view, GenerationMode.POSITIVE) for view in VIEWS),
        *((view, GenerationMode.NEGATIVE) for view in VIEWS if view.address.body is not None),
    ],
    ids=lambda each: each.id if isinstance(each, View) else each.value,
)
def test_no_generated_request_gets_an_undocumented_answer(
    keyed: tuple[Flask, dict[str, str]], view: View, mode: GenerationMode
) -> None:
    app, headers = keyed
    api = schemathesis.openapi.from_wsgi("/openapi.json", app, headers=headers)
    fuzzed = api[view.address.template][view.address.method]
    # Streams need a server of our own: without one the answer is a 503, in the documented form.
    streams = [not_a_server_error] if EVENT_STREAM in view.address.forms else []
    not_asked = [positive_data_acceptance, *streams]

    # A body of the right shape may still name what is not loaded or contradict itself: that is a
    # documented 422, so acceptance of every such body is the one thing that is not asked. The
    # generator of wrong bodies throws those away that a change left right: of a big shape, many.
    @given(fuzzed.as_strategy(generation_mode=mode))
    @settings(
        max_examples=FUZZED_EXAMPLES,
        derandomize=True,
        deadline=None,
        database=None,
        suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow],
    )
    def holds(case: Any) -> None:
        # The caller in the same process offers to unpack and does not: it must not offer.
        case.headers = {**(case.headers or {}), "Accept-Encoding": "identity"}
        case.call_and_validate(headers=headers, excluded_checks=not_asked)

    holds()
