"""What people forget of a failure, each on the real decision: with it and without it."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest

from decision.case import case_from_mapping
from decision.errors import InvalidCase
from tests.answer.told import told_of
from tests.case.builders import demo, with_changes
from tests.recommend.generated import PROFILE, by_label

Changes = dict[str, Any]
ICING = "TAF XTOR 140500Z 1406/1506 29011KT 6000 FZRA BKN018"


def told(*failures: dict[str, Any], **changes: Any) -> Any:
    body = with_changes(demo("clean"), {"/failures": list(failures), **changes})
    return told_of(case_from_mapping(body))


def failed(id_: str, **detail: Any) -> dict[str, Any]:
    return {"id": id_, **detail}


GRAVEST_LAST = ("NOT_APPLICABLE", "PASS", "UNKNOWN", "FAIL")


def outcomes(course: Any) -> dict[str, str]:
    """Of each rule the gravest outcome, at whichever aerodrome."""
    found: dict[str, str] = {}
    for each in course["findings"]:
        both = (found.get(each["rule"], GRAVEST_LAST[0]), each["outcome"])
        found[each["rule"]] = max(both, key=GRAVEST_LAST.index)
    return found


def differing(before: Any, after: Any, label: str) -> set[str]:
    """Rules that come out otherwise on one course, but for those that no longer apply."""
    one, other = outcomes(by_label(before)[label]), outcomes(by_label(after)[label])
    return {rule for rule in one if other.get(rule) != one[rule]}


def reports(**instead: str) -> list[str]:
    """The reports of the demo case, some replaced: kind and station to the new text."""
    given = demo("clean")["weather"]["reports"]
    return [instead.get("_".join(raw.split()[:2]), raw) for raw in given]


def test_a_gear_that_stays_down_costs_level_speed_and_fuel_after_a_miss_but_not_before() -> None:
    clean, down = told(), told(failed("gear-retraction"))
    sound, stuck = by_label(clean), by_label(down)
    for label in ("approach_then_divert:XTOR", "approach_then_divert:XBRE"):
        assert stuck[label]["cruise_cas_kt"] <= PROFILE.limits.vle_kt
        assert stuck[label]["cruise_pressure_altitude_ft"] <= PROFILE.limits.max_gear_out_ft
        assert stuck[label]["fuel"]["required_kg"] > 1.3 * sound[label]["fuel"]["required_kg"]
        # the certified climbs (MA-03, MA-04) are of a sound aircraft and say nothing of this one
        assert differing(clean, down, label) == {"FU-02", "MA-03", "MA-04"}
    now = "divert_now:XTOR"
    assert stuck[now]["cruise_pressure_altitude_ft"] == sound[now]["cruise_pressure_altitude_ft"]
    assert differing(clean, down, now) == {"MA-03", "MA-04"}


def test_flaps_that_stay_out_limit_the_level_and_the_fuel_of_every_diversion() -> None:
    far: Changes = {
        "/fuel/on_board_kg": 7000,
        "/aircraft/mass_kg": 63850,
        "/alternates/1/track_nm": 300,
        "/alternates/1/track_from_present_nm": 320,
    }
    sound, jammed = (
        by_label(told(**far)),
        by_label(told(failed("flaps-jammed", detent="20"), **far)),
    )
    for label in ("divert_now:XTOR", "approach_then_divert:XTOR"):
        limit_ft = PROFILE.limits.max_flaps_out_ft
        assert sound[label]["cruise_pressure_altitude_ft"] > limit_ft
        assert jammed[label]["cruise_pressure_altitude_ft"] <= limit_ft
        assert jammed[label]["cruise_cas_kt"] <= 195.0  # what the detent bears
        assert jammed[label]["fuel"]["required_kg"] > sound[label]["fuel"]["required_kg"]


def test_what_stays_out_on_the_way_into_icing_is_warned_of_though_protection_works() -> None:
    """Common practice, no source."""
    weather: Changes = {"/weather/reports": reports(TAF_XTOR=ICING)}
    for broken in (failed("flaps-jammed", detent="12"), failed("gear-retraction")):
        codes = {each["code"] for each in told(broken, **weather)["cautions"]}
        assert "ICING_WITH_DRAG_OUT" in codes
        assert "ICING_WITH_DRAG_OUT" not in {each["code"] for each in told(broken)["cautions"]}
    assert "ICING_WITH_DRAG_OUT" not in {each["code"] for each in told(**weather)["cautions"]}


CIRCLING: Changes = {
    "/rulebook": "easa",
    "/plan/approach": "VOR A",
    "/destination": {
        "icao": "XCIR",
        "elevation_ft": 300,
        "track_nm": 42,
        "runways": [{"ident": "27", "true_bearing_deg": 265, "lda_m": 2800, "condition_code": 6}],
        "approaches": [
            {"id": "VOR A", "runway": "27", "kind": "circling", "mdh_ft": 600, "visibility_m": 2000}
        ],
    },
    "/weather/reports": [
        "METAR XCIR 140600Z 26011KT 3000 BR BKN009 08/07 Q1013 NOSIG",
        "TAF XCIR 140500Z 1406/1506 26012KT 3000 BR BKN009",
        *demo("clean")["weather"]["reports"][2:],
    ],
}


CATEGORY_D_FROM_KT = 141.0  # speed at the threshold; below it is category C


@pytest.mark.parametrize("detent", ["20", "12", "6"])
def test_a_jam_raises_speed_category_and_with_it_the_minima(detent: str) -> None:
    """Three kilometres are enough for circling in category C and not in D."""
    sound, jammed = told(**CIRCLING), told(failed("flaps-jammed", detent=detent), **CIRCLING)
    label = "approach_then_divert:XTOR"
    before, after = (by_label(each)[label]["attempts"][0] for each in (sound, jammed))
    assert after["approach_speed_kt"] > before["approach_speed_kt"]
    fast = after["approach_speed_kt"] >= CATEGORY_D_FROM_KT
    assert fast or detent != "6", "almost no flap is fast enough for category D"
    assert not fast or detent != "20", "a little less flap is not"
    assert (before["category"], after["category"]) == ("C", "D" if fast else "C")
    broken = {r for r, o in outcomes(by_label(jammed)[label]).items() if o == "FAIL"}
    assert {rule for rule in broken if rule.startswith("AP")} == ({"AP-02"} if fast else set())
    assert outcomes(by_label(sound)[label])["AP-02"] == "PASS"


def test_steering_lost_blocks_the_runway_for_those_who_come_after() -> None:
    """It lands and stays: no rule of its own landing changes, all that it leaves to others does."""
    good = reports(
        METAR_XKAL="METAR XKAL 140600Z 26011KT 9999 BKN020 08/02 Q1013 NOSIG",
        TAF_XKAL="TAF XKAL 140500Z 1406/1506 26012KT 9999 BKN020",
    )
    weather: Changes = {"/weather/reports": good, "/destination/track_nm": 42}
    sound, blocked = told(**weather), told(failed("nose-wheel-steering"), **weather)
    assert (sound["verdict"], blocked["verdict"]) == ("GO", "GO_WITH_CAUTION")
    for label in by_label(sound):
        assert differing(sound, blocked, label) == set()
    (caution,) = [c for c in blocked["cautions"] if c["code"] == "RUNWAY_WILL_BE_BLOCKED"]
    assert "At XBRE, XTOR nobody else" in caution["text"]  # XKAL has separate runways
    messages = {each["to"]: each["text"] for each in blocked["messages"]}
    assert "block it until it is towed" in messages["air_traffic_control"]
    assert "owing" in messages["dispatch"]
    assert "block" not in "".join(each["text"] for each in sound["messages"])


def test_a_runway_that_another_may_block_bars_a_committed_landing_without_a_second_one() -> None:
    """The other side of it: who comes behind such an aircraft needs a second runway."""
    label = "commit_to_land:XCIR"
    found = [
        outcomes(by_label(told(**CIRCLING, **{"/destination/separate_runways": each}))[label])
        for each in (False, True)
    ]
    assert [each["CM-04"] for each in found] == ["FAIL", "PASS"]


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
    sound, iced = told(**weather), told(failed("wing-anti-ice"), **weather)
    for label in ("divert_now:XTOR", "approach_then_divert:XTOR"):
        assert differing(sound, iced, label) == {"WX-03"}
        assert outcomes(by_label(iced)[label])["WX-03"] == "FAIL"
        assert by_label(iced)[label]["legal"] is False
    assert by_label(iced)["divert_now:XBRE"]["legal"] is True


def test_a_slower_aircraft_arrives_later_and_meets_the_weather_of_then() -> None:
    """Fog that comes after the clean aircraft has landed, with its window, and before the other."""
    fuel: Changes = {
        "/fuel/on_board_kg": 6000,
        "/aircraft/mass_kg": 62850,
        "/alternates/1/track_nm": 360,
    }
    fuel["/alternates/1/track_from_present_nm"] = 380
    label = "approach_then_divert:XTOR"
    clean, slow = (
        datetime.fromisoformat(by_label(told(*broken, **fuel))[label]["time"]["arrive_at"])
        for broken in ((), (failed("gear-retraction"),))
    )
    assert slow - clean > timedelta(minutes=10)
    fog_at = slow  # its quarter of an hour begins; that of the other has ended
    taf = f"TAF XTOR 140500Z 1406/1506 29011KT CAVOK FM14{fog_at:%H%M} 29004KT 0200 FG VV001"
    weather: Changes = {"/weather/reports": reports(TAF_XTOR=taf), **fuel}
    before, after = told(**weather), told(failed("gear-retraction"), **weather)
    assert outcomes(by_label(before)[label])["WX-01"] == "PASS"
    assert outcomes(by_label(after)[label])["WX-01"] == "FAIL"
    assert "WX-01" not in differing(before, after, "divert_now:XTOR")  # still clean: in time


def test_without_pressurisation_oxygen_decides_over_high_terrain() -> None:
    high: Changes = {"/alternates/1/minimum_level_ft": 14_500}
    assert by_label(told(**high))["divert_now:XTOR"]["legal"] is True
    for oxygen_min, outcome in ((None, "UNKNOWN"), (2, "FAIL"), (120, "PASS")):
        changes = {**high, "/aircraft/oxygen_min": oxygen_min}
        over = by_label(told(failed("pressurisation"), **changes))["divert_now:XTOR"]
        assert over["cruise_pressure_altitude_ft"] == 15_000
        assert outcomes(over)["ER-05"] == outcome
    assert by_label(told(failed("pressurisation"), **high))["divert_now:XBRE"]["legal"] is True
