"""The history of a flight over HTTP, with what changed from one decision to the next."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from service.app import create_app
from service.store import SqlDecisionLog
from tests.case.builders import demo, with_changes
from tests.service.builders import counting_entropy, service_settings, ticking_clock

FLIGHT = "/v1/flights/VENTO%20318/decisions"


@pytest.fixture
def client(tmp_path: Path, log: SqlDecisionLog) -> FlaskClient:
    """A client of the installed engine, with a clock that moves on."""
    app = create_app(
        service_settings(tmp_path), clock=ticking_clock(), entropy=counting_entropy(), log=log
    )
    return app.test_client()


def decide(client: FlaskClient, **changes: Any) -> Any:
    answer = client.post("/v1/decisions", json=with_changes(demo("clean"), changes))
    assert answer.status_code == 201, answer.text
    return answer.get_json()


def history(client: FlaskClient, query: str = "") -> Any:
    answer = client.get(FLIGHT + query)
    assert answer.status_code == 200, answer.text
    return answer.get_json()


def test_decisions_come_newest_first_each_with_what_changed(client: FlaskClient) -> None:
    first = decide(client)
    second = decide(client, **{"/fuel/on_board_kg": 2500})
    decide(client, **{"/flight_id": "OTHER 1"})
    told = history(client)
    assert [each["id"] for each in told["decisions"]] == [second["id"], first["id"]]
    newest, oldest = told["decisions"]
    assert newest["changed"]["verdict"] == {"from": "GO", "to": "NO_GO"}
    assert newest["changed"]["inputs"][0]["pointer"] == "/fuel/on_board_kg"
    assert oldest["changed"] is None
    assert newest["headline"] == second["headline"]
    assert told["next_before"] is None


def test_pages_join_without_a_gap_and_the_last_of_a_page_knows_what_changed(
    client: FlaskClient,
) -> None:
    ids = [decide(client, **{"/fuel/on_board_kg": 3450 - 10 * n})["id"] for n in range(5)]
    seen, query = [], "?limit=2"
    while True:
        told = history(client, query)
        seen += told["decisions"]
        if told["next_before"] is None:
            break
        query = f"?limit=2&before={told['next_before']}"
    assert [each["id"] for each in seen] == ids[::-1]
    assert [each["changed"] is None for each in seen] == [False] * 4 + [True]


def test_a_flight_without_decisions_has_an_empty_history(client: FlaskClient) -> None:
    assert history(client) == {"flight_id": "VENTO 318", "decisions": [], "next_before": None}


@pytest.mark.parametrize("limit", ["0", "101", "x", "-1", ""])
def test_a_limit_out_of_range_is_refused_by_name(client: FlaskClient, limit: str) -> None:
    answer = client.get(f"{FLIGHT}?limit={limit}")
    assert answer.status_code == 422
    assert answer.get_json()["errors"][0]["pointer"] == "?limit"
