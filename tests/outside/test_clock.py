"""Minutes of urgent cases against hand arithmetic from published speeds.

True airspeed follows from calibrated airspeed by the definition of the latter: the impact pressure
that it would have at sea level, at the pressure of the level ([ICAO] Doc 7488 for the standard
atmosphere; its pressure and temperature ratios below are quoted from memory). The limits are the
published ones of the invented profiles: 340 kt calibrated, Mach 0.81 and 0.87. 250 kt below
10 000 ft is the ordinary limit of the trade ([PRACTICE]), the slow side of a band.

A band's ends: the last 10 NM are flown at 220 kt on average at best (they end at the approach
speed) and at 150 kt at worst, with 4 min for what has to be read before a landing; all before them
at the limit speed of the best level or at 250 kt calibrated at 5000 ft.
"""

from __future__ import annotations

import math
from functools import cache

import pytest

from tests.outside.claims import told
from tests.outside.world import CALM, WIDE, Body, case, chosen, courses, decide, minutes_to, place

# level in ft: pressure and temperature over those of sea level
ISA = {
    0: (1.0, 1.0),
    5000: (0.8320, 0.9656),
    9000: (0.7148, 0.9381),
    10000: (0.6877, 0.9312),
    15000: (0.5643, 0.8969),
    20000: (0.4595, 0.8625),
    25000: (0.3711, 0.8281),
    30000: (0.2970, 0.7937),
    35000: (0.2353, 0.7594),
}
SOUND_KT = 661.47  # at sea level, standard
LIMITS = {"xtj150": (340.0, 0.81), "xtwide": (340.0, 0.87)}
LAST_NM = 10.0
CLEAR = "00000KT 9999 SCT030"


def true_kt(cas_kt: float, level_ft: int) -> float:
    """True airspeed of a calibrated one, by definition."""
    pressure, temperature = ISA[level_ft]
    impact = (1.0 + 0.2 * (cas_kt / SOUND_KT) ** 2) ** 3.5 - 1.0
    mach = math.sqrt(5.0 * ((impact / pressure + 1.0) ** (2.0 / 7.0) - 1.0))
    return mach * SOUND_KT * math.sqrt(temperature)


def limit_kt(profile: str, level_ft: int) -> float:
    """The greatest true airspeed at a level: of the two limits the lower one."""
    cas_kt, mach = LIMITS[profile]
    return min(true_kt(cas_kt, level_ft), mach * SOUND_KT * math.sqrt(ISA[level_ft][1]))


def test_the_conversion_gives_what_tables_give() -> None:
    """250 kt calibrated at 10 000 ft are 289 kt true (trade tables, from memory)."""
    assert true_kt(250.0, 10000) == pytest.approx(289.0, abs=1.5)
    assert true_kt(250.0, 0) == pytest.approx(250.0, abs=0.01)


def band_min(profile: str, level_ft: int, miles: float) -> tuple[float, float]:
    """Fastest and slowest minutes that the published limits leave."""
    best = max(limit_kt(profile, each) for each in ISA if each <= level_ft)
    fast = (miles - LAST_NM) / best + LAST_NM / 220.0
    slow = (miles - LAST_NM) / true_kt(250.0, 5000) + LAST_NM / 150.0
    down_min = level_ft / 2000.0  # a descent that outlasts the way, at 2000 ft/min
    return fast * 60.0, max(slow * 60.0, down_min + LAST_NM / 150.0 * 60.0) + 4.0


@cache
def minutes(
    profile: str, failure: str, level_ft: int, miles: float, wind_from_deg: int | None = None
) -> float:
    """Minutes to touchdown as answered, the destination due east of the aircraft."""
    return minutes_to(decide(eastward(profile, failure, level_ft, miles, wind_from_deg)), "XDES")


def eastward(
    profile: str, failure: str, level_ft: int, miles: float, wind_from_deg: int | None = None
) -> Body:
    state, fuel_kg = ({}, 7000) if profile == "xtj150" else ({**WIDE}, 24000)
    degrees = miles / 60.0 / math.cos(math.radians(47.0))
    winds = [
        {**each, "from_true_deg": wind_from_deg, "speed_kt": 60}
        for each in CALM
        if wind_from_deg is not None
    ]
    return case(
        failure,
        home=place("XDES", miles, at=(47.2, round(-35.9 + degrees, 4))),
        others=(),
        winds=winds or CALM,
        level_ft=level_ft,
        here=CLEAR,
        aircraft=state,
        fuel_kg=fuel_kg,
    )


WAYS = [
    (profile, failure, level_ft, miles)
    for profile in ("xtj150", "xtwide")
    for failure in ("smoke", "cargo-fire", "engine-1-fire")
    for level_ft, miles in ((9000, 40), (9000, 120), (9000, 200), (20000, 80), (20000, 200))
]


@pytest.mark.parametrize(("profile", "failure", "level_ft", "miles"), WAYS)
def test_minutes_lie_between_the_limit_speeds_and_250_kt(
    profile: str, failure: str, level_ft: int, miles: float
) -> None:
    low, high = band_min(profile, level_ft, miles)
    seen = minutes(profile, failure, level_ft, miles)
    assert low <= seen <= high, (low, seen, high)


@pytest.mark.parametrize("profile", ["xtj150", "xtwide"])
@pytest.mark.parametrize("miles", [80, 120, 200])
def test_smoke_at_9000_ft_is_flown_at_the_limit_speed(profile: str, miles: float) -> None:
    """(miles - 10) at 340 kt calibrated, 386 kt true, and 10 NM at 160 kt on average: within 8 %
    (the slowing down before the gear is what the arithmetic leaves out)."""
    by_hand = ((miles - LAST_NM) / limit_kt(profile, 9000) + LAST_NM / 160.0) * 60.0
    assert minutes(profile, "smoke", 9000, miles) == pytest.approx(by_hand, rel=0.08)


@pytest.mark.parametrize("profile", ["xtj150", "xtwide"])
def test_smoke_from_20000_ft_is_flown_at_the_limit_speed(profile: str) -> None:
    """200 NM: 3 degrees are 318 ft for a mile, so that 18 000 ft take 57 NM at the limit speed of
    the middle, 10 000 ft; the rest at that of 20 000 ft; 10 NM at 160 kt: within 8 %."""
    down_nm = 18000 / 318.0
    by_hand = 60.0 * (
        (200 - LAST_NM - down_nm) / limit_kt(profile, 20000)
        + down_nm / limit_kt(profile, 10000)
        + LAST_NM / 160.0
    )
    assert minutes(profile, "smoke", 20000, 200) == pytest.approx(by_hand, rel=0.08)


@pytest.mark.parametrize(("wind_from_deg", "along_kt"), [(270, 60), (90, -60), (0, 0)])
def test_wind_enters_the_minutes_by_its_component(wind_from_deg: int, along_kt: float) -> None:
    """Due east at 47 degrees north: 190 NM at 386 kt true and the component along the way, across
    it none but for the 2 % of a drift angle of 9 degrees; 10 NM at 160 kt; within 8 %."""
    speed_kt = limit_kt("xtj150", 9000) + along_kt
    by_hand = 60.0 * (190.0 / speed_kt + LAST_NM / 160.0)
    seen = minutes("xtj150", "smoke", 9000, 200, wind_from_deg)
    assert seen == pytest.approx(by_hand, rel=0.08)


def test_a_head_wind_is_later_and_a_tail_wind_earlier_than_none() -> None:
    seen = [minutes("xtj150", "smoke", 9000, 200, each) for each in (270, None, 90)]
    assert seen == sorted(seen)
    assert seen[2] - seen[0] > 8.0  # 190 NM at 446 and at 326 kt: 25.6 and 35.0 min


def later_elsewhere_min(failure: str, miles: float) -> float:
    """Minutes by which as many miles to another place take longer, calm air, the same level."""
    home, other = place("XDES", miles), place("XNOR", 110, miles)
    answer = decide(case(failure, home=home, others=(other,), winds=CALM, here=CLEAR, there=CLEAR))
    return minutes_to(answer, "XNOR") - minutes_to(answer, "XDES")


@pytest.mark.parametrize("failure", ["smoke", "cargo-fire"])
def test_as_many_miles_take_as_many_minutes_to_the_destination_as_elsewhere(failure: str) -> None:
    """90 NM either way: within 3 min, of which the approach to a place that was not planned,
    5 min as a whole ([PRACTICE]), takes some 2.5."""
    assert abs(later_elsewhere_min(failure, 90)) <= 3.0


def test_one_engine_flies_to_the_destination_as_fast_as_elsewhere() -> None:
    """What the approach elsewhere takes longer, of 5 min as a whole ([PRACTICE]), is the same
    after 30 NM and after 150: 120 NM at 200 kt in place of 300 would be 12 min."""
    near, far = (later_elsewhere_min("engine-1-fire", each) for each in (30, 150))
    assert abs(far - near) <= 1.0
    assert 0.0 <= near <= 5.0


@pytest.mark.parametrize("failure", ["smoke", "engine-1-fire"])
def test_an_emergency_from_cruise_level_comes_down_as_fast_as_it_can(failure: str) -> None:
    """35 000 ft at 3000 to 7000 ft/min in an emergency descent, clean, limit speed ([PRACTICE]):
    5 to 12 min down and 4 to 7 for the approach, however near the runway is."""
    seen = minutes("xtj150", failure, 35000, 40)
    assert 9.0 <= seen <= 19.0


def test_checklists_on_the_way_delay_only_by_what_must_be_done_before_landing() -> None:
    """Four minutes of smoke list or none: 120 NM take longer than either."""
    body = eastward("xtj150", "smoke", 9000, 120)
    seen = [
        minutes_to(decide({**body, "plan": {"checklist_min": each}}), "XDES") for each in (0, 4, 8)
    ]
    assert max(seen) - min(seen) <= 0.5, seen


def test_both_places_stand_side_by_side_with_their_minutes() -> None:
    answer = decide(case("smoke", winds=CALM, here=CLEAR, there=CLEAR))
    assert told(answer, "headline_minutes", ("XDES", "XEAS")) is None
    low, high = band_min("xtj150", 9000, 125)
    assert low <= minutes_to(answer, "XEAS") <= high


def great_circle_nm(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Haversine on the mean sphere of 6371.0 km; within 0.5 % of the ellipsoid."""
    (lat1, lon1), (lat2, lon2) = (
        (math.radians(place_[0]), math.radians(place_[1])) for place_ in (one, other)
    )
    half = (
        math.sin((lat2 - lat1) / 2) ** 2
        + math.cos(lat1) * math.cos(lat2) * math.sin((lon2 - lon1) / 2) ** 2
    )
    return 2 * 6371.0 / 1.852 * math.asin(math.sqrt(half))


@pytest.mark.parametrize("at", [(45.6, -33.2), (48.4, -37.0), (47.2, -32.0)])
def test_without_a_track_the_great_circle_times_the_routing_factor_is_flown(
    at: tuple[float, float],
) -> None:
    """1.10 times the great circle from the aircraft, by hand to 1 %."""
    miles = 1.10 * great_circle_nm((47.2, -35.9), at)
    seen = []
    for given in (None, 0.99 * miles, 1.01 * miles):
        there = place("XEAS", 110, given, at=at)
        answer = decide(case("smoke", others=(there,), winds=CALM, here=CLEAR, there=CLEAR))
        seen.append(courses(answer, "divert_now", "XEAS")[0]["minutes_to_touchdown"])
    free, least, most = seen
    assert least <= free <= most, seen


def test_no_climb_is_flown_that_saves_no_time() -> None:
    """From 9000 ft over 60 NM: a climb at some 2000 ft/min and 300 kt would cost more than the
    higher true airspeed gives back."""
    near = place("XNEA", 70, 60, at=(47.9, -36.6))
    answer = decide(
        case("smoke", home=place("XDES", 160), others=(near,), winds=CALM, here=CLEAR, there=CLEAR)
    )
    assert answer["action"]["aerodrome"] == "XNEA"
    level_ft = chosen(answer)["cruise_pressure_altitude_ft"]
    assert level_ft is None or level_ft <= 12000
