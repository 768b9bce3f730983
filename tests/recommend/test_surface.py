"""What is known of a runway's surface decides, and what is not known of it is no excuse."""

from __future__ import annotations

from typing import Any

import pytest

from decision.case import case_from_mapping
from tests.answer.told import told_of
from tests.case.builders import demo, with_changes

SHORT, LONG = "flaps-jammed-short-wet", "clean"


def answered(name: str, **changes: Any) -> Any:
    return told_of(case_from_mapping(with_changes(demo(name), changes)))


def landings(told: Any, place: str) -> set[tuple[str, str]]:
    """Outcome and sentence of the landing distance at a place, over all courses."""
    return {
        (finding["outcome"], finding["text"])
        for course in told["courses"]
        for finding in course["findings"]
        if finding["rule"] == "LD-01" and finding["at"] == place
    }


@pytest.mark.parametrize("weather", ["+RA", "SN", "FZRA"])
def test_a_runway_too_short_at_its_best_is_barred_though_nobody_knows_its_condition(
    weather: str,
) -> None:
    report = f"METAR XSUN 140600Z 10012KT 6000 {weather} BKN012 09/08 Q1009"
    told = answered(SHORT, **{"/weather/reports/0": report})
    assert told["verdict"] == "NO_GO"
    assert "even on the best condition, code 5, that the runway may have" in told["headline"]
    assert {outcome for outcome, _ in landings(told, "XSUN")} == {"FAIL"}


def test_a_runway_long_enough_at_its_best_stays_unknown_where_nobody_knows_its_condition() -> None:
    report = "METAR XKAL 140600Z 26011KT 1800 SN BKN004 M01/M02 Q1013 NOSIG"
    found = landings(answered(LONG, **{"/weather/reports/0": report}), "XKAL")
    assert {outcome for outcome, _ in found} == {"UNKNOWN"}
    assert all("runway condition not known" in text for _, text in found)


@pytest.mark.parametrize(
    ("changes", "outcomes"),
    [
        ({"at": "2026-03-14T06:05:00Z"}, {"PASS"}),
        ({"at": "2026-03-14T04:05:00Z"}, {"UNKNOWN"}),
        ({"at": "2026-03-14T06:05:00Z", "braking_runway": "27R"}, {"PASS"}),
        ({"at": "2026-03-14T06:05:00Z", "braking_runway": "27L"}, {"UNKNOWN"}),
    ],
    ids=["just now", "two hours ago", "of this runway", "of the other runway"],
)
def test_a_braking_report_tells_the_surface_of_its_runway_for_an_hour(
    changes: dict[str, str], outcomes: set[str]
) -> None:
    told = answered(
        LONG,
        **{
            "/weather/reports/0": "METAR XKAL 140600Z 26011KT 1800 SN BKN004 M01/M02 Q1013 NOSIG",
            "/observations": [{"icao": "XKAL", "braking": "medium", **changes}],
        },
    )
    here = {outcome for outcome, text in landings(told, "XKAL") if "27R" in text}
    assert here == outcomes
