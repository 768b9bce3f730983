"""Holding for weather: on a named group alone, quoted; what bounds it; two labelled deadlines."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import pytest

from tests.case.builders import demo
from tests.decide.by_hand import told

FOG = "METAR XKAL 140600Z 26004KT 0250 R27R/0300N R09L/0300N FG VV001 08/08 Q1013"
ELSEWHERE = [text for text in demo("wait-for-fog")["weather"]["reports"] if "XKAL" not in text]
FOREVER = "TAF XKAL 140500Z 1406/1506 26004KT 0300 FG VV001"


def reported(observed: str, forecast: str = "") -> dict[str, Any]:
    """The destination's weather; the other places have theirs."""
    taf = FOREVER if not forecast else f"TAF XKAL 140500Z 1406/1506 {forecast}"
    return {"/weather/reports": [observed, taf, *ELSEWHERE]}


def codes(answer: dict[str, Any]) -> set[str]:
    return {caution["code"] for caution in answer["cautions"]}


def waits(answer: dict[str, Any]) -> list[dict[str, Any]]:
    return [each for each in answer["courses"] if each["kind"] == "hold_then_approach"]


# --- named groups only ---

NAMED = {
    "FM": ("26004KT 0300 FG VV001 FM140630 26010KT 9999 SCT030", "FM140630 26010KT 9999 SCT030"),
    "BECMG, from its end": (
        "26004KT 0300 FG VV001 BECMG 1406/1407 26010KT 9999 NSW SCT030",
        "BECMG 1406/1407 26010KT 9999 NSW SCT030",
    ),
}


@pytest.mark.parametrize("named", NAMED)
def test_a_hold_rests_on_a_group_that_names_the_improvement_and_quotes_it(named: str) -> None:
    forecast, group = NAMED[named]
    answer = told(
        "wait-for-fog",
        **reported(FOG, forecast),
        **{"/fuel/on_board_kg": 6500, "/aircraft/mass_kg": 63_350},
    )
    assert (answer["action"]["do"], answer["basis"]) == ("HOLD", "WAIT")
    assert waits(answer)
    assert {each["rests_on"] for each in waits(answer)} == {group}
    assert f"'{group}'" in answer["headline"]


NAMELESS = {
    "nothing at all": "26004KT 0300 FG VV001",
    "TEMPO never improves": "26004KT 0300 FG VV001 TEMPO 1406/1408 9999 NSW SCT030",
    "PROB never improves": "26004KT 0300 FG VV001 PROB40 1406/1408 9999 NSW SCT030",
    "good weather that is merely forecast": "26010KT 9999 SCT030",
    "an improvement not far enough": "26004KT 0200 FG VV001 FM140630 26004KT 0250 FG VV001",
}


@pytest.mark.parametrize("forecast", NAMELESS)
def test_without_a_group_that_names_it_nothing_is_waited_for(forecast: str) -> None:
    """Least of all for an old report that lapses, or for silence."""
    answer = told(
        "wait-for-fog",
        **reported(FOG, NAMELESS[forecast]),
        **{"/fuel/on_board_kg": 6500, "/aircraft/mass_kg": 63_350},
    )
    assert answer["action"]["do"] == "DIVERT"
    assert not [each for each in waits(answer) if each["legal"] is not False]


def test_a_trend_that_names_it_counts_from_its_end() -> None:
    trend = f"{FOG} BECMG FM0625 TL0635 9999 NSW SCT030"
    answer = told(
        "wait-for-fog",
        **reported(trend, "26010KT 9999 SCT030"),
        **{"/fuel/on_board_kg": 6500, "/aircraft/mass_kg": 63_350},
    )
    assert answer["action"]["do"] == "HOLD"
    (rests,) = {each["rests_on"] for each in waits(answer)}
    assert rests.startswith("BECMG FM0625 TL0635")
    approach_at = datetime.fromisoformat(waits(answer)[0]["time"]["missed_approach_at"])
    assert approach_at >= datetime.fromisoformat("2026-03-14T06:35:00+00:00")


def test_the_same_report_issued_again_never_extends_a_hold() -> None:
    once = told("wait-for-fog")
    reports = demo("wait-for-fog")["weather"]["reports"]
    twice = told("wait-for-fog", **{"/weather/reports": [*reports, *reports]})
    assert twice["holding"] == once["holding"]
    assert twice["action"] == once["action"]


def test_a_hazard_that_is_said_to_pass_is_waited_for() -> None:
    answer = told("funnel-cloud-passing")
    assert (answer["action"]["do"], answer["basis"]) == ("HOLD", "WAIT")
    assert {each["rests_on"] for each in waits(answer)} == {
        "BECMG FM0635 TL0640 26012KT 9999 NSW SCT030"
    }


def test_what_waiting_cannot_mend_is_not_waited_for() -> None:
    """The runway stays too short, whatever becomes of the fog."""
    reports = [
        "METAR XSUN 140600Z 10012KT 0250 FG VV001 09/08 Q1009",
        "TAF XSUN 140500Z 1406/1506 10012KT 0300 FG VV001 FM140630 10012KT 9999 SCT030",
        *(
            text
            for text in demo("flaps-jammed-short-wet")["weather"]["reports"]
            if "XSUN" not in text
        ),
    ]
    answer = told("flaps-jammed-short-wet", **{"/weather/reports": reports})
    assert waits(answer) == []
    assert answer["basis"] == "NOT_FIT_HERE"


# --- an island ---

ISLAND = "island-in-fog"
LIFTS = "TAF XSUN 140500Z 1406/1506 11005KT 0300 FG VV001 FM140650 11008KT 9999 SCT030"


def test_on_an_island_a_named_improvement_is_waited_for_with_fuel_for_a_second_approach() -> None:
    answer = told(ISLAND, **{"/weather/reports/1": LIFTS})
    assert (answer["action"]["do"], answer["basis"]) == ("HOLD", "WAIT")
    (wait,) = waits(answer)
    assert wait["aerodrome"] == "XSUN"
    assert wait["legal"] is True
    assert wait["rests_on"] == "FM140650 11008KT 9999 SCT030"
    again = next(each for each in answer["courses"] if each["kind"] == "second_approach")
    assert wait["fuel"]["landing_kg"] < again["fuel"]["landing_kg"]


def test_on_an_island_without_that_fuel_there_is_no_wait() -> None:
    answer = told(
        ISLAND,
        **{
            "/weather/reports/1": LIFTS,
            "/fuel/on_board_kg": 2900,
            "/aircraft/mass_kg": 58_100,
        },
    )
    assert all(each["legal"] is not True for each in waits(answer))
    assert answer["basis"] == "NO_LEGAL_COURSE"


def test_where_weather_alone_is_bad_the_hold_is_for_a_report_and_says_by_when() -> None:
    answer = told(ISLAND)
    assert (answer["action"]["do"], answer["basis"]) == ("HOLD", "NO_LEGAL_COURSE")
    assert answer["ask"][0]["by_at"] == answer["action"]["latest_at"]
    assert waits(answer) == []
    assert answer["emergency"]["level"] == "NONE"


def test_no_deadline_of_a_hold_lasts_beyond_the_fuel_for_a_miss_and_a_second_approach() -> None:
    answer = told(ISLAND)
    again = next(each for each in answer["courses"] if each["kind"] == "second_approach")
    flow_kg_per_h = again["fuel"]["margin_kg"] / (answer["holding"]["available_min"] / 60.0)
    assert 1800.0 < flow_kg_per_h < 3200.0, "the flow of a hold at that mass"


# --- urgency and leaks ---


@pytest.mark.parametrize("failure", ["smoke", "engine-1-fire"])
def test_with_the_ground_wanted_at_once_nothing_is_held_for(failure: str) -> None:
    answer = told("wait-for-fog", **{"/failures": [{"id": failure}]})
    assert waits(answer) == []
    assert answer["action"]["do"] != "HOLD"
    assert set(answer["holding"].values()) == {None}


def test_with_a_leak_a_hold_must_land_before_the_diversion_would() -> None:
    """Fog that lifts in minutes is waited for, fog that lifts in three quarters of an hour not."""
    soon = told("leak-ends-the-hold", **{"/weather/reports/1": NAMED_TAF.format("140630")})
    late = told("leak-ends-the-hold", **{"/weather/reports/1": NAMED_TAF.format("140645")})
    assert soon["action"]["do"] == "HOLD"
    assert late["action"]["do"] == "DIVERT"
    (chosen,) = [each for each in soon["courses"] if each["course"] == soon["action"]["course"]]
    diversions = [
        each["touchdown_at"]
        for each in soon["courses"]
        if each["kind"] == "divert_now" and each["from"] == "present" and each["legal"]
    ]
    assert chosen["time"]["missed_approach_at"] < min(diversions)


NAMED_TAF = "TAF XKAL 140500Z 1406/1506 26004KT 0300 FG VV001 FM{} 26010KT 9999 SCT030"


def test_a_leak_shortens_what_can_be_waited_for() -> None:
    dry, leaking = (
        told("wait-for-fog", **{"/fuel/leak_kg_per_h": leak_kg_per_h}) for leak_kg_per_h in (0, 900)
    )
    for which in ("clean_diversion", "approach_and_miss"):
        before, after = dry["holding"][which], leaking["holding"][which]
        assert before is not None
        assert after is None or after["available_min"] < before["available_min"]


# --- two deadlines ---


def test_with_a_step_for_good_ahead_the_second_deadline_is_the_one_that_counts() -> None:
    stuck = told("gear-stuck", **{"/fuel/on_board_kg": 5000, "/aircraft/mass_kg": 61_850})
    clean = told("clean", **{"/fuel/on_board_kg": 5000, "/aircraft/mass_kg": 61_850})
    for answer, counts in ((stuck, "approach_and_miss"), (clean, "clean_diversion")):
        holding = answer["holding"]
        assert holding["available_min"] == holding[counts]["available_min"]
        assert (
            holding["approach_and_miss"]["available_min"]
            < holding["clean_diversion"]["available_min"]
        )


def test_where_no_diversion_is_legal_the_landing_that_is_chosen_bounds_the_hold() -> None:
    holding = told("commit-permitted")["holding"]
    assert (holding["clean_diversion"], holding["approach_and_miss"]) == (None, None)
    assert holding["limited_by"] == "final reserve at XKAL"
    assert holding["available_min"] > 0.0


# --- what else bounds a hold ---

UNPRESSURISED: dict[str, Any] = {
    "/failures": [{"id": "pressurisation"}],
    "/aircraft/pressure_altitude_ft": 14_000,
    "/destination/track_nm": 60,
    "/plan/checklist_min": 0,
    "/fuel/on_board_kg": 8000,
    "/aircraft/mass_kg": 64_000,
    "/alternates/0/track_from_present_nm": 70,
    "/alternates/1/track_from_present_nm": 60,
}


def test_a_hold_that_terrain_forbids_is_no_choice_and_the_answer_says_so() -> None:
    free = told("wait-for-fog")
    barred = told("wait-for-fog", **{"/destination/minimum_level_ft": 9_100})
    assert free["action"]["do"] == "HOLD"
    assert "HOLD_BARRED" not in codes(free)
    assert barred["action"]["do"] != "HOLD"
    text = next(each["text"] for each in barred["cautions"] if each["code"] == "HOLD_BARRED")
    assert "9000 ft is below the minimum level of 9100 ft" in text


def test_no_hold_is_offered_in_icing_weather_without_protection() -> None:
    reports = demo("wait-for-fog")["weather"]["reports"]
    icing = [reports[0].replace(" FG ", " FZFG "), *reports[1:]]
    unprotected: dict[str, Any] = {
        "/failures": [{"id": "wing-anti-ice"}],
        "/weather/reports": icing,
    }
    protected = told("wait-for-fog", **{"/weather/reports": icing})
    answer = told("wait-for-fog", **unprotected)
    assert waits(protected)
    assert waits(answer) == []
    assert ("HOLD_BARRED" in codes(protected), "HOLD_BARRED" in codes(answer)) == (False, True)
    assert answer["action"]["do"] == "DIVERT"


def test_without_ice_protection_unknown_weather_bars_a_hold_too() -> None:
    reports = demo("wait-for-fog")["weather"]["reports"]
    unread = [reports[0].replace(" FG ", " FG //FZ "), *reports[1:]]
    free = told("wait-for-fog", **{"/failures": [{"id": "wing-anti-ice"}]})
    blind = told(
        "wait-for-fog", **{"/failures": [{"id": "wing-anti-ice"}], "/weather/reports": unread}
    )
    assert "HOLD_BARRED" not in codes(free)
    assert "HOLD_BARRED" in codes(blind) or waits(blind) == []


@pytest.mark.parametrize("oxygen_min", [40, 55])
def test_oxygen_ends_a_hold_where_people_breathe_it(oxygen_min: int) -> None:
    """Above 13 000 ft every minute counts; what the way out uses is no time to hold."""
    answer = told("clean", **UNPRESSURISED, **{"/aircraft/oxygen_min": oxygen_min})
    clean = answer["holding"]["clean_diversion"]
    assert clean is not None
    assert clean["limited_by"] == "oxygen"
    assert oxygen_min - 15.0 < clean["available_min"] < oxygen_min
    until = datetime.fromisoformat(clean["until"]) - datetime.fromisoformat(answer["as_of"])
    assert until.total_seconds() / 60.0 == pytest.approx(clean["available_min"], abs=0.02)


def test_oxygen_does_not_bound_a_hold_below_the_levels_of_its_use() -> None:
    low = UNPRESSURISED | {"/aircraft/pressure_altitude_ft": 9_000}
    clean = told("clean", **low, **{"/aircraft/oxygen_min": 5})["holding"]["clean_diversion"]
    assert clean is not None
    assert clean["limited_by"] != "oxygen"


@pytest.mark.parametrize("name", ["island-in-fog", "alternate-weather-missing"])
def test_a_hold_for_a_report_is_no_choice_below_the_minimum_level_either(name: str) -> None:
    answer = told(name, **{"/destination/minimum_level_ft": 9_100})
    assert answer["action"]["do"] != "HOLD"
