"""One request cannot take a server process for itself: it ends, or waits for its turn."""

from __future__ import annotations

import json
import threading
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from service.app import create_app
from service.bounds import Busy, Overtime, Turnstile, is_dear, limit_of
from service.engine import installed_engine
from service.store import SqlDecisionLog
from tests.case.builders import demo
from tests.service.builders import body, plain_answer, plain_engine, service_settings

URL = "/v1/decisions"


def of_no_time(tmp_path: Path, log: SqlDecisionLog) -> FlaskClient:
    """A service whose decisions may take no processor time at all."""
    engine = installed_engine(seconds=0.0)
    return create_app(service_settings(tmp_path), engine=engine, log=log).test_client()


@pytest.mark.parametrize("record", ["true", "false"])
def test_a_decision_that_takes_too_long_ends_and_records_nothing(
    tmp_path: Path, log: SqlDecisionLog, record: str
) -> None:
    client = of_no_time(tmp_path, log)
    answer = client.post(f"{URL}?record={record}", json=demo("gear-stuck"))
    assert (answer.status_code, answer.mimetype) == (503, "application/problem+json")
    assert "0 s of processor time" in answer.get_json()["detail"]
    assert "Retry-After" not in answer.headers  # it would take as long again
    assert log.count() == 0


def test_the_key_of_a_decision_that_was_ended_is_free_again(
    tmp_path: Path, log: SqlDecisionLog
) -> None:
    headers = {"Idempotency-Key": "evening"}
    assert (
        of_no_time(tmp_path, log).post(URL, json=demo("choice"), headers=headers).status_code == 503
    )
    settings = service_settings(tmp_path)
    again = create_app(settings, log=log).test_client()
    assert again.post(URL, json=demo("choice"), headers=headers).status_code == 201


def test_a_line_of_a_batch_that_takes_too_long_says_so(tmp_path: Path, log: SqlDecisionLog) -> None:
    answer = of_no_time(tmp_path, log).post(
        f"{URL}/batch",
        data=json.dumps(demo("choice")).encode(),
        headers={"Content-Type": "application/x-ndjson"},
    )
    line, end = [json.loads(each) for each in answer.data.splitlines()]
    assert (line["line"], line["status"]) == (1, 503)
    assert end == {"end": True, "count": 1}


def test_the_limit_is_of_the_thread_that_decides() -> None:
    heed = limit_of(0.02)
    heed()
    with ThreadPoolExecutor(1) as other:
        other.submit(sum, range(3_000_000)).result()
    heed()  # what another thread does is not counted
    sum(range(5_000_000))
    with pytest.raises(Overtime):
        heed()


@pytest.mark.parametrize(
    ("changes", "dear"),
    [
        ({}, False),
        ({"include": ["findings", "steps"]}, False),
        ({"include": ["flip_points"]}, True),
        ({"include": ["ahead", "steps"]}, True),
        ({"compare_rulebooks": True}, True),
        ({"compare_rulebooks": False}, False),
        ({"alternates": [{}] * 5}, False),
        ({"alternates": [{}] * 6}, True),
        ({"include": 3, "alternates": "many"}, False),
    ],
)
def test_what_asks_for_much_is_dear(changes: dict[str, Any], *, dear: bool) -> None:
    assert is_dear(changes) is dear


def test_a_gate_lets_in_so_many_and_others_when_one_is_done() -> None:
    gate, asked = Turnstile(1, wait_s=0.01), {"compare_rulebooks": True}
    with gate.passed(asked):
        with gate.passed({}):
            pass
        with pytest.raises(Busy), gate.passed(asked):
            pytest.fail("two at once")
    with gate.passed(asked):
        pass


def test_the_place_of_one_that_failed_is_free_again() -> None:
    gate, asked = Turnstile(1, wait_s=0.01), {"compare_rulebooks": True}
    with pytest.raises(RuntimeError), gate.passed(asked):
        raise RuntimeError
    with gate.passed(asked):
        pass


def test_plain_decisions_and_health_do_not_wait_for_a_dear_one(
    tmp_path: Path, log: SqlDecisionLog
) -> None:
    begun, go_on = threading.Event(), threading.Event()

    def decide(request: Mapping[str, Any]) -> Mapping[str, Any]:
        if is_dear(request):
            begun.set()
            assert go_on.wait(20)
        return plain_answer(request)

    app = create_app(service_settings(tmp_path), engine=plain_engine(decide), log=log)
    dear = body(include=["flip_points"])
    with ThreadPoolExecutor(1) as other:
        first = other.submit(lambda: app.test_client().post(URL, json=dear).status_code)
        assert begun.wait(20)
        client = app.test_client()
        assert client.get("/healthz").status_code == 200
        assert client.post(URL, json=body()).status_code == 201
        refused = client.post(URL, json=dear)
        assert (refused.status_code, refused.headers["Retry-After"]) == (503, "1")
        go_on.set()
        assert first.result() == 201
    assert app.test_client().post(URL, json=dear).status_code == 201
