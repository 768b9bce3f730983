"""Fetching as a caller sees it: the same decision as with the reports given, and how they came."""

from __future__ import annotations

import json
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from decision.case import case_from_mapping, input_digest
from decision.case.types import MAX_REPORTS
from decision.recommend import recommend_mapping
from service.app import create_app
from service.store import SqlDecisionLog
from tests.service.builders import service_settings, stored_request
from tests.service.fetching.builders import (
    CLEAN,
    REPORTS,
    Behaviour,
    HandClock,
    answer,
    answers,
    case_to_fetch,
    fetcher_of,
    hangs,
    says,
    serving,
)

URL = "/v1/decisions"
TEXT = "\n".join(REPORTS)
OBSERVED, FORECAST = REPORTS[::2], REPORTS[1::2]


def client_of(
    folder: Path, url: str | None, clock: HandClock, log: SqlDecisionLog | None = None
) -> FlaskClient:
    settings = service_settings(folder)
    fetcher = None if url is None else fetcher_of(url, clock=clock, deadline_s=1.0)
    return create_app(settings, clock=clock.now, fetcher=fetcher, log=log).test_client()


def decided(client: FlaskClient, body: dict[str, Any]) -> dict[str, Any]:
    response = client.post(f"{URL}?record=false", json=body)
    assert response.status_code == 200, response.get_json()
    told: dict[str, Any] = response.get_json()
    return told


def without_how_it_came(told: dict[str, Any]) -> dict[str, Any]:
    """An answer without what tells a fetched report from a given one."""
    bare = deepcopy(told)
    del bare["provenance"]["input_digest"]
    for weather in bare["weather"].values():
        del weather["fetched"]
    return bare


def how_it_came(told: dict[str, Any]) -> list[tuple[Any, ...]]:
    return [
        (icao, each["kind"], each["at"], each["age_s"], each["stale"], each["problem"])
        for icao, weather in told["weather"].items()
        for each in weather["fetched"]
    ]


def test_fetched_reports_make_the_decision_that_given_ones_make(tmp_path: Path) -> None:
    with serving(answers(TEXT)) as server:
        client = client_of(tmp_path, server.url(), HandClock())
        fetched, given = decided(client, case_to_fetch()), decided(client, CLEAN)
    assert fetched["verdict"] == "GO"
    assert without_how_it_came(fetched) == without_how_it_came(given)
    assert how_it_came(given) == []
    assert how_it_came(fetched) == [
        (icao, kind, "2026-03-14T06:10:00Z", 0.0, False, None)
        for icao in ("XKAL", "XBRE", "XTOR")
        for kind in ("observation", "forecast")
    ]


def test_one_call_asks_for_every_station_and_no_more(tmp_path: Path) -> None:
    with serving(answers(TEXT)) as server:
        decided(client_of(tmp_path, server.url(), HandClock()), case_to_fetch())
        assert [line.split("&")[0] for line in server.requests] == [
            "GET /reports?ids=XKAL,XBRE,XTOR"
        ]


def test_a_source_with_an_address_of_each_kind_is_called_once_for_each(tmp_path: Path) -> None:
    def behave(connection: Any, request: str) -> None:
        reports = OBSERVED if "/metar/" in request else FORECAST
        connection.sendall(answer("\n".join(reports).encode()))

    with serving(behave) as server:
        told = decided(
            client_of(tmp_path, server.url(kind=True), HandClock()), case_to_fetch(have=[])
        )
        called = sorted(line.split("?")[0] for line in server.requests)
    assert called == ["GET /metar/reports", "GET /taf/reports"]
    assert told["verdict"] == "GO"


def test_only_what_the_reports_lack_is_asked_for(tmp_path: Path) -> None:
    have = [REPORTS[0], REPORTS[2], REPORTS[3], REPORTS[4]]  # no forecast of XKAL, none of XTOR
    with serving(answers(TEXT)) as server:
        told = decided(client_of(tmp_path, server.url(), HandClock()), case_to_fetch(have=have))
        assert "ids=XKAL,XTOR&" in server.requests[0]
    assert [each[:2] for each in how_it_came(told)] == [("XKAL", "forecast"), ("XTOR", "forecast")]
    assert told["verdict"] == "GO"


def test_a_case_that_lacks_nothing_calls_nobody(tmp_path: Path) -> None:
    with serving(answers(TEXT)) as server:
        client = client_of(tmp_path, server.url(), HandClock())
        told = decided(client, case_to_fetch(have=REPORTS))
        assert server.requests == []
    assert how_it_came(told) == []
    assert told["verdict"] == "GO"


def test_an_impossible_case_calls_nobody_and_is_refused(tmp_path: Path) -> None:
    with serving(answers(TEXT)) as server:
        client = client_of(tmp_path, server.url(), HandClock())
        response = client.post(URL, json=case_to_fetch() | {"destination": "XXXX"})
        assert server.requests == []
    assert response.status_code == 422


def test_without_a_source_the_caution_says_so(tmp_path: Path) -> None:
    told = decided(client_of(tmp_path, None, HandClock()), case_to_fetch())
    assert told["verdict"] == "INSUFFICIENT_DATA"
    assert "NOTHING_FETCHED" in {each["code"] for each in told["cautions"]}


def test_the_recorded_request_makes_the_same_answer_again(tmp_path: Path) -> None:
    log = SqlDecisionLog.open(f"sqlite:///{tmp_path / 'd.sqlite3'}", timeout_s=5)
    with serving(answers(TEXT)) as server:
        client = client_of(tmp_path, server.url(), HandClock(), log)
        created = client.post(URL, json=case_to_fetch(), headers={"Idempotency-Key": "k"})
        again = client.post(URL, json=case_to_fetch(), headers={"Idempotency-Key": "k"})
        told = created.get_json()
        recorded = stored_request(log, told["id"])
        replayed = client.post(
            f"{URL}?record=false", data=recorded, headers={"Content-Type": "application/json"}
        )
        assert len(server.requests) == 1
    log.close()
    assert again.data == created.data
    assert recorded is not None
    case = json.loads(recorded)
    assert case["weather"]["reports"] == REPORTS
    assert told["provenance"]["input_digest"] == input_digest(case)
    assert replayed.get_json() == told | {"id": None}
    assert json.loads(json.dumps(recommend_mapping(case_from_mapping(case)))) == told | {"id": None}


def test_a_report_is_not_asked_for_again_until_a_newer_one_is_due(tmp_path: Path) -> None:
    clock = HandClock()
    with serving(answers(TEXT)) as server:
        client = client_of(tmp_path, server.url(), clock)
        decided(client, case_to_fetch())
        clock.move(120)
        told = decided(client, case_to_fetch())
        assert len(server.requests) == 1
    assert {each[2:] for each in how_it_came(told)} == {
        ("2026-03-14T06:10:00Z", 120.0, False, None)
    }


@pytest.mark.parametrize("fault", [hangs, answers("", status="500 Oh"), answers("nothing")])
def test_an_older_report_outlasts_a_fault_of_the_source_and_is_marked(
    fault: Behaviour, tmp_path: Path
) -> None:
    clock = HandClock()
    with serving(answers(TEXT)) as server:
        client = client_of(tmp_path, server.url(), clock)
        decided(client, case_to_fetch())
        clock.move(6 * 60)  # observations are due again, forecasts are not
        server.behaviour = fault
        told = decided(client, case_to_fetch())
    assert told["verdict"] == "GO_WITH_CAUTION"
    stale = {each[:2]: each[3:5] for each in how_it_came(told)}
    assert stale[("XKAL", "observation")] == (360.0, True)
    assert stale[("XKAL", "forecast")] == (360.0, False)
    cautions = [each for each in told["cautions"] if each["code"] == "FETCHED_REPORT_STALE"]
    because = [line for each in cautions for line in each["because"]]
    assert because[0] == "observation of XKAL, fetched 6 min before"
    assert len(because) == 3
    assert cautions[0]["text"].endswith(": observation of XKAL, XBRE, XTOR.")


def test_a_report_that_is_too_old_does_not_outlast_a_fault(tmp_path: Path) -> None:
    clock = HandClock()
    case = case_to_fetch()
    with serving(answers(TEXT)) as server:
        client = client_of(tmp_path, server.url(), clock)
        decided(client, case)
        clock.move(61 * 60)
        case["as_of"] = "2026-03-14T07:11:00Z"
        server.behaviour = answers("", status="500 Oh")
        told = decided(client, case)
    kinds = {each[1]: each[2:5] for each in how_it_came(told)}
    assert kinds["observation"] == (None, None, False)
    assert kinds["forecast"] == ("2026-03-14T06:10:00Z", 3660.0, True)
    assert {"FETCH_FAILED", "FETCHED_REPORT_STALE"} <= {each["code"] for each in told["cautions"]}
    assert told["verdict"] != "GO"


def test_a_missing_report_of_one_place_leaves_the_others(tmp_path: Path) -> None:
    with serving(answers("\n".join(REPORTS[:5]))) as server:
        told = decided(client_of(tmp_path, server.url(), HandClock()), case_to_fetch())
    problems = {each[:2]: each[5] for each in how_it_came(told) if each[5]}
    assert problems == {("XTOR", "forecast"): "the source has none"}
    assert told["verdict"] == "GO_WITH_CAUTION"


@pytest.mark.parametrize("as_of", ["2026-02-14T06:10:00Z", "2026-03-14T07:10:01Z"])
def test_a_case_of_another_time_gets_no_present_weather(as_of: str, tmp_path: Path) -> None:
    with serving(answers(TEXT)) as server:
        client = client_of(tmp_path, server.url(), HandClock())
        told = decided(client, case_to_fetch() | {"as_of": as_of})
        assert server.requests == []
    assert {each[5] for each in how_it_came(told)} == {
        "the case is of another time, and only present reports can be fetched"
    }
    assert told["verdict"] == "INSUFFICIENT_DATA"


def test_a_case_full_of_reports_stays_a_case(tmp_path: Path) -> None:
    full = [f"METAR XAAA 140600Z 26011KT 9999 0{number:03}" for number in range(MAX_REPORTS - 1)]
    with serving(answers(TEXT)) as server:
        client = client_of(tmp_path, server.url(), HandClock())
        told = decided(client, case_to_fetch(have=full))
    problems = [each[5] for each in how_it_came(told)]
    assert problems[0] is None
    assert set(problems[1:]) == {f"the case has no room for more than {MAX_REPORTS} reports"}


def test_readiness_names_the_source_and_does_not_depend_on_it(tmp_path: Path) -> None:
    clock = HandClock()
    assert client_of(tmp_path, None, clock).get("/readyz").get_json()["weather_source"] == "none"
    with serving(says(b"", then_close=True)) as server:
        client = client_of(tmp_path, server.url(), clock)
        states = [client.get("/readyz").get_json()["weather_source"]]
        for _ in range(3):
            decided(client, case_to_fetch())
        ready = client.get("/readyz")
        calls = len(server.requests)
        told = decided(client, case_to_fetch())
        assert len(server.requests) == calls
    assert (states, ready.status_code) == (["closed"], 200)
    assert ready.get_json()["weather_source"] == "open"
    problems = {each[5] for each in how_it_came(told)}
    assert problems == {"the source has failed repeatedly and is left alone for a while"}


def test_cookies_are_not_kept_and_nothing_of_the_environment_is_used(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HTTP_PROXY", "http://127.0.0.1:1")
    monkeypatch.setenv("ALL_PROXY", "http://127.0.0.1:1")
    clock = HandClock()
    cookie = answers(TEXT, headers=("Set-Cookie: seen=yes; Path=/",))
    with serving(cookie) as server:
        client = client_of(tmp_path, server.url(), clock)
        for _ in range(2):
            assert decided(client, case_to_fetch())["verdict"] == "GO"
            clock.move(6 * 60)
        assert len(server.requests) == 2
        assert "cookie" not in "".join(server.headers).lower()


def test_what_one_call_brought_beyond_the_question_is_kept_for_the_next(tmp_path: Path) -> None:
    with serving(answers(TEXT)) as server:
        client = client_of(tmp_path, server.url(), HandClock())
        decided(client, case_to_fetch(have=FORECAST))
        decided(client, case_to_fetch(have=OBSERVED))
        assert len(server.requests) == 1
