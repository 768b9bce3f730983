"""The level that the net path holds with an engine out, and terrain under it."""

from __future__ import annotations

from typing import Any

import pytest

from decision.flight.net_level import net_level_ft
from decision.performance import climb
from decision.performance.configuration import Rating, clean
from decision.performance.envelope import slowest_kt
from decision.profile import load_profile
from tests.answer.told import told_of
from tests.decide.builders import case_of, courses

XTJ = load_profile("xtj150")
ONE = clean(XTJ, engines_stopped=1)
OUT: dict[str, Any] = {"/failures": [{"id": "engine-1"}]}


def net(mass_kg: float, *, deviation: float = 0.0, decrement: float = 1.1) -> float:
    return net_level_ft(
        XTJ,
        ONE,
        mass_kg=mass_kg,
        isa_deviation_degc=deviation,
        decrement_percent=decrement,
    )


@pytest.mark.parametrize("mass_kg", [50_000.0, 60_000.0, 70_000.0])
def test_at_the_net_level_the_actual_gradient_is_the_decrement(mass_kg: float) -> None:
    """[CFR-25] 25.123(b): the net path is the actual one less 1.1 percent for a twin."""
    level_ft = net(mass_kg)
    at = climb(
        XTJ,
        configuration=ONE,
        mass_kg=mass_kg,
        pressure_altitude_ft=level_ft,
        isa_deviation_degc=0.0,
        rating=Rating.MAXIMUM_CONTINUOUS,
        cas_kt=slowest_kt(XTJ, ONE, mass_kg=mass_kg),
    )
    assert at.gradient_percent == pytest.approx(1.1, abs=0.05)


@pytest.mark.parametrize("profile_id", ["xtj150", "xtwide"])
@pytest.mark.parametrize("ratio", [1.05, 1.1, 1.2, 1.4])
def test_no_faster_speed_climbs_better_where_the_level_is_found(
    profile_id: str, ratio: float
) -> None:
    profile = load_profile(profile_id)
    one, mass_kg = clean(profile, engines_stopped=1), profile.masses.mlw_kg
    level_ft = net_level_ft(
        profile, one, mass_kg=mass_kg, isa_deviation_degc=0.0, decrement_percent=1.1
    )
    slowest = slowest_kt(profile, one, mass_kg=mass_kg)
    slow, fast = (
        climb(
            profile,
            configuration=one,
            mass_kg=mass_kg,
            pressure_altitude_ft=level_ft,
            isa_deviation_degc=0.0,
            rating=Rating.MAXIMUM_CONTINUOUS,
            cas_kt=slowest * each,
        ).gradient_percent
        for each in (1.0, ratio)
    )
    assert 0.0 < level_ft < profile.limits.max_pressure_altitude_ft
    assert fast < slow + 0.05


def test_mass_heat_and_decrement_lower_it() -> None:
    assert net(66_000.0) < net(60_000.0) - 1000.0
    assert net(60_000.0, deviation=15.0) < net(60_000.0)
    assert net(60_000.0) < net(60_000.0, decrement=0.0) - 1000.0


def test_where_not_even_sea_level_is_held_it_is_zero() -> None:
    assert net(76_000.0, deviation=30.0, decrement=5.0) < 100.0


def test_a_limit_of_level_bounds_it() -> None:
    assert net(45_000.0, decrement=-50.0) == XTJ.limits.max_pressure_altitude_ft


def test_only_diversions_on_one_engine_carry_it() -> None:
    assert {each.net_level_ft for each in courses().values()} == {None}
    out = courses(**OUT)
    assert all(out[f"divert_now:{icao}"].net_level_ft for icao in ("XBRE", "XTOR"))
    assert out["commit_to_land:XKAL"].net_level_ft is None
    both = courses(**{"/failures": [{"id": "engine-1"}, {"id": "engine-2"}]})
    assert {each.net_level_ft for each in both.values()} == {None}


def findings(lowest_ft: float, **more: Any) -> dict[str, dict[str, Any]]:
    """What is found of the diversion from here over ground that asks for a level."""
    changes = {**OUT, "/alternates/0/minimum_level_ft": lowest_ft, **more}
    answer = told_of(case_of(**changes))
    course = next(each for each in answer["courses"] if each["course"] == "divert_now:XBRE")
    return {each["rule"]: each for each in course["findings"]}


def test_ground_above_the_net_level_makes_a_way_illegal_that_can_be_flown() -> None:
    """At 60 t the actual ceiling is above 17 000 ft and the net level below it."""
    net_ft = courses(**OUT)["divert_now:XBRE"].net_level_ft
    assert net_ft is not None
    over = findings(17_000.0)
    assert over["ER-01"]["outcome"] == "PASS"
    assert over["ER-07"]["outcome"] == "FAIL"
    assert findings(net_ft - 500.0)["ER-07"]["outcome"] == "PASS"


def test_the_landing_aerodrome_itself_asks_for_a_net_level() -> None:
    """[CFR-121] 121.191(a)(1): a positive slope 1500 ft above the airport."""
    rule = findings(0.0)["ER-07"]
    elevation_ft = case_of().alternates[0].aerodrome.elevation_ft
    assert rule["limit"] == elevation_ft + 1500.0
