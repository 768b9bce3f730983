"""The case as it is later: what is patched, what is carried, what is lost."""

from __future__ import annotations

from typing import Any

import pytest

from decision.case import case_from_mapping
from decision.flight.situation import situation_of
from tests.again.deciding import assumed, later, whole
from tests.case.builders import demo, with_changes

FOG = "SPECI XKAL {} 26004KT 0300 R27R/0300N FG VV001 08/08 Q1013"


def value_of(body: Any, pointer: str) -> Any:
    for token in pointer.split("/")[1:]:
        body = body[int(token)] if isinstance(body, list) else body[token]
    return body


def test_a_special_report_of_fog_20_minutes_later_is_no_plain_go() -> None:
    """Told the state, the fog bars the approach; not told it, nobody knows where it is flown."""
    body = demo("clean")
    assert whole(body)["verdict"] == "GO"
    fog = [FOG.format("140629Z")]
    untold = whole(later(body, 20, reports=fog))
    assert (untold["verdict"], untold["basis"]) == ("INSUFFICIENT_DATA", "MISSING")
    assert untold["ask"][0]["whom"] == "the crew"
    state = {
        "aircraft": {"pressure_altitude_ft": 9000},
        "fuel": {"on_board_kg": 3300},
        "destination": {"track_nm": 30},
    }
    told = whole(later(body, 20, reports=fog, patch=state))
    assert (told["verdict"], told["basis"]) == ("NO_GO", "APPROACH_BARRED")


def test_fog_five_minutes_later_bars_the_approach_on_carried_state() -> None:
    answer = whole(later(demo("clean"), 5, reports=[FOG.format("140614Z")]))
    assert (answer["verdict"], answer["basis"]) == ("NO_GO", "APPROACH_BARRED")


def test_moving_only_the_moment_does_not_slide_the_deadline() -> None:
    """The fuel of the minutes between is burnt, and the deadline stays where it was."""
    body = demo("wait-for-fog")
    before, after = whole(body), whole(later(body, 5))
    slid = whole({**body, "as_of": "2026-03-14T06:15:00Z"})
    assert slid["deadline"]["at"] > before["deadline"]["at"], "as it was before state was carried"
    assert after["deadline"]["at"] <= before["deadline"]["at"]
    assert after["fuel_on_board_kg"] < before["fuel_on_board_kg"] - 150


def test_on_the_way_to_the_threshold_miles_fuel_mass_level_and_position_move() -> None:
    body = demo("clean")
    answer = whole(body)
    chosen = next(e for e in answer["courses"] if e["course"] == answer["action"]["course"])
    cruise, descent = chosen["steps"][:2]
    share = (5.0 - cruise["time_min"]) / descent["time_min"]
    now = later(body, 5, answer=answer)
    burnt_kg = cruise["fuel_kg"] + descent["fuel_kg"] * share
    flown_nm = cruise["distance_nm"] + descent["distance_nm"] * share
    assert burnt_kg <= 3450 - now["fuel"]["on_board_kg"] < burnt_kg + 1.001
    assert now["aircraft"]["mass_kg"] - now["fuel"]["on_board_kg"] == 60_300 - 3450
    assert now["destination"]["track_nm"] == pytest.approx(42 - flown_nm, abs=0.002)
    level_ft = 9000 + (descent["pressure_altitude_ft"] - 9000) * share
    assert now["aircraft"]["pressure_altitude_ft"] == pytest.approx(level_ft, abs=0.01)
    assert now["aircraft"]["position"] != body["aircraft"]["position"]
    assert now["carried"]["along"] == "APPROACH XKAL"
    assert "lost" not in now["carried"]


def test_on_a_diversion_its_place_comes_nearer_and_every_other_goes_away() -> None:
    now = later(demo("gear-stuck"), 5)
    flown_nm = now["destination"]["track_nm"] - 42
    assert 20 < flown_nm < 35
    back, ahead = (leg["track_from_present_nm"] for leg in now["alternates"])
    assert (back, ahead) == (pytest.approx(128 + flown_nm), pytest.approx(122 - flown_nm))


def test_a_hold_stays_where_it_is_and_burns() -> None:
    body = demo("wait-for-fog")
    now = later(body, 6)
    assert now["destination"]["track_nm"] == body["destination"]["track_nm"]
    assert now["aircraft"]["position"] == body["aircraft"]["position"]
    assert now["carried"]["along"] == "in the hold at XKAL"
    assert 5600 - 250 < now["fuel"]["on_board_kg"] < 5600 - 200


def test_an_assigned_hold_is_held_off_and_not_begun_anew() -> None:
    body = with_changes(demo("clean"), {"/plan/hold_min": 6, "/air_traffic/delay_min": 4})
    halfway, after = later(body, 4), later(body, 8)
    assert (halfway["plan"]["hold_min"], after["plan"]["hold_min"]) == (2, 0)
    assert halfway["air_traffic"]["delay_min"] == 4
    assert after["air_traffic"]["delay_min"] == 2
    assert after["destination"]["track_nm"] == 42


def test_a_leak_keeps_draining() -> None:
    leaking = with_changes(
        demo("clean"), {"/failures": [{"id": "fuel-leak"}], "/fuel/leak_kg_per_h": 1200}
    )
    answer = whole(leaking)
    chosen = next(e for e in answer["courses"] if e["course"] == answer["action"]["course"])
    step = chosen["steps"][0]
    now = later(leaking, step["time_min"], answer=answer)
    assert step["fuel_kg"] > 20 * step["time_min"]
    assert 3450 - now["fuel"]["on_board_kg"] >= step["fuel_kg"] * 0.98


def test_checklists_go_on_and_oxygen_runs_down() -> None:
    body = with_changes(
        demo("clean"),
        {"/failures": [{"id": "hydraulic-1"}], "/aircraft/oxygen_min": 12},
    )
    situation = situation_of(case_from_mapping(body))
    assert situation.capability.checklist_min > 3.0
    now = later(body, 3)
    assert now["plan"]["checklist_min"] < situation.capability.checklist_min
    assert now["aircraft"]["oxygen_min"] == 9


def test_a_flow_above_the_model_stays_as_far_above_it() -> None:
    body = with_changes(demo("clean"), {"/fuel/observed_flow_kg_per_h": 3600})
    ratios = [situation_of(case_from_mapping(each)).flow_ratio for each in (body, later(body, 5))]
    assert ratios[1] == pytest.approx(ratios[0], rel=1e-4)


@pytest.mark.parametrize("minutes", [9, 10])
def test_once_the_approach_is_flown_the_state_is_lost_and_asked_for(minutes: float) -> None:
    now = later(demo("clean"), minutes)
    assert "approach is flown" in now["carried"]["lost"]
    assert now["aircraft"]["gear"] == "down"
    answer = whole(now)
    assert answer["verdict"] == "INSUFFICIENT_DATA"
    assert "gear" in answer["ask"][0]["what"]


def test_lost_state_stays_lost_until_all_of_it_is_given() -> None:
    lost = later(demo("clean"), 9)
    fuel = {"fuel": {"on_board_kg": 3100}}
    assert "lost" in later(lost, 1, patch=fuel)["carried"]
    place = {
        "aircraft": {
            "pressure_altitude_ft": 3000,
            "gear": "up",
            "position": {"latitude_deg": 47.5, "longitude_deg": -36.2},
        },
        "destination": {"track_nm": 12},
        "alternates": demo("clean")["alternates"],
    }
    found = later(lost, 1, patch={**fuel, **place})
    assert "carried" not in found
    assert whole(found)["verdict"] != "INSUFFICIENT_DATA"


def test_a_course_that_is_not_told_in_steps_carries_nothing() -> None:
    body = demo("clean")
    answer = whole(body)
    for course in answer["courses"]:
        course["steps"] = None
    now = later(body, 3, answer=answer)
    assert "could not be flown" in now["carried"]["lost"]
    assert now["fuel"]["on_board_kg"] == body["fuel"]["on_board_kg"]


def test_state_older_than_the_policy_decides_nothing_and_is_asked_for() -> None:
    body = with_changes(demo("gear-stuck"), {"/policy": {"state_max_age_min": 4}})
    young, old = whole(later(body, 4)), whole(later(body, 5))
    assert young["verdict"] == "NO_GO"
    assert old["verdict"] == "INSUFFICIENT_DATA"
    assert old["ask"][0]["what"].startswith("position, level, fuel")
    assert old["action"]["do"] == "DIVERT", "what it is doing, as far as anybody knows"


def test_a_hold_is_not_continued_on_fuel_that_nobody_knows() -> None:
    body = demo("alternate-weather-missing")
    assert whole(body)["action"]["do"] == "HOLD"
    assert whole(later(body, 10))["action"]["do"] == "HOLD"
    assert whole(later(body, 11))["action"]["do"] != "HOLD"


def test_without_news_weather_that_was_to_improve_is_no_go_yet() -> None:
    """The fog was to lift at 06:30Z; at 06:20Z nobody has said where the aircraft is."""
    answer = whole(later(demo("wait-for-fog"), 10))
    assert (answer["verdict"], answer["action"]["do"]) == ("NO_GO", "HOLD")
    assert answer["ask"][0]["whom"] == "the crew"


def test_every_carried_value_is_listed_with_its_age() -> None:
    now = later(demo("clean"), 5)
    told = assumed(whole(now))
    fields = [each["field"] for each in now["carried"]["values"]]
    assert {"/fuel/on_board_kg", "/alternates/1/track_from_present_nm"} <= set(fields)
    for field in fields:
        assert "5.0 min old" in told[field]["text"]
        if field != "/aircraft/position":
            assert told[field]["value"] == value_of(now, field)
    assert told["/policy/state_max_age_min"]["value"] == 10


def test_what_is_given_now_counts_from_now() -> None:
    patch = {"fuel": {"on_board_kg": 3000}}
    first = later(demo("clean"), 3, patch=patch)
    assert first["fuel"]["on_board_kg"] == 3000
    assert first["aircraft"]["mass_kg"] == 60_300 - 3450 + 3000
    assert "/fuel/on_board_kg" not in {e["field"] for e in first["carried"]["values"]}
    second = later(first, 2)
    since = {each["field"]: each["given_at"] for each in second["carried"]["values"]}
    assert since["/fuel/on_board_kg"] == "2026-03-14T06:13:00Z"
    assert since["/aircraft/pressure_altitude_ft"] == "2026-03-14T06:10:00Z"


def test_miles_follow_from_a_position_that_is_given_unless_they_were_given_too() -> None:
    place = {"aircraft": {"position": {"latitude_deg": 47.3, "longitude_deg": -36.0}}}
    measured = later(demo("clean"), 3, patch=place)
    assert measured["destination"]["track_nm"] < 42
    body = demo("clean")
    del body["destination"]["track_nm"]
    for leg in body["alternates"]:
        del leg["track_from_present_nm"]
    derived = later(body, 3, patch=place)
    assert "track_nm" not in derived["destination"]
    assert all("track_from_present_nm" not in leg for leg in derived["alternates"])


def test_where_it_is_follows_from_miles_to_run_that_are_given() -> None:
    state = {
        "aircraft": {"pressure_altitude_ft": 7000},
        "fuel": {"on_board_kg": 3350},
        "destination": {"track_nm": 23.5},
    }
    now = later(demo("gear-stuck"), 30, patch=state)
    assert "carried" not in now
    half = [leg["track_from_present_nm"] for leg in now["alternates"]]
    assert half == [pytest.approx((128 + 117) / 2), pytest.approx((122 + 108) / 2)]
    assert now["aircraft"]["position"] != demo("gear-stuck")["aircraft"]["position"]


def test_miles_that_followed_from_the_position_are_written_down_when_it_is_carried() -> None:
    body = demo("clean")
    body["destination"] = "XKAL"
    now = later(body, 3)
    assert now["destination"]["icao"] == "XKAL"
    assert now["destination"]["track_nm"] > 0


def test_another_destination_has_none_of_the_old_miles() -> None:
    body = demo("clean")
    other = {"destination": {"icao": "XMON", "minimum_level_ft": 3000}}
    now = later(body, 2, patch=other)
    assert "track_nm" not in now["destination"]
    assert all("track_nm" not in leg for leg in now["alternates"])


def test_reports_are_added_once_and_what_was_fetched_is_forgotten() -> None:
    body = with_changes(
        demo("clean"),
        {"/weather/fetched": [{"icao": "XKAL", "kind": "forecast", "stale": True}]},
    )
    known = body["weather"]["reports"]
    new = FOG.format("140614Z")
    now = later(body, 5, reports=[known[0], new, new])
    assert now["weather"]["reports"] == [*known, new]
    assert "fetched" not in now["weather"]


def test_lists_of_a_patch_replace() -> None:
    now = later(demo("clean"), 1, patch={"alternates": ["XTOR"], "failures": [{"id": "engine-1"}]})
    assert now["alternates"] == ["XTOR"]
    assert now["failures"] == [{"id": "engine-1"}]


def test_a_diversion_that_has_begun_is_not_to_be_left_for_later_whatever_is_heard() -> None:
    body = demo("gear-stuck")
    before = whole(body)["deadline"]["at"]
    fog = [FOG.format("140614Z")]
    assert whole(later(body, 5, reports=fog))["deadline"]["at"] <= before
    passed = whole(later(body, 9, reports=fog))
    assert passed["deadline"]["at"] <= before < passed["as_of"]
    assert passed["headline"].startswith("Divert to XTOR runway 32 now:")


def test_a_moment_before_the_stored_one_is_taken_for_that() -> None:
    assert later(demo("clean"), -30) == demo("clean")


def test_an_old_heading_is_not_told_to_control() -> None:
    body = with_changes(demo("clean"), {"/aircraft/heading_true_deg": 77})
    assert "heading_true_deg" not in later(body, 1)["aircraft"]
    patch = {"aircraft": {"heading_true_deg": 80}}
    assert later(body, 1, patch=patch)["aircraft"]["heading_true_deg"] == 80


def test_a_diversion_that_begins_further_on_is_lost_once_its_beginning_may_be_passed() -> None:
    body = demo("gear-stuck")
    answer = whole(body)
    answer["action"]["course"] = "divert_now:XTOR:from_last_clean_point"
    assert "may be passed" in later(body, 3, answer=answer)["carried"]["lost"]


@pytest.mark.parametrize(
    "patch",
    [
        {"weather": 5},
        {"destination": 7},
        {"alternates": [3]},
        {"fuel": {"on_board_kg": "much"}},
        {"aircraft": []},
        {"plan": 1, "air_traffic": 1},
        {"destination": "XMON", "alternates": ["XTOR"]},
    ],
)
def test_what_a_patch_puts_out_of_shape_is_left_for_the_check_of_the_case(
    patch: dict[str, Any],
) -> None:
    body = with_changes(demo("clean"), {"/plan/hold_min": 3, "/air_traffic/delay_min": 2})
    now = later(body, 2, patch=patch)
    assert all(now[name] == value for name, value in patch.items() if name != "fuel")


def test_a_distance_to_run_beyond_the_stored_one_says_of_another_way() -> None:
    now = later(demo("clean"), 3, patch={"destination": {"track_nm": 60}})
    assert now["destination"]["track_nm"] == 60
    carried = {each["field"] for each in now["carried"]["values"]}
    assert "/aircraft/position" in carried
    assert "/alternates/0/track_from_present_nm" in carried


def test_an_alternate_named_alone_is_described_where_its_miles_are_carried() -> None:
    body = demo("clean")
    body["alternates"] = ["XTOR", {"icao": "XBRE"}]
    now = later(body, 3)
    assert [each["icao"] for each in now["alternates"]] == ["XTOR", "XBRE"]
    assert all(each["track_from_present_nm"] > 0 for each in now["alternates"])
