"""Holding, final reserve, run-in, configured approach, go-around and approach allowance."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decision.atmosphere import pressure_ratio
from decision.errors import OutOfRange
from decision.flight import approach
from decision.performance import (
    CALM_STANDARD,
    Configuration,
    Objective,
    Rating,
    approach_allowance,
    approach_speed_kt,
    climb,
    final_reserve_kg,
    holding_flow_kg_per_h,
    holding_speed_kt,
    uniform_air,
)
from decision.performance.envelope import slowest_kt
from decision.performance.holding import holding_limit_kt
from decision.performance.slabs import Cases, fly_cases
from decision.speeds import mach_from_cas
from tests.changing import replace
from tests.physics.builders import (
    CLEAN,
    FLAP,
    GEAR,
    GEAR_AND_FLAP,
    LANDING,
    ONE_ENGINE_AND_GEAR,
    UNPRESSURISED,
    WINDY,
    configurations,
    flying,
    masses_kg,
    xtj150,
)
from tests.physics.outcomes import Seen, fly_configured, fly_go_around, fly_hold, fly_run_in

APPROACHING = flying(gear_down=True, flap="20", slats_out=True)


@pytest.mark.parametrize(
    ("configuration", "mass_kg", "kg", "tolerance"),
    [
        pytest.param(CLEAN, 54_000.0, 1_095.0, 0.5, id="derived-54t"),
        pytest.param(CLEAN, 58_000.0, 1_167.0, 0.5, id="derived-58t"),
        pytest.param(CLEAN, 62_000.0, 1_239.0, 1.0, id="derived-62t"),
        pytest.param(GEAR, 54_000.0, 1_483.0, 8.0, id="derived-54t-gear"),
        pytest.param(GEAR, 58_000.0, 1_590.0, 8.0, id="derived-58t-gear"),
        pytest.param(GEAR, 62_000.0, 1_691.0, 8.0, id="derived-62t-gear"),
    ],
)
def test_final_reserves_are_the_stated_ones(
    configuration: Configuration, mass_kg: float, kg: float, tolerance: float
) -> None:
    """The stated gear-down figures round 1.30 VSR up to whole knots, 0.5 %."""
    reserve = final_reserve_kg(
        xtj150(), configuration=configuration, mass_kg=mass_kg, elevation_ft=0.0
    )
    assert reserve == pytest.approx(kg, abs=tolerance)


@pytest.mark.parametrize(
    ("configuration", "flow"),
    [
        pytest.param(GEAR, 3_280.0, id="derived-gear"),
        pytest.param(GEAR_AND_FLAP, 3_005.0, id="derived-gear-flap"),
    ],
)
def test_holding_flows_at_60_t_are_the_stated_ones(
    configuration: Configuration, flow: float
) -> None:
    """Stated for speeds in whole steps; 1 %."""
    actual = holding_flow_kg_per_h(
        xtj150(), configuration=configuration, mass_kg=60_000.0, pressure_altitude_ft=1_500.0
    )
    assert actual == pytest.approx(flow, rel=0.01)


@given(
    mass_kg=masses_kg(), elevation_ft=st.floats(-1_000.0, 9_000.0), configuration=configurations()
)
def test_the_reserve_is_half_an_hour_of_holding_1500_ft_above(
    mass_kg: float, elevation_ft: float, configuration: Configuration
) -> None:
    flow = holding_flow_kg_per_h(
        xtj150(),
        configuration=configuration,
        mass_kg=mass_kg,
        pressure_altitude_ft=elevation_ft + 1_500.0,
    )
    reserve = final_reserve_kg(
        xtj150(), configuration=configuration, mass_kg=mass_kg, elevation_ft=elevation_ft
    )
    assert reserve == pytest.approx(flow / 2.0, abs=0.1)


def test_a_reserve_outside_the_table_raises() -> None:
    with pytest.raises(OutOfRange, match="mass_kg"):
        final_reserve_kg(xtj150(), configuration=CLEAN, mass_kg=30_000.0, elevation_ft=0.0)


@pytest.mark.parametrize(
    ("level_ft", "limit_kt"),
    [
        pytest.param(14_000.0, 230.0, id="PANS-OPS-I-14000ft"),
        pytest.param(14_001.0, 240.0, id="PANS-OPS-I-above-14000ft"),
        pytest.param(20_000.0, 240.0, id="PANS-OPS-I-20000ft"),
        pytest.param(34_000.0, 265.0, id="PANS-OPS-I-34000ft"),
    ],
)
def test_holding_speed_limits_are_the_published_ones(level_ft: float, limit_kt: float) -> None:
    assert holding_limit_kt(level_ft) == limit_kt


def test_above_34000_ft_the_limit_is_a_mach_number() -> None:
    """[PANS-OPS-I]: Mach 0.83."""
    limit_kt = holding_limit_kt(36_000.0)
    mach = mach_from_cas(cas_kt=limit_kt, pressure_ratio=pressure_ratio(36_000.0))
    assert mach == pytest.approx(0.83)


@given(mass_kg=masses_kg(), level_ft=st.floats(0.0, 25_000.0), configuration=configurations())
def test_holding_speed_keeps_its_floor(
    mass_kg: float, level_ft: float, configuration: Configuration
) -> None:
    speed = holding_speed_kt(
        xtj150(), configuration=configuration, mass_kg=mass_kg, pressure_altitude_ft=level_ft
    )
    assert float(speed) >= slowest_kt(xtj150(), configuration, mass_kg=mass_kg) - 1e-9


def test_the_floor_governs_with_the_gear_down() -> None:
    """Stated: 188 kt at 60 t."""
    speed = holding_speed_kt(
        xtj150(), configuration=GEAR, mass_kg=60_000.0, pressure_altitude_ft=1_500.0
    )
    assert speed == pytest.approx(188.0, abs=1.0)


def hold(configuration: Configuration = CLEAN, **changed: Any) -> Seen:
    asked: dict[str, Any] = {"mass_kg": 60_000.0, "pressure_altitude_ft": 5_000.0, "minutes": 30.0}
    return fly_hold(xtj150(), configuration=configuration, **(asked | changed))


def test_holding_gets_cheaper_as_fuel_burns_off() -> None:
    flow = holding_flow_kg_per_h(
        xtj150(), configuration=CLEAN, mass_kg=60_000.0, pressure_altitude_ft=5_000.0
    )
    long_hold = hold(minutes=60.0)
    assert flow * 0.97 < long_hold.fuel_kg < flow
    first = hold()
    later = hold(mass_kg=first.end_mass_kg)  # at its own, lower speed
    assert first.fuel_kg + later.fuel_kg == pytest.approx(long_hold.fuel_kg, rel=5e-3)


def test_a_leak_drains_while_holding() -> None:
    assert hold(leak_kg_per_h=600.0).fuel_kg == pytest.approx(hold().fuel_kg + 300.0, abs=4.0)


@pytest.mark.parametrize(
    ("configuration", "changed", "words"),
    [
        (UNPRESSURISED, {"pressure_altitude_ft": 12_000.0}, "unpressurised altitude limit"),
        (flying(max_cas_kt=180.0), {}, "1.30 VSR 187 kt is above"),
        (ONE_ENGINE_AND_GEAR, {"pressure_altitude_ft": 15_000.0}, "cannot be held"),
    ],
)
def test_a_hold_that_cannot_be_flown_names_its_limit(
    configuration: Configuration, changed: dict[str, float], words: str
) -> None:
    answer = hold(configuration, **changed)
    assert not answer.feasible
    assert answer.limited_by is not None
    assert words in answer.limited_by


def climb_fpm(level_ft: float) -> float:
    """What the demo aircraft climbs with an engine out and the gear down, at its holding speed."""
    cas_kt = holding_speed_kt(
        xtj150(),
        configuration=ONE_ENGINE_AND_GEAR,
        mass_kg=60_000.0,
        pressure_altitude_ft=level_ft,
    )
    return climb(
        xtj150(),
        configuration=ONE_ENGINE_AND_GEAR,
        mass_kg=60_000.0,
        pressure_altitude_ft=level_ft,
        isa_deviation_degc=0.0,
        rating=Rating.MAXIMUM_CONTINUOUS,
        cas_kt=float(cas_kt),
    ).rate_fpm


def test_a_level_can_be_held_as_far_up_as_the_aircraft_does_not_sink() -> None:
    """The level at which a climb ends is found by halving; half a foot a minute either way."""

    def level_of(rate_fpm: float) -> float:
        low_ft, high_ft = 0.0, 15_000.0
        for _ in range(40):
            middle_ft = (low_ft + high_ft) / 2.0
            climbs = climb_fpm(middle_ft) > rate_fpm
            low_ft, high_ft = (middle_ft, high_ft) if climbs else (low_ft, middle_ft)
        return low_ft

    assert climb_fpm(0.0) > 1.0 > -1.0 > climb_fpm(15_000.0)
    held, lost = (
        hold(ONE_ENGINE_AND_GEAR, pressure_altitude_ft=level_of(rate)) for rate in (0.5, -0.5)
    )
    assert held.feasible
    assert lost.limited_by is not None
    assert "cannot be held" in lost.limited_by


def test_no_minutes_burn_nothing() -> None:
    assert hold(minutes=0.0).fuel_kg == 0.0


def run_in(configuration: Configuration = CLEAN, **changed: Any) -> Seen:
    asked: dict[str, Any] = {
        "mass_kg": 60_000.0,
        "distance_nm": 40.0,
        "start_pressure_altitude_ft": 8_000.0,
        "end_pressure_altitude_ft": 2_500.0,
        "air": CALM_STANDARD,
    }
    return fly_run_in(xtj150(), configuration=configuration, **(asked | changed))


@pytest.mark.parametrize("air", [CALM_STANDARD, WINDY], ids=["calm", "windy"])
@pytest.mark.parametrize("configuration", [CLEAN, GEAR, FLAP], ids=lambda each: each.label)
def test_a_run_in_costs_what_slabs_say(configuration: Configuration, air: Any) -> None:
    flight = run_in(configuration, air=air, leak_kg_per_h=200.0)
    plain = fly_cases(
        xtj150(),
        configuration,
        Cases(
            mass_kg=60_000.0,
            distance_nm=40.0,
            start_ft=8_000.0,
            end_ft=2_500.0,
            level_ft=8_000.0,
            cas_kt=flight.cas_kt,
            leak_kg_per_h=200.0,
        ),
        air=air,
    )
    assert flight.fuel_kg == pytest.approx(float(plain.fuel_kg), rel=1e-3)
    assert flight.time_min == pytest.approx(float(plain.time_min), rel=1e-3)
    assert sum(step.distance_nm for step in flight.steps) == pytest.approx(40.0)


def test_a_run_in_keeps_to_the_speed_of_the_configuration() -> None:
    assert run_in().cas_kt == 220.0
    assert run_in(FLAP).cas_kt == 200.0  # 10 kt below its placard
    assert run_in(CLEAN, mass_kg=76_000.0).cas_kt == 220.0
    assert run_in(replace(CLEAN, max_cas_kt=190.0), mass_kg=60_000.0).cas_kt == 190.0


@pytest.mark.parametrize(
    ("leak_kg_per_h", "cas_kt"),
    [(0.0, 250.0), (500.0, 250.0), (1_000.0, 280.0), (2_000.0, 310.0), (4_000.0, 340.0)],
)
def test_a_run_in_against_a_leak_takes_the_cheapest_of_five_speeds(
    leak_kg_per_h: float, cas_kt: float
) -> None:
    """220, 250, 280, 310 kt and VMO, each flown plainly in slabs: which one takes least."""
    fuel_kg = {
        speed: float(
            fly_cases(
                xtj150(),
                CLEAN,
                Cases(
                    mass_kg=60_000.0,
                    distance_nm=80.0,
                    start_ft=9_000.0,
                    end_ft=2_000.0,
                    level_ft=9_000.0,
                    cas_kt=speed,
                    leak_kg_per_h=leak_kg_per_h,
                ),
            ).fuel_kg
        )
        for speed in (220.0, 250.0, 280.0, 310.0, 340.0)
    }
    assert min(fuel_kg, key=fuel_kg.__getitem__) == cas_kt
    flight = run_in(
        distance_nm=80.0,
        start_pressure_altitude_ft=9_000.0,
        end_pressure_altitude_ft=2_000.0,
        leak_kg_per_h=leak_kg_per_h,
        objective=Objective.LEAST_FUEL_AND_LEAK,
    )
    assert flight.cas_kt == cas_kt
    assert flight.fuel_kg == pytest.approx(fuel_kg[cas_kt], rel=1e-3)


def test_too_little_way_to_lose_the_height_is_made_up_by_extra_track() -> None:
    flight = run_in(distance_nm=10.0)
    names = [step.name for step in flight.steps]
    assert names == ["extra track to lose height", "descent"]
    assert flight.distance_nm == pytest.approx(sum(step.distance_nm for step in flight.steps))
    assert flight.distance_nm > 15.0


def test_an_end_above_the_start_is_climbed_to() -> None:
    flight = run_in(start_pressure_altitude_ft=2_000.0, end_pressure_altitude_ft=3_000.0)
    assert flight.steps[0].name == "climb"
    assert flight.steps[-1].pressure_altitude_ft == 3_000.0


def test_an_aircraft_above_its_limit_comes_down_first() -> None:
    flight = run_in(UNPRESSURISED, start_pressure_altitude_ft=20_000.0, distance_nm=120.0)
    assert flight.steps[0].name == "descent to level"
    assert flight.pressure_altitude_ft == 10_000.0


def test_an_aircraft_that_cannot_stay_at_its_height_drifts_down() -> None:
    flight = run_in(ONE_ENGINE_AND_GEAR, start_pressure_altitude_ft=9_000.0, distance_nm=60.0)
    assert flight.feasible
    assert flight.pressure_altitude_ft < 9_000.0


def test_a_run_in_that_no_level_supports_is_infeasible() -> None:
    hopeless = replace(ONE_ENGINE_AND_GEAR, drag_increment=0.03)
    flight = run_in(hopeless, mass_kg=76_000.0)
    assert flight.limited_by == "no level can be held at 76000 kg from 8000 ft"
    slow = run_in(flying(max_cas_kt=150.0))
    assert slow.limited_by is not None
    assert "1.30 VSR" in slow.limited_by


def configured(configuration: Configuration = LANDING, **changed: Any) -> Seen:
    asked: dict[str, Any] = {
        "mass_kg": 64_000.0,
        "distance_nm": 5.0,
        "start_pressure_altitude_ft": 1_590.0,
        "end_pressure_altitude_ft": 0.0,
        "air": CALM_STANDARD,
    }
    return fly_configured(xtj150(), configuration=configuration, **(asked | changed))


def test_a_configured_approach_burns_the_recorded_order_of_fuel() -> None:
    """1850 to 1950 kg/h configured; one similar type recorded 1842."""
    flight = configured()
    assert 1_840.0 < flight.fuel_kg / flight.time_min * 60.0 < 1_960.0
    speed = approach_speed_kt(xtj150(), mass_kg=64_000.0, flap="34", slats_out=True)
    assert flight.cas_kt == speed


def test_what_has_leaked_out_is_no_longer_carried() -> None:
    """The lighter aircraft burns less on the rest of the way: loss and burn do not add up."""

    def level(leak_kg_per_h: float) -> Seen:
        return configured(
            distance_nm=20.0, start_pressure_altitude_ft=0.0, leak_kg_per_h=leak_kg_per_h
        )

    sound, leaking = level(0.0), level(6_000.0)
    lost_kg = 6_000.0 * leaking.time_min / 60.0
    assert lost_kg > 500.0
    assert leaking.fuel_kg - lost_kg < sound.fuel_kg - 1.0


def test_level_stretches_burn_more_per_mile_than_the_glide_path() -> None:
    level = configured(start_pressure_altitude_ft=1_500.0, end_pressure_altitude_ft=1_500.0)
    assert level.fuel_kg > 1.5 * configured().fuel_kg


def test_a_headwind_makes_an_approach_longer() -> None:
    assert configured(air=uniform_air(headwind_kt=30.0)).time_min > 1.2 * configured().time_min


def test_no_distance_burns_nothing() -> None:
    flight = configured(distance_nm=0.0, start_pressure_altitude_ft=0.0)
    assert (flight.fuel_kg, flight.time_min) == (0.0, 0.0)


def test_an_approach_that_cannot_be_flown_names_its_limit() -> None:
    slow = configured(replace(LANDING, max_cas_kt=120.0))
    assert slow.limited_by is not None
    assert "is above speed limit of the failure 120 kt" in slow.limited_by
    weak = replace(LANDING, engines_running=1, drag_increment=0.05)
    level = configured(weak, mass_kg=76_000.0, start_pressure_altitude_ft=0.0)
    assert level.limited_by is not None
    assert "short of the path" in level.limited_by


@pytest.mark.parametrize(
    ("changed", "name"),
    [
        ({"start_pressure_altitude_ft": -100.0}, "height to lose"),
        ({"start_pressure_altitude_ft": 6_000.0}, "height to lose"),
        ({"distance_nm": 90.0}, "distance_nm"),
        ({"mass_kg": 90_000.0}, "mass_kg"),
    ],
)
def test_impossible_approaches_raise(changed: dict[str, Any], name: str) -> None:
    with pytest.raises(OutOfRange, match=name):
        configured(**changed)


def test_a_wind_stronger_than_the_approach_speed_leaves_no_headway() -> None:
    flown = configured(air=uniform_air(headwind_kt=200.0))
    assert not flown.feasible
    assert flown.limited_by is not None
    assert flown.limited_by.startswith("headwind of 200 kt leaves no headway at 1")


def go_around(configuration: Configuration = APPROACHING, **changed: Any) -> Seen:
    asked: dict[str, Any] = {
        "mass_kg": 60_000.0,
        "start_pressure_altitude_ft": 200.0,
        "end_pressure_altitude_ft": 3_000.0,
    }
    return fly_go_around(xtj150(), configuration=configuration, **(asked | changed))


def test_a_go_around_burns_about_129_kg_a_minute() -> None:
    """Both engines at go-around thrust; stated 129 kg/min, here at 1600 ft on the way up."""
    flight = go_around()
    assert flight.fuel_kg / flight.time_min == pytest.approx(129.0, rel=0.03)


@settings(max_examples=20)
@given(
    mass_kg=st.floats(45_000.0, 70_000.0),
    rise_ft=st.floats(100.0, 5_000.0),
    headwind_kt=st.floats(-20.0, 40.0),
)
def test_a_go_around_in_two_parts_costs_the_same(
    mass_kg: float, rise_ft: float, headwind_kt: float
) -> None:
    air = uniform_air(headwind_kt=headwind_kt)
    top_ft = 200.0 + rise_ft
    whole = go_around(mass_kg=mass_kg, end_pressure_altitude_ft=top_ft, air=air)
    half_ft = 200.0 + rise_ft / 2.0
    first = go_around(mass_kg=mass_kg, end_pressure_altitude_ft=half_ft, air=air)
    second = go_around(
        mass_kg=first.end_mass_kg,
        start_pressure_altitude_ft=half_ft,
        end_pressure_altitude_ft=top_ft,
        air=air,
    )
    assert first.fuel_kg + second.fuel_kg == pytest.approx(whole.fuel_kg, rel=2e-3)
    assert first.distance_nm + second.distance_nm == pytest.approx(whole.distance_nm, rel=3e-3)


def test_a_go_around_that_is_already_there_costs_nothing() -> None:
    flight = go_around(start_pressure_altitude_ft=3_500.0)
    assert (flight.fuel_kg, flight.steps[0].pressure_altitude_ft) == (0.0, 3_500.0)


def test_a_go_around_that_does_not_climb_is_infeasible() -> None:
    weak = replace(APPROACHING, engines_running=1, drag_increment=0.03)
    flight = go_around(weak, mass_kg=76_000.0)
    assert flight.limited_by is not None
    assert "100 ft/min needed" in flight.limited_by


@pytest.mark.parametrize("mass_kg", [54_000.0, 60_000.0, 64_000.0])
def test_the_approach_allowance_is_of_the_stated_size(mass_kg: float) -> None:
    """120 to 160 kg for about 5 min."""
    answer = approach_allowance(
        xtj150(), configuration=LANDING, mass_kg=mass_kg, pressure_altitude_ft=1_500.0
    )
    assert 120.0 <= answer.fuel_kg <= 160.0
    assert answer.time_min == xtj150().approach.approach_allowance_min


def test_heat_and_a_leak_count_in_the_approach_allowance() -> None:
    def kg(**changed: float) -> float:
        return approach_allowance(
            xtj150(),
            configuration=LANDING,
            mass_kg=60_000.0,
            pressure_altitude_ft=1_500.0,
            **changed,
        ).fuel_kg

    assert kg(isa_deviation_degc=20.0) > kg()
    assert kg(leak_kg_per_h=600.0) == pytest.approx(kg() + 50.0)


def test_the_standard_glide_path_is_318_feet_per_mile() -> None:
    """[TERPS]."""
    assert round(approach.PATH_FT_PER_NM) == 318
