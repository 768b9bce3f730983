from __future__ import annotations

from copy import deepcopy
from typing import Any

import pytest

from decision.case import Lack, ReportClass, case_from_mapping, lacking
from decision.errors import InvalidCase
from tests.case.builders import demo

CLEAN = demo("clean")
REPORTS: list[str] = CLEAN["weather"]["reports"]
EVERYTHING = [
    (icao, kind) for icao in ("XKAL", "XBRE", "XTOR") for kind in ("observation", "forecast")
]


def lacks_of(reports: list[str], **weather: Any) -> list[tuple[str, str]] | None:
    body = deepcopy(CLEAN) | {"weather": {"reports": reports, "fetch": True, **weather}}
    lacks = lacking(case_from_mapping(body))
    return None if lacks is None else [(lack.icao, lack.kind.value) for lack in lacks]


def test_a_case_without_reports_lacks_both_kinds_of_each_place_destination_first() -> None:
    assert lacks_of([]) == EVERYTHING


def test_a_case_with_every_report_lacks_nothing() -> None:
    assert lacks_of(REPORTS) == []


@pytest.mark.parametrize("index", range(len(EVERYTHING)))
def test_the_one_report_that_is_not_there_is_lacking(index: int) -> None:
    assert lacks_of(REPORTS[:index] + REPORTS[index + 1 :]) == [EVERYTHING[index]]


@pytest.mark.parametrize(
    "useless",
    [
        "METAR XKAL 140600Z NIL",
        "METAR XKAL",
        "METAR XKAL 140900Z 26011KT 9999 SCT025 10/06 Q1014",
        "METAR XXXX 140600Z 26011KT 9999 SCT025 10/06 Q1014",
    ],
    ids=["nil", "unreadable", "of later", "of elsewhere"],
)
def test_a_report_that_is_not_in_force_is_as_good_as_none(useless: str) -> None:
    assert lacks_of([useless, *REPORTS[1:]]) == [("XKAL", "observation")]


def test_an_expired_forecast_is_lacking() -> None:
    expired = "TAF XKAL 130500Z 1306/1406 26012KT 9999 SCT025"
    assert lacks_of([REPORTS[0], expired, *REPORTS[2:]]) == [("XKAL", "forecast")]


def test_a_special_report_is_an_observation() -> None:
    special = REPORTS[0].replace("METAR", "SPECI")
    assert lacks_of([special, *REPORTS[1:]]) == []


def test_nothing_is_lacking_unless_fetching_is_asked_for() -> None:
    assert lacks_of([], fetch=False) is None


@pytest.mark.parametrize("twice", ["XKAL", "XBRE"])
def test_no_place_can_lack_the_same_twice(twice: str) -> None:
    """Why the places need not be made unique: a case that names one twice is refused."""
    body = deepcopy(CLEAN)
    body["alternates"] = ["XBRE", twice]
    with pytest.raises(InvalidCase):
        case_from_mapping(body)


def test_what_has_been_fetched_is_not_fetched_again() -> None:
    note = {"icao": "XKAL", "kind": "observation", "stale": False, "problem": "no answer"}
    body = deepcopy(CLEAN) | {"weather": {"reports": [], "fetch": True, "fetched": [note]}}
    case = case_from_mapping(body)
    assert lacking(case) is None
    assert case.weather.fetched is not None
    (fetched,) = case.weather.fetched
    assert fetched.lack == Lack(icao="XKAL", kind=ReportClass.OBSERVATION)
    assert (fetched.at, fetched.age_s, fetched.stale) == (None, None, False)
    assert fetched.problem == "no answer"


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"kind": "METAR"}, "/weather/fetched/0/kind"),
        ({"at": "yesterday"}, "/weather/fetched/0/at"),
        ({"age_s": -1}, "/weather/fetched/0/age_s"),
        ({"stale": None}, "/weather/fetched/0/stale"),
        ({"url": "https://x.example"}, "/weather/fetched/0/url"),
    ],
)
def test_a_note_of_what_was_fetched_has_its_shape(change: dict[str, Any], pointer: str) -> None:
    note = {"icao": "XKAL", "kind": "forecast", "stale": False} | change
    with pytest.raises(InvalidCase) as error:
        lacks_of([], fetched=[note])
    assert [fault.pointer for fault in error.value.faults] == [pointer]
