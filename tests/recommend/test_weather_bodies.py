"""Whole cases in which the reports disagree, run out, or are of the kind in which nobody lands.

Each class with siblings, in all three rulebooks. Only what the weather itself decides is claimed:
findings, cautions, and that the answer is no plain GO.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest

from decision.case import case_from_mapping
from tests.answer.told import told_of
from tests.case.builders import demo, with_changes

BOOKS = ("icao", "easa", "faa-121")
FINE = "TAF XKAL 140500Z 1406/1506 26012KT 9999 SCT030"
GOOD = "METAR XKAL 140600Z 26011KT 9999 SCT030 08/04 Q1013"
OTHERS = (
    "METAR XBRE 140600Z 24009KT 9999 SCT025 10/06 Q1014",
    "TAF XBRE 140500Z 1406/1506 24010KT 9999 SCT025",
    "METAR XTOR 140600Z 29010KT 9999 SCT030 07/04 Q1011",
    "TAF XTOR 140500Z 1406/1506 29011KT 9999 SCT030",
)


@cache
def told(book: str, *reports: str, **changes: Any) -> dict[str, Any]:
    body = {"/rulebook": book, "/weather/reports": [*reports, *OTHERS]} | changes
    return told_of(case_from_mapping(with_changes(demo("clean"), body)))


def outcomes(answer: dict[str, Any], rule: str, place: str = "XKAL") -> set[str]:
    return {
        finding["outcome"]
        for course in answer["courses"]
        for finding in course["findings"]
        if finding["rule"] == rule and finding["at"] == place
    } - {"NOT_APPLICABLE"}


def cautions(answer: dict[str, Any]) -> dict[str, str]:
    return {each["code"]: each["weight"] for each in answer["cautions"]}


@pytest.mark.parametrize("book", BOOKS)
def test_in_fine_weather_nothing_of_this_is_said(book: str) -> None:
    answer = told(book, GOOD, FINE)
    assert answer["verdict"] == "GO"
    assert outcomes(answer, "AP-02") == outcomes(answer, "HZ-01") == {"PASS"}
    codes = cautions(answer)
    assert not {"NO_FORECAST", "REPORTS_DIFFER", "MAY_BE_BARRED", "OBSERVED_WORSE"} & set(codes)
    assert not [code for code in codes if code.startswith("HAZARD_")]


@pytest.mark.parametrize("book", BOOKS)
@pytest.mark.parametrize(
    "group",
    [
        "TEMPO 1406/1410 0200 FG VV001",
        "PROB40 1406/1409 0100 FG",
        "PROB30 TEMPO 1406/1409 0150 FZFG",
        "TEMPO 1406/1408 0200 +SHRA",
    ],
)
def test_a_forecast_of_fog_under_a_fine_report_bars_nothing_and_is_no_plain_go(
    book: str, group: str
) -> None:
    answer = told(book, GOOD, f"{FINE} {group}")
    assert outcomes(answer, "AP-02") == {"PASS"}
    assert answer["verdict"] not in ("GO", "NO_GO")
    said = [each["text"] for each in answer["cautions"] if each["code"] == "MAY_BE_BARRED"]
    assert len(said) == 1
    assert group in said[0]


@pytest.mark.parametrize("book", BOOKS)
@pytest.mark.parametrize(
    "other",
    [
        "METAR XKAL 140600Z 26005KT 0100 FG VV000 08/08 Q1013",
        "METAR XKAL 140600Z 26011KT 0150 FG SCT030 08/04 Q1013",
        "METAR XKAL 140600Z 26011KT 3000 R27R/0200 BR SCT030 08/04 Q1013",
        "METAR XKAL 140600Z 26001KT 0200 FG OVC001 08/08 Q1013 NOSIG",
    ],
)
def test_the_worse_of_two_reports_decides_in_either_order(book: str, other: str) -> None:
    answers = [told(book, *order, FINE) for order in ((GOOD, other), (other, GOOD))]
    for answer in answers:
        assert outcomes(answer, "AP-02") == {"FAIL"}
        assert cautions(answer)["REPORTS_DIFFER"] == "warning"
        text = next(e["text"] for e in answer["cautions"] if e["code"] == "REPORTS_DIFFER")
        assert GOOD in text
        assert other in text
        assert answer["verdict"] == "NO_GO"


@pytest.mark.parametrize("book", BOOKS)
@pytest.mark.parametrize(
    "gone",
    [
        "TAF XKAL 130500Z 1306/1406 26012KT 0300 FG VV001",
        "TAF AMD XKAL 140530Z 1406/1506 CNL",
        "TAF XKAL 140500Z NIL",
        "TAF XKAL 140630Z 1406/1506 26012KT 9999 SCT030",
    ],
    ids=["expired", "cancelled", "nil", "stamped ahead"],
)
def test_a_forecast_that_is_none_is_missed_by_name(book: str, gone: str) -> None:
    answer = told(book, GOOD, gone)
    assert cautions(answer)["NO_FORECAST"] == "warning"
    text = next(e["text"] for e in answer["cautions"] if e["code"] == "NO_FORECAST")
    assert text.startswith("XKAL")
    assert answer["verdict"] == "GO_WITH_CAUTION"
    assert any(gone[:20] in each["text"] for each in answer["cautions"])


HAZARDS = [
    ("FC", "HAZARD_FUNNEL_CLOUD", "HZ-01"),
    ("VA", "HAZARD_VOLCANIC_ASH", "HZ-01"),
    ("FZRA", "HAZARD_FREEZING_PRECIPITATION", "HZ-01"),
    ("+FZDZ", "HAZARD_FREEZING_PRECIPITATION", "HZ-01"),
    ("TSGR", "HAZARD_THUNDERSTORM_HAIL", "HZ-02"),
    ("SQ", "HAZARD_SQUALL", "HZ-02"),
    ("+SN", "HAZARD_HEAVY_SNOW", "HZ-02"),
    ("DS", "HAZARD_SAND_OR_DUST_STORM", "HZ-02"),
    ("TS", "HAZARD_THUNDERSTORM", None),
    ("VCTS", "HAZARD_THUNDERSTORM", None),
]


@pytest.mark.parametrize("book", BOOKS)
@pytest.mark.parametrize(("weather", "code", "rule"), HAZARDS)
@pytest.mark.parametrize("where", ["report", "base", "tempo", "prob", "trend"])
def test_no_hazard_at_the_place_of_landing_is_a_plain_go(
    book: str, weather: str, code: str, rule: str | None, where: str
) -> None:
    reports = {
        "report": (GOOD.replace("9999", f"9999 {weather}"), FINE),
        "base": (GOOD, FINE.replace("9999", f"9999 {weather}")),
        "tempo": (GOOD, f"{FINE} TEMPO 1406/1409 {weather}"),
        "prob": (GOOD, f"{FINE} PROB40 1406/1409 {weather}"),
        "trend": (f"{GOOD} TEMPO {weather}", FINE),
    }[where]
    answer = told(book, *reports)
    assert cautions(answer)[code] == ("warning" if rule else "caution")
    assert answer["verdict"] != "GO"
    for each in ("HZ-01", "HZ-02"):
        assert outcomes(answer, each) == ({"FAIL"} if each == rule else {"PASS"})
    assert outcomes(answer, "HZ-01", "XTOR") == {"PASS"}


@pytest.mark.parametrize("book", BOOKS)
def test_gusts_far_above_the_mean_are_told_near_the_top(book: str) -> None:
    answer = told(book, GOOD.replace("26011KT", "27025G40KT"), FINE)
    assert answer["verdict"] != "GO"
    weights = [each["weight"] for each in answer["cautions"]]
    first = weights.index("caution")
    assert answer["cautions"][first]["code"] == "HAZARD_GUST_SPREAD"


@pytest.mark.parametrize("book", BOOKS)
def test_a_hazard_at_an_alternate_is_judged_there(book: str) -> None:
    ashen = OTHERS[0].replace("9999", "9999 VA")
    answer = told(book, GOOD, FINE, ashen.replace("140600Z", "140605Z"))
    assert outcomes(answer, "HZ-01", "XBRE") == {"FAIL"}
    assert outcomes(answer, "HZ-01", "XKAL") == {"PASS"}


@pytest.mark.parametrize("book", BOOKS)
@pytest.mark.parametrize(
    "report",
    [
        "METAR XKAL 140600Z 26001KT 0200 FG VV001 06/06 Q1020",
        "METAR XKAL 140535Z 26001KT 0200 FG VV001 06/06 Q1020",
        "SPECI XKAL 140558Z 26001KT 0800 R27R/0200N FG SCT002 06/06 Q1020",
        "METAR XKAL 140600Z 26001KT 0150 FG SCT002 06/06 Q1020 NOSIG",
    ],
)
def test_no_course_lands_here_because_a_report_has_grown_old(book: str, report: str) -> None:
    """Nothing is named that improves: at no moment of a hold is the approach open."""
    answer = told(book, report, FINE)
    assert outcomes(answer, "AP-02") == {"FAIL"}
    assert answer["action"]["do"] != "HOLD"
    assert not [each for each in answer["courses"] if each["kind"] == "hold_then_approach"] or all(
        each["legal"] is False for each in answer["courses"] if each["kind"] == "hold_then_approach"
    )
