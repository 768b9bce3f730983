"""Alternates proposed over HTTP: the record has the case with its places, and replays for ever."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from decision.case import Library, installed_library
from service.app import create_app
from service.store import SqlDecisionLog
from tests.case.builders import REMOVED, demo, with_changes
from tests.case.loaded import library, place
from tests.service.builders import service_settings

ASKING = with_changes(
    demo("clean"), {"/alternates": [], "/propose_alternates": {"most": 2, "within_nm": 250}}
)
OWN = library(
    [*installed_library().aerodromes.values(), place("XAAA", 47.5, -35.9)], digest="a" * 64
)


def client_with(shelf: Library, folder: Path, log: SqlDecisionLog) -> FlaskClient:
    settings = service_settings(folder, APPROACH_BATCH_PROCESSES="1")
    return create_app(settings, log=log, library=shelf).test_client()


@pytest.fixture
def asked(tmp_path: Path, log: SqlDecisionLog) -> FlaskClient:
    return client_with(OWN, tmp_path, log)


def without_id(answer: dict[str, Any]) -> dict[str, Any]:
    return {**answer, "id": None}


def test_proposals_are_told_recorded_and_replayed_whatever_is_loaded_later(
    asked: FlaskClient, tmp_path: Path, log: SqlDecisionLog
) -> None:
    made = asked.post("/v1/decisions", json=ASKING)
    assert made.status_code == 201
    answer = made.get_json()
    told = {each["icao"]: each for each in answer["alternates_proposed"]}
    assert sum(each["taken"] for each in told.values()) == 2
    assert all(each["why"] for each in told.values())
    assert answer["provenance"]["aerodromes"]["digest"] == "a" * 64
    request = asked.get(f"/v1/decisions/{answer['id']}/request")
    kept = request.get_json()
    taken = {icao for icao, each in told.items() if each["taken"]}
    assert {each["icao"] for each in kept["alternates"]} == taken
    later = client_with(library([]), tmp_path, log)
    again = later.post(
        "/v1/decisions", data=request.get_data(), content_type="application/json"
    ).get_json()
    assert without_id(again) == without_id(answer)


def test_unrecorded_and_recorded_answers_and_lines_of_a_batch_are_the_same(
    asked: FlaskClient,
) -> None:
    recorded = asked.post("/v1/decisions", json=ASKING).get_json()
    unrecorded = asked.post("/v1/decisions?record=false", json=ASKING).get_json()
    batch = asked.post(
        "/v1/decisions/batch?record=true",
        data=json.dumps(ASKING) + "\n",
        content_type="application/x-ndjson",
    )
    line = json.loads(batch.get_data().splitlines()[0])
    assert without_id(recorded) == without_id(unrecorded)
    assert without_id(recorded).items() <= without_id(line).items()
    kept = asked.get(f"/v1/decisions/{line['id']}/request").get_json()
    assert kept["proposed"]["aerodromes"] == {"digest": "a" * 64, "count": 6}


def test_without_a_position_it_is_a_fault_of_the_request(asked: FlaskClient) -> None:
    refused = asked.post(
        "/v1/decisions", json=with_changes(ASKING, {"/aircraft/position": REMOVED})
    )
    assert refused.status_code == 422
    assert [each["pointer"] for each in refused.get_json()["errors"]] == ["/aircraft/position"]


def test_deciding_again_keeps_what_was_proposed_until_it_is_asked_for_again(
    asked: FlaskClient,
) -> None:
    first = asked.post("/v1/decisions", json=ASKING).get_json()
    kept = asked.post(f"/v1/decisions/{first['id']}/again", json={"patch": {}}).get_json()
    assert kept["alternates_proposed"] == first["alternates_proposed"]
    more = asked.post(
        f"/v1/decisions/{first['id']}/again", json={"patch": {"propose_alternates": {"most": 3}}}
    ).get_json()
    assert sum(each["taken"] for each in more["alternates_proposed"]) == 3
    none = asked.post(
        f"/v1/decisions/{first['id']}/again", json={"patch": {"propose_alternates": None}}
    ).get_json()
    assert none["alternates_proposed"] is None
    request = asked.get(f"/v1/decisions/{none['id']}/request").get_json()
    assert request["alternates"] == []
