from __future__ import annotations

import json
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
from schemathesis.specs.openapi.checks import positive_data_acceptance

from decision.case.spec import Record
from service.negotiation import JSON_LINES
from service.openapi import demo_cases, main, rendered
from service.operations import OPERATIONS, Operation
from service.resources.operation import API_DOCUMENT

DOCUMENT = json.loads(API_DOCUMENT.read_bytes())
FUZZED_EXAMPLES = 40


@schemathesis.serializer(*JSON_LINES)
def as_lines(_context: Any, value: Any) -> bytes:
    """A generated body of lines as it is sent: text already."""
    return str(value).encode()


def schema_errors(name: str, answer: object) -> list[str]:
    """What an answer breaks of the schema that the document gives it."""
    root = {"$ref": f"#/components/schemas/{name}", "components": DOCUMENT["components"]}
    errors = Draft202012Validator(root).iter_errors(answer)
    return [f"{error.json_path}: {error.message[:200]}" for error in errors]


def test_the_committed_document_is_what_the_shapes_and_the_operations_make() -> None:
    assert API_DOCUMENT.read_bytes() == rendered(), "run: python -m service.openapi"


def test_the_document_is_written_where_it_is_asked_for(tmp_path: Path) -> None:
    assert main(tmp_path / "openapi.json") == 0
    assert (tmp_path / "openapi.json").read_bytes() == API_DOCUMENT.read_bytes()


def test_the_document_is_valid_openapi() -> None:
    validate(DOCUMENT)


def test_the_service_hands_out_the_committed_document(client: FlaskClient) -> None:
    assert client.get("/openapi.json").data == API_DOCUMENT.read_bytes()


def test_every_route_is_in_the_document_and_the_other_way_round(app: Flask) -> None:
    routed = {
        (method.lower(), rule.rule.replace("<", "{").replace(">", "}"))
        for rule in app.url_map.iter_rules()
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}
    }
    renamed = {(method, path.replace("{identity}", "{id}")) for method, path in routed}
    assert renamed == {(operation.method, operation.path) for operation in OPERATIONS}


SHAPES = [operation.shape for operation in OPERATIONS if operation.shape is not None]


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: shape.name)
def test_every_field_of_a_request_is_documented_with_its_meaning(shape: Record) -> None:
    documented = DOCUMENT["components"]["schemas"][shape.name]
    assert documented["additionalProperties"] is False
    assert list(documented["properties"]) == [member.name for member in shape.fields]
    for member in shape.fields:
        assert documented["properties"][member.name]["description"] == member.doc


def test_the_range_and_unit_of_a_number_are_documented() -> None:
    mass = DOCUMENT["components"]["schemas"]["Aircraft"]["properties"]["mass_kg"]
    assert (mass["minimum"], mass["maximum"], mass["x-unit"]) == (0, 700_000, "kg")


@pytest.mark.parametrize("name", list(demo_cases()))
def test_a_demo_case_is_an_example_and_gets_the_documented_answer(
    real_client: FlaskClient, name: str
) -> None:
    body = DOCUMENT["paths"]["/v1/decisions"]["post"]["requestBody"]["content"]
    example = body["application/json"]["examples"][name]["value"]
    assert schema_errors("Case", example) == []
    answer = real_client.post("/v1/decisions?record=false", json=example)
    assert answer.status_code == 200
    assert schema_errors("Decision", answer.get_json()) == []


def test_everything_that_can_be_included_has_the_documented_form(real_client: FlaskClient) -> None:
    case: Any = demo_cases()["gear-stuck"]
    case = case | {"include": ["flip_points", "uncertainty", "steps"], "compare_rulebooks": True}
    answer = real_client.post("/v1/decisions?record=false", json=case)
    assert schema_errors("Decision", answer.get_json()) == []
    assert answer.get_json()["flip_points"]
    assert answer.get_json()["uncertainty"]
    assert answer.get_json()["courses"][0]["steps"]


@pytest.mark.parametrize(
    "operation",
    [operation for operation in OPERATIONS if operation.example is not None],
    ids=lambda operation: operation.id,
)
def test_the_example_of_a_tool_gets_the_documented_answer(
    real_client: FlaskClient, operation: Operation
) -> None:
    answer = real_client.post(operation.path, json=operation.example)
    assert answer.status_code == 200
    assert schema_errors(operation.answer, answer.get_json()) == []


@pytest.mark.parametrize(
    ("path", "name"),
    [
        ("/v1/profiles", "Profiles"),
        ("/v1/profiles/xtj150", "Profile"),
        ("/v1/rulebooks", "Rulebooks"),
        ("/v1/rulebooks/easa", "Rulebook"),
        ("/v1/aerodromes/XMON", "LoadedAerodrome"),
        ("/healthz", "Alive"),
        ("/readyz", "Ready"),
    ],
)
def test_what_is_read_has_the_documented_form(
    real_client: FlaskClient, path: str, name: str
) -> None:
    answer = real_client.get(path)
    assert answer.status_code == 200
    assert schema_errors(name, answer.get_json()) == []


def test_the_example_of_a_batch_gets_lines_of_the_documented_form(
    real_client: FlaskClient,
) -> None:
    content = DOCUMENT["paths"]["/v1/decisions/batch"]["post"]["requestBody"]["content"]
    assert content
    for form, media in content.items():
        text = media["examples"]["two cases"]["value"] + "\n{"
        answer = real_client.post("/v1/decisions/batch", data=text.encode(), content_type=form)
        lines = [json.loads(line) for line in answer.data.splitlines()]
        assert len(lines) == 4
        assert [schema_errors("BatchLine", line) for line in lines] == [[]] * 4


def test_errors_have_the_documented_form(real_client: FlaskClient) -> None:
    answer = real_client.post("/v1/decisions", json={"flight_id": 3})
    assert schema_errors("Problem", json.loads(answer.data)) == []


@pytest.mark.parametrize(
    ("operation", "mode"),
    [
        *((operation, GenerationMode.POSITIVE) for operation in OPERATIONS),
        *((each, GenerationMode.NEGATIVE) for each in OPERATIONS if each.shape is not None),
    ],
    ids=lambda each: each.id if isinstance(each, Operation) else each.value,
)
def test_no_generated_request_gets_an_undocumented_answer(
    real_app: Flask, operation: Operation, mode: GenerationMode
) -> None:
    api = schemathesis.openapi.from_wsgi("/openapi.json", real_app)
    fuzzed = api[operation.path][operation.method]

    # A body of the right shape may still name what is not loaded or contradict itself: that is a
    # documented 422, so acceptance of every such body is the one thing that is not asked. The
    # generator of wrong bodies throws those away that a change left right: of a big shape, many.
    @given(fuzzed.as_strategy(generation_mode=mode))
    @settings(
        max_examples=FUZZED_EXAMPLES,
        derandomize=True,
        deadline=None,
        database=None,
        suppress_health_check=[HealthCheck.filter_too_much],
    )
    def holds(case: Any) -> None:
        case.call_and_validate(excluded_checks=[positive_data_acceptance])

    holds()
