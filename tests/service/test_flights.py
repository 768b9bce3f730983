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
    assert history(client) == {
        "flight_id": "VENTO 318",
        "decisions": [],
        "damaged": [],
        "next_before": None,
    }


@pytest.mark.parametrize("limit", ["0", "101", "x", "-1", ""])
def test_a_limit_out_of_range_is_refused_by_name(client: FlaskClient, limit: str) -> None:
    answer = client.get(f"{FLIGHT}?limit={limit}")
    assert answer.status_code == 422
    assert answer.get_json()["errors"][0]["pointer"] == "?limit"


# --- which flights need a look ---


def listed(client: FlaskClient, query: str = "") -> Any:
    answer = client.get(f"/v1/flights{query}")
    assert answer.status_code == 200, answer.text
    return answer.get_json()["flights"]


def test_flights_come_with_their_latest_decision_the_soonest_deadline_first(
    client: FlaskClient,
) -> None:
    decide(client, **{"/flight_id": "LATE 1", "/fuel/on_board_kg": 2500})
    latest = [
        decide(client, **{"/flight_id": "LATE 1"}),
        decide(
            client,
            **{
                "/flight_id": "NEXT 2",
                "/fuel/on_board_kg": 2500,
                "/as_of": "2026-03-14T06:12:00Z",
            },
        ),
        decide(client, **{"/flight_id": "SOON 3", "/fuel/on_board_kg": 2500}),
    ]
    told = listed(client)
    assert {each["id"] for each in told} == {each["id"] for each in latest}
    deadlines = [each["deadline"]["at"] for each in told if each["deadline"] is not None]
    assert deadlines == sorted(deadlines)
    assert len(set(deadlines)) > 1
    none = [each["deadline"] is None for each in told]
    assert none == sorted(none)
    of_late = next(each for each in told if each["flight_id"] == "LATE 1")
    assert (of_late["headline"], of_late["deadline"]) == (
        latest[0]["headline"],
        latest[0]["deadline"],
    )


def test_flights_are_chosen_by_their_latest_verdict_and_by_time(client: FlaskClient) -> None:
    decide(client, **{"/flight_id": "A 1", "/fuel/on_board_kg": 2500})
    decide(client, **{"/flight_id": "B 2"})
    assert [each["flight_id"] for each in listed(client, "?verdict=NO_GO")] == ["A 1"]
    assert [each["flight_id"] for each in listed(client, "?verdict=GO")] == ["B 2"]
    created = listed(client, "?verdict=GO")[0]["created_at"]
    assert [each["flight_id"] for each in listed(client, f"?since={created}")] == ["B 2"]
    assert len(listed(client, "?limit=1")) == 1
    assert listed(client, "?since=2199-01-01T00:00:00Z") == []


@pytest.mark.parametrize(
    ("query", "accepted"),
    [
        ("since=yesterday", "an RFC 3339 instant such as 2026-01-31T06:00:00Z, once"),
        ("since=2026-01-31T06:00:00", "an RFC 3339 instant such as 2026-01-31T06:00:00Z, once"),
        ("since=0001-01-01T00:00:00Z", "an instant from 2000 to 2199"),
        ("since=9999-12-31T23:59:59-12:00", "an instant from 2000 to 2199"),
        ("verdict=MAYBE", "one of GO, GO_WITH_CAUTION, INSUFFICIENT_DATA, NO_GO, once"),
    ],
)
def test_what_flights_cannot_be_chosen_by_is_told_with_what_they_can(
    client: FlaskClient, query: str, accepted: str
) -> None:
    answer = client.get(f"/v1/flights?{query}")
    assert answer.status_code == 422
    [error] = answer.get_json()["errors"]
    assert (error["pointer"], error["accepted"]) == (f"?{query.partition('=')[0]}", accepted)


def test_a_flight_in_short_says_what_its_answer_says(client: FlaskClient) -> None:
    answer = decide(client, **{"/fuel/on_board_kg": 2500})
    [told] = listed(client)
    for name in ("deadline", "valid_until", "emergency", "ask", "until_then", "headline"):
        assert told[name] == answer[name], name
    chosen = next(
        each for each in answer["courses"] if each["course"] == answer["action"]["course"]
    )
    assert told["fuel"]["margin_kg"] == chosen["fuel"]["margin_kg"]
    assert told["destination"] == "XKAL"
    assert "XTOR 1080 kg" in told["because"]
    assert (told["decisions"], told["moved"], told["watch"]) == (1, None, None)


def test_the_last_move_is_told_though_the_flight_was_decided_since(client: FlaskClient) -> None:
    decide(client)
    turned = decide(client, **{"/fuel/on_board_kg": 2500})
    decide(client, **{"/fuel/on_board_kg": 2490})
    [told] = listed(client)
    assert (told["moved"]["verdict"], told["moved"]["at"]) == ("GO", turned["as_of"])
    assert told["moved"]["action"] == "APPROACH XKAL runway 27R"
    assert "now 2500 kg (950 kg less)" in told["moved"]["why"]
    for kg in (2480, 2470):
        decide(client, **{"/fuel/on_board_kg": kg})
    assert listed(client)[0]["moved"] is None  # it is looked for among four
    assert listed(client)[0]["decisions"] == 4


def test_a_flight_in_short_names_the_watch_that_it_is_under(client: FlaskClient) -> None:
    identity = decide(client)["id"]
    until = "2026-01-31T07:00:00Z"
    begun = client.post("/v1/watches", json={"decision_id": identity, "until": until}).get_json()
    watch = listed(client)[0]["watch"]
    assert (watch["id"], watch["decision"]) == (begun["id"], identity)
    assert (watch["until"], watch["failures"]) == (begun["until"], 0)
    client.delete(f"/v1/watches/{begun['id']}")
    assert listed(client)[0]["watch"] is None
