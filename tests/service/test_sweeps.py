"""`POST /v1/sweeps` over HTTP, with the real engine: rows, problems, summaries, an end."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from service.app import create_app
from service.store import SqlDecisionLog
from tests.service.builders import service_settings
from tests.sweep.flights import FEW, evening, flight

SOME = [{"id": each} for each in FEW]


@pytest.fixture
def client(tmp_path: Path, log: SqlDecisionLog) -> FlaskClient:
    """A client of the installed service, without processes of its own."""
    settings = service_settings(tmp_path, APPROACH_BATCH_PROCESSES="1")
    return create_app(settings, log=log).test_client()


def swept(client: FlaskClient, **body: Any) -> list[Any]:
    answer = client.post("/v1/sweeps", json=body, headers={"Accept": "application/x-ndjson"})
    assert answer.status_code == 200, answer.text
    told = [json.loads(line) for line in answer.text.splitlines()]
    assert told.pop() == {"end": True, "count": len(told)}
    return told


def test_rows_of_sweep_batch_and_single_cases_are_equal(client: FlaskClient) -> None:
    flights = evening(2)
    rows = [each for each in swept(client, flights=flights, failures=SOME) if "row" in each]
    assert len(rows) == 2 * len(FEW)
    cases = [{**body, "failures": [failure]} for body in flights for failure in SOME]
    content = "\n".join(map(json.dumps, cases))
    answer = client.post(
        "/v1/decisions/batch?view=rows", data=content, content_type="application/x-ndjson"
    )
    in_batch = [json.loads(line) for line in answer.text.splitlines()][:-1]
    for each, beside, case in zip(rows, in_batch, cases, strict=True):
        assert {name: beside[name] for name in each["row"]} == each["row"]
        alone = client.post("/v1/decisions?record=false", json=case).get_json()
        for name in ("flight_id", "as_of", "verdict", "basis", "action", "fuel_state", "ways_out"):
            assert each["row"][name] == alone[name], name
        told = {one["course"]: one["fuel"] and one["fuel"]["margin_kg"] for one in alone["courses"]}
        assert {one["course"]: one["margin_kg"] for one in each["row"]["margins"]} == told


def test_a_flight_that_is_no_case_gets_a_problem_and_the_others_their_rows(
    client: FlaskClient,
) -> None:
    told = swept(client, flights=[{"flight_id": "GANNET 9"}, flight()], failures=SOME[:1])
    problem, row, summary = told
    assert (problem["flight"], problem["status"]) == (0, 422)
    assert problem["type"].endswith("/problems/invalid-request")
    assert (row["flight"], summary["flight"]) == (1, 1)


@pytest.mark.parametrize("others", [0, 20])
def test_a_flight_that_has_all_that_is_asked_already_has_no_rows_and_the_end_counts_none(
    client: FlaskClient, others: int
) -> None:
    failed = {**flight(), "failures": SOME[:1]}
    told = swept(client, flights=[failed, *evening(others)], failures=SOME[:1])
    assert [each["flight"] for each in told if "row" in each] == [*range(1, others + 1)]
    assert len(told) == 2 * others


def test_summaries_come_after_the_rows_soonest_first(client: FlaskClient) -> None:
    asked = {"failures": [{"id": "engine-1"}], "from_minute": True}
    later, soon = flight(1, more_kg=3000.0), flight(2, more_kg=0.0, track_nm=220.0)
    told = swept(client, flights=[later, soon], **asked)
    assert [each["flight"] for each in told if "row" in each] == [0, 1]
    first, second = (each for each in told if each.get("summary"))
    assert (first["flight"], second["flight"]) == (1, 0)
    assert first["leave_none"][0]["from_minute"] == first["first_minute"]


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"flights": []}, "/flights"),
        ({"flights": [{}], "failures": [{"id": 3}]}, "/failures/0/id"),
        ({"flights": [{}], "shifts": [{"fuel_kg": "much"}]}, "/shifts/0/fuel_kg"),
        ({}, "/flights"),
    ],
)
def test_a_sweep_that_cannot_be_read_is_refused_with_its_faults(
    client: FlaskClient, body: Any, pointer: str
) -> None:
    answer = client.post("/v1/sweeps", json=body, headers={"Accept": "application/x-ndjson"})
    assert answer.status_code == 422
    assert pointer in [each["pointer"] for each in answer.get_json(force=True)["errors"]]


def test_a_sweep_that_takes_too_long_ends_without_its_last_line(
    tmp_path: Path, log: SqlDecisionLog
) -> None:
    settings = service_settings(
        tmp_path, APPROACH_BATCH_PROCESSES="1", APPROACH_BATCH_TIMEOUT_S="1"
    )
    client = create_app(settings, log=log).test_client()
    body = {"flights": evening(40), "from_minute": True}
    answer = client.post("/v1/sweeps", json=body, headers={"Accept": "application/x-ndjson"})
    last = json.loads(answer.text.splitlines()[-1])
    assert last["status"] == 503
    assert "not swept" in last["detail"]
