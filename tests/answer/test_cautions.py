"""Each caution by the case that calls for it, and its silence in the case that does not."""

from __future__ import annotations

import ast
import re
from pathlib import Path
from typing import Any

import pytest

from decision.answer.cautions import WORDS, cautions_told
from decision.case import case_from_mapping
from decision.decide import concerns
from decision.decide.concerns import concerns_of
from decision.flight.situation import situation_of
from decision.systems import Limit, LimitName, Weight
from decision.weather.readings import NotAtHand
from tests.answer.told import told_of
from tests.case.builders import REMOVED, demo, with_changes
from tests.changing import replace

FREEZING_XBRE = "TAF XBRE 140500Z 1406/1506 24009KT 6000 FZRA BKN018"
FREEZING_XKAL = "TAF XKAL 140500Z 1406/1506 26012KT 6000 FZRA BKN018"
FINE_XKAL = "TAF XKAL 140500Z 1406/1506 26012KT 9999 SCT030"
CODE = re.compile("[A-Z]+(_[A-Z]*)+")
FAIR = "26011KT 9999 SCT030 08/04 Q1013"


def told(name: str = "clean", /, **changes: Any) -> dict[str, Any]:
    return told_of(case_from_mapping(with_changes(demo(name), changes)))


XNEW = {
    "icao": "XNEW",
    "elevation_ft": 100,
    "track_nm": 42,
    "runways": [{"ident": "27", "true_bearing_deg": 270, "lda_m": 2500}],
    "approaches": [],
}
WIND = {"from_true_deg": 270, "speed_kt": 24, "temperature_degc": -6}
CARRIED = {
    "along": "APPROACH XKAL",
    "values": [{"field": "/fuel/on_board_kg", "given_at": "2026-03-14T06:06:00Z"}],
}
OUT_OF_THE_WAY = {  # nothing arrives at XBRE, and so nothing is said of a time of arrival there
    "/aircraft/position": REMOVED,
    "/destination/track_nm": REMOVED,
    "/alternates/0": {"icao": "XBRE"},
}
CALLED_FOR = [
    ("NO_WIND_GIVEN", "caution", "clean", {"/winds_aloft": REMOVED}, "calm was taken"),
    (
        "NO_TERRAIN_GIVEN",
        "info",
        "clean",
        {"/alternates/0/minimum_level_ft": REMOVED},
        "on the way to XBRE",
    ),
    (
        "NO_TERRAIN_GIVEN",
        "caution",
        "clean",
        {"/alternates/0/minimum_level_ft": REMOVED, "/failures": [{"id": "pressurisation"}]},
        "on the way to XBRE",
    ),
    (
        "FUEL_FLOW_ABOVE_MODEL",
        "warning",
        "clean",
        {"/fuel/observed_flow_kg_per_h": 3600},
        "Consider a leak",
    ),
    ("STATE_CARRIED", "info", "clean", {"/carried": CARRIED}, "4 min old and was carried on"),
    (
        "STATE_CARRIED",
        "caution",
        "clean",
        {"/carried": {**CARRIED, "no_better_than": {"verdict": "GO_WITH_CAUTION"}}},
        "nobody has told it since",
    ),
    (
        "STATE_CARRIED",
        "caution",
        "clean",
        {"/carried": CARRIED, "/policy/state_max_age_min": 3},
        "nothing is decided on it after 3 min",
    ),
    (
        "STATE_CARRIED",
        "caution",
        "clean",
        {"/carried": {**CARRIED, "lost": "it has landed"}},
        "cannot be told any more: it has landed",
    ),
    (
        "POLICY_DEVIATION",
        "caution",
        "clean",
        {"/policy/landing_factor": 1.0, "/policy/deviation_reason": "ferry flight"},
        "ferry flight",
    ),
    (
        "POLICY_DEVIATION",
        "caution",
        "clean",
        {
            "/policy/hazard_weights": [{"phenomenon": "squall", "weight": "caution"}],
            "/policy/deviation_reason": "trial",
        },
        "Policy weighs squall as caution, usual is warning: trial.",
    ),
    (
        "MISS_LIKELY",
        "warning",
        "clean",
        {"/weather/reports/0": "METAR XKAL 140600Z 26011KT 1800 BR OVC001 08/07 Q1013"},
        "ceiling 100 ft at XKAL is below the minimum height of 200 ft",
    ),
    (
        "REPORT_PARTLY_UNREAD",
        "caution",
        "clean",
        {"/weather/reports/2": "METAR XBRE 140600Z 24009KT 9999 QQQQQ SCT025 10/06 Q1014"},
        "QQQQQ",
    ),
    ("REPORT_NOT_USED", "info", "clean", {"/weather/reports/0": "garbage"}, "garbage"),
    (
        "REPORT_NOT_USED",
        "info",
        "clean",
        {"/weather/reports/0": f"METAR XKAL 140730Z {FAIR}"},
        "METAR XKAL 140730Z",
    ),
    (
        "NO_FORECAST",
        "warning",
        "clean",
        {"/weather/reports/1": "-"},
        "XKAL: no forecast is in force",
    ),
    (
        "NO_FORECAST",
        "warning",
        "clean",
        {"/weather/reports/1": "TAF XKAL 130500Z 1306/1406 26012KT 0300 FG VV001"},
        "XKAL: no forecast is in force",
    ),
    (
        "NO_FORECAST",
        "warning",
        "clean",
        {"/weather/reports/1": "TAF AMD XKAL 140530Z 1406/1506 CNL"},
        "XKAL: no forecast is in force",
    ),
    (
        "REPORTS_DIFFER",
        "warning",
        "clean",
        {"/weather/reports/1": f"METAR XKAL 140600Z {FAIR.replace('9999', '0100 FG')}"},
        f"METAR XKAL 140600Z {FAIR.replace('9999', '0100 FG')}",
    ),
    (
        "MAY_BE_BARRED",
        "caution",
        "clean",
        {"/weather/reports/1": f"{FINE_XKAL} TEMPO 1406/1410 0200 FG VV001"},
        "TEMPO 1406/1410 0200 FG VV001 (from 06:00Z to 10:00Z)",
    ),
    (
        "OBSERVED_WORSE",
        "caution",
        "clean",
        {
            "/weather/reports/2": "METAR XBRE 140500Z 24009KT 0300 FG VV001 06/06 Q1014",
            "/plan/hold_min": 40,
        },
        "XBRE: METAR",
    ),
    ("NO_OBSERVATION", "warning", "clean", {"/weather/reports/0": "-"}, "no observation"),
    (
        "WEATHER_NOT_COMPLETE",
        "caution",
        "clean",
        {"/weather/reports/0": f"METAR XKAL 140530Z {FAIR}"},
        "older than half an hour",
    ),
    (
        "NO_REPORT",
        "info",
        "alternate-weather-missing",
        OUT_OF_THE_WAY,
        "XBRE",
    ),
    ("NOTHING_FETCHED", "caution", "clean", {"/weather/fetch": True}, "no source is set up"),
    (
        "HAZARD_THUNDERSTORM",
        "caution",
        "clean",
        {"/weather/reports/2": "METAR XBRE 140600Z 24009KT 5000 TSRA SCT025CB 10/06 Q1014"},
        "Thunderstorm at XBRE: METAR TSRA, from 06:00Z, no end is told",
    ),
    (
        "HAZARD_SQUALL",
        "warning",
        "clean",
        {"/weather/reports/3": "TAF XBRE 140500Z 1406/1506 24010KT 9999 SCT025 TEMPO 1406/1412 SQ"},
        "Squall at XBRE: TEMPO 1406/1412 SQ, from 06:00Z to 12:00Z",
    ),
    (
        "HAZARD_FUNNEL_CLOUD",
        "warning",
        "clean",
        {"/weather/reports/1": f"{FINE_XKAL} BECMG 1406/1408 FC"},
        "Funnel cloud at XKAL: BECMG 1406/1408 FC",
    ),
    (
        "HAZARD_VOLCANIC_ASH",
        "warning",
        "clean",
        {"/weather/reports/1": FINE_XKAL.replace("9999", "9999 VA")},
        "Volcanic ash at XKAL: TAF 26012KT 9999 VA SCT030, from 06:00Z to 06:00Z on day 15.",
    ),
    ("IRREVERSIBLE_STEP", "caution", "gear-stuck", {}, "extend the gear"),
    (
        "FRESH_REPORT_NEEDED",
        "caution",
        "gear-stuck",
        {"/weather/reports/0": f"METAR XKAL 140540Z {FAIR}"},
        "not older than 15 min before the gear goes down",
    ),
    (
        "RUNWAY_WILL_BE_BLOCKED",
        "caution",
        "clean",
        {"/failures": [{"id": "gear-main-leg-stuck"}]},
        "At XBRE, XTOR nobody else may be able to land",
    ),
    (
        "LIMIT_NOT_IN_FIGURES",
        "info",
        "clean",
        {"/failures": [{"id": "hydraulic-2"}]},
        "Brake applications at most 6: the figures do not take it into account",
    ),
    (
        "ICING_WITH_DRAG_OUT",
        "caution",
        "gear-stuck",
        {"/weather/reports/3": FREEZING_XBRE},
        "Icing weather at XBRE, flown to with gear out",
    ),
    (
        "ICING_WITH_DRAG_OUT",
        "caution",
        "clean",
        {
            "/failures": [{"id": "flaps-jammed", "detent": "12"}],
            "/weather/reports/3": FREEZING_XBRE,
        },
        "flown to with flaps out",
    ),
    (
        "NO_ENGINE_OUT_MISSED_APPROACH",
        "caution",
        "clean",
        {"/failures": [{"id": "engine-1"}]},
        "ask for the operator's procedure",
    ),
    (
        "ENGINE_OUT_MARGIN_LOST",
        "info",
        "engine-out-gradient",
        {"/failures": []},
        "against 5.0 percent charted",
    ),
    (
        "STRONG_WIND",
        "caution",
        "clean",
        {"/weather/reports/0": "METAR XKAL 140600Z 27050KT 9999 SCT025 10/06 Q1014"},
        "Wind of 50 kt at XKAL",
    ),
    (
        "STRONG_WIND",
        "caution",
        "clean",
        {"/weather/reports/0": "METAR XKAL 140600Z 27030G55KT 9999 SCT025 10/06 Q1014"},
        "Wind of 55 kt at XKAL",
    ),
    (
        "RESCUE_BELOW_CATEGORY",
        "info",
        "clean",
        {"/destination": {**XNEW, "rescue_category": 5}, "/plan/approach": REMOVED},
        "fighting below category 6: XNEW 5.",
    ),
    (
        "RESCUE_BELOW_CATEGORY",
        "caution",
        "clean",
        {
            "/destination": {**XNEW, "rescue_category": 0},
            "/plan/approach": REMOVED,
            "/failures": [{"id": "engine-1"}],
        },
        "XNEW 0.",
    ),
    (
        "WIND_OF_NEAREST_LEVEL",
        "info",
        "clean",
        {"/winds_aloft": [{**WIND, "pressure_altitude_ft": 5000}]},
        "No wind is given above 5000 ft, and cruise to XTOR, XBRE is above it",
    ),
    (
        "WIND_OF_NEAREST_LEVEL",
        "info",
        "clean",
        {"/winds_aloft": [{**WIND, "pressure_altitude_ft": 39_000}]},
        "below it: the wind of 39000 ft was taken",
    ),
]


@pytest.mark.parametrize(("code", "weight", "name", "changes", "words"), CALLED_FOR)
def test_a_caution_is_given_where_it_is_called_for(
    code: str, weight: str, name: str, changes: dict[str, Any], words: str
) -> None:
    given = [each for each in told(name, **changes)["cautions"] if each["code"] == code]
    assert given
    assert any(words in each["text"] for each in given)
    assert {each["weight"] for each in given} == {weight}
    assert all(each["text"].endswith((".", "garbage", "-")) for each in given if code[0] != "R")


@pytest.mark.parametrize(
    ("code", "name", "changes"),
    [
        ("FUEL_FLOW_ABOVE_MODEL", "clean", {"/fuel/observed_flow_kg_per_h": 1500}),
        ("FRESH_REPORT_NEEDED", "clean", {"/weather/reports/0": f"METAR XKAL 140540Z {FAIR}"}),
        ("FRESH_REPORT_NEEDED", "gear-stuck", {"/weather/reports/0": "-"}),
        ("FRESH_REPORT_NEEDED", "gear-stuck", {"/aircraft/flap": "0", "/aircraft/gear": "down"}),
        ("FRESH_REPORT_NEEDED", "gear-stuck", {"/weather/reports/0": f"METAR XKAL 140609Z {FAIR}"}),
        (
            "FRESH_REPORT_NEEDED",
            "clean",  # slats that stay out are ahead, the gear is down already
            {
                "/aircraft/gear": "down",
                "/failures": [{"id": "slats-retraction"}],
                "/weather/reports/0": f"METAR XKAL 140540Z {FAIR}",
            },
        ),
        ("ENGINE_OUT_MARGIN_LOST", "clean", {}),
        ("ENGINE_OUT_MARGIN_LOST", "engine-out-gradient", {}),
        ("LIMIT_NOT_IN_FIGURES", "clean", {"/failures": [{"id": "window-heat"}]}),
        ("RUNWAY_WILL_BE_BLOCKED", "clean", {"/failures": [{"id": "anti-skid"}]}),
        ("ICING_WITH_DRAG_OUT", "clean", {"/weather/reports/3": FREEZING_XBRE}),
        # the levels reach from below the cruise to above it
        (
            "STRONG_WIND",
            "clean",
            {"/weather/reports/0": "METAR XKAL 140600Z 27049KT 9999 SCT025 10/06 Q1014"},
        ),
        ("WIND_OF_NEAREST_LEVEL", "clean", {}),
        ("RESCUE_BELOW_CATEGORY", "clean", {}),
        (
            "RESCUE_BELOW_CATEGORY",
            "clean",
            {"/destination": {**XNEW, "rescue_category": 6}, "/plan/approach": REMOVED},
        ),
        ("RESCUE_BELOW_CATEGORY", "clean", {"/destination": XNEW, "/plan/approach": REMOVED}),
        ("WIND_OF_NEAREST_LEVEL", "clean", {"/winds_aloft": REMOVED}),
        # icing at the place of the approach itself is not flown to with the gear out
        ("ICING_WITH_DRAG_OUT", "gear-stuck", {"/weather/reports/1": FREEZING_XKAL}),
    ],
)
def test_a_caution_is_silent_where_nothing_calls_for_it(
    code: str, name: str, changes: dict[str, Any]
) -> None:
    assert code not in {each["code"] for each in told(name, **changes)["cautions"]}


def test_the_clean_case_has_nothing_to_be_warned_of() -> None:
    assert told()["cautions"] == []


def test_the_gravest_caution_comes_first_and_none_is_said_twice() -> None:
    cautions = told("gear-stuck", **{"/winds_aloft": REMOVED, "/weather/reports/3": "-"})[
        "cautions"
    ]
    order = [["warning", "caution", "info"].index(each["weight"]) for each in cautions]
    assert order == sorted(order)
    said = [(each["code"], each["text"]) for each in cautions]
    assert len(set(said)) == len(said)


@pytest.mark.parametrize("failures", [[], [{"id": "engine-1"}]])
def test_without_a_described_approach_only_what_needs_none_is_said(
    failures: list[dict[str, str]],
) -> None:
    """An aerodrome with a runway and no procedure: unknown, and no caution on its gradient."""
    bare: dict[str, Any] = {
        "icao": "XNEW",
        "elevation_ft": 100,
        "track_nm": 42,
        "runways": [{"ident": "27", "true_bearing_deg": 270, "lda_m": 2500}],
        "approaches": [],
    }
    seen = told(
        **{
            "/destination": bare,
            "/plan/approach": REMOVED,
            "/failures": failures,
            "/weather/reports/0": "METAR XNEW 140600Z 26011KT 1800 BR OVC001 08/07 Q1013",
        }
    )
    codes = {each["code"] for each in seen["cautions"]}
    assert not codes & {"MISS_LIKELY", "NO_ENGINE_OUT_MISSED_APPROACH", "ENGINE_OUT_MARGIN_LOST"}
    assert seen["verdict"] == "INSUFFICIENT_DATA"


def test_a_published_engine_out_gradient_is_judged_and_not_asked_for() -> None:
    procedure = {
        "id": "A",
        "runway": "27",
        "kind": "3D-B",
        "dh_ft": 200,
        "rvr_m": 550,
        "oei_missed_gradient_percent": 1.5,
    }
    place: dict[str, Any] = {
        "icao": "XNEW",
        "elevation_ft": 100,
        "track_nm": 42,
        "runways": [{"ident": "27", "true_bearing_deg": 270, "lda_m": 2500}],
        "approaches": [procedure],
    }
    seen = told(
        **{
            "/destination": place,
            "/plan/approach": REMOVED,
            "/failures": [{"id": "engine-1"}],
            "/weather/reports/0": f"METAR XNEW 140600Z {FAIR}",
        }
    )
    assert "NO_ENGINE_OUT_MISSED_APPROACH" not in {each["code"] for each in seen["cautions"]}
    judged = [
        finding
        for course in seen["courses"]
        for finding in course["findings"]
        if finding["rule"] == "MA-01" and finding["limit"] is not None
    ]
    assert {finding["limit"] for finding in judged} == {1.5}


def test_a_destination_of_unknown_distance_is_decided_without_its_approach() -> None:
    seen = told(
        **{
            "/destination/track_nm": REMOVED,
            "/aircraft/position": REMOVED,
            "/failures": [{"id": "engine-1"}],
        }
    )
    assert {course["kind"] for course in seen["courses"]} == {"divert_now", "commit_to_land"}
    assert seen["verdict"] == "INSUFFICIENT_DATA"
    assert "the distance by the route to XKAL" in {each["what"] for each in seen["ask"]}
    assert not {each["code"] for each in seen["cautions"]} & {"MISS_LIKELY", "APPROACH_CONDITION"}


def test_what_a_crew_must_do_for_the_approach_to_count_is_said() -> None:
    """Without its outer marker an instrument landing asks for a check of the height."""
    place = {
        "icao": "XNEW",
        "elevation_ft": 100,
        "track_nm": 42,
        "runways": [{"ident": "27", "true_bearing_deg": 270, "lda_m": 2500}],
        "approaches": [
            {
                "id": "A",
                "runway": "27",
                "kind": "3D-B",
                "dh_ft": 200,
                "rvr_m": 550,
                "lights": "FALS",
                "equipment_out": ["outer_marker"],
            }
        ],
    }
    seen = told(
        **{
            "/rulebook": "easa",
            "/destination": place,
            "/plan/approach": REMOVED,
            "/weather/reports/0": f"METAR XNEW 140600Z {FAIR}",
        }
    )
    assert "APPROACH_CONDITION" in {each["code"] for each in seen["cautions"]}


def test_a_report_of_a_place_that_is_not_in_the_case_is_listed_as_unused() -> None:
    reports = [*demo("clean")["weather"]["reports"], f"METAR XFAR 140600Z {FAIR}"]
    texts = [each["text"] for each in told(**{"/weather/reports": reports})["cautions"]]
    assert any("XFAR is not in the case" in text for text in texts)


def test_a_mach_limit_is_named_as_one_that_no_figure_keeps() -> None:
    sound = situation_of(case_from_mapping(demo("clean")))
    limit = Limit(name=LimitName.MAX_MACH, value=0.7, unit="", because="a failure")
    limited = replace(sound, capability=replace(sound.capability, limits=(limit,)))
    cautions = cautions_told(concerns_of(limited, ()))
    (given,) = [each for each in cautions if each.code == "LIMIT_NOT_IN_FIGURES"]
    assert given.weight is Weight.CAUTION
    assert given.text.startswith("Mach number at most 0.7:")
    assert given.because == ("a failure",)


def test_with_separate_runways_a_blocked_one_does_not_close_the_place() -> None:
    cautions = told(**{"/failures": [{"id": "nose-wheel-steering"}], "/alternates": []})["cautions"]
    (text,) = [each["text"] for each in cautions if each["code"] == "RUNWAY_WILL_BE_BLOCKED"]
    assert text.endswith("tell the tower early.")


def test_every_concern_has_words_and_all_words_are_of_one() -> None:
    folder = Path(concerns.__file__).parent
    literals = {
        node.value
        for path in folder.glob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }
    codes = {each for each in literals if CODE.fullmatch(each)}
    codes |= {NotAtHand.NO_FORECAST.name, NotAtHand.NO_OBSERVATION.name}
    assert len(codes) > 30
    assert codes == set(WORDS)
