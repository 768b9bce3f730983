from __future__ import annotations

import html
import json
import logging
from collections.abc import Mapping
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.exceptions import ImATeapot, ServiceUnavailable

from decision.errors import OutOfRange
from service.app import create_app
from service.problems import PROBLEM_TYPES, problem_of
from service.store import SqlDecisionLog, StoreUnavailable
from tests.service.builders import body, plain_engine, service_settings

URL = "/v1/decisions"
ROOT = "http://localhost"
JSON = {"Content-Type": "application/json"}

CASES: dict[str, tuple[str, str, dict[str, Any], int, str]] = {
    "no such address": ("get", "/v1/nothing", {}, 404, "not-found"),
    "no such decision": ("get", f"{URL}/0", {}, 404, "not-found"),
    "no such problem": ("get", "/problems/none", {}, 404, "not-found"),
    "wrong method": ("delete", URL, {}, 405, "method-not-allowed"),
    "wrong method, wrong type": ("put", URL, {"data": "x"}, 405, "method-not-allowed"),
    "unacceptable": (
        "post",
        URL,
        {"json": body(), "headers": {"Accept": "image/png"}},
        406,
        "not-acceptable",
    ),
    "unacceptable read": (
        "get",
        f"{URL}/0",
        {"headers": {"Accept": "image/png"}},
        406,
        "not-acceptable",
    ),
    "too large": ("post", URL, {"data": b" " * 1_000_001, "headers": JSON}, 413, "too-large"),
    "no media type": ("post", URL, {"data": "{}"}, 415, "unsupported-media-type"),
    "form": ("post", URL, {"data": {"a": "b"}}, 415, "unsupported-media-type"),
    "compressed": (
        "post",
        URL,
        {"data": b"x", "headers": JSON | {"Content-Encoding": "gzip"}},
        415,
        "unsupported-media-type",
    ),
    "empty": ("post", URL, {"data": b"", "headers": JSON}, 400, "not-json"),
    "not JSON": ("post", URL, {"data": b"{'a': 1}", "headers": JSON}, 400, "not-json"),
    "NaN": ("post", URL, {"data": b'{"a": NaN}', "headers": JSON}, 400, "not-json"),
    "overflow": ("post", URL, {"data": b'{"a": 1e999}', "headers": JSON}, 400, "not-json"),
    "not UTF-8": ("post", URL, {"data": b'{"a": "\xff"}', "headers": JSON}, 400, "not-json"),
    "lone surrogate": (
        "post",
        URL,
        {"data": b'{"a": "\\ud800"}', "headers": JSON},
        400,
        "not-json",
    ),
    "deep": ("post", URL, {"data": b"[" * 100_000, "headers": JSON}, 400, "not-json"),
    "not an object": ("post", URL, {"json": [1]}, 422, "invalid-request"),
    "null": ("post", URL, {"data": b"null", "headers": JSON}, 422, "invalid-request"),
    "unknown field": ("post", URL, {"json": body(colour="red")}, 422, "invalid-request"),
    "unknown parameter": ("post", f"{URL}?recrod=false", {"json": body()}, 422, "invalid-request"),
    "not a flag": ("post", f"{URL}?record=no", {"json": body()}, 422, "invalid-request"),
    "flag twice": (
        "post",
        f"{URL}?record=true&record=false",
        {"json": body()},
        422,
        "invalid-request",
    ),
    "batch, wrong method": ("get", f"{URL}/batch", {}, 404, "not-found"),
    "batch, wrong type": ("post", f"{URL}/batch", {"json": body()}, 415, "unsupported-media-type"),
    "batch, unacceptable": (
        "post",
        f"{URL}/batch",
        {"data": b"", "headers": {"Content-Type": "application/jsonl", "Accept": "image/png"}},
        406,
        "not-acceptable",
    ),
    "batch, too large": (
        "post",
        f"{URL}/batch",
        {"data": b"\n" * 10_001, "headers": {"Content-Type": "application/jsonl"}},
        413,
        "too-large",
    ),
    "flight, wrong method": ("post", "/v1/flights/A/decisions", {}, 405, "method-not-allowed"),
    "flight, unacceptable": (
        "get",
        "/v1/flights/A/decisions",
        {"headers": {"Accept": "image/png"}},
        406,
        "not-acceptable",
    ),
    "flight, no limit": ("get", "/v1/flights/A/decisions?limit=0", {}, 422, "invalid-request"),
    "metrics, unknown parameter": ("get", "/metrics?a=1", {}, 422, "invalid-request"),
    "metrics, wrong method": ("post", "/metrics", {}, 405, "method-not-allowed"),
    "no such page": ("get", "/docs/none", {}, 404, "not-found"),
    "no such figure": ("get", "/docs/figures/none.svg", {}, 404, "not-found"),
    "docs, wrong method": ("put", "/docs", {}, 405, "method-not-allowed"),
    "unknown parameter elsewhere": ("get", "/healthz?x=1", {}, 422, "invalid-request"),
}


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_every_error_has_the_one_shape_and_nothing_is_recorded(
    client: FlaskClient, log: SqlDecisionLog, case: tuple[str, str, dict[str, Any], int, str]
) -> None:
    method, url, options, status, slug = case
    answer = client.open(url, method=method.upper(), **options)
    assert answer.status_code == status
    assert answer.mimetype == "application/problem+json"
    problem = json.loads(answer.data)
    assert list(problem) == [
        "type",
        "title",
        "status",
        "detail",
        "instance",
        "request_id",
        "errors",
    ]
    assert problem["type"] == f"{ROOT}/problems/{slug}"
    assert problem["status"] == status
    assert problem["request_id"] == answer.headers["X-Request-ID"]
    assert problem["instance"] == url.split("?")[0]
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert log.count() == 0


def test_the_methods_of_an_address_are_listed_when_another_is_used(client: FlaskClient) -> None:
    allow = client.delete(URL).headers["Allow"]
    assert set(allow.split(", ")) == {"POST", "OPTIONS"}


def test_the_offers_are_listed_when_none_is_acceptable(client: FlaskClient) -> None:
    answer = client.post(URL, json=body(), headers={"Accept": "image/png"})
    assert answer.get_json()["errors"][0]["accepted"] == "application/json, text/plain, text/html"


def test_the_limit_is_said_when_a_body_is_too_large(client: FlaskClient) -> None:
    answer = client.post(URL, data=b" " * 1_000_001, headers=JSON)
    assert answer.get_json()["detail"] == "The limit is 1000000 bytes."


@pytest.mark.parametrize("kind", PROBLEM_TYPES, ids=lambda kind: kind.slug)
def test_every_type_of_error_resolves_to_a_page_about_it(client: FlaskClient, kind: Any) -> None:
    page = client.get(kind.path)
    assert (page.status_code, page.mimetype) == (200, "text/html")
    assert kind.title in html.unescape(page.text)
    assert str(int(kind.status)) in page.text


@pytest.mark.parametrize(
    ("value", "code"),
    [
        ("60000", "type"),
        (True, "type"),
        (None, "required"),
        (-1, "range"),
        (700_001, "range"),
        ([60000], "type"),
        ({}, "type"),
    ],
)
def test_a_wrong_number_is_named_with_its_range(
    client: FlaskClient, value: object, code: str
) -> None:
    request = body()
    request["aircraft"]["mass_kg"] = value
    [error] = client.post(URL, json=request).get_json()["errors"]
    assert error["pointer"] == "/aircraft/mass_kg"
    assert error["code"] == code
    assert error["accepted"] == "a number from 0 to 700000 kg"


def test_every_fault_is_named_at_once(client: FlaskClient) -> None:
    request = body(as_of="yesterday", zeal=1, failures=[{"id": "engine-1", "since": 3}])
    pointers = {error["pointer"] for error in client.post(URL, json=request).get_json()["errors"]}
    assert pointers == {"/as_of", "/zeal", "/failures/0/since"}


def failing(error: Exception, tmp_path: Path, log: SqlDecisionLog) -> FlaskClient:
    def decide(_request: Mapping[str, Any]) -> Mapping[str, Any]:
        raise error

    engine = plain_engine(decide)
    return create_app(service_settings(tmp_path), engine=engine, log=log).test_client()


def test_an_unexpected_error_is_logged_and_says_nothing_to_the_caller(
    tmp_path: Path, log: SqlDecisionLog, caplog: pytest.LogCaptureFixture
) -> None:
    client = failing(RuntimeError("secret detail"), tmp_path, log)
    answer = client.post(URL, json=body())
    assert (answer.status_code, answer.get_json()["type"]) == (
        500,
        f"{ROOT}/problems/internal-error",
    )
    assert "secret" not in answer.text
    assert "secret detail" in caplog.text
    assert log.count() == 0


def test_a_quantity_outside_the_model_is_named_with_its_range(
    tmp_path: Path, log: SqlDecisionLog
) -> None:
    client = failing(OutOfRange("mach", 0.9, low=0.2, high=0.82), tmp_path, log)
    answer = client.post(URL, json=body())
    assert (answer.status_code, answer.get_json()["type"]) == (422, f"{ROOT}/problems/out-of-range")
    assert answer.get_json()["errors"] == [
        {"pointer": "", "code": "out_of_range", "message": "mach is 0.9", "accepted": "0.2 to 0.82"}
    ]


def test_a_store_that_does_not_answer_is_503_and_may_be_tried_again(
    tmp_path: Path, log: SqlDecisionLog
) -> None:
    answer = failing(StoreUnavailable("secret db down"), tmp_path, log).post(URL, json=body())
    assert answer.status_code == 503
    assert answer.headers["Retry-After"] == "1"
    assert "secret" not in answer.text


def test_headers_that_an_http_error_carries_are_kept(app: Any) -> None:
    with app.test_request_context(URL):
        problem = problem_of(ServiceUnavailable(retry_after=7))
    assert problem.headers == {"Retry-After": "7"}


def test_an_http_error_without_a_type_of_its_own_is_a_bad_request(app: Any) -> None:
    with app.test_request_context(URL):
        assert problem_of(ImATeapot()).kind.slug == "bad-request"


def test_one_line_is_logged_for_a_request(
    client: FlaskClient, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.INFO, logger="service.request"):
        answer = client.post(URL, json=body(), headers={"X-Request-ID": "abc-1"})
    [record] = [r for r in caplog.records if r.name == "service.request"]
    fields = record.fields  # type: ignore[attr-defined]
    assert answer.headers["X-Request-ID"] == fields["request_id"] == "abc-1"
    assert (fields["method"], fields["route"], fields["status"]) == ("POST", URL, 201)
    assert fields["decision_id"] == answer.get_json()["id"]
    assert fields["verdict"] == "NO_GO"
    assert fields["bytes"] == len(answer.data)


@pytest.mark.parametrize("forged", ["a b", "x" * 65, 'x"}', "é"])
def test_a_request_id_that_could_forge_a_line_is_replaced(client: FlaskClient, forged: str) -> None:
    answer = client.get("/healthz", headers={"X-Request-ID": forged})
    assert answer.headers["X-Request-ID"] != forged
    assert len(answer.headers["X-Request-ID"]) == 32


def test_a_body_in_chunks_is_not_cut_at_the_limit_but_refused(client: FlaskClient) -> None:
    content = json.dumps(body()).encode()
    chunked = {"wsgi.input_terminated": True, "HTTP_TRANSFER_ENCODING": "chunked"}
    stream = BytesIO(content.ljust(1_000_000) + b"and more")
    refused = client.post(URL, input_stream=stream, headers=JSON, environ_overrides=chunked)
    assert (refused.status_code, refused.get_json()["type"]) == (413, f"{ROOT}/problems/too-large")
    accepted = client.post(
        URL, input_stream=BytesIO(content), headers=JSON, environ_overrides=chunked
    )
    assert accepted.status_code == 201


# --- what is sent ---


@pytest.mark.parametrize(
    ("text", "pointers"),
    [
        ('{"flight_id": "A", "flight_id": "B"}', ["/flight_id"]),
        ('{"aircraft": {"mass_kg": 60000, "mass_kg": 50000}}', ["/aircraft/mass_kg"]),
        ('{"aircraft": {"mass_kg": 60000, "mass\\u005fkg": 60000}}', ["/aircraft/mass_kg"]),
        ('{"failures": [{}, {"id": "a", "id": "a"}]}', ["/failures/1/id"]),
        ('{"a": {"b/~": 1, "b/~": 2}, "c": 1, "c": 2}', ["/a/b~1~0", "/c"]),
    ],
)
def test_a_name_that_is_there_twice_is_refused_wherever_it_is(
    client: FlaskClient, text: str, pointers: list[str]
) -> None:
    answer = client.post(URL, data=text, headers=JSON)
    assert answer.status_code == 422
    errors = answer.get_json()["errors"]
    assert [(error["pointer"], error["code"]) for error in errors] == [
        (pointer, "doubled_name") for pointer in pointers
    ]


def test_a_doubled_name_in_a_line_of_a_batch_is_refused_and_the_others_go_on(
    client: FlaskClient,
) -> None:
    doubled = json.dumps(body()).replace('"mass_kg"', '"mass_kg": 1, "mass_kg"')
    lines = "\n".join([doubled, json.dumps(body())])
    answer = client.post(f"{URL}/batch", data=lines, headers={"Content-Type": "application/jsonl"})
    first, second, end = (json.loads(line) for line in answer.data.splitlines())
    assert first["errors"][0]["pointer"] == "/aircraft/mass_kg"
    assert first["type"] == f"{ROOT}/problems/invalid-request"
    assert second["verdict"] == "NO_GO"
    assert end == {"end": True, "count": 2}


@pytest.mark.parametrize(
    ("content", "where"),
    [
        (b"{'a': 1}", "Line 1, column 2: "),
        (b'{\n "a": NaN\n}', "Line 2, column 7: "),
        (b'{"a":\n -Infinity}', "Line 2, column "),
        (b'{"a": 1}\n{"b": 2}', "Line 2, column 1: "),
        (b'{"a":\n "\xff"}', "Line 2, column 3: not UTF-8"),
        (b"[" * 1000 + b"]" * 1000, "Line 1, column 1: nested too deeply"),
        (b"", "Line 1, column 1: "),
    ],
)
def test_what_is_not_json_is_told_with_its_line_and_column(
    client: FlaskClient, content: bytes, where: str
) -> None:
    answer = client.post(URL, data=content, headers=JSON)
    assert answer.status_code == 400
    assert answer.get_json()["detail"].startswith(where)


@pytest.mark.parametrize(
    "text",
    [
        '{"a": ' + "9" * 5000 + "}",
        "[" * 850 + '{"a": 1, "a": 1}' + "]" * 850,
        "[" * 500 + "]" * 500,
    ],
    ids=["long number", "doubled deep inside", "deep"],
)
def test_a_strange_body_is_no_failure_of_the_service(client: FlaskClient, text: str) -> None:
    assert client.post(URL, data=text, headers=JSON).status_code in {400, 422}


@pytest.mark.parametrize(
    ("url", "accepted"),
    [(URL, "application/json"), (f"{URL}/batch", "application/x-ndjson or application/jsonl")],
)
def test_a_wrong_media_type_is_told_what_to_send(
    client: FlaskClient, url: str, accepted: str
) -> None:
    headers = {"Content-Type": "text/csv", "Content-Encoding": "br"}
    problem = client.post(url, data=b"a", headers=headers).get_json()
    assert problem["detail"] == (
        f"Send the body with Content-Type: {accepted}, without a content coding."
    )
    kind, coding = problem["errors"]
    assert (kind["pointer"], kind["message"], kind["accepted"]) == (
        "Content-Type:",
        "is text/csv",
        accepted,
    )
    assert coding["pointer"] == "Content-Encoding:"


@pytest.mark.parametrize("accept", ["*", "*; q=.2", "text/html, image/gif, *; q=.2"])
def test_a_bare_star_accepts_anything(client: FlaskClient, accept: str) -> None:
    assert client.get("/healthz", headers={"Accept": accept}).status_code == 200


def test_a_star_of_no_weight_accepts_nothing(client: FlaskClient) -> None:
    assert client.get("/healthz", headers={"Accept": "*; q=0"}).status_code == 406


def test_the_errors_of_a_problem_are_bounded_and_their_number_is_told(client: FlaskClient) -> None:
    query = "&".join(f"a{number}" for number in range(300))
    problem = client.get(f"/healthz?{query}").get_json()
    assert len(problem["errors"]) == 100
    assert problem["detail"] == "The request has 300 faults; see errors."
    assert problem["errors"][-1]["message"] == "201 more faults are not told"


def test_a_misspelt_parameter_is_told_which_one_is_near(client: FlaskClient) -> None:
    [error] = client.post(f"{URL}?recrod=false", json=body()).get_json()["errors"]
    assert error["message"] == "no such parameter; did you mean 'record'?"
    [error] = client.post(f"{URL}?colour=red", json=body()).get_json()["errors"]
    assert error["message"] == "no such parameter"


def test_every_fault_of_a_query_is_named_at_once(client: FlaskClient) -> None:
    problem = client.get("/v1/flights/A/decisions?limit=0&befor=x&before=a&before=b").get_json()
    pointers = [error["pointer"] for error in problem["errors"]]
    assert sorted(pointers) == ["?befor", "?before", "?limit"]


# --- where a type of error is explained ---


def test_a_type_of_error_is_absolute_and_is_found_where_the_request_went(
    client: FlaskClient,
) -> None:
    answer = client.get("/none", base_url="https://ops.example:8443")
    assert answer.get_json()["type"] == "https://ops.example:8443/problems/not-found"


def test_a_type_of_error_begins_with_the_public_address_that_is_set(
    tmp_path: Path, log: SqlDecisionLog
) -> None:
    settings = service_settings(tmp_path, APPROACH_PUBLIC_ADDRESS="https://ops.example/approach/")
    client = create_app(settings, engine=plain_engine(), log=log).test_client()
    kind = "https://ops.example/approach/problems/not-found"
    assert client.get("/none").get_json()["type"] == kind
    assert kind in client.get("/problems/not-found").text


def test_a_type_of_error_is_told_as_json_to_whoever_asks_for_that(client: FlaskClient) -> None:
    answer = client.get("/problems/not-json", headers={"Accept": "application/json"}).get_json()
    assert (answer["slug"], answer["status"]) == ("not-json", 400)
    assert "RFC 8259" in answer["meaning"]


def test_a_type_of_error_has_the_place_where_the_service_is_mounted(client: FlaskClient) -> None:
    mounted = {"SCRIPT_NAME": "/approach"}
    answer = client.get("/none", environ_overrides=mounted)
    assert answer.get_json()["type"] == f"{ROOT}/approach/problems/not-found"


def test_the_path_in_a_problem_can_be_followed(client: FlaskClient) -> None:
    assert client.get("/v1/a b/é").get_json()["instance"] == "/v1/a%20b/%C3%A9"


@pytest.mark.parametrize(
    ("path", "varies"), [("/", True), ("/problems/not-json", True), ("/healthz", False)]
)
def test_what_comes_in_several_forms_says_that_it_varies(
    client: FlaskClient, path: str, varies: bool
) -> None:
    assert ("Accept" in client.get(path).vary) is varies
