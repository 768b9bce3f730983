from __future__ import annotations

import base64
import hashlib
import json
import threading
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from decision.errors import Fault, InvalidCase
from service.app import create_app
from service.store import SqlDecisionLog
from tests.case.builders import demo
from tests.service.builders import (
    body,
    plain_answer,
    plain_engine,
    service_settings,
)

URL = "/v1/decisions"


def app_with(tmp_path: Path, log: SqlDecisionLog, decide: Any = plain_answer) -> Flask:
    return create_app(service_settings(tmp_path), engine=plain_engine(decide), log=log)


def test_a_decision_is_created_and_can_be_read_back_byte_for_byte(client: FlaskClient) -> None:
    created = client.post(URL, json=body())
    assert created.status_code == 201
    identity = created.get_json()["id"]
    assert created.headers["Location"] == f"{URL}/{identity}"
    read = client.get(created.headers["Location"])
    assert read.status_code == 200
    assert read.data == created.data
    assert read.headers["ETag"] == f'"{hashlib.sha256(created.data).hexdigest()}"'


def test_what_is_not_recorded_has_no_id_and_the_same_bytes_otherwise(
    client: FlaskClient, log: SqlDecisionLog
) -> None:
    recorded = client.post(URL, json=body())
    unrecorded = client.post(f"{URL}?record=false", json=body())
    assert unrecorded.status_code == 200
    assert "Location" not in unrecorded.headers
    identity = f'"{recorded.get_json()["id"]}"'.encode()
    assert unrecorded.data == recorded.data.replace(identity, b"null", 1)
    assert log.count() == 1


def test_an_unchanged_decision_is_not_sent_again(client: FlaskClient) -> None:
    location = client.post(URL, json=body()).headers["Location"]
    etag = client.get(location).headers["ETag"]
    again = client.get(location, headers={"If-None-Match": etag})
    assert (again.status_code, again.data) == (304, b"")
    assert again.headers["ETag"] == etag
    assert client.get(location, headers={"If-None-Match": '"other"'}).status_code == 200


@pytest.mark.parametrize(
    ("accept", "media_type", "start"),
    [
        (None, "application/json", b'{"id":'),
        ("*/*", "application/json", b'{"id":'),
        ("application/json", "application/json", b'{"id":'),
        ("text/plain", "text/plain", b"NO_GO: Divert now & stay clean <before> extension\n"),
    ],
)
def test_the_answer_comes_in_the_form_that_is_accepted(
    client: FlaskClient, accept: str | None, media_type: str, start: bytes
) -> None:
    headers = {} if accept is None else {"Accept": accept}
    answer = client.post(URL, json=body(), headers=headers)
    assert answer.status_code == 201
    assert answer.mimetype == media_type
    assert answer.data.startswith(start)
    assert "Accept" in answer.vary


@pytest.mark.parametrize(
    "accept", ["text/html,application/xhtml+xml,*/*;q=0.8", "text/plain;q=0.5,text/html"]
)
def test_a_browser_gets_the_page(real_client: FlaskClient, accept: str) -> None:
    page = real_client.post(URL, json=demo("gear-stuck"), headers={"Accept": accept})
    assert (page.status_code, page.mimetype) == (201, "text/html")
    assert page.data.startswith(b"<!doctype html>")
    assert "Accept" in page.vary


def test_each_form_has_its_own_strong_etag(real_client: FlaskClient) -> None:
    location = real_client.post(URL, json=demo("gear-stuck")).headers["Location"]
    forms = ("application/json", "text/plain", "text/html")
    answers = [real_client.get(location, headers={"Accept": form}) for form in forms]
    assert len({answer.headers["ETag"] for answer in answers}) == len(forms)
    for answer in answers:
        assert answer.headers["ETag"] == f'"{hashlib.sha256(answer.data).hexdigest()}"'


def test_the_page_escapes_text_and_loads_nothing(real_client: FlaskClient) -> None:
    wanted = demo("gear-stuck")
    wanted["weather"]["reports"][0] += " <b>&amp;"
    page = real_client.post(URL, json=wanted, headers={"Accept": "text/html"})
    assert b" &lt;b&gt;&amp;amp;" in page.data
    assert b"<b>&amp;" not in page.data
    assert page.headers["Content-Security-Policy"].startswith("default-src 'none'; style-src 'sha")
    assert b"http" not in page.data.split(b"</style>")[1]


def test_the_style_of_the_page_is_what_its_policy_allows(real_client: FlaskClient) -> None:
    page = real_client.post(URL, json=demo("gear-stuck"), headers={"Accept": "text/html"})
    style = page.data.split(b"<style>")[1].split(b"</style>")[0]
    allowed = base64.b64encode(hashlib.sha256(style).digest()).decode()
    assert f"'sha256-{allowed}'" in page.headers["Content-Security-Policy"]
    assert b"style=" not in page.data


def test_the_same_key_and_body_gets_the_same_bytes_and_status(
    client: FlaskClient, log: SqlDecisionLog
) -> None:
    first, second = (
        client.post(URL, json=body(), headers={"Idempotency-Key": key}) for key in ("k-1", '"k-1"')
    )
    assert (second.status_code, second.data) == (first.status_code, first.data) == (201, first.data)
    assert second.headers["Location"] == first.headers["Location"]
    assert log.count() == 1


def test_a_replay_answers_in_the_form_now_accepted(client: FlaskClient) -> None:
    key = {"Idempotency-Key": "k-1"}
    client.post(URL, json=body(), headers=key)
    text = client.post(URL, json=body(), headers=key | {"Accept": "text/plain"})
    assert (text.status_code, text.mimetype) == (201, "text/plain")


def test_the_same_key_with_another_body_is_refused(
    client: FlaskClient, log: SqlDecisionLog
) -> None:
    client.post(URL, json=body(), headers={"Idempotency-Key": "k-1"})
    other = client.post(URL, json=body(flight_id="XA 102"), headers={"Idempotency-Key": "k-1"})
    assert other.status_code == 422
    assert other.get_json()["type"] == "http://localhost/problems/key-reused"
    assert log.count() == 1


@pytest.mark.parametrize("key", ["", "with space", 'in"side', "k" * 256, "k\\"])
def test_a_key_that_is_not_one_is_refused(client: FlaskClient, key: str) -> None:
    answer = client.post(URL, json=body(), headers={"Idempotency-Key": key})
    assert answer.status_code == 422
    assert answer.get_json()["errors"][0]["pointer"] == "Idempotency-Key:"


def test_two_requests_with_one_key_at_once_decide_once(tmp_path: Path, log: SqlDecisionLog) -> None:
    started, finish = threading.Event(), threading.Event()

    def slow(request: Mapping[str, Any]) -> Mapping[str, Any]:
        started.set()
        assert finish.wait(10)
        return plain_answer(request)

    app = app_with(tmp_path, log, slow)
    answers: list[Any] = []
    key = {"Idempotency-Key": "k-1"}
    first = threading.Thread(
        target=lambda: answers.append(app.test_client().post(URL, json=body(), headers=key))
    )
    first.start()
    assert started.wait(10)
    second = app.test_client().post(URL, json=body(), headers=key)
    finish.set()
    first.join(10)
    assert second.status_code == 409
    assert second.headers["Retry-After"] == "1"
    assert answers[0].status_code == 201
    assert app.test_client().post(URL, json=body(), headers=key).data == answers[0].data


def test_a_refused_case_is_not_recorded_and_gives_its_key_back(
    tmp_path: Path, log: SqlDecisionLog
) -> None:
    fault = Fault(pointer="/fuel/on_board_kg", code="sense", message="too much", accepted="less")

    def refusing(request: Mapping[str, Any]) -> Mapping[str, Any]:
        if request["fuel"]["on_board_kg"] > 5_000:
            raise InvalidCase((fault,))
        return plain_answer(request)

    client = app_with(tmp_path, log, refusing).test_client()
    key = {"Idempotency-Key": "k-1"}
    refused = client.post(URL, json=body(), headers=key)
    assert refused.status_code == 422
    assert refused.get_json()["errors"] == [
        {"pointer": "/fuel/on_board_kg", "code": "sense", "message": "too much", "accepted": "less"}
    ]
    assert log.count() == 0
    corrected = client.post(URL, json=body(fuel={"on_board_kg": 5_000}), headers=key)
    assert corrected.status_code == 201


def test_an_answer_with_a_number_that_is_not_finite_is_never_sent(
    tmp_path: Path, log: SqlDecisionLog
) -> None:
    def broken(request: Mapping[str, Any]) -> Mapping[str, Any]:
        return plain_answer(request) | {"courses": [{"margin_kg": float("nan")}]}

    answer = app_with(tmp_path, log, broken).test_client().post(URL, json=body())
    assert answer.status_code == 500
    assert log.count() == 0


def test_the_request_is_kept_and_told_as_it_was_sent(client: FlaskClient) -> None:
    sent = json.dumps(body(), indent=3).encode()
    location = client.post(URL, data=sent, content_type="application/json").headers["Location"]
    told = client.get(f"{location}/request")
    assert (told.status_code, told.mimetype, told.data) == (200, "application/json", sent)
    again = client.get(f"{location}/request", headers={"If-None-Match": told.headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")


def test_a_decision_that_is_not_recorded_has_no_request(client: FlaskClient) -> None:
    assert client.get(f"{URL}/none/request").status_code == 404


def test_later_decisions_sort_later(client: FlaskClient) -> None:
    identities = [client.post(URL, json=body()).get_json()["id"] for _ in range(3)]
    assert identities == sorted(identities)
