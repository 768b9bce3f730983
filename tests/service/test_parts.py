"""Parts of a recorded decision: each is what the whole answer says, and nothing is left out."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from service.app import create_app
from tests.case.builders import demo
from tests.service.builders import old_file, plain_engine, service_settings

URL = "/v1/decisions"


@pytest.fixture
def recorded(real_client: FlaskClient) -> tuple[str, Any]:
    """The address of a recorded decision, and the same answer with all that can be included."""
    asked = demo("gear-stuck") | {"include": []}
    location = real_client.post(URL, json=asked).headers["Location"]
    including = asked | {"include": ["findings", "steps"]}
    whole = real_client.post(f"{URL}?record=false", json=including).get_json()
    return location, whole


def got(client: FlaskClient, address: str) -> Any:
    answer = client.get(address)
    assert answer.status_code == 200, answer.text
    return answer.get_json()


def test_every_finding_of_an_answer_that_did_not_include_them_is_told(
    real_client: FlaskClient, recorded: tuple[str, Any]
) -> None:
    location, whole = recorded
    told = got(real_client, f"{location}/findings")
    assert told["findings"] == whole["findings"] != []
    assert told["not_applicable"] == whole["not_applicable"]
    assert {each["rule"] for each in told["findings"]} == {*told["rules"]}


def test_findings_are_told_by_outcome_and_by_course(
    real_client: FlaskClient, recorded: tuple[str, Any]
) -> None:
    location, whole = recorded
    course = whole["courses"][-1]
    subjects = {course["course"], *course["flight"]["attempts"]}
    wanted = ("FAIL", "PASS")
    label = course["course"]
    told = got(real_client, f"{location}/findings?outcome={','.join(wanted)}&course={label}")
    assert told["findings"] == [
        each
        for each in whole["findings"]
        if each["outcome"] in wanted and each["subject"] in subjects
    ]
    assert told["findings"] != []
    assert told["not_applicable"] == {}


@pytest.mark.parametrize("limit", [1, 7, 100])
def test_findings_are_read_page_by_page_to_the_last(
    real_client: FlaskClient, recorded: tuple[str, Any], limit: int
) -> None:
    location, whole = recorded
    read: list[Any] = []
    after: int | None = 0
    while after is not None:
        page = got(real_client, f"{location}/findings?outcome=PASS&limit={limit}&after={after}")
        assert 0 < len(page["findings"]) <= limit
        assert {each["rule"] for each in page["findings"]} == {*page["rules"]}
        read += page["findings"]
        after = page["next_after"]
    assert read == [each for each in whole["findings"] if each["outcome"] == "PASS"]


@pytest.mark.parametrize("query", ["limit=0", "limit=2001", "after=-1", "after=x"])
def test_a_page_that_cannot_be_is_refused(
    real_client: FlaskClient, recorded: tuple[str, Any], query: str
) -> None:
    answer = real_client.get(f"{recorded[0]}/findings?{query}")
    assert answer.status_code == 422
    assert answer.get_json()["errors"][0]["pointer"] == f"?{query.partition('=')[0]}"


def test_a_course_is_told_with_its_steps_approaches_and_findings(
    real_client: FlaskClient, recorded: tuple[str, Any]
) -> None:
    location, whole = recorded
    for course in whole["courses"]:
        told = got(real_client, f"{location}/courses/{course['course']}")
        subjects = {course["course"], *course["flight"]["attempts"]}
        assert told["course"] == course
        assert {*told["attempts"]} == {*course["flight"]["attempts"]}
        assert {each["subject"] for each in told["findings"]} <= subjects
    assert whole["courses"] != []


def test_the_weather_is_told_with_its_reports_decoded(
    real_client: FlaskClient, recorded: tuple[str, Any]
) -> None:
    location, whole = recorded
    told = got(real_client, f"{location}/weather")
    assert told == {"weather": whole["weather"], "reports": whole["reports"]}


@pytest.mark.parametrize("part", ["request", "findings", "weather", "courses/x"])
def test_a_decision_that_is_not_recorded_has_no_parts(client: FlaskClient, part: str) -> None:
    assert client.get(f"{URL}/none/{part}").status_code == 404


def test_what_is_asked_of_a_part_must_be_there(
    real_client: FlaskClient, recorded: tuple[str, Any]
) -> None:
    location, _ = recorded
    assert real_client.get(f"{location}/courses/none").status_code == 404
    assert real_client.get(f"{location}/findings?course=none").status_code == 404
    refused = real_client.get(f"{location}/findings?outcome=FAIL,NONE")
    assert refused.status_code == 422
    assert refused.get_json()["errors"][0]["pointer"] == "?outcome"


@pytest.mark.parametrize("part", ["request", "findings", "weather"])
def test_a_part_that_is_known_is_not_sent_again(
    real_client: FlaskClient, recorded: tuple[str, Any], part: str
) -> None:
    first = real_client.get(f"{recorded[0]}/{part}")
    known = {"If-None-Match": first.headers["ETag"]}
    assert real_client.get(f"{recorded[0]}/{part}", headers=known).status_code == 304


def test_parts_of_a_decision_of_the_format_before_are_made_from_what_was_sent(
    tmp_path: Path,
) -> None:
    old_file(tmp_path)
    client = create_app(service_settings(tmp_path), engine=plain_engine()).test_client()
    entry = got(client, "/v1/flights/VENTO 318/decisions")["decisions"][0]
    sent = got(client, f"{URL}/{entry['id']}")
    told = got(client, f"{URL}/{entry['id']}/findings")
    assert len(told["findings"]) == sum(len(each["findings"]) for each in sent["courses"]) > 0
    course = sent["courses"][0]
    part = got(client, f"{URL}/{entry['id']}/courses/{course['course']}")
    assert part["course"]["fuel"] == course["fuel"]
    assert [*part["attempts"].values()] == course["attempts"]
    reports = got(client, f"{URL}/{entry['id']}/weather")["reports"]
    assert {place: each["forecast"] for place, each in reports.items()} == {
        place: each["forecast"] for place, each in sent["weather"].items()
    }
