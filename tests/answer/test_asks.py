"""What to ask, of whom and by when; and nothing that no answer hangs on."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from decision.answer.asks import OTHER_PLACES, asks_of
from decision.answer.types import Ask
from decision.case import case_from_mapping
from decision.decide.decision import Basis
from decision.decide.judge import JudgedCourse
from decision.recommend import recommend_mapping
from decision.rules.finding import Cause
from decision.rules.row import REPORTS, Breach, Topic
from tests.case.builders import NAMES, demo
from tests.decide.by_hand import (
    T0,
    broken,
    decision,
    finding,
    landing_here,
    leaving,
    passed,
    situation,
    told,
)

BY = T0 + timedelta(minutes=20)
OPEN_HERE = landing_here(finding("AP-01", passed(), at="XKAL"))
BARRED_HERE = landing_here(broken("AP-02", Breach.BELOW_MINIMA, at="XKAL"))
WINDY_HERE = landing_here(broken("WD-01", Breach.WIND_LIMIT, at="XKAL"))
SHORT_HERE = landing_here(broken("LD-02", Breach.CANNOT_STOP, at="XKAL"))
REPORT_HERE = Ask(
    what="the latest report and forecast of XKAL", whom="air traffic control or dispatch", by_at=BY
)


def asked(
    *causes: Cause, here: JudgedCourse = OPEN_HERE, do: str = "DIVERT", **changes: Any
) -> tuple[Ask, ...]:
    made = decision(leaving("XAAA"), do, asks=causes, **changes)
    return asks_of(made, (leaving("XAAA"), here), situation(), by_at=BY)


@pytest.mark.parametrize(
    ("cause", "what", "whom"),
    [
        (
            ("XAAA", REPORTS),
            "the latest report and forecast of XAAA",
            "air traffic control or dispatch",
        ),
        (
            ("XAAA", "runway condition"),
            "runway condition of XAAA",
            "air traffic control or dispatch",
        ),
        (("", "oxygen"), "minutes of oxygen left for crew and passengers", "the crew"),
        (("", "rate of the fuel leak"), "rate of the fuel leak", "the crew"),
        (("XAAA", Topic.AERODROME.lacks), "hours, runways and rescue services of XAAA", "dispatch"),
        (("XAAA", Topic.MISSED.lacks), "the chart of the missed approach of XAAA", "dispatch"),
    ],
)
def test_each_cause_is_asked_of_somebody_who_has_it(cause: Cause, what: str, whom: str) -> None:
    assert asked(cause) == (Ask(what=what, whom=whom, by_at=BY),)


def test_each_thing_is_asked_once_and_in_order() -> None:
    first, second = ("XBBB", REPORTS), ("XAAA", REPORTS)
    places = [each.what.rpartition(" ")[2] for each in asked(first, second, first)]
    assert places == ["XBBB", "XAAA"]


def test_nothing_is_asked_where_nothing_is_missing_and_the_place_is_open() -> None:
    assert asked() == ()


@pytest.mark.parametrize("basis", [Basis.APPROACH_BARRED, Basis.NOT_FIT_HERE, Basis.WAIT])
@pytest.mark.parametrize("here", [BARRED_HERE, WINDY_HERE])
def test_where_a_report_may_open_the_place_it_is_asked_for(
    here: JudgedCourse, basis: Basis
) -> None:
    """Closed by visibility, wind or hazard: until the aircraft leaves a newer report counts."""
    assert asked(here=here, basis=basis) == (REPORT_HERE,)


def test_what_is_due_within_a_minute_is_asked_at_once() -> None:
    made = decision(leaving("XAAA"), asks=(("XAAA", REPORTS),))
    for seconds, due in ((59, None), (61, T0 + timedelta(seconds=61))):
        by_at = T0 + timedelta(seconds=seconds)
        (ask,) = asks_of(made, (leaving("XAAA"), OPEN_HERE), situation(), by_at=by_at)
        assert ask.by_at == due


def test_what_comes_with_a_report_is_not_asked_for_beside_it() -> None:
    found = asked(("XTOR", "QNH", "wind"), ("XTOR", REPORTS))
    assert [each.what for each in found] == ["the latest report and forecast of XTOR"]
    (alone,) = asked(("XBRE", "QNH"))
    assert "XBRE" in alone.what


def test_no_report_is_asked_for_where_it_could_not_open_the_place() -> None:
    assert asked(here=SHORT_HERE, basis=Basis.NOT_FIT_HERE) == ()


def test_a_hold_without_another_question_awaits_the_report_of_the_place() -> None:
    assert asked(here=SHORT_HERE, do="HOLD") == (REPORT_HERE,)
    assert asked(("", "oxygen"), here=SHORT_HERE, do="HOLD")[0].what.startswith("minutes of oxygen")


def test_an_urgent_landing_waits_for_no_report() -> None:
    assert asked(here=BARRED_HERE, basis=Basis.TIME_CRITICAL) == ()


# --- whole answers ---


def test_what_is_asked_for_is_due_by_the_deadline_of_the_action() -> None:
    answer = told("island-in-fog")
    ask, places = answer["ask"]
    assert places["what"] == OTHER_PLACES
    assert ask["what"] == "the latest report and forecast of XSUN"
    assert ask["by_at"] == answer["action"]["latest_at"] is not None


def test_a_place_barred_by_fog_has_its_next_report_asked_for_until_the_aircraft_leaves() -> None:
    answer = told("leak-ends-the-hold")
    assert answer["action"]["do"] == "DIVERT"
    assert [each["what"] for each in answer["ask"]] == ["the latest report and forecast of XKAL"]


def test_a_report_that_would_make_a_second_way_out_is_asked_for() -> None:
    reports = [text for text in demo("clean")["weather"]["reports"] if "XBRE" not in text]
    answer = told("clean", **{"/weather/reports": reports})
    assert answer["verdict"] == "GO_WITH_CAUTION"
    assert answer["ask"][0]["what"] == "the latest report and forecast of XBRE"


@pytest.mark.parametrize("name", NAMES)
def test_an_answer_without_a_legal_course_asks_for_other_places_unless_it_was_asked_for_them(
    name: str,
) -> None:
    body = demo(name)
    answer = told(name)
    asked = [each for each in answer["ask"] if each["what"] == OTHER_PLACES]
    assert len(asked) == (not any(each["legal"] for each in answer["courses"]))
    if asked and body["aircraft"].get("position"):
        body["propose_alternates"] = {"most": 2}
        again = recommend_mapping(case_from_mapping(body))
        assert OTHER_PLACES not in {each["what"] for each in again["ask"]}
