"""Climb gradients against certification gates and stated figures, ceilings, and their laws."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision.errors import OutOfRange
from decision.performance import Climb, Configuration, Rating, ceiling_ft, climb
from decision.performance.envelope import envelope, slowest_kt, stall_speed_kt
from decision.units import FT_PER_NM, percent_to_ft_per_nm
from tests.changing import replace
from tests.physics.builders import (
    CLEAN,
    FLAP,
    GEAR,
    ONE_ENGINE,
    ONE_ENGINE_AND_GEAR,
    UNPRESSURISED,
    flying,
    masses_kg,
    xtj150,
)


def one_engine(flap: str, **changed: bool) -> Configuration:
    return flying(engines_running=1, flap=flap, slats_out=True, **changed)


def gradient(configuration: Configuration, **changed: float) -> Climb:
    asked: dict[str, Any] = {
        "mass_kg": 66_000.0,
        "pressure_altitude_ft": 0.0,
        "isa_deviation_degc": 0.0,
    }
    return climb(xtj150(), configuration=configuration, **(asked | changed))


def sine_percent(answer: Climb) -> float:
    """The stated figures are rate over true airspeed; the answer is rise over run."""
    return 100.0 * math.sin(math.atan(answer.gradient_percent / 100.0))


DOWN = {"gear_down": True}
STATED = [
    pytest.param("20", {}, 0.0, 0.0, 4.36, id="derived-approach-climb"),
    pytest.param("20", DOWN, 0.0, 0.0, 3.00, id="derived-gear-down"),
    pytest.param("20", {}, 2_000.0, 15.0, 3.87, id="derived-2000ft-ISA+15"),
    pytest.param("20", DOWN, 2_000.0, 15.0, 2.51, id="derived-2000ft-ISA+15-gear-down"),
    pytest.param("20", {}, 5_000.0, 20.0, 2.56, id="derived-5000ft-ISA+20"),
    pytest.param("20", DOWN, 5_000.0, 20.0, 1.21, id="derived-5000ft-ISA+20-gear-down"),
    pytest.param("20", {}, 0.0, 30.0, 2.74, id="derived-ISA+30"),
    pytest.param(
        "20", DOWN | {"gear_doors_open": True}, 0.0, 30.0, 1.08, id="derived-ISA+30-gear-and-doors"
    ),
    pytest.param("34", {}, 0.0, 0.0, 3.53, id="derived-jammed-34"),
    pytest.param("34", DOWN, 0.0, 0.0, 2.62, id="derived-jammed-34-gear-down"),
    pytest.param("34", DOWN, 2_000.0, 15.0, 2.13, id="derived-jammed-34-gear-down-2000ft-ISA+15"),
]


@pytest.mark.parametrize(("flap", "changed", "height_ft", "deviation", "percent"), STATED)
def test_one_engine_gradients_are_the_stated_ones(
    flap: str, changed: dict[str, bool], height_ft: float, deviation: float, percent: float
) -> None:
    answer = gradient(
        one_engine(flap, **changed), pressure_altitude_ft=height_ft, isa_deviation_degc=deviation
    )
    assert answer.gradient_percent == pytest.approx(percent, abs=0.01)


@pytest.mark.parametrize("deviation", [0.0, 15.0])
def test_the_second_segment_meets_its_gate(deviation: float) -> None:
    """[CFR-25] 25.121(b): 2.4 %, at 1.13 VSR and maximum take-off mass; stated 2.51 %."""
    configuration = one_engine("12")
    stall_kt = float(stall_speed_kt(xtj150(), configuration, mass_kg=76_000.0))
    answer = gradient(
        configuration,
        mass_kg=76_000.0,
        isa_deviation_degc=deviation,
        cas_kt=xtj150().speeds.second_segment_ratio * stall_kt,
    )
    assert answer.gradient_percent >= 2.4
    if deviation == 0.0:
        assert answer.gradient_percent == pytest.approx(2.51, abs=0.01)


def test_the_approach_climb_meets_its_gate_gear_up() -> None:
    """[CFR-25] 25.121(d): 2.1 % for a twin at maximum landing mass."""
    assert gradient(one_engine("20")).gradient_percent >= 2.1


def test_the_landing_climb_meets_its_gate() -> None:
    """[CFR-25] 25.119: 3.2 %, all engines, landing configuration; stated 16.7 %."""
    answer = gradient(flying(flap="34", slats_out=True, gear_down=True))
    assert answer.gradient_percent >= 3.2
    assert sine_percent(answer) == pytest.approx(16.7, abs=0.05)


def test_the_stall_speeds_of_the_two_landing_detents_are_close_enough() -> None:
    """[CFR-25] 25.121(d): VSR of the approach climb at most 110 % of that of landing."""
    approach, landing = (
        float(stall_speed_kt(xtj150(), one_engine(flap), mass_kg=66_000.0)) for flap in ("20", "34")
    )
    assert approach / landing == pytest.approx(1.059, abs=0.001)


@pytest.mark.parametrize(
    ("flap", "slats_out", "stall_kt", "approach_kt"),
    [
        ("0", False, 151.1, 185.8),
        ("6", True, 128.0, 157.4),
        ("12", True, 120.5, 148.2),
        ("20", True, 114.2, 140.4),
        ("34", True, 107.8, 132.6),
        ("20", False, None, 155.4),
        ("34", False, None, 145.0),
        ("0", True, None, 161.6),
    ],
)
def test_stall_speeds_at_66_t_are_the_stated_ones(
    flap: str, slats_out: bool, stall_kt: float | None, approach_kt: float
) -> None:
    configuration = flying(flap=flap, slats_out=slats_out)
    speed = float(stall_speed_kt(xtj150(), configuration, mass_kg=66_000.0))
    assert 1.23 * speed == pytest.approx(approach_kt, abs=0.1)
    if stall_kt is not None:
        assert speed == pytest.approx(stall_kt, abs=0.1)


MASS_LIMITS = [
    (0.0, 15.0, False, 2.1, 76.0),
    (0.0, 15.0, True, 2.1, 70.5),
    (0.0, 15.0, True, 2.5, 68.4),
    (0.0, 30.0, False, 2.1, 69.6),
    (0.0, 30.0, False, 2.5, 67.3),
    (0.0, 30.0, True, 2.1, 62.3),
    (0.0, 30.0, True, 2.5, 60.5),
    (2_000.0, 15.0, False, 2.5, 73.4),
    (2_000.0, 15.0, True, 2.1, 68.0),
    (2_000.0, 15.0, True, 2.5, 66.0),
    (2_000.0, 25.0, False, 2.1, 70.1),
    (2_000.0, 25.0, True, 2.5, 60.9),
    (4_000.0, 15.0, False, 2.1, 72.9),
    (4_000.0, 15.0, True, 2.5, 63.4),
    (5_000.0, 20.0, False, 2.1, 68.5),
    (5_000.0, 20.0, True, 2.1, 61.4),
    (5_000.0, 20.0, True, 2.5, 59.6),
]


@pytest.mark.parametrize(("height_ft", "deviation", "gear_down", "percent", "mass_t"), MASS_LIMITS)
def test_the_mass_that_still_makes_a_gradient_is_the_stated_one(
    height_ft: float, deviation: float, gear_down: bool, percent: float, mass_t: float
) -> None:
    """Stated to 0.1 t and capped at the maximum take-off mass."""
    configuration = one_engine("20", gear_down=gear_down)

    def percent_at(tonnes: float) -> float:
        answer = gradient(
            configuration,
            mass_kg=1_000.0 * tonnes,
            pressure_altitude_ft=height_ft,
            isa_deviation_degc=deviation,
        )
        return sine_percent(answer)

    assert percent_at(mass_t - 0.1) > percent
    if mass_t < 76.0:
        assert percent_at(mass_t + 0.105) < percent


def test_a_stuck_gear_costs_about_one_and_a_half_points() -> None:
    loss = (
        gradient(one_engine("20")).gradient_percent
        - gradient(one_engine("20", gear_down=True)).gradient_percent
    )
    assert loss == pytest.approx(1.36, abs=0.01)


@given(
    mass_kg=masses_kg(),
    height_ft=st.floats(0.0, 8_000.0),
    deviation=st.floats(-20.0, 35.0),
    more=st.sampled_from(["mass", "height", "heat", "gear", "ice"]),
)
def test_whatever_makes_flight_harder_lowers_the_gradient(
    mass_kg: float, height_ft: float, deviation: float, more: str
) -> None:
    easy = gradient(
        one_engine("20"),
        mass_kg=mass_kg,
        pressure_altitude_ft=height_ft,
        isa_deviation_degc=deviation,
    )
    configuration = {
        "gear": one_engine("20", gear_down=True),
        "ice": replace(one_engine("20"), drag_increment=0.003, anti_ice=True),
    }.get(more, one_engine("20"))
    hard = gradient(
        configuration,
        mass_kg=min(mass_kg + 1_000.0 * (more == "mass"), 76_000.0),
        pressure_altitude_ft=height_ft + 500.0 * (more == "height"),
        isa_deviation_degc=deviation + 5.0 * (more == "heat"),
    )
    if more == "heat":  # flat-rated up to the limit: hot air is only thinner
        assert hard.gradient_percent <= easy.gradient_percent + 0.01
    else:
        assert hard.gradient_percent <= easy.gradient_percent


def test_a_headwind_steepens_the_path_over_the_ground_only() -> None:
    still, windy = gradient(one_engine("20")), gradient(one_engine("20"), headwind_kt=20.0)
    assert windy.gradient_percent == still.gradient_percent
    tas_kt = still.rate_fpm * 60.0 / FT_PER_NM / (still.gradient_percent / 100.0)
    expected = still.gradient_percent * tas_kt / (tas_kt - 20.0)
    assert windy.ground_gradient_percent == pytest.approx(expected, rel=1e-9)
    assert windy.ft_per_nm == pytest.approx(windy.ground_gradient_percent * FT_PER_NM / 100.0)


def test_gradient_over_the_ground_in_still_air_is_that_through_the_air() -> None:
    answer = gradient(one_engine("20"))
    assert answer.ground_gradient_percent == pytest.approx(answer.gradient_percent, rel=1e-12)


def test_the_published_departure_climbs_567_feet_per_mile() -> None:
    """[TERPS]: 1200 ft to 8000 ft in 12 NM, charted as 580 after rounding up."""
    rise_ft, distance_nm = 8_000.0 - 1_200.0, 12.0
    percent = 100.0 * rise_ft / (distance_nm * FT_PER_NM)
    assert percent_to_ft_per_nm(percent) == pytest.approx(566.7, abs=0.05)


# 100 ft/min, standard day; stated on a grid of 250 ft
CEILINGS = [
    pytest.param(GEAR, 60_000.0, 230.0, 24_250.0, id="derived-gear-60t"),
    pytest.param(GEAR, 66_000.0, 230.0, 22_250.0, id="derived-gear-66t"),
    pytest.param(ONE_ENGINE, 66_000.0, 215.0, 15_750.0, id="derived-one-engine-66t"),
    pytest.param(ONE_ENGINE_AND_GEAR, 60_000.0, 200.0, 3_750.0, id="derived-one-engine-gear-60t"),
    pytest.param(ONE_ENGINE_AND_GEAR, 66_000.0, 200.0, 750.0, id="derived-one-engine-gear-66t"),
    pytest.param(
        one_engine("12", gear_down=True), 60_000.0, 175.0, 6_250.0, id="derived-gear-flap-60t"
    ),
    pytest.param(
        one_engine("12", gear_down=True), 66_000.0, 175.0, 3_250.0, id="derived-gear-flap-66t"
    ),
]


@pytest.mark.parametrize(("configuration", "mass_kg", "cas_kt", "stated_ft"), CEILINGS)
def test_ceilings_are_the_stated_ones(
    configuration: Configuration, mass_kg: float, cas_kt: float, stated_ft: float
) -> None:
    answer_ft = ceiling_ft(xtj150(), configuration=configuration, mass_kg=mass_kg, cas_kt=cas_kt)
    assert answer_ft == pytest.approx(stated_ft, abs=250.0)


def test_the_gear_limit_caps_the_ceiling() -> None:
    answer_ft = ceiling_ft(xtj150(), configuration=GEAR, mass_kg=60_000.0, cas_kt=200.0)
    assert answer_ft == xtj150().limits.max_gear_out_ft


def test_a_ceiling_is_sought_over_all_allowed_speeds() -> None:
    best_ft = ceiling_ft(xtj150(), configuration=ONE_ENGINE, mass_kg=60_000.0)
    at_215_ft = ceiling_ft(xtj150(), configuration=ONE_ENGINE, mass_kg=60_000.0, cas_kt=215.0)
    assert best_ft is not None
    assert at_215_ft is not None
    assert best_ft > at_215_ft


def test_there_is_no_ceiling_where_not_even_sea_level_climbs() -> None:
    hopeless = replace(ONE_ENGINE_AND_GEAR, drag_increment=0.03)
    assert ceiling_ft(xtj150(), configuration=hopeless, mass_kg=76_000.0) is None


def test_there_is_no_ceiling_without_an_allowed_speed() -> None:
    slow = replace(CLEAN, max_cas_kt=150.0)
    assert ceiling_ft(xtj150(), configuration=slow, mass_kg=70_000.0) is None


@pytest.mark.parametrize("mass_kg", [42_000.0, 77_000.0])
def test_impossible_masses_raise(mass_kg: float) -> None:
    with pytest.raises(OutOfRange, match="mass_kg"):
        gradient(CLEAN, mass_kg=mass_kg)


def test_thrust_ratings_order_the_climb() -> None:
    rates = [
        climb(
            xtj150(),
            configuration=one_engine("20"),
            mass_kg=66_000.0,
            pressure_altitude_ft=1_000.0,
            isa_deviation_degc=0.0,
            rating=rating,
        ).rate_fpm
        for rating in (Rating.MAXIMUM_CONTINUOUS, Rating.GO_AROUND)
    ]
    assert rates[0] < rates[1]


@pytest.mark.parametrize(
    ("configuration", "speed", "altitude"),
    [
        (CLEAN, "VMO 340 kt", "maximum altitude 39000 ft"),
        (GEAR, "VLE 265 kt", "gear-extended altitude limit 25000 ft"),
        (FLAP, "VFE of flap 12 210 kt", "flaps-extended altitude limit 20000 ft"),
        (
            flying(slats_out=True),
            "slats-extended speed limit 230 kt",
            "flaps-extended altitude limit 20000 ft",
        ),
        (UNPRESSURISED, "VMO 340 kt", "unpressurised altitude limit 10000 ft"),
        (
            flying(max_cas_kt=280.0, max_pressure_altitude_ft=30_000.0),
            "speed limit of the failure 280 kt",
            "altitude limit of the failure 30000 ft",
        ),
        (
            flying(gear_doors_open=True),
            "VMO 340 kt",
            "gear-extended altitude limit 25000 ft",
        ),
    ],
)
def test_the_governing_limit_is_named(
    configuration: Configuration, speed: str, altitude: str
) -> None:
    limits = envelope(xtj150(), configuration)
    assert limits.fastest_kt.words("kt") == speed
    assert limits.highest_ft.words("ft") == altitude


@pytest.mark.parametrize(
    ("deflection_deg", "altitude"),
    [
        (0.0, "maximum altitude 39000 ft"),
        (0.5, "flaps-extended altitude limit 20000 ft"),
        (6.0, "flaps-extended altitude limit 20000 ft"),
    ],
)
def test_flaps_without_slats_have_the_limit_of_flaps_however_little_they_are_out(
    deflection_deg: float, altitude: str
) -> None:
    profile = xtj150()
    detents = tuple(
        replace(each, deflection_deg=deflection_deg) if each.id == "6" else each
        for each in profile.detents
    )
    limits = envelope(replace(profile, detents=detents), flying(flap="6"))
    assert limits.highest_ft.words("ft") == altitude


def test_scaling_masses_and_area_together_leaves_speeds_unchanged() -> None:
    profile = xtj150()
    big = replace(profile, wing=replace(profile.wing, area_m2=250.0))
    assert slowest_kt(big, CLEAN, mass_kg=120_000.0) == pytest.approx(
        slowest_kt(profile, CLEAN, mass_kg=60_000.0), rel=1e-12
    )
