"""Fuel of a degraded aircraft against figures from outside, as bands.

None of them is of these invented aircraft. What is compared are ratios, and where a manual gives a
factor on trip fuel it is meant for any level and speed that a crew may get: so the ordinary way is
held to it, and the plan of least fuel lies below. The bands say where the model stands; where it is
low, the profile's stated error of degraded fuel says so too.
"""

from __future__ import annotations

from typing import Any

import openap
import pytest

from decision.performance import Configuration, clean, holding_flow_kg_per_h, holding_speed_kt
from decision.performance.drag import configured_polar, drag_n
from decision.performance.fuel_flow import level_flow_kg_per_h
from decision.performance.point import point
from decision.profile import Profile, load_profile, profile_ids
from decision.profile.types import AccuracyOf
from tests.changing import replace
from tests.physics.outcomes import fly_diversion

XTJ = load_profile("xtj150")
LOADED = 0.52  # of the way from empty to the greatest take-off mass


def mass_kg(profile: Profile) -> float:
    masses = profile.masses
    return masses.oew_kg + LOADED * (masses.mtow_kg - masses.oew_kg)


def trip(profile: Profile, miles_nm: float, **changes: Any) -> tuple[float, float]:
    """Fuel over that of the clean aircraft at its best: of the best plan, of the ordinary way."""
    flights = [
        fly_diversion(
            profile,
            configuration=replace(clean(profile), **each),
            mass_kg=mass_kg(profile),
            distance_nm=miles_nm,
            start_pressure_altitude_ft=1_500.0,
            end_pressure_altitude_ft=1_500.0,
        )
        for each in (changes, {})
    ]
    degraded, sound = flights
    assert degraded.ordinary is not None
    return degraded.fuel_kg / sound.fuel_kg, degraded.ordinary.fuel_kg / sound.fuel_kg


def middle(profile: Profile) -> str:
    """The detent of a take-off: what flaps jammed half way are."""
    return profile.approach.second_segment_detent


def stated_error(profile: Profile) -> float:
    rows = {row.of: row.within for row in profile.accuracy}
    return rows[AccuracyOf.DEGRADED_FUEL] / 100.0


@pytest.mark.parametrize("profile_id", profile_ids())
@pytest.mark.parametrize(
    ("what", "factor"),
    [("slats", 1.6), ("flaps", 1.8), ("both", 2.0), ("gear and doors", 2.8)],
)
def test_the_ordinary_way_keeps_to_the_quoted_factors_within_the_stated_error(
    profile_id: str, what: str, factor: float
) -> None:
    """[MANUAL-FACTORS-QUOTED] on 500 NM, second hand; the best plan is under by a third at most.

    On a short diversion climb and descent, which flaps hardly touch, are most of the fuel: less.
    """
    profile = load_profile(profile_id)
    degraded: dict[str, dict[str, Any]] = {
        "slats": {"slats_out": True},
        "flaps": {"flap": middle(profile)},
        "both": {"flap": middle(profile), "slats_out": True},
        "gear and doors": {"gear_down": True, "gear_doors_open": True},
    }
    changes = degraded[what]
    best, ordinary = trip(profile, 500.0, **changes)
    assert ordinary == pytest.approx(factor, rel=stated_error(profile))
    assert 0.67 * factor < best < factor
    assert trip(profile, 120.0, **changes)[1] < ordinary


@pytest.mark.parametrize("profile_id", profile_ids())
def test_gear_down_on_a_ferry_takes_the_eighty_percent_more_of_the_manual(profile_id: str) -> None:
    """[ASRS-1347885]: 80 % more; the best plan of 500 NM, within the stated error."""
    profile = load_profile(profile_id)
    best, ordinary = trip(profile, 500.0, gear_down=True)
    assert best == pytest.approx(1.8, rel=stated_error(profile))
    assert ordinary > best


@pytest.mark.parametrize("profile_id", profile_ids())
def test_gear_down_costs_a_hold_a_third_to_a_half(profile_id: str) -> None:
    """Common practice, no source: 1.3 to 1.5."""
    profile = load_profile(profile_id)
    flows = [
        holding_flow_kg_per_h(
            profile,
            configuration=replace(clean(profile), gear_down=gear_down),
            mass_kg=mass_kg(profile),
            pressure_altitude_ft=5_000.0,
        )
        for gear_down in (True, False)
    ]
    assert 1.3 < flows[0] / flows[1] < 1.5


@pytest.mark.parametrize("profile_id", profile_ids())
def test_a_flap_fully_out_is_under_the_directive_by_a_quarter_and_no_more(profile_id: str) -> None:
    """[AD-FLAP-QUOTED] 3.2 at 15 000 ft, over the clean cruise; second hand.

    The model stays low here, and says so in the profile: landing flap is held by the flow that a
    similar type recorded on the glide path (test_fuel_flow), which more drag would miss.
    """
    profile = load_profile(profile_id)
    full = profile.detents[-1]
    assert full.vfe_kt is not None
    out = replace(clean(profile), flap=full.id, slats_out=True)
    flapped = per_nm(profile, out, 15_000.0, full.vfe_kt - profile.speeds.placard_margin_kt)
    cruise = min(
        per_nm(profile, clean(profile), level_ft, cas_kt)
        for level_ft in (31_000.0, 35_000.0)
        for cas_kt in (240.0, 250.0, 260.0)
    )
    assert 0.70 * 3.2 < flapped / cruise < 3.2


def per_nm(profile: Profile, configuration: Configuration, level_ft: float, cas_kt: float) -> float:
    """Fuel of a mile in level flight in still air."""
    at = point(pressure_altitude_ft=level_ft, cas_kt=cas_kt, isa_deviation_degc=0.0, mach_cap=0.86)
    flow = level_flow_kg_per_h(
        profile,
        configuration,
        mass_kg=mass_kg(profile),
        pressure_altitude_ft=level_ft,
        cas_kt=cas_kt,
    )
    return float(flow) / float(at.tas_kt)


@pytest.mark.parametrize("profile_id", profile_ids())
def test_gear_down_miles_against_public_flights_by_the_tonne(profile_id: str) -> None:
    """[PUBLIC-GEAR-FLIGHTS] 4.4 to 4.5 t over 210 NM at FL180, a wide-body of some 110 t.

    0.193 kg a mile and tonne; the mass is an estimate. The heavier wide-body here lies 13 % under,
    the twin of 150 seats 15 % over.
    """
    profile = load_profile(profile_id)
    flown = per_nm(profile, replace(clean(profile), gear_down=True), 18_000.0, 250.0)
    a_tonne = flown / mass_kg(profile) * 1_000.0
    reported = 4_450.0 / 210.0 / 110.0
    assert 0.85 < a_tonne / reported < 1.17


# --- one engine ---


@pytest.mark.parametrize("mass", [54_000.0, 60_000.0, 66_000.0])
@pytest.mark.parametrize("level_ft", [1_500.0, 5_000.0, 10_000.0])
def test_one_engine_holds_on_a_flow_between_the_two_laws(mass: float, level_ft: float) -> None:
    """[OPENAP]: one engine at this drag takes 0.98 to 1.02 of the flow of two there.

    Its flow knows nothing of ram drag, so that little thrust is too cheap. The law of this engine
    alone gives 0.85 to 0.89. The model lies between, within 9 % of one and 12 % of the other.
    """
    two, one = clean(XTJ), clean(XTJ, engines_stopped=1)
    flows = [
        holding_flow_kg_per_h(XTJ, configuration=each, mass_kg=mass, pressure_altitude_ft=level_ft)
        for each in (one, two)
    ]
    ours = flows[0] / flows[1]
    bare = ours / XTJ.engine_out.flow_ratio
    cas_kt = holding_speed_kt(XTJ, configuration=two, mass_kg=mass, pressure_altitude_ft=level_ft)
    at = point(pressure_altitude_ft=level_ft, cas_kt=cas_kt, isa_deviation_degc=0.0, mach_cap=0.78)
    drags = [
        float(drag_n(XTJ, configured_polar(XTJ, each), mass_kg=mass, at=at, thrust_n=None))
        for each in (one, two)
    ]
    library = openap.FuelFlow("A320")
    theirs = float(library.at_thrust(2.0 * drags[0])) / 2.0 / float(library.at_thrust(drags[1]))
    assert bare < ours < theirs
    assert ours > theirs * 0.88
    assert ours < bare * 1.09
