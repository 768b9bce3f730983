"""What could not be read is said in plain words: which report, which words, what to ask for."""

from __future__ import annotations

from typing import Any

import pytest

from decision.brief import brief
from decision.case import case_from_mapping
from tests.answer.told import told_of
from tests.case.builders import demo, with_changes

HERE = [
    "METAR XKAL 140600Z 26011KT 1800 BR BKN004 08/07 Q1013 NOSIG",
    "TAF XKAL 140500Z 1406/1506 26012KT 1800 BR BKN004 BECMG 1410/1412 9999 NSW SCT020",
]
METAR = "METAR XTOR 140600Z 29010KT 9999 BKN020 07/04 Q1011 NOSIG"
TAF = "TAF XTOR 140500Z 1406/1506 29011KT 9999 BKN018"
HAZY = "METAR XTOR 140600Z 29010KT 99X9 BKN020 07/04 Q1011"
BROKEN = f"{TAF} BECMG 14O6/1408 3000 BR BKN008"


def answered(*there: str) -> Any:
    """The sound aircraft with one alternate, of which these reports are all there is."""
    body = with_changes(demo("clean"), {"/weather/reports": [*HERE, *there]})
    body["alternates"] = [each for each in body["alternates"] if each["icao"] == "XTOR"]
    return told_of(case_from_mapping(body))


def test_with_both_reports_whole_the_case_is_decided() -> None:
    assert answered(METAR, TAF)["verdict"] == "GO_WITH_CAUTION"


@pytest.mark.parametrize(
    ("there", "first_unknown", "asked"),
    [
        (
            (METAR, BROKEN),
            'TAF XTOR cannot be read at "BECMG 14O6/1408"; taken as unknown there: cloud,'
            " visibility, weather, wind. Ask: dispatch or air traffic control for the weather of"
            " XTOR.",
            "the latest report and forecast of XTOR",
        ),
        (
            (HAZY, TAF),
            'METAR XTOR cannot be read at "99X9"; taken as unknown there: cloud, visibility,'
            " weather. Ask: dispatch or air traffic control for the weather of XTOR.",
            "the latest report and forecast of XTOR",
        ),
        (
            ("TAF XTOR 140500Z 29011KT 9999 BKN018",),
            "A report of XTOR cannot be used, its validity could not be read: TAF XTOR 140500Z"
            " 29011KT 9999 BKN018. Ask: dispatch or air traffic control for the weather of XTOR.",
            "the latest report and forecast of XTOR",
        ),
        (
            ("METAR XT0R 14O600Z 29010KT 9999 BKN020 07/04 Q1011", TAF),
            "A report cannot be used, no station and time at the start of the report: METAR XT0R"
            " 14O600Z 29010KT 9999 BKN020 07/04 Q1011. Ask: dispatch for it again.",
            "the latest report and forecast of XTOR",
        ),
        (
            ("METAR XT0R 14O600Z 29010KT 9999 BKN020 07/04 Q1011",),
            "A report cannot be used, no station and time at the start of the report: METAR XT0R"
            " 14O600Z 29010KT 9999 BKN020 07/04 Q1011. Ask: dispatch for it again.",
            "the latest report and forecast of XTOR",
        ),
    ],
    ids=[
        "a group of the forecast",
        "a word of the report",
        "a validity",
        "a header beside a forecast",
        "a header",
    ],
)
def test_an_unreadable_report_of_the_alternate_is_named_with_its_words_and_what_to_ask(
    there: tuple[str, ...], first_unknown: str, asked: str
) -> None:
    told = answered(*there)
    assert told["verdict"] == "INSUFFICIENT_DATA"
    assert told["unknowns"][0] == first_unknown
    assert asked in [each["what"] for each in told["ask"]]
    assert asked in told["headline"].partition("Until then")[0]
    page = " ".join(brief(told).split())
    assert first_unknown in page


def test_of_a_place_without_any_report_that_is_said_once() -> None:
    told = answered()
    said = [each["text"] for each in told["cautions"] if "XTOR" in each["text"]]
    assert said[0] == "XTOR: no report is at hand, neither observation nor forecast."
    assert told["unknowns"][0] == (
        "There is no report of XTOR: nothing of its weather is known. Ask: dispatch or air traffic"
        " control for the weather of XTOR."
    )
    assert "ask for the latest report and forecast of XTOR" in told["headline"]


def test_of_a_place_without_any_report_there_is_one_caution() -> None:
    assert len([each for each in answered()["cautions"] if "XTOR" in each["text"]]) == 1


def test_what_is_not_known_is_listed_once_though_each_course_asks_at_its_own_time() -> None:
    lines = [each.partition(":")[0] for each in answered()["unknowns"] if "Ask:" in each]
    assert "XTOR visibility is not known" in lines
    assert len(set(lines)) == len(lines)


def test_of_a_place_of_which_something_was_told_by_word_it_is_not_said_that_nothing_is_known() -> (
    None
):
    body = with_changes(demo("clean"), {"/weather/reports": HERE})
    body["observations"] = [{"icao": "XTOR", "at": "2026-03-14T06:05:00Z", "visibility_m": 8000}]
    told = told_of(case_from_mapping(body))["unknowns"]
    assert not any("no report of XTOR" in each for each in told)
    assert any("no report of XBRE" in each for each in told)


def test_an_unreadable_report_of_one_of_two_alternates_is_told_though_it_does_not_decide() -> None:
    body = demo("clean")
    body["weather"]["reports"] = [each for each in body["weather"]["reports"] if each != TAF]
    body["weather"]["reports"].append(BROKEN)
    told = told_of(case_from_mapping(body))
    assert told["verdict"] == "GO_WITH_CAUTION"
    assert told["unknowns"][0].startswith('TAF XTOR cannot be read at "BECMG 14O6/1408"')


def test_a_way_out_that_is_not_known_is_not_told_as_one_that_remains() -> None:
    body = demo("clean")
    body["weather"]["reports"] = [each for each in body["weather"]["reports"] if each != TAF]
    body["weather"]["reports"].append(BROKEN)
    assert told_of(case_from_mapping(body))["basis"] == "ONE_WAY_OUT"
