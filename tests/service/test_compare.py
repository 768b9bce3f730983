"""Two recorded decisions side by side: each told as its own page tells it, differences named."""

from __future__ import annotations

from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from service.app import create_app
from service.store import SqlDecisionLog
from tests.case.builders import demo, with_changes
from tests.service.builders import service_settings

Recorder = Callable[..., str]


@pytest.fixture
def client(tmp_path: Path, log: SqlDecisionLog) -> FlaskClient:
    """A client of the installed service."""
    return create_app(service_settings(tmp_path), log=log).test_client()


@pytest.fixture
def recorded(client: FlaskClient) -> Recorder:
    """Records a demo case with changes; the id."""

    def record(name: str, **changes: Any) -> str:
        given = {f"/{pointer.replace('__', '/')}": value for pointer, value in changes.items()}
        answer = client.post("/v1/decisions", json=with_changes(demo(name), given))
        assert answer.status_code == 201, answer.text
        return str(answer.get_json()["id"])

    return record


class Rows(HTMLParser):
    """Rows of every table: cells in order; and which of them are marked."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.found: list[list[str]] = []
        self.marked: list[str] = []
        self._in_cell = self._is_marked = False
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "tr":
            self.found.append([])
            self._is_marked = ("class", "differs") in attrs
        if tag in {"td", "th"}:
            self._in_cell = True
            self.found[-1].append("")

    def handle_endtag(self, tag: str) -> None:
        if tag in {"td", "th"}:
            self._in_cell = False
            if self._is_marked and len(self.found[-1]) == 1:
                self.marked.append(self.found[-1][0].removesuffix(" differs"))

    def handle_data(self, data: str) -> None:
        if self._in_cell:
            self.found[-1][-1] += data


def rows(client: FlaskClient, first: str, second: str) -> Rows:
    answer = client.get(f"/compare?first={first}&second={second}")
    assert answer.status_code == 200, answer.text
    return Rows(answer.text)


def test_what_differs_is_marked_and_what_does_not_is_not(
    client: FlaskClient, recorded: Recorder
) -> None:
    first = recorded("gear-stuck")
    second = recorded("gear-stuck", fuel__on_board_kg=5200)
    found = rows(client, first, second)
    told = {row[0].removesuffix(" differs"): row[1:] for row in found.found}
    assert told["Action"] == ["DIVERT to XTOR", "APPROACH XKAL"]
    assert told["fuel, on board kg"] == ["3450 kg", "5200 kg"]
    assert {"Action", "fuel, on board kg", "approach, miss, then XTOR"} <= set(found.marked)
    for row in found.found:
        label = row[0].removesuffix(" differs")
        assert (label in found.marked) is (row[1] != row[2] and label != "what"), row


def test_a_decision_beside_itself_differs_in_nothing(
    client: FlaskClient, recorded: Recorder
) -> None:
    identity = recorded("wait-for-fog")
    found = rows(client, identity, identity)
    assert found.marked == []
    assert len(found.found) > 10


def test_courses_and_lines_that_only_one_has_are_told_as_not_there_in_the_other(
    client: FlaskClient, recorded: Recorder
) -> None:
    found = rows(client, recorded("no-alternate"), recorded("gear-stuck"))
    assert any(row[1] == "not there" and row[2] != "not there" for row in found.found)


def test_without_two_ids_it_asks_for_them_and_offers_recent_flights(
    client: FlaskClient, recorded: Recorder
) -> None:
    identity = recorded("clean")
    page = client.get(f"/compare?first={identity}")
    assert page.status_code == 200
    assert f'value="{identity}"' in page.text
    assert "<table" not in page.text


def test_an_id_that_is_not_recorded_is_not_found(client: FlaskClient, recorded: Recorder) -> None:
    answer = client.get(f"/compare?first={recorded('clean')}&second=none")
    assert answer.status_code == 404
