"""A recorded decision decided again, and tried otherwise, over HTTP with the real engine."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from service.app import create_app
from service.store import SqlDecisionLog
from tests.case.builders import demo
from tests.service.builders import service_settings

START = datetime(2026, 3, 14, 6, 10, tzinfo=UTC)
FOG = "SPECI XKAL 140613Z 26004KT 0300 R27R/0300N FG VV001 08/08 Q1013"
APART = ("id", "previous", "changed")
DEEP = 900


class Moment:
    """A clock that stands until it is put on."""

    def __init__(self) -> None:
        self.at = START

    def __call__(self) -> datetime:
        return self.at

    def put_on(self, minutes: float) -> None:
        self.at += timedelta(minutes=minutes)


@pytest.fixture
def clock() -> Moment:
    return Moment()


@pytest.fixture
def client(tmp_path: Path, log: SqlDecisionLog, clock: Moment) -> FlaskClient:
    settings = service_settings(tmp_path, APPROACH_BATCH_PROCESSES="1")
    return create_app(settings, clock=clock, log=log).test_client()


@pytest.fixture
def recorded(client: FlaskClient) -> Callable[[str], Any]:
    """Records a demo case; its answer."""
    return lambda name: client.post("/v1/decisions", json=demo(name)).get_json()


Recorder = Callable[[str], Any]


def again(client: FlaskClient, identity: str, /, **body: Any) -> Any:
    return client.post(f"/v1/decisions/{identity}/again", json=body)


def tried(client: FlaskClient, identity: str, *patches: Any) -> Any:
    return client.post(f"/v1/decisions/{identity}/what-if", json={"patches": patches})


def pointers(answer: Any) -> list[str]:
    assert answer.status_code == 422, answer.text
    return [each["pointer"] for each in answer.get_json()["errors"]]


def test_it_is_recorded_names_the_one_before_and_says_what_changed(
    client: FlaskClient, recorded: Recorder, clock: Moment
) -> None:
    before = recorded("clean")
    clock.put_on(5)
    answer = again(client, before["id"], add_reports=[FOG], patch={"fuel": {"on_board_kg": 3300}})
    assert answer.status_code == 201, answer.text
    told = answer.get_json()
    assert answer.headers["Location"] == f"/v1/decisions/{told['id']}"
    assert told["previous"] == before["id"] != told["id"]
    assert told["as_of"] == "2026-03-14T06:15:00Z"
    assert told["changed"]["verdict"] == {"from": "GO", "to": "NO_GO"}
    assert told["changed"]["weather"] == [{"what": "came", "report": FOG}]
    moved = {each["pointer"] for each in told["changed"]["inputs"]}
    assert {"/fuel/on_board_kg", "/destination/track_nm"} <= moved
    assert not any(each.startswith("/carried") for each in moved)
    assert client.get(answer.headers["Location"]).data == answer.data


def test_the_new_case_is_kept_and_replays_to_the_same_answer(
    client: FlaskClient, recorded: Recorder, clock: Moment
) -> None:
    before = recorded("gear-stuck")
    clock.put_on(4)
    told = again(client, before["id"]).get_json()
    case = client.get(f"/v1/decisions/{told['id']}/request").get_json()
    assert case["as_of"] == told["as_of"]
    replayed = client.post("/v1/decisions?record=false", json=case).get_json()
    assert replayed == {name: each for name, each in told.items() if name not in APART} | {
        "id": None
    }
    findings = client.get(f"/v1/decisions/{told['id']}/findings").get_json()
    assert findings["findings"]


def test_the_history_of_the_flight_tells_the_same_change(
    client: FlaskClient, recorded: Recorder, clock: Moment
) -> None:
    before = recorded("clean")
    clock.put_on(3)
    told = again(client, before["id"], add_reports=[FOG]).get_json()
    history = client.get("/v1/flights/VENTO 318/decisions").get_json()["decisions"]
    assert [each["id"] for each in history] == [told["id"], before["id"]]
    assert history[0]["changed"] == told["changed"]


@pytest.mark.parametrize("name", ["clean", "gear-stuck", "wait-for-fog", "time-critical"])
def test_at_the_same_moment_with_nothing_new_the_answer_is_the_same(
    client: FlaskClient, recorded: Recorder, name: str
) -> None:
    before = recorded(name)
    told = again(client, before["id"], patch={}).get_json()
    same = {each: value for each, value in told.items() if each not in APART}
    assert same | {"id": before["id"]} == before
    assert told["changed"]["inputs"] == told["changed"]["courses"] == []


def test_ages_count_from_the_first_of_several(
    client: FlaskClient, recorded: Recorder, clock: Moment
) -> None:
    answer = recorded("gear-stuck")
    for _ in range(3):
        clock.put_on(3)
        answer = again(client, answer["id"]).get_json()
    ages = {each["field"]: each["text"] for each in answer["assumptions"]}
    assert "9.0 min old" in ages["/aircraft/position"]
    assert answer["verdict"] == "NO_GO"
    clock.put_on(3)
    answer = again(client, answer["id"]).get_json()
    assert answer["verdict"] == "INSUFFICIENT_DATA"
    assert answer["ask"][0]["whom"] == "the crew"


def test_a_key_gets_the_same_bytes_and_is_of_one_decision(
    client: FlaskClient, recorded: Recorder, clock: Moment
) -> None:
    first, other = recorded("clean"), recorded("gear-stuck")
    clock.put_on(2)
    key = {"Idempotency-Key": "k"}
    one = client.post(f"/v1/decisions/{first['id']}/again", json={}, headers=key)
    clock.put_on(2)
    same = client.post(f"/v1/decisions/{first['id']}/again", json={}, headers=key)
    assert (one.status_code, same.data) == (201, one.data)
    reused = client.post(f"/v1/decisions/{other['id']}/again", json={}, headers=key)
    assert reused.status_code == 422
    assert reused.get_json()["type"].endswith("/problems/key-reused")


@pytest.mark.parametrize(
    ("patch", "pointer"),
    [
        ({"flight_id": "OTHER 1"}, "/patch/flight_id"),
        ({"as_of": "2026-03-14T06:11:00Z"}, "/patch/as_of"),
        ({"carried": None}, "/patch/carried"),
        ({"fuel": {"on_board_kg": -1}}, "/patch/fuel/on_board_kg"),
        ({"fuel": None}, "/patch/fuel"),
        ({"fuel": 5}, "/patch/fuel"),
        ({"aircraft": None}, "/patch/aircraft"),
        ({"aircraft": {"mass_kg": "60 t"}}, "/patch/aircraft/mass_kg"),
        ({"destination": {"icao": "ZZZZ"}}, "/patch/destination/icao"),
        ({"alternates": 3}, "/patch/alternates"),
        ({"plan": []}, "/patch/plan"),
        ({"weather": {"reports": 3}}, "/patch/weather/reports"),
        ({"plan": {"runway": "99"}}, "/patch/plan/runway"),
        ({"wether": {}}, "/patch/wether"),
    ],
)
def test_a_fault_points_into_the_patch_and_nothing_is_recorded(
    client: FlaskClient, recorded: Recorder, clock: Moment, patch: Any, pointer: str
) -> None:
    before = recorded("clean")
    for minutes in (0, 4):
        clock.put_on(minutes)
        assert pointer in pointers(again(client, before["id"], patch=patch))
    history = client.get("/v1/flights/VENTO 318/decisions").get_json()["decisions"]
    assert len(history) == 1


def test_too_many_reports_are_those_that_were_added(
    client: FlaskClient, recorded: Recorder
) -> None:
    before = recorded("clean")
    many = [f"{FOG} {number}" for number in range(998)]
    assert pointers(again(client, before["id"], add_reports=many)) == ["/add_reports"]


@pytest.mark.parametrize("body", [{"patch": []}, {"add_reports": "x"}, {"at": "now"}, []])
def test_a_body_of_another_shape_is_refused(
    client: FlaskClient, recorded: Recorder, body: Any
) -> None:
    identity = recorded("clean")["id"]
    assert client.post(f"/v1/decisions/{identity}/again", json=body).status_code == 422


@pytest.mark.parametrize("what", ["again", "what-if"])
def test_a_patch_without_end_of_depth_is_refused(
    client: FlaskClient, recorded: Recorder, what: str
) -> None:
    patch = '{"a":' * DEEP + "1" + "}" * DEEP
    text = {"again": f'{{"patch":{patch}}}', "what-if": f'{{"patches":[{patch}]}}'}[what]
    path = f"/v1/decisions/{recorded('clean')['id']}/{what}"
    answer = client.post(path, data=text, content_type="application/json")
    assert answer.status_code in (400, 422)


@pytest.mark.parametrize("what", ["again", "what-if"])
def test_what_is_not_recorded_is_not_found(client: FlaskClient, what: str) -> None:
    path = f"/v1/decisions/0199a0b2-7c00-7000-8000-000000000000/{what}"
    assert client.post(path, json={"patches": [{}]} if what == "what-if" else {}).status_code == 404


def test_the_brief_says_it_too(client: FlaskClient, recorded: Recorder, clock: Moment) -> None:
    identity = recorded("gear-stuck")["id"]
    clock.put_on(3)
    path = f"/v1/decisions/{identity}/again"
    answer = client.post(path, json={}, headers={"Accept": "text/plain"})
    assert answer.status_code == 201
    assert "DIVERT XTOR" in answer.text
    assert "was carried on" in answer.text.replace("\n", " ")


def test_variations_stand_beside_the_stored_case_and_nothing_is_recorded(
    client: FlaskClient, recorded: Recorder, clock: Moment
) -> None:
    before = recorded("gear-stuck")
    clock.put_on(60)  # at the moment of the record, whenever it is asked
    more = {"fuel": {"on_board_kg": 4450}, "aircraft": {"mass_kg": 61_300}}
    answer = tried(client, before["id"], {}, more)
    assert answer.status_code == 200, answer.text
    told = answer.get_json()
    stored = told["stored"]
    for name in ("as_of", "verdict", "basis", "action", "deadline", "fuel_state", "ways_out"):
        assert stored[name] == before[name]
    margins = {each["course"]: each["fuel"]["margin_kg"] for each in before["courses"]}
    assert {each["course"]: each["margin_kg"] for each in stored["margins"]} == margins
    same, other = told["varied"]
    assert same["row"] == stored
    assert not any(same["moved"].values())
    assert other["moved"]["verdict"] == {"from": "NO_GO", "to": "GO_WITH_CAUTION"}
    assert other["moved"]["deadline_at"] == {"from": before["deadline"]["at"], "to": None}
    asked = [each["pointer"] for each in other["moved"]["inputs"]]
    assert asked == ["/aircraft/mass_kg", "/fuel/on_board_kg"]
    varied = demo("gear-stuck")
    varied["fuel"] |= more["fuel"]
    varied["aircraft"] |= more["aircraft"]
    lines = client.post(
        "/v1/decisions/batch?view=rows",
        data=json.dumps(varied),
        content_type="application/x-ndjson",
    )
    row = json.loads(lines.text.splitlines()[0])
    assert other["row"] == {name: row[name] for name in other["row"]}
    history = client.get("/v1/flights/VENTO 318/decisions").get_json()["decisions"]
    assert len(history) == 1


def test_a_course_that_only_one_of_them_has_is_told_as_such(
    client: FlaskClient, recorded: Recorder
) -> None:
    identity = recorded("clean")["id"]
    (one,) = tried(client, identity, {"alternates": ["XTOR"]}).get_json()["varied"]
    only = {each["course"]: each["only"] for each in one["moved"]["courses"]}
    assert only["divert_now:XBRE"] == "before"


def test_faults_of_variations_say_of_which(client: FlaskClient, recorded: Recorder) -> None:
    identity = recorded("clean")["id"]
    wrong = {"fuel": {"on_board_kg": -1}}, {"as_of": "2026-03-14T06:11:00Z"}, {"flight_id": "A 1"}
    found = pointers(tried(client, identity, {}, *wrong))
    assert found == ["/patches/1/fuel/on_board_kg", "/patches/2/as_of", "/patches/3/flight_id"]
    assert pointers(tried(client, identity, *[{}] * 9)) == ["/patches"]
    assert tried(client, identity).get_json()["varied"] == []


def test_inputs_are_tried_beside_the_stored_case_with_where_they_turn_it(
    client: FlaskClient, recorded: Recorder
) -> None:
    identity = recorded("gear-stuck")["id"]
    body = {
        "inputs": [{}, {"fuel_on_board_kg": 9000, "delay_min": None}],
        "turns_of": ["fuel_on_board_kg"],
    }
    told = client.post(f"/v1/decisions/{identity}/what-if", json=body).get_json()
    assert told["varied"] == []
    same, more = told["tried"]
    assert same["row"] == told["stored"]
    assert same["moved"]["verdict"] is None
    assert same["moved"]["courses"] == []
    assert more["moved"]["verdict"] == {"from": told["stored"]["verdict"], "to": "GO_WITH_CAUTION"}
    [tried] = more["inputs"]
    assert (tried["input"], tried["value"]) == ("fuel_on_board_kg", 9000)
    assert more["turns"] == same["turns"]
    assert [each["input"] for each in same["turns"]] == ["fuel_on_board_kg"]


def test_faults_of_what_is_tried_are_told_beside_those_of_patches(
    client: FlaskClient, recorded: Recorder
) -> None:
    identity = recorded("clean")["id"]
    path = f"/v1/decisions/{identity}/what-if"
    unfit = {"patches": [{"as_of": "2026-01-01T00:00:00Z"}], "inputs": [{}, {"mass_kg": 1}]}
    assert pointers(client.post(path, json=unfit)) == ["/patches/0/as_of", "/inputs/1/mass_kg"]
    unknown = {"inputs": [{"hold_min": 1}], "turns_of": ["weather"]}
    assert pointers(client.post(path, json=unknown)) == ["/inputs/0/hold_min", "/turns_of/0"]
