"""An operator's tables in flight: they govern where they have rows, and refuse elsewhere."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from decision.performance import (
    Configuration,
    Landing,
    final_reserve_kg,
    holding_flow_kg_per_h,
    landing,
    uniform_air,
)
from decision.performance.fuel_flow import level_flow_kg_per_h
from decision.performance.level import known_level_flow_kg_per_h, level_flow
from decision.performance.point import Point, point
from decision.profile import Profile, load_profile
from decision.profile.operator_tables import OutOfTable
from decision.quantities import AntiSkid
from tests.changing import replace
from tests.physics.outcomes import Seen, fly_diversion, fly_hold, fly_run_in
from tests.profile.tables import (
    CLEAN,
    GEAR,
    GEAR_LEVELS_FT,
    MANUAL,
    corrections_csv,
    factors_csv,
    fuel_csv,
    fuel_rows,
    landing_csv,
    profile_with,
    with_fuel,
)

XTJ150 = load_profile("xtj150")
INTERPOLATION = 2e-3  # 2 t, 1000 ft and 5 kt between nodes, against the curve itself
SMALL: dict[str, Any] = {
    "masses": (50_000.0, 60_000.0),
    "levels": (0.0, 10_000.0, 20_000.0),
    "speeds": (200.0, 240.0),
}


@pytest.fixture(scope="module")
def tabled(tmp_path_factory: pytest.TempPathFactory) -> Profile:
    """The demo aircraft with tables of its own physics, clean and gear down, and nothing else."""
    rows = (*fuel_rows(), *fuel_rows(GEAR, levels=GEAR_LEVELS_FT))
    return with_fuel(tmp_path_factory.mktemp("tabled"), *rows, elsewhere="refuse")


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Profile:
    """A clean table of few nodes whose flows are a tenth above the physics."""
    folder = tmp_path_factory.mktemp("small")
    return with_fuel(folder, *fuel_rows(**SMALL, times=1.1))


def divert(profile: Profile, configuration: Configuration = CLEAN, **changed: Any) -> Seen:
    asked: dict[str, Any] = {
        "mass_kg": 59_000.0,
        "distance_nm": 120.0,
        "start_pressure_altitude_ft": 1500.0,
        "end_pressure_altitude_ft": 1500.0,
    }
    return fly_diversion(profile, configuration=configuration, **(asked | changed))


def at(level_ft: float = 10_000.0, cas_kt: float = 240.0, deviation: float = 0.0) -> Point:
    return point(
        pressure_altitude_ft=level_ft,
        cas_kt=cas_kt,
        isa_deviation_degc=deviation,
        mach_cap=1.0,
    )


def physics_kg_per_h(configuration: Configuration, mass_kg: float, **where: float) -> float:
    flow = level_flow_kg_per_h(
        XTJ150,
        configuration,
        mass_kg=mass_kg,
        pressure_altitude_ft=where.get("level_ft", 10_000.0),
        cas_kt=where.get("cas_kt", 240.0),
        isa_deviation_degc=where.get("deviation", 0.0),
    )
    return float(flow)


# --- fuel flow ---------------------------------------------------------------------------------


@pytest.mark.parametrize("mass_kg", SMALL["masses"])
@pytest.mark.parametrize("level_ft", SMALL["levels"])
@pytest.mark.parametrize("cas_kt", SMALL["speeds"])
def test_a_flow_at_a_node_is_the_table_s(
    small: Profile, mass_kg: float, level_ft: float, cas_kt: float
) -> None:
    flow = known_level_flow_kg_per_h(small, CLEAN, mass_kg=mass_kg, at=at(level_ft, cas_kt))
    stated = 1.1 * physics_kg_per_h(CLEAN, mass_kg, level_ft=level_ft, cas_kt=cas_kt)
    assert flow == pytest.approx(stated, rel=1e-14)


def test_a_flow_between_nodes_is_on_the_straight_line(small: Profile) -> None:
    ends = [
        known_level_flow_kg_per_h(small, CLEAN, mass_kg=kg, at=at()) for kg in (50_000.0, 60_000.0)
    ]
    between = known_level_flow_kg_per_h(small, CLEAN, mass_kg=52_500.0, at=at())
    assert between == pytest.approx(0.75 * ends[0] + 0.25 * ends[1])


@pytest.mark.parametrize(
    ("mass_kg", "level_ft", "cas_kt"),
    [(49_999.0, 5_000.0, 220.0), (60_001.0, 5_000.0, 220.0), (55_000.0, 20_001.0, 220.0),
     (55_000.0, -1.0, 220.0), (55_000.0, 5_000.0, 199.0), (55_000.0, 5_000.0, 241.0)],
)  # fmt: skip
def test_a_flow_outside_is_refused_with_table_and_point(
    small: Profile, mass_kg: float, level_ft: float, cas_kt: float
) -> None:
    with pytest.raises(OutOfTable) as refusal:
        known_level_flow_kg_per_h(small, CLEAN, mass_kg=mass_kg, at=at(level_ft, cas_kt))
    assert str(refusal.value).startswith(
        "beyond the operator's fuel table for gear up, flap 0, slats in, 2 engines: fuel.csv has"
        " 50000 kg to 60000 kg, 0 ft to 20000 ft, 200 kt CAS to 240 kt CAS; asked for"
        f" {mass_kg:.0f} kg at {level_ft:.0f} ft, {cas_kt:.0f} kt CAS"
    )


def test_on_a_hot_day_a_table_s_flow_goes_with_the_root_of_temperature(small: Profile) -> None:
    flow = known_level_flow_kg_per_h(small, CLEAN, mass_kg=50_000.0, at=at(deviation=20.0))
    stated = 1.1 * physics_kg_per_h(CLEAN, 50_000.0, deviation=20.0)
    assert flow == pytest.approx(stated, rel=1e-12)


@pytest.mark.parametrize(
    "changed", [{"drag_increment": 0.01}, {"anti_ice": True}, {"fuel_flow_scale": 1.2}]
)
def test_what_no_table_knows_is_a_ratio_of_the_physics(
    small: Profile, changed: dict[str, Any]
) -> None:
    other = replace(CLEAN, **changed)
    flow = known_level_flow_kg_per_h(small, other, mass_kg=50_000.0, at=at())
    assert flow == pytest.approx(1.1 * physics_kg_per_h(other, 50_000.0), rel=1e-12)
    assert flow > known_level_flow_kg_per_h(small, CLEAN, mass_kg=50_000.0, at=at())


def test_a_configuration_without_rows_is_the_physics_only_by_the_profile_s_leave(
    small: Profile, tabled: Profile
) -> None:
    flap = replace(CLEAN, flap="12", slats_out=True)
    asked: dict[str, Any] = {"mass_kg": 55_000.0, "at": at(5_000.0, 180.0)}
    by_physics = physics_kg_per_h(flap, 55_000.0, level_ft=5_000.0, cas_kt=180.0)
    assert known_level_flow_kg_per_h(small, flap, **asked) == by_physics
    with pytest.raises(OutOfTable, match="have no rows for gear up, flap 12, slats out, 2 engines"):
        known_level_flow_kg_per_h(tabled, flap, **asked)


def test_of_two_tables_the_first_that_has_the_level_governs(tmp_path: Path) -> None:
    low = fuel_csv(*fuel_rows(**SMALL, times=1.1))
    wide = SMALL | {"levels": (0.0, 30_000.0)}
    high = fuel_csv(*fuel_rows(**wide, times=1.3))
    mach = fuel_csv(
        *(f"up,closed,0,in,2,{kg},{ft},{m},{kg / 20},{MANUAL}"
          for kg in (50_000, 60_000) for ft in (30_500, 35_000) for m in (0.6, 0.78)),
        speed="mach",
    )  # fmt: skip
    profile = profile_with(
        tmp_path,
        section='fuel_flow = ["low.csv", "high.csv", "mach.csv"]\nother_configurations = "refuse"',
        low__csv=low, high__csv=high, mach__csv=mach,
    )  # fmt: skip
    flow = {
        level: known_level_flow_kg_per_h(profile, CLEAN, mass_kg=50_000.0, at=at(level))
        for level in (20_000.0, 30_000.0, 31_000.0)
    }
    assert flow[20_000.0] == pytest.approx(
        1.1 * physics_kg_per_h(CLEAN, 50_000.0, level_ft=20_000.0)
    )
    assert flow[30_000.0] == pytest.approx(
        1.3 * physics_kg_per_h(CLEAN, 50_000.0, level_ft=30_000.0)
    )
    assert flow[31_000.0] == pytest.approx(2_500.0)


def test_arrays_are_told_for_which_masses_the_flow_is_known(small: Profile) -> None:
    levels = np.array([5_000.0, 25_000.0])
    found = level_flow(
        small,
        CLEAN,
        mass_kg=np.array([[45_000.0], [55_000.0]]),
        at=point(pressure_altitude_ft=levels, cas_kt=220.0, isa_deviation_degc=0.0, mach_cap=0.78),
    )
    known = found.known(np.array([[45_000.0], [55_000.0]]))
    assert np.array_equal(known, [[False, False], [True, False]])
    assert np.isfinite(np.asarray(found.kg_per_h)).all()


def test_without_tables_level_flow_is_the_physics_everywhere() -> None:
    found = level_flow(XTJ150, GEAR, mass_kg=50_000.0, at=at())
    assert found.kg_per_h == physics_kg_per_h(GEAR, 50_000.0)
    assert found.known(1.0, 1e9)


def test_without_an_engine_no_table_is_asked(tabled: Profile) -> None:
    stopped = replace(CLEAN, engines_running=0)
    found = level_flow(tabled, stopped, mass_kg=55_000.0, at=at())
    assert (found.kg_per_h, found.known(55_000.0)) == (0.0, True)


# --- factors -----------------------------------------------------------------------------------


def with_factors(
    folder: Path, *rows: str, fuel: bool = False, elsewhere: str = "physics"
) -> Profile:
    files = {"factors__csv": factors_csv(*(f"{row},{MANUAL}" for row in rows))}
    section = f'factors = "factors.csv"\nother_configurations = "{elsewhere}"'
    if fuel:
        files["fuel__csv"] = fuel_csv(*fuel_rows(**SMALL, times=1.1))
        section += '\nfuel_flow = ["fuel.csv"]'
    return profile_with(folder, section=section, **files)


@pytest.mark.parametrize(("factor", "governs"), [(2.5, "factor"), (1.05, "physics")])
def test_the_greater_of_factor_times_base_and_physics_governs(
    tmp_path: Path, factor: float, governs: str
) -> None:
    profile = with_factors(tmp_path, f"fuel,gear_down,,,{factor}")
    flow = known_level_flow_kg_per_h(profile, GEAR, mass_kg=55_000.0, at=at())
    expected = {
        "factor": factor * physics_kg_per_h(CLEAN, 55_000.0),
        "physics": physics_kg_per_h(GEAR, 55_000.0),
    }
    assert flow == pytest.approx(expected[governs])
    assert flow == pytest.approx(max(expected.values()))


def test_factors_multiply_what_the_table_has_and_reach_no_further(tmp_path: Path) -> None:
    profile = with_factors(
        tmp_path,
        "fuel,gear_down,,,2.0",
        "fuel,gear_doors_open,,,1.2",
        fuel=True,
        elsewhere="refuse",
    )
    open_doors = replace(GEAR, gear_doors_open=True)
    flow = known_level_flow_kg_per_h(profile, open_doors, mass_kg=50_000.0, at=at())
    assert flow == pytest.approx(2.0 * 1.2 * 1.1 * physics_kg_per_h(CLEAN, 50_000.0))
    with pytest.raises(OutOfTable, match="beyond the operator's fuel table for gear up"):
        known_level_flow_kg_per_h(profile, open_doors, mass_kg=50_000.0, at=at(cas_kt=250.0))


def test_factors_of_flap_slats_and_a_stopped_engine_apply(tmp_path: Path) -> None:
    profile = with_factors(
        tmp_path, "fuel,flap,12,,2.0", "fuel,slats_out,,,1.5", "fuel,engine_out,,,1.9"
    )
    flap = Configuration(flap="12", slats_out=True, engines_running=1)
    flow = known_level_flow_kg_per_h(profile, flap, mass_kg=50_000.0, at=at(5_000.0, 180.0))
    base = physics_kg_per_h(CLEAN, 50_000.0, level_ft=5_000.0, cas_kt=180.0)
    assert flow == pytest.approx(2.0 * 1.5 * 1.9 * base)


# --- flights -----------------------------------------------------------------------------------


@pytest.mark.parametrize("configuration", [CLEAN, GEAR], ids=["clean", "gear-down"])
@pytest.mark.parametrize("distance_nm", [60.0, 120.0, 250.0])
def test_a_table_of_the_physics_gives_the_same_diversion(
    tabled: Profile, configuration: Configuration, distance_nm: float
) -> None:
    plan = divert(XTJ150, configuration, distance_nm=distance_nm)
    same = divert(
        tabled,
        configuration,
        distance_nm=distance_nm,
        pressure_altitude_ft=plan.pressure_altitude_ft,
        cas_kt=plan.cas_kt,
    )
    best = divert(tabled, configuration, distance_nm=distance_nm)
    assert same.fuel_kg == pytest.approx(plan.fuel_kg, rel=INTERPOLATION)
    assert best.fuel_kg == pytest.approx(plan.fuel_kg, rel=1e-2)  # levels within 1 % are equal


@pytest.mark.parametrize(
    "changed", [{}, {"leak_kg_per_h": 600.0}, {"air": uniform_air(headwind_kt=40.0)}]
)
@pytest.mark.parametrize("configuration", [CLEAN, GEAR], ids=["clean", "gear-down"])
def test_prepared_and_plain_flights_by_a_table_agree(
    tabled: Profile, configuration: Configuration, changed: dict[str, Any]
) -> None:
    plan = divert(tabled, configuration, **changed)
    plain = divert(
        tabled,
        configuration,
        pressure_altitude_ft=plan.pressure_altitude_ft,
        cas_kt=plan.cas_kt,
        **changed,
    )
    assert plan.fuel_kg == pytest.approx(plain.fuel_kg, rel=1e-3)


def test_a_dearer_table_makes_a_dearer_cruise(small: Profile) -> None:
    asked: dict[str, Any] = {"pressure_altitude_ft": 10_000.0, "cas_kt": 240.0}
    table, physics = divert(small, **asked), divert(XTJ150, **asked)
    cruise = {
        name: step.fuel_kg / step.time_min
        for name, flown in (("table", table), ("physics", physics))
        for step in flown.steps
        if step.name == "cruise"
    }
    assert cruise["table"] == pytest.approx(1.1 * cruise["physics"], rel=5e-3)


def test_a_plan_stays_within_the_table(small: Profile) -> None:
    plan = divert(small, distance_nm=200.0)
    assert plan.feasible
    assert plan.pressure_altitude_ft <= 20_000.0
    assert 200.0 <= plan.cas_kt <= 240.0


@pytest.mark.parametrize(
    "changed",
    [
        {"mass_kg": 62_000.0},
        {"mass_kg": 50_200.0, "distance_nm": 300.0},
        {"pressure_altitude_ft": 25_000.0},
        {"cas_kt": 250.0},
        {"minimum_pressure_altitude_ft": 24_000.0, "distance_nm": 400.0},
    ],
    ids=["too-heavy", "too-light-at-the-end", "level", "speed", "minimum-level"],
)
def test_a_diversion_beyond_the_table_is_infeasible_with_its_name(
    small: Profile, changed: dict[str, Any]
) -> None:
    flown = divert(small, **changed)
    assert not flown.feasible
    assert flown.limited_by is not None
    assert "beyond the operator's fuel table for gear up" in flown.limited_by
    assert "fuel.csv has 50000 kg to 60000 kg" in flown.limited_by
    assert divert(XTJ150, **changed).feasible


def test_a_climb_that_is_out_of_reach_is_named_before_a_table(small: Profile) -> None:
    one_engine = replace(GEAR, engines_running=1)
    flown = divert(small, one_engine, minimum_pressure_altitude_ft=15_000.0)
    assert "ft/min" in (flown.limited_by or "")


def hold(profile: Profile, mass_kg: float, configuration: Configuration = CLEAN) -> Seen:
    return fly_hold(
        profile,
        configuration=configuration,
        mass_kg=mass_kg,
        pressure_altitude_ft=10_000.0,
        minutes=30.0,
    )


def test_a_hold_is_flown_by_the_table(tabled: Profile) -> None:
    by_table, by_physics = hold(tabled, 58_000.0), hold(XTJ150, 58_000.0)
    assert by_table.fuel_kg == pytest.approx(by_physics.fuel_kg, rel=INTERPOLATION)


def test_a_hold_beyond_the_table_is_infeasible_with_its_name(small: Profile) -> None:
    for mass_kg in (48_000.0, 63_000.0):
        flown = hold(small, mass_kg)
        assert not flown.feasible
        assert "fuel.csv has 50000 kg to 60000 kg" in (flown.limited_by or "")


def test_a_run_in_is_flown_by_the_table_or_refused(tabled: Profile, small: Profile) -> None:
    asked: dict[str, Any] = {
        "configuration": CLEAN,
        "mass_kg": 56_000.0,
        "distance_nm": 60.0,
        "start_pressure_altitude_ft": 9_000.0,
        "end_pressure_altitude_ft": 2_000.0,
    }
    by_table, by_physics = fly_run_in(tabled, **asked), fly_run_in(XTJ150, **asked)
    assert by_table.fuel_kg == pytest.approx(by_physics.fuel_kg, rel=INTERPOLATION)
    refused = fly_run_in(small, **(asked | {"mass_kg": 64_000.0}))
    assert not refused.feasible
    assert "fuel.csv has 50000 kg to 60000 kg" in (refused.limited_by or "")
    no_level_part = fly_run_in(small, **(asked | {"mass_kg": 64_000.0, "distance_nm": 5.0}))
    assert no_level_part.feasible


def test_the_reserve_is_the_table_s_or_refused(tabled: Profile, small: Profile) -> None:
    asked: dict[str, Any] = {"configuration": CLEAN, "elevation_ft": 500.0}
    by_table = final_reserve_kg(tabled, mass_kg=55_000.0, **asked)
    by_physics = final_reserve_kg(XTJ150, mass_kg=55_000.0, **asked)
    assert by_table == pytest.approx(by_physics, rel=INTERPOLATION)
    with pytest.raises(OutOfTable, match=r"fuel\.csv has 50000 kg"):
        final_reserve_kg(small, mass_kg=49_000.0, **asked)
    with pytest.raises(OutOfTable, match=r"fuel\.csv has 50000 kg"):
        holding_flow_kg_per_h(
            small, configuration=CLEAN, mass_kg=65_000.0, pressure_altitude_ft=5_000.0
        )


# --- landing -----------------------------------------------------------------------------------

SECTION = (
    'landing_distance = "landing.csv"\nlanding_corrections = "corrections.csv"\n'
    'factors = "factors.csv"\nother_configurations = "{elsewhere}"'
)


def with_landing(folder: Path, *factors: str, elsewhere: str = "physics") -> Profile:
    return profile_with(
        folder,
        section=SECTION.format(elsewhere=elsewhere),
        landing__csv="\n".join(
            [
                "flap,condition_code,mass_kg,distance_m,source",
                *(f"34,{code},{kg},{m},{MANUAL}"
                  for code, by_mass in ((5, (1500, 1900)), (6, (1300, 1600)))
                  for kg, m in zip((50_000, 66_000), by_mass, strict=True)),
            ]
        ),
        corrections__csv="\n".join(
            row for row in corrections_csv().splitlines() if row[3] not in "1234"
        ),
        factors__csv=factors_csv(
            *(f"{row},{MANUAL}" for row in factors or ("fuel,slats_out,,,1.1",))
        ),
    )  # fmt: skip


def land(profile: Profile, **changed: Any) -> Landing:
    asked: dict[str, Any] = {
        "mass_kg": 58_000.0,
        "flap": "34",
        "slats_out": True,
        "pressure_altitude_ft": 0.0,
        "isa_deviation_degc": 0.0,
        "condition_code": 6,
        "headwind_kt": 0.0,
        "slope_percent": 0.0,
        "spoilers": 1.0,
        "reversers": 2,
        "brakes_fraction": 1.0,
        "anti_skid": AntiSkid.FULL,
    }
    return landing(profile, **(asked | changed))


@pytest.mark.parametrize(
    ("changed", "distance_m"),
    [
        ({"mass_kg": 50_000.0}, 1300.0),
        ({"mass_kg": 66_000.0}, 1600.0),
        ({"mass_kg": 66_000.0, "condition_code": 5}, 1900.0),
        ({}, 1450.0),
        ({"pressure_altitude_ft": 2_000.0}, 1450.0 + 80.0),
        ({"pressure_altitude_ft": -500.0}, 1450.0),
        ({"isa_deviation_degc": 10.0}, 1450.0 + 30.0),
        ({"isa_deviation_degc": -10.0}, 1450.0 - 10.0),
        ({"headwind_kt": 10.0}, 1450.0 - 60.0),
        ({"headwind_kt": -10.0}, 1450.0 + 250.0),
        ({"slope_percent": -1.0}, 1450.0 + 80.0),
        ({"slope_percent": 1.0}, 1450.0),
        ({"speed_increment_kt": 10.0}, 1450.0 + 150.0),
        ({"reversers": 1}, 1450.0 + 60.0),
        ({"reversers": 0, "headwind_kt": -5.0}, 1450.0 + 120.0 + 125.0),
    ],
)  # fmt: skip
def test_the_landing_table_governs_with_its_corrections(
    tmp_path: Path, changed: dict[str, Any], distance_m: float
) -> None:
    landed = land(with_landing(tmp_path), **changed)
    assert landed.distance_m == pytest.approx(distance_m)
    assert landed.table_m == landed.distance_m
    assert landed.computed_m == land(XTJ150, **changed).computed_m


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"mass_kg": 49_000.0}, "landing.csv does not reach 49000 kg: it has 50000 kg to 66000 kg"),
        ({"condition_code": 3}, "landing.csv has no rows for flap 34 on condition code 3"),
        ({"headwind_kt": -16.0}, "does not reach 16 kt tailwind: it has 0 kt tailwind to 15 kt"),
        ({"isa_deviation_degc": 45.0}, "does not reach 45 degc warmer"),
        ({"slope_percent": -2.5}, "does not reach 2 percent downslope"),
    ],
)
def test_a_landing_beyond_the_table_is_unknown_with_its_name(
    tmp_path: Path, changed: dict[str, Any], words: str
) -> None:
    landed = land(with_landing(tmp_path), **changed)
    assert landed.distance_m is None
    assert words in (landed.unknown or "")
    assert landed.limited_by == landed.unknown


def test_a_departure_without_a_correction_is_unknown(tmp_path: Path) -> None:
    profile = profile_with(
        tmp_path,
        section='landing_distance = "landing.csv"\nother_configurations = "physics"',
        landing__csv=landing_csv(),
    )
    assert land(profile).unknown is None
    assert "no rows for 5 kt headwind with flap 34 on code 6" in (
        land(profile, headwind_kt=5.0).unknown or ""
    )


def test_what_is_lost_multiplies_the_table_and_the_greater_governs(tmp_path: Path) -> None:
    profile = with_landing(tmp_path, "landing,ground_spoilers_lost,,,1.6")
    landed = land(profile, spoilers=0.0)
    assert landed.floor_m == pytest.approx(1.6 * 1450.0)
    assert landed.distance_m == landed.floor_m
    half = land(profile, spoilers=0.5)
    assert half.floor_m == pytest.approx(1.3 * 1450.0)
    profile_s_own = land(profile, brakes_fraction=0.5)
    assert profile_s_own.distance_m == pytest.approx(1.35 * 1450.0)


def test_the_physics_of_a_loss_govern_where_they_are_the_greater(tmp_path: Path) -> None:
    profile = with_landing(
        tmp_path, "landing,half_brakes_lost,,,1.0", "landing,ground_spoilers_lost,,,1.0"
    )
    landed = land(profile, brakes_fraction=0.25, spoilers=0.0)
    assert landed.computed_m is not None
    assert landed.distance_m == max(landed.computed_m, 1450.0)
    assert landed.computed_m > 1450.0


def test_a_better_surface_s_factor_is_not_used_on_a_worse_one(tmp_path: Path) -> None:
    profile = with_landing(
        tmp_path, "landing,anti_skid_lost,,6,1.7", "landing,anti_skid_lost,,,2.5"
    )
    dry, wet = (land(profile, condition_code=c, anti_skid=AntiSkid.NONE) for c in (6, 5))
    assert dry.floor_m == pytest.approx(1.7 * 1450.0)
    assert wet.floor_m == pytest.approx(2.5 * 1700.0)


def test_reversers_have_their_factor_alone_and_with_spoilers(tmp_path: Path) -> None:
    profile = with_landing(
        tmp_path,
        "landing,reversers_lost,,,1.4",
        "landing,spoilers_and_reversers_lost,,,2.2",
        "landing,ground_spoilers_lost,,,1.5",
    )
    one = land(profile, reversers=1)
    assert one.floor_m == pytest.approx(1.2 * 1450.0)
    both = land(profile, reversers=0, spoilers=0.0)
    assert both.floor_m == pytest.approx(max(2.2, 1.4 * 1.5) * 1450.0)


def test_a_flap_without_rows_is_the_physics_a_factor_or_refused(tmp_path: Path) -> None:
    folders = [tmp_path / name for name in "abc"]
    for folder in folders:
        folder.mkdir()
    asked: dict[str, Any] = {"flap": "20"}
    physics = land(with_landing(folders[0]), **asked)
    assert physics.distance_m == land(XTJ150, **asked).distance_m
    refused = land(with_landing(folders[1], elsewhere="refuse"), **asked)
    assert "landing.csv has no rows for flap 20 with slats out" in (refused.unknown or "")
    factor = with_landing(folders[2], "landing,flap,20,,1.8", elsewhere="refuse")
    assert land(factor, **asked).distance_m == pytest.approx(1.8 * 1450.0)
    jammed = land(factor, slats_out=False)
    assert "flap 34 with slats in" in (jammed.unknown or "")


def test_a_surface_without_grip_is_refused_before_any_table(tmp_path: Path) -> None:
    landed = land(with_landing(tmp_path), condition_code=0)
    assert landed.unknown is None
    assert "no operation without grip" in (landed.limited_by or "")


def test_quasi_modulating_brakes_are_not_credited_beyond_the_table(tmp_path: Path) -> None:
    landed = land(with_landing(tmp_path), anti_skid=AntiSkid.QUASI, condition_code=5)
    assert landed.computed_m is not None
    assert landed.distance_m == max(landed.computed_m, 1700.0)
