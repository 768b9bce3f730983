"""Thrust of the running engines at each rating, and at idle.

Two-shaft turbofan: take-off law in Mach number and pressure, climb law in three height bands
[BARTEL-YOUNG], reference cruise thrust by a regression on static thrust. Ratings are flat to an ISA
deviation and lapse beyond it. Valid below the profile's maximum altitude and Mach 0.85.
"""

from __future__ import annotations

import math
from typing import Final, assert_never

from decision.atmosphere import pressure_ratio
from decision.elementwise import Numbers, choose, greater, lesser, logarithm
from decision.performance.configuration import Configuration, Rating
from decision.performance.point import Point
from decision.profile import Profile
from decision.speeds import cas_from_mach

# take-off law [BARTEL-YOUNG] eq. 11 to 14
GAS_GENERATOR_PER_BYPASS: Final = 0.0606
GAS_GENERATOR_CONSTANT: Final = 0.6337
MOMENTUM_DRAG: Final = 0.377
MOMENTUM_DRAG_BYPASS: Final = 0.82
RAM_CONSTANT: Final = 0.23
RAM_PER_SQRT_BYPASS: Final = 0.19
STATIC_POLYNOMIAL: Final = (0.0472, 1.3855, -0.4327, 0.0)  # rising powers of pressure ratio
DRAG_POLYNOMIAL: Final = (0.0, 1.8697, -1.7736, 0.9106)
RAM_POLYNOMIAL: Final = (0.0, 1.3003, -0.4374, 0.1377)

# climb law [BARTEL-YOUNG] eq. 15 to 19, tables 2 to 4
LOW_BAND_FT: Final = 10_000.0
HIGH_BAND_FT: Final = 30_000.0
HIGH_SLOPE: Final = (1.0824, -0.4204)
HIGH_MACH_POWER: Final = -0.11
SPEED_POWER: Final = -0.1
PRESSURE_POWER_PER_SPEED: Final = -0.355
PRESSURE_POWER: Final = (0.8633, 2.667e-5)
LOW_SLOPE: Final = (0.47379, -0.12043)
LOW_SLOPE_RATE: Final = (2.4444e-5, -8.8889e-9)

# reference cruise thrust per engine: Svoboda's regression, as read with [BARTEL-YOUNG]
CRUISE_THRUST_RATIO: Final = 0.2
CRUISE_THRUST_CONSTANT_N: Final = 890.0


def thrust_n(
    profile: Profile,
    configuration: Configuration,
    *,
    rating: Rating,
    at: Point,
    rate_fpm: Numbers = 0.0,
) -> Numbers:
    """Total thrust of the running engines at a rating; `rate_fpm` enters the climb law."""
    match rating:
        case Rating.GO_AROUND:
            each = go_around_thrust_n(profile, at=at)
        case Rating.CLIMB:
            each = climb_thrust_n(profile, at=at, rate_fpm=rate_fpm)
        case Rating.MAXIMUM_CONTINUOUS:
            each = continuous_thrust_n(profile, at=at, rate_fpm=rate_fpm)
        case _:
            assert_never(rating)
    bleed = profile.ratings.anti_ice_thrust_ratio if configuration.anti_ice else 1.0
    return configuration.engines_running * configuration.thrust_ratio * bleed * each


def en_route_rating(profile: Profile, configuration: Configuration) -> Rating:
    """Climb thrust with every engine running, maximum continuous thrust with one stopped."""
    whole = configuration.engines_running == profile.engine.count
    return Rating.CLIMB if whole else Rating.MAXIMUM_CONTINUOUS


def idle_thrust_n(profile: Profile, configuration: Configuration, *, at: Point) -> Numbers:
    """Total idle thrust in flight, proportional to pressure."""
    engine = profile.engine
    each = engine.idle_thrust_ratio * engine.static_thrust_n * at.delta
    return configuration.engines_running * each


def go_around_thrust_n(profile: Profile, *, at: Point) -> Numbers:
    """Take-off and go-around thrust of one engine. Source: [BARTEL-YOUNG] eq. 11."""
    bypass = profile.engine.bypass_ratio
    generator = GAS_GENERATOR_PER_BYPASS * bypass + GAS_GENERATOR_CONSTANT
    momentum = (
        MOMENTUM_DRAG
        * (1.0 + bypass)
        / math.sqrt((1.0 + MOMENTUM_DRAG_BYPASS * bypass) * generator)
    )
    ram = RAM_CONSTANT + RAM_PER_SQRT_BYPASS * math.sqrt(bypass)
    ratio = (
        _cubic(STATIC_POLYNOMIAL, at.delta)
        - momentum * _cubic(DRAG_POLYNOMIAL, at.delta) * at.mach
        + ram * _cubic(RAM_POLYNOMIAL, at.delta) * at.mach**2
    )
    ratings = profile.ratings
    hot = _lapse(at, flat_k=ratings.go_around_flat_k, per_k=ratings.go_around_lapse_per_k)
    return hot * ratio * profile.engine.static_thrust_n


def climb_thrust_n(profile: Profile, *, at: Point, rate_fpm: Numbers) -> Numbers:
    """Climb rating of one engine. Source: [BARTEL-YOUNG] eq. 15 to 19, scaled by the profile."""
    engine, ratings = profile.engine, profile.ratings
    cruise_delta = pressure_ratio(engine.cruise_pressure_altitude_ft)
    cruise_cas_kt = cas_from_mach(mach=engine.cruise_mach, pressure_ratio=cruise_delta)
    speed = at.cas_kt / cruise_cas_kt
    power = PRESSURE_POWER[0] + PRESSURE_POWER[1] * rate_fpm + PRESSURE_POWER_PER_SPEED * speed
    height = at.pressure_altitude_ft
    floor_delta = pressure_ratio(LOW_BAND_FT)
    middle_delta = choose(height <= LOW_BAND_FT, floor_delta + 0.0 * at.delta, at.delta)
    middle = speed**SPEED_POWER * (middle_delta / cruise_delta) ** power
    slope = LOW_SLOPE[0] + LOW_SLOPE[1] * speed
    slope = slope + LOW_SLOPE_RATE[0] * rate_fpm + LOW_SLOPE_RATE[1] * rate_fpm**2
    low = middle + slope * greater(at.delta - floor_delta, 0.0) / cruise_delta
    mach = at.mach / engine.cruise_mach
    high_slope = HIGH_SLOPE[0] + HIGH_SLOPE[1] * mach
    high = high_slope * logarithm(at.delta / cruise_delta) + mach**HIGH_MACH_POWER
    ratio = choose(height <= HIGH_BAND_FT, low, high)
    reference_n = CRUISE_THRUST_RATIO * engine.static_thrust_n + CRUISE_THRUST_CONSTANT_N
    hot = _lapse(at, flat_k=ratings.climb_flat_k, per_k=ratings.climb_lapse_per_k)
    return hot * ratings.climb_scale * ratio * reference_n


def continuous_thrust_n(profile: Profile, *, at: Point, rate_fpm: Numbers) -> Numbers:
    """Maximum continuous thrust of one engine: from the go-around to the climb rating by height."""
    ratings = profile.ratings
    low = ratings.continuous_low_ratio * go_around_thrust_n(profile, at=at)
    high = ratings.continuous_high_ratio * climb_thrust_n(profile, at=at, rate_fpm=rate_fpm)
    band_ft = ratings.continuous_high_ft - ratings.continuous_low_ft
    share = (at.pressure_altitude_ft - ratings.continuous_low_ft) / band_ft
    share = lesser(greater(share, 0.0), 1.0)
    return low + (high - low) * share


def _cubic(coefficients: tuple[float, ...], x: Numbers) -> Numbers:
    constant, linear, square, cube = coefficients
    return constant + x * (linear + x * (square + x * cube))


def _lapse(at: Point, *, flat_k: float, per_k: float) -> Numbers:
    """Share of the rating left on a hot day."""
    return 1.0 - per_k * greater(at.isa_deviation_degc - flat_k, 0.0)
