"""`GET /board` over HTTP: the rows of recent flights in their order."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from service.app import create_app
from service.store import SqlDecisionLog
from tests.case.builders import demo, with_changes
from tests.service.builders import counting_entropy, service_settings
from tests.watch.world import START

FLIGHT = re.compile(r'<tr class="([\w ]+)" data-flight="([^"]*)"')


@pytest.fixture
def client(tmp_path: Path, log: SqlDecisionLog) -> FlaskClient:
    """A client of the installed engine at the moment of the demo cases."""
    app = create_app(
        service_settings(tmp_path), clock=lambda: START, entropy=counting_entropy(), log=log
    )
    return app.test_client()


def decide(client: FlaskClient, name: str, flight: str, **changes: Any) -> Any:
    case = with_changes(demo(name), {"/flight_id": flight, **changes})
    answer = client.post("/v1/decisions", json=case)
    assert answer.status_code == 201, answer.text
    return answer.get_json()


def rows(client: FlaskClient, query: str = "") -> list[tuple[str, str]]:
    answer = client.get(f"/board{query}")
    assert (answer.status_code, answer.mimetype) == (200, "text/html")
    return FLIGHT.findall(answer.text)


def test_rows_stand_in_the_order_in_which_they_are_to_be_looked_at(client: FlaskClient) -> None:
    decide(client, "clean", "VENTO 3")
    decide(client, "nothing-legal", "VENTO 1")
    decide(client, "gear-stuck", "VENTO 2")
    old = {"/as_of": "2026-03-14T05:30:00Z"}
    decide(client, "escape-thin", "VENTO 4", **old)
    assert rows(client) == [
        ("distress", "VENTO 1"),
        ("counted old", "VENTO 4"),
        ("counted", "VENTO 2"),
        ("counted", "VENTO 3"),
    ]
    assert [flight for _, flight in rows(client, "?show=watched")] == ["VENTO 1"]
    assert "3 not shown" in client.get("/board?show=watched").text


def test_an_empty_board_says_so(client: FlaskClient) -> None:
    assert "No flight of the last day" in client.get("/board").text


def test_a_flight_leads_to_its_history_whatever_its_name(client: FlaskClient) -> None:
    name = "A/1 B"
    decide(client, "clean", name)
    [link] = re.findall(r'class="flight" href="([^"]*)"', client.get("/board").text)
    assert link == "/v1/flights/A%2F1%20B/decisions"
    assert client.get(link).get_json()["flight_id"] == name


def test_every_page_leads_to_the_board(client: FlaskClient) -> None:
    identity = decide(client, "clean", "VENTO 3")["id"]
    for path in ("/board", "/docs", f"/v1/decisions/{identity}", "/sign-in"):
        text = client.get(path, headers={"Accept": "text/html"}).text
        assert '<a href="/board"' in text, path


def test_the_history_of_a_flight_is_a_page_for_a_browser(client: FlaskClient) -> None:
    first = decide(client, "clean", "VENTO 3")
    second = decide(client, "clean", "VENTO 3", **{"/fuel/on_board_kg": 2500})
    path = "/v1/flights/VENTO%203/decisions"
    text = client.get(path, headers={"Accept": "text/html"}).text
    assert "MOVED: was GO, APPROACH XKAL runway 27R" in text
    assert f'href="/compare?first={first["id"]}&amp;second={second["id"]}"' in text
    assert all(f'href="/v1/decisions/{each["id"]}"' in text for each in (first, second))
    older = client.get(f"{path}?limit=1", headers={"Accept": "text/html"})
    assert f'href="?before={second["id"]}"' in older.text
    assert f"first={first['id']}&amp;second={second['id']}" in older.text
    assert client.get(path).mimetype == "application/json"
    assert (
        "Nothing is recorded"
        in client.get("/v1/flights/NONE/decisions", headers={"Accept": "text/html"}).text
    )
