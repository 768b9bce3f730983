"""What people forget of a failure, each on the real decision: with it and without it."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest

from decision.case import case_from_mapping
from decision.errors import InvalidCase
from decision.recommend import recommend_mapping
from tests.case.builders import demo, with_changes
from tests.recommend.generated import by_label

Changes = dict[str, Any]
ICING = "TAF XTOR 140500Z 1406/1506 29011KT 6000 FZRA BKN018"


def told(*failures: dict[str, Any], **changes: Any) -> Any:
    body = with_changes(demo("clean"), {"/failures": list(failures), **changes})
    return recommend_mapping(case_from_mapping(body))


def failed(id_: str, **detail: Any) -> dict[str, Any]:
    return {"id": id_, **detail}


def outcomes(course: Any) -> dict[str, str]:
    return {each["rule"]: each["outcome"] for each in course["findings"]}


def reports(**instead: str) -> list[str]:
    """The reports of the demo case, some replaced: kind and station to the new text."""
    given = demo("clean")["weather"]["reports"]
    return [instead.get("_".join(raw.split()[:2]), raw) for raw in given]


def test_a_gear_that_stays_down_costs_level_speed_and_fuel_after_a_miss_but_not_before() -> None:
    sound, stuck = by_label(told()), by_label(told(failed("gear-retraction")))
    for label in ("approach_then_divert:XTOR", "approach_then_divert:XBRE"):
        assert stuck[label]["cruise_cas_kt"] <= sound[label]["cruise_cas_kt"]
        assert stuck[label]["fuel"]["required_kg"] > 1.3 * sound[label]["fuel"]["required_kg"]
    now = "divert_now:XTOR"
    assert stuck[now]["cruise_pressure_altitude_ft"] == sound[now]["cruise_pressure_altitude_ft"]


def test_flaps_that_stay_out_limit_the_level_and_the_fuel_of_every_diversion() -> None:
    sound, jammed = by_label(told()), by_label(told(failed("flaps-jammed", detent="20")))
    for label in ("divert_now:XTOR", "approach_then_divert:XTOR"):
        level = jammed[label]["cruise_pressure_altitude_ft"]
        assert level is None or level <= 20_000.0  # the flap limit of the profile
        assert jammed[label]["fuel"]["required_kg"] > sound[label]["fuel"]["required_kg"]


def test_a_jam_raises_speed_category_and_with_it_the_minima() -> None:
    sound = told()["courses"][0]["attempts"][0]
    jammed = told(failed("flaps-jammed", detent="0"))["courses"][0]["attempts"][0]
    assert jammed["approach_speed_kt"] > sound["approach_speed_kt"] + 20.0
    assert jammed["category"] > sound["category"]


def test_steering_lost_blocks_the_runway_so_a_committed_landing_needs_another_one() -> None:
    good = reports(
        METAR_XKAL="METAR XKAL 140600Z 26011KT 9999 BKN020 08/02 Q1013 NOSIG",
        TAF_XKAL="TAF XKAL 140500Z 1406/1506 26012KT 9999 BKN020",
    )
    weather: Changes = {"/weather/reports": good, "/destination/track_nm": 42}
    sound = by_label(told(**weather))["commit_to_land:XKAL"]
    blocked = told(failed("nose-wheel-steering"), **weather)
    assert "RUNWAY_WILL_BE_BLOCKED" in {each["code"] for each in blocked["cautions"]}
    messages = {each["to"]: each["text"] for each in blocked["messages"]}
    assert "block it until it is towed" in messages["air_traffic_control"]
    assert outcomes(sound)["CM-01"] == "PASS"


def test_a_leak_makes_time_cost_fuel_and_ends_a_hold_sooner() -> None:
    sound, leaking = told(), told(failed("fuel-leak"), **{"/fuel/leak_kg_per_h": 900})
    assert leaking["holding"]["available_min"] < 0.8 * sound["holding"]["available_min"]
    label = "approach_then_divert:XTOR"
    gone = (
        by_label(sound)[label]["fuel"]["landing_kg"]
        - by_label(leaking)[label]["fuel"]["landing_kg"]
    )
    assert gone > 900 * 0.6  # some forty minutes of it


def test_a_leak_without_a_rate_is_unknown_and_never_go() -> None:
    leaking = told(failed("fuel-leak"))
    assert leaking["verdict"] == "INSUFFICIENT_DATA"
    assert any("leak" in each for each in leaking["unknowns"])


def test_trapped_fuel_is_on_board_and_is_not_fuel() -> None:
    label = "approach_then_divert:XTOR"
    sound = by_label(told())[label]["fuel"]
    none, some = (
        by_label(told(failed("fuel-trapped", quantity_kg=kg)))[label]["fuel"]["landing_kg"]
        for kg in (1, 601)
    )
    assert none - some == pytest.approx(600.0, abs=0.01)
    assert sound["landing_kg"] > none  # its checklist takes fuel of its own
    unknown = told(failed("fuel-trapped"))
    assert unknown["verdict"] == "INSUFFICIENT_DATA"
    assert any("cannot be used" in each for each in unknown["unknowns"])


def test_trapped_fuel_is_refused_of_another_failure() -> None:
    with pytest.raises(InvalidCase) as caught:
        told(failed("anti-skid", quantity_kg=600))
    assert [fault.pointer for fault in caught.value.faults] == ["/failures/0/quantity_kg"]


def test_lost_anti_ice_bars_the_alternate_where_freezing_rain_is_forecast() -> None:
    weather: Changes = {"/weather/reports": reports(TAF_XTOR=ICING)}
    label = "divert_now:XTOR"
    assert outcomes(by_label(told(**weather))[label])["WX-03"] == "NOT_APPLICABLE"
    iced = by_label(told(failed("wing-anti-ice"), **weather))[label]
    assert outcomes(iced)["WX-03"] == "FAIL"
    assert iced["legal"] is False


def test_a_slower_aircraft_arrives_later_and_meets_the_weather_of_then() -> None:
    """Fog that comes after the clean aircraft has landed, with its window, and before the other."""
    fuel: Changes = {
        "/fuel/on_board_kg": 5000,
        "/aircraft/mass_kg": 61850,
        "/alternates/1/track_nm": 300,
    }
    fuel["/alternates/1/track_from_present_nm"] = 320
    label = "approach_then_divert:XTOR"
    clean, slow = (
        datetime.fromisoformat(by_label(told(*broken, **fuel))[label]["time"]["arrive_at"])
        for broken in ((), (failed("gear-retraction"),))
    )
    assert slow - clean > timedelta(minutes=10)
    fog_at = slow  # its quarter of an hour begins; that of the other has ended
    taf = f"TAF XTOR 140500Z 1406/1506 29011KT CAVOK FM14{fog_at:%H%M} 29004KT 0200 FG VV001"
    weather: Changes = {"/weather/reports": reports(TAF_XTOR=taf), **fuel}
    before = by_label(told(**weather, **{"/policy/margin_kg": 0}))[label]
    after = by_label(told(failed("gear-retraction"), **weather))[label]
    assert outcomes(after)["WX-01"] == "FAIL"
    assert outcomes(before)["WX-01"] == "PASS"


def test_without_pressurisation_terrain_can_stand_above_the_highest_level() -> None:
    high: Changes = {"/alternates/1/minimum_level_ft": 12_500}
    assert by_label(told(**high))["divert_now:XTOR"]["legal"] is True
    low = by_label(told(failed("pressurisation"), **high))["divert_now:XTOR"]
    assert low["legal"] is False
    assert {outcome for rule, outcome in outcomes(low).items() if rule.startswith("ER-")} >= {
        "FAIL"
    }
