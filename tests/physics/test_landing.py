"""Landing distance: an independent integration, the figures of the demo type, and its laws.

Distances of the demo type are this project's own; they follow from the laws cited in the module
under test, so the id of each names what it depends on. They were worked out apart from this code
and are kept to the metres (10 m, the accuracy printed) and to the ratio (0.01) they are stated in.
"""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import quad

from decision.errors import OutOfRange
from decision.performance.landing import Landing, approach_speed_kt, landing
from decision.profile import Profile, load_profile
from decision.quantities import AntiSkid
from tests.changing import replace

XTJ150 = load_profile("xtj150")
NORMAL: dict[str, Any] = {
    "mass_kg": 66_000.0,
    "flap": "34",
    "slats_out": True,
    "pressure_altitude_ft": 0.0,
    "isa_deviation_degc": 0.0,
    "condition_code": 6,
    "headwind_kt": 0.0,
    "slope_percent": 0.0,
    "spoilers": True,
    "reversers": 2,
    "brakes_fraction": 1.0,
    "anti_skid": AntiSkid.FULL,
}


def land(profile: Profile = XTJ150, **changes: Any) -> Landing:
    return landing(profile, **(NORMAL | changes))


def computed_m(profile: Profile = XTJ150, **changes: Any) -> float:
    distance_m = land(profile, **changes).computed_m
    assert distance_m is not None
    return distance_m


def distance_m(profile: Profile = XTJ150, **changes: Any) -> float:
    governing_m = land(profile, **changes).distance_m
    assert governing_m is not None
    return governing_m


# --- figures -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("code", "expected_m"),
    [
        pytest.param(6, 1150, id="AC25-32-code6"),
        pytest.param(5, 1327, id="CFR-25-109-POLY-code5"),
        pytest.param(4, 1450, id="AC25-32-code4"),
        pytest.param(3, 1593, id="AC25-32-code3"),
        pytest.param(2, 1805, id="AC25-32-code2"),
        pytest.param(1, 2129, id="AC25-32-code1"),
    ],
)
def test_distance_at_maximum_landing_mass_by_condition_code(code: int, expected_m: float) -> None:
    assert distance_m(condition_code=code) == pytest.approx(expected_m, abs=10.0)


def test_a_dry_landing_without_reversers_is_a_hundred_metres_longer() -> None:
    assert distance_m(reversers=0) == pytest.approx(1250.0, abs=5.0)


def test_certified_dry_distance_and_its_dispatch_distances() -> None:
    """[CFR-25] 25.125: new brakes, no reversers; the shortest flare that fits is half the normal.

    Dispatch factors 1/0.6 and 1.15/0.6 of [CFR-121] 121.195, as [FSF-ALAR-8-3] quotes them.
    """
    certified = replace(
        XTJ150,
        brakes=replace(XTJ150.brakes, in_service_ratio=1.0),
        landing=replace(XTJ150.landing, flare_s=3.5),
    )
    dry_m = distance_m(certified, reversers=0)
    assert dry_m == pytest.approx(1008.0, abs=10.0)
    assert dry_m / 0.6 == pytest.approx(1683.0, abs=17.0)
    assert dry_m * 1.15 / 0.6 == pytest.approx(1935.0, abs=20.0)


LOSSES: dict[str, dict[str, Any]] = {
    "no reversers": {"reversers": 0},
    "one reverser": {"reversers": 1},
    "no spoilers": {"spoilers": False},
    "no spoilers, no reversers": {"spoilers": False, "reversers": 0},
    "half the brakes": {"brakes_fraction": 0.5},
    "flap 20": {"flap": "20"},
    "flap 12": {"flap": "12"},
    "flap 6": {"flap": "6"},
    "flap 0, slats out": {"flap": "0"},
    "flap 20, slats in": {"flap": "20", "slats_out": False},
    "flapless": {"flap": "0", "slats_out": False},
    "flap 12, half the brakes, no spoilers": {
        "flap": "12",
        "brakes_fraction": 0.5,
        "spoilers": False,
    },
    "10 kt from behind": {"headwind_kt": -10.0},
    "10 kt against": {"headwind_kt": 10.0},
    "5000 ft": {"pressure_altitude_ft": 5_000.0},
    "20 degC above standard": {"isa_deviation_degc": 20.0},
    "1 % down": {"slope_percent": -1.0},
}
CODES = (6, 5, 3, 2)


@pytest.mark.parametrize(
    ("loss", "ratios"),
    [
        pytest.param(loss, ratios, id=f"AC25-32-{loss}")
        for loss, ratios in (
            ("no reversers", (1.09, 1.17, 1.22, 1.40)),
            ("one reverser", (1.04, 1.07, 1.09, 1.14)),
            ("no spoilers", (1.12, 1.13, 1.13, 1.12)),
            ("no spoilers, no reversers", (1.28, 1.47, 1.52, 1.84)),
            ("half the brakes", (1.33, 1.30, 1.34, 1.28)),
            ("flap 20", (1.08, 1.10, 1.08, 1.11)),
            ("flap 12", (1.17, 1.21, 1.17, 1.21)),
            ("flap 6", (1.27, 1.33, 1.27, 1.33)),
            ("flap 0, slats out", (1.31, 1.39, 1.31, 1.38)),
            ("flap 20, slats in", (1.25, 1.31, 1.25, 1.30)),
            ("flapless", (1.59, 1.76, 1.59, 1.71)),
            ("flap 12, half the brakes, no spoilers", (1.70, 1.75, 1.73, 1.71)),
            ("10 kt from behind", (1.12, 1.16, 1.14, 1.18)),
            ("10 kt against", (0.88, 0.86, 0.87, 0.84)),
            ("5000 ft", (1.11, 1.14, 1.12, 1.15)),
            ("20 degC above standard", (1.05, 1.06, 1.05, 1.06)),
            ("1 % down", (1.01, 1.02, 1.03, 1.04)),
        )
    ],
)
def test_a_loss_lengthens_the_landing_by_its_ratio(loss: str, ratios: tuple[float, ...]) -> None:
    found = [
        computed_m(condition_code=code, **LOSSES[loss]) / computed_m(condition_code=code)
        for code in CODES
    ]
    assert found == pytest.approx(ratios, abs=0.01)


@pytest.mark.parametrize(
    ("code", "ratio"), [(5, 1.45), (3, 1.50), (2, 1.41)], ids=lambda v: f"CFR-25-{v}"
)
def test_on_off_braking_lengthens_a_slippery_landing_by_its_ratio(code: int, ratio: float) -> None:
    lost_m = computed_m(condition_code=code, anti_skid=AntiSkid.ON_OFF)
    assert lost_m / computed_m(condition_code=code) == pytest.approx(ratio, abs=0.01)


def test_losses_together_are_computed_jointly_and_not_multiplied() -> None:
    """1.17 x 1.33 x 1.12 = 1.74 against 1.70 [AC25-32]: the drag of speed helps every loss."""
    whole_m = computed_m()
    product = (
        computed_m(flap="12") / whole_m
        * computed_m(brakes_fraction=0.5) / whole_m
        * computed_m(spoilers=False) / whole_m
    )  # fmt: skip
    joint = computed_m(flap="12", brakes_fraction=0.5, spoilers=False) / whole_m
    assert product == pytest.approx(1.74, abs=0.01)
    assert joint < product - 0.02


@pytest.mark.parametrize(
    ("flap", "slats_out", "expected_kt"),
    [
        ("34", True, 132.6),
        ("20", True, 140.4),
        ("12", True, 148.2),
        ("6", True, 157.4),
        ("20", False, 155.4),
        ("34", False, 145.0),
        ("0", True, 161.6),
        ("0", False, 185.8),
    ],
    ids=lambda v: f"CFR-25-{v}",
)
def test_approach_speed_is_123_percent_of_the_stall_speed_of_the_position(
    flap: str, slats_out: bool, expected_kt: float
) -> None:
    speed = approach_speed_kt(XTJ150, mass_kg=66_000.0, flap=flap, slats_out=slats_out)
    assert speed == pytest.approx(expected_kt, abs=0.05)


def test_a_flapless_landing_at_maximum_landing_mass_stays_inside_brakes_and_tyres() -> None:
    flapless = land(flap="0", slats_out=False)
    assert flapless.brake_energy_mj == pytest.approx(204.0, abs=0.5)
    assert flapless.tyre_speed_kt == pytest.approx(0.96 * 185.8, abs=0.1)
    assert flapless.limited_by is None


def test_the_airborne_part_is_seven_seconds_at_98_percent_of_the_approach_speed() -> None:
    """[AC25-32] 8.2.4 with [AC25-32-SPEEDS]; at 140 kt that would be 494 m."""
    heavy = land(mass_kg=66_000.0 * (140.0 / land().approach_speed_kt) ** 2)
    assert heavy.approach_speed_kt == pytest.approx(140.0)
    assert heavy.air_m == pytest.approx(494.0, abs=0.5)


# --- an independent integration ----------------------------------------------------------------


def slow_roll_m(profile: Profile, setting: dict[str, Any], code: int) -> float:
    """The ground roll once more, in plain scalars from the cited laws, by adaptive quadrature."""
    knot, g = 1852.0 / 3600.0, 9.80665
    height_m = setting["pressure_altitude_ft"] * 0.3048
    pressure = (1.0 - 0.0065 * height_m / 288.15) ** 5.255876
    theta = (288.15 - 0.0065 * height_m + setting["isa_deviation_degc"]) / 288.15
    sigma = pressure / theta
    flap = profile.detent(setting["flap"])
    share = flap.deflection_deg / 34.0
    clmax = flap.clmax + (0.45 if setting["slats_out"] else 0.0)
    weight = setting["mass_kg"] * g
    stall = math.sqrt(2.0 * weight / (1.225 * 125.0 * clmax))
    wind = setting["headwind_kt"] * knot
    top = 0.96 * 1.23 * stall / math.sqrt(sigma) - wind
    cl = (0.25 + 0.80 * share) * (0.15 if setting["spoilers"] else 1.0)
    k = 1.0 / (1.0 / 0.0415 + math.pi * 34.6**2 / 125.0 * 0.0026 * flap.deflection_deg)
    cd = 0.0205 + flap.cd0 + (0.004 if setting["slats_out"] else 0.0) + 0.5 * k * cl**2
    cd += 0.0309 + (0.0168 - 0.0309) * share + (0.060 if setting["spoilers"] else 0.0)
    reverse, working = setting["reversers"], setting["brakes_fraction"]
    wet_rows = ((-0.0437, 0.320, -0.805, 0.804), (-0.0331, 0.252, -0.658, 0.692))
    wet_terms = [0.05 * low + 0.95 * high for low, high in zip(*wet_rows, strict=True)]
    planing = 0.85 * 9.0 * math.sqrt(195.0) * knot

    def friction(v: float, code: int) -> float:
        wet = 0.8 * sum(
            c * (v / knot / 100.0) ** n for c, n in zip(wet_terms, (3, 2, 1, 0), strict=True)
        )
        wet = min(wet, 0.36)
        deep = 0.05 if v >= planing else min(0.5 * wet, 0.16)
        by_code = {6: 0.36, 5: wet, 4: 0.20, 3: 0.16, 2: deep, 1: 0.08}
        return by_code[code]

    def metres_per_speed(v: float) -> float:
        dynamic = 0.5 * 1.225 * sigma * max(v + wind, 0.0) ** 2 * 125.0
        load = weight - dynamic * cl
        brakes = min(friction(v, code) * 0.92 * working * load, 205e3 * working)
        fast = v + wind >= 70.0 * knot
        thrust = (
            reverse * (0.22 if fast else 0.03) * 110e3 - (2 - reverse) * 0.03 * 110e3 * pressure
        )
        force = max(brakes, 0.015 * load) + dynamic * cd + thrust
        slope = float(setting["slope_percent"]) / 100.0
        return float(v / (force / setting["mass_kg"] + g * slope))

    jumps = [v for v in (planing, 70.0 * knot - wind) if 0.0 < v < top]
    metres, _ = quad(metres_per_speed, 0.0, top, points=jumps or None, limit=400, epsrel=1e-9)
    return float(metres)


@pytest.mark.parametrize("code", [6, 5, 4, 3, 2, 1])
@pytest.mark.parametrize(
    "changes",
    [
        {},
        *LOSSES.values(),
        {"headwind_kt": -15.0, "pressure_altitude_ft": 8_000.0, "isa_deviation_degc": 25.0},
        {"mass_kg": 76_000.0, "flap": "0", "slats_out": False, "slope_percent": 2.0},
    ],
    ids=str,
)
def test_the_roll_agrees_with_an_independent_fine_integration(
    code: int, changes: dict[str, Any]
) -> None:
    setting = NORMAL | changes | {"condition_code": code}
    codes = {4: (4, 5), 3: (3, 5), 1: (1, 2)}.get(code, (code,))  # no better than that one
    slow_m = max(slow_roll_m(XTJ150, setting, either) for either in codes)
    assert landing(XTJ150, **setting).roll_m == pytest.approx(slow_m, rel=5e-4)


# --- factors of the profile --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "factor", "whole"),
    [
        ({"spoilers": False}, 1.25, {}),
        ({"brakes_fraction": 0.5}, 1.35, {}),
        ({"brakes_fraction": 0.75}, 1.175, {}),
        ({"anti_skid": AntiSkid.ON_OFF}, 1.50, {}),
        ({"anti_skid": AntiSkid.NONE}, 1.50, {}),
        ({"slope_percent": -1.0}, 1.10, {}),
        ({"slope_percent": -1.0, "spoilers": False}, 1.10 * 1.25, {}),
        ({"spoilers": False, "flap": "20"}, 1.25, {"flap": "20"}),
        ({"spoilers": False, "reversers": 0}, 1.25, {"reversers": 0}),
    ],
    ids=str,
)
def test_the_factors_of_the_profile_ask_for_a_least_distance(
    changes: dict[str, Any], factor: float, whole: dict[str, Any]
) -> None:
    lost = land(**changes)
    assert lost.floor_m == pytest.approx(factor * computed_m(**whole))
    assert lost.distance_m == max(lost.floor_m or 0.0, lost.computed_m or 0.0)


def test_spoilers_and_reversers_lost_together_have_a_factor_of_their_own() -> None:
    factors = replace(
        XTJ150.landing_factors, ground_spoilers_lost=1.0, spoilers_and_reversers_lost=1.6
    )
    lost = land(replace(XTJ150, landing_factors=factors), spoilers=False, reversers=0)
    assert lost.distance_m == lost.floor_m == pytest.approx(1.6 * computed_m())


@pytest.mark.parametrize(
    "changes",
    [{}, {"reversers": 0}, {"flap": "0"}, {"anti_skid": AntiSkid.QUASI}, {"slope_percent": 1.0}],
    ids=str,
)
def test_what_the_profile_has_no_factor_for_is_left_to_the_physics(
    changes: dict[str, Any],
) -> None:
    lost = land(**changes)
    assert lost.floor_m is None
    assert lost.distance_m == lost.computed_m


def test_physics_governs_where_it_asks_for_more_than_the_factor() -> None:
    lost = land(condition_code=2, spoilers=False, reversers=0, brakes_fraction=0.4)
    assert lost.floor_m is not None
    assert lost.computed_m is not None
    assert lost.distance_m == lost.computed_m > lost.floor_m


# --- what forbids a landing --------------------------------------------------------------------


def test_code_0_is_refused_by_name_and_gives_no_distance() -> None:
    refused = land(condition_code=0)
    assert refused.distance_m is None
    assert refused.computed_m is None
    assert refused.roll_m is None
    assert refused.brake_energy_mj is None
    assert refused.limited_by == "runway condition code 0: no operation without grip"


def test_without_wheel_brakes_the_distance_is_given_and_the_landing_refused() -> None:
    lost = land(brakes_fraction=0.0)
    assert lost.limited_by == "no wheel brakes"
    assert lost.brake_energy_mj == 0.0
    assert lost.distance_m == pytest.approx(3_750.0, rel=0.01)  # 3.26 times the normal one


@pytest.mark.parametrize(("code", "better"), [(4, 5), (1, 2)])
def test_a_fast_landing_is_no_shorter_on_a_worse_code_than_on_a_better_one(
    code: int, better: int
) -> None:
    """At high speed a wet runway brakes less than cold snow, and deep water less than ice."""
    fast: dict[str, Any] = {
        "flap": "0",
        "slats_out": False,
        "mass_kg": 70_000.0,
        "headwind_kt": -10.0,
        "pressure_altitude_ft": 6_000.0,
        "reversers": 0,
    }
    assert computed_m(condition_code=code, **fast) == computed_m(condition_code=better, **fast)


def test_an_aircraft_that_does_not_slow_down_gets_no_distance() -> None:
    rolling = land(brakes_fraction=0.0, reversers=0, slope_percent=-5.0)
    assert rolling.distance_m is None
    assert rolling.limited_by is not None
    assert rolling.limited_by.startswith("does not stop")
    assert rolling.limited_by.endswith("no wheel brakes")


def test_a_landing_too_fast_for_the_tyres_says_by_how_much() -> None:
    fast = land(flap="0", slats_out=False, headwind_kt=-20.0)
    assert fast.distance_m is not None
    assert fast.tyre_speed_kt == pytest.approx(198.4, abs=0.1)
    assert fast.limited_by is not None
    assert "tyre speed 199 kt exceeds 195 kt" in fast.limited_by


def test_a_landing_too_hot_for_the_brakes_says_by_how_much() -> None:
    hot = land(mass_kg=76_000.0, flap="0", slats_out=False)
    assert hot.overweight
    assert hot.brake_energy_mj is not None
    assert hot.brake_energy_mj > 230.0
    assert hot.limited_by is not None
    assert hot.limited_by.endswith("MJ exceeds 230 MJ")


def test_half_the_brakes_take_half_the_energy() -> None:
    lost = land(flap="12", brakes_fraction=0.5, spoilers=False)
    assert lost.limited_by == "brake energy 116 MJ exceeds 115 MJ"


def test_only_a_mass_above_the_landing_limit_is_overweight() -> None:
    assert not land(mass_kg=66_000.0).overweight
    assert land(mass_kg=66_001.0).overweight


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("mass_kg", 42_000.0),
        ("mass_kg", 76_001.0),
        ("mass_kg", math.nan),
        ("pressure_altitude_ft", 15_001.0),
        ("isa_deviation_degc", 61.0),
        ("condition_code", 7),
        ("condition_code", -1),
        ("headwind_kt", -51.0),
        ("slope_percent", 5.1),
        ("reversers", 3),
        ("brakes_fraction", 1.1),
    ],
)
def test_an_input_out_of_range_is_refused_by_name(name: str, value: float) -> None:
    with pytest.raises(OutOfRange, match=name):
        landing(XTJ150, **(NORMAL | {name: value}))


def test_an_unknown_detent_is_refused_with_the_detents_that_exist() -> None:
    with pytest.raises(ValueError, match="0, 6, 12, 20, 34"):
        land(flap="15")


# --- laws --------------------------------------------------------------------------------------

SETTINGS = st.fixed_dictionaries(
    {
        "mass_kg": st.floats(45_000.0, 70_000.0),
        "flap": st.sampled_from(["0", "6", "12", "20", "34"]),
        "slats_out": st.booleans(),
        "pressure_altitude_ft": st.floats(-1_000.0, 8_000.0),
        "isa_deviation_degc": st.floats(-30.0, 30.0),
        "condition_code": st.integers(1, 6),
        "headwind_kt": st.floats(-15.0, 30.0),
        "slope_percent": st.floats(-2.0, 2.0),
        "spoilers": st.booleans(),
        "reversers": st.integers(0, 2),
        "brakes_fraction": st.sampled_from([0.5, 0.75, 1.0]),
        "anti_skid": st.sampled_from(list(AntiSkid)),
    }
)


LONGEST_M = 5_000.0
"""Beyond, thin air helps by taking idle thrust away: on ice 19 of 7200 m. No runway is so long."""


def governing_m(setting: dict[str, Any]) -> float:
    """The distance, infinite when the aircraft does not stop."""
    found_m = landing(XTJ150, **setting).distance_m
    return math.inf if found_m is None else found_m


@given(SETTINGS, st.integers(2, 6))
def test_a_worse_condition_code_never_shortens_the_landing(
    setting: dict[str, Any], code: int
) -> None:
    better = governing_m(setting | {"condition_code": code})
    assert governing_m(setting | {"condition_code": code - 1}) >= better


@pytest.mark.parametrize(
    ("name", "step"),
    [
        ("mass_kg", 1_000.0),
        ("pressure_altitude_ft", 500.0),
        ("isa_deviation_degc", 5.0),
        ("headwind_kt", -3.0),
        ("slope_percent", -0.3),
    ],
)
@given(setting=SETTINGS)
def test_mass_height_heat_tailwind_and_downslope_never_shorten_the_landing(
    name: str, step: float, setting: dict[str, Any]
) -> None:
    before_m = governing_m(setting)
    assume(before_m < LONGEST_M)
    assert governing_m(setting | {name: setting[name] + step}) >= before_m


@given(SETTINGS)
def test_losing_any_device_never_shortens_the_landing(setting: dict[str, Any]) -> None:
    whole_m = governing_m(setting)
    lost: list[dict[str, Any]] = [{"spoilers": False}, {"brakes_fraction": 0.5}]
    lost += [{"reversers": 0}, {"anti_skid": AntiSkid.NONE}]
    for loss in lost:
        assert governing_m(setting | loss) >= whole_m - 1e-6
