"""How far fuel and time of a diversion may turn out from plan, at the planned level and speed.

`full_spread` flies every sample of headwind, fuel flow, track, mass and gear drag. `need_spread`
takes a flight already planned and stretches its parts in closed form: distance and ground speed
exactly; rates of climb and descent linear in mass, gear drag and height; cruise flow linear in mass
and a parabola in gear drag. The sensitivities are taken at the nearest `MASS_STEP_KG` and kept. The
tests hold the second to the first within `NEED_TOLERANCE`.
Left out by the second: what fuel burnt beyond the plan takes off the mass (0.2 %).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache, partial
from typing import Final

import numpy as np
from msgspec import Struct

from decision.elementwise import FloatArray
from decision.errors import require_range
from decision.performance.air import isa_deviation_degc
from decision.performance.climb import MINIMUM_RATE_FPM, climb_rate, idle_descent
from decision.performance.configuration import CALM_STANDARD, Air, Configuration, Flown, Step
from decision.performance.diversion import EXTRA_TRACK
from decision.performance.drag import configured_polar, drag_n
from decision.performance.draws import SEED, Draws, lattice_draws, random_draws
from decision.performance.envelope import envelope
from decision.performance.fuel_flow import fuel_flow_kg_per_h
from decision.performance.level import unknown_words
from decision.performance.point import Point, point
from decision.performance.prepared import still_air
from decision.performance.slabs import SLOWEST_GROUND_SPEED_KT, Cases, fly_cases
from decision.performance.thrust import en_route_rating
from decision.profile import Profile
from decision.profile.operator_tables import OutOfTable
from decision.units import MIN_PER_H, PERCENT

FULL_SAMPLES: Final = 20_000
FULL_STEP_FT: Final = 1_000.0  # slabs of the sampled flights; 0.1 % of the fuel
NEED_TOLERANCE: Final = 0.0125  # of fuel and time at P5, P50, P95; usually 0.005

MASS_STEP_KG: Final = 2_000.0  # sensitivities change by about 2 % over this
HEIGHT_STEP_FT: Final = 1_000.0
GEAR_STEP: Final = 0.15  # of the gear drag, for slopes and curvature
MASS_OFFSET_KG: Final = 500.0
SAME_LEVEL_FT: Final = 1.0
LOWER, MIDDLE, UPPER = 5.0, 50.0, 95.0  # percent
YIELDS_KEPT: Final = 256  # some fifty kilobytes each


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Percentiles of fuel and time that a decision reads; `fuel_kg` has all samples, unordered."""

    fuel_p95_kg: float
    time_p5_min: float
    time_p50_min: float
    time_p95_min: float
    samples: int
    seed: int
    fuel_kg: FloatArray = field(repr=False, compare=False)

    @property
    def fuel_p5_kg(self) -> float:
        """Fuel that is enough in one of twenty."""
        return self.fuel_percentile_kg(LOWER)

    @property
    def fuel_p50_kg(self) -> float:
        """Fuel that is enough in half of them."""
        return self.fuel_percentile_kg(MIDDLE)

    def fuel_percentile_kg(self, percent: float) -> float:
        """Fuel that is enough in that percentage of samples. Raises OutOfRange beyond 0 to 100."""
        require_range("percent", percent, low=0.0, high=PERCENT)
        if percent == UPPER:  # what rulebooks ask for, again and again
            return self.fuel_p95_kg
        (found,) = _percentiles(self.fuel_kg, (percent,))
        return found

    def probability_above(self, fuel_kg: float) -> float:
        """Share of the samples that need more fuel than this."""
        enough = int(np.count_nonzero(self.fuel_kg <= fuel_kg))
        return 1.0 - enough / self.samples


def full_spread(
    profile: Profile,
    *,
    configuration: Configuration,
    mass_kg: float,
    distance_nm: float,
    start_pressure_altitude_ft: float,
    end_pressure_altitude_ft: float,
    pressure_altitude_ft: float,
    cas_kt: float,
    air: Air = CALM_STANDARD,
    leak_kg_per_h: float = 0.0,
    other_fuel_kg: float = 0.0,
    other_time_min: float = 0.0,
    samples: int = FULL_SAMPLES,
) -> Spread:
    """Fly the plan once per random sample; `other_*` is used outside the diversion, leak included.

    A sample that cannot climb to the level is taken up at the least rate that counts as climbing.
    A leak drains by time alone: the uncertainty of the flow does not scale it.
    Raises: OutOfRange or ValueError on an impossible plan, OutOfTable where some sample needs a
    flow that an operator's table has not.
    """
    draws = random_draws(samples)
    cases = Cases(
        mass_kg=mass_kg + draws.mass_error_kg,
        distance_nm=distance_nm + draws.extra_track_nm,
        start_ft=start_pressure_altitude_ft,
        end_ft=end_pressure_altitude_ft,
        level_ft=pressure_altitude_ft,
        cas_kt=cas_kt,
        leak_kg_per_h=leak_kg_per_h,
        headwind_error_kt=draws.wind_error_kt,
        gear_drag_scale=draws.gear_drag_scale,
        fuel_flow_scale=draws.fuel_flow_scale,
    )
    flown = fly_cases(profile, configuration, cases, air=air, step_ft=FULL_STEP_FT)
    if not np.all(flown.flow_known):
        raise OutOfTable(
            f"{unknown_words(profile, configuration)}; the samples spread around {mass_kg:.0f} kg",
            name="mass_kg",
            value=mass_kg,
            low=profile.masses.oew_kg,
            high=profile.masses.mtow_kg,
        )
    leaked_kg = leak_kg_per_h * other_time_min / MIN_PER_H
    other_kg = (other_fuel_kg - leaked_kg) * draws.fuel_flow_scale + leaked_kg
    return _spread(
        fuel_kg=np.asarray(flown.fuel_kg) + other_kg,
        time_min=np.asarray(flown.time_min) + other_time_min,
    )


def need_spread(
    profile: Profile,
    *,
    configuration: Configuration,
    flown: Flown,
    mass_kg: float,
    start_pressure_altitude_ft: float,
    air: Air = CALM_STANDARD,
    leak_kg_per_h: float = 0.0,
    other_fuel_kg: float = 0.0,
    other_time_min: float = 0.0,
) -> Spread:
    """Stretch a diversion already planned; `flown` is the plan's answer to the same inputs.

    `other_*` is used outside the diversion (go-around, approach), leak included. Raises ValueError
    if the diversion has no level part.
    """
    plan = _plan(flown, start_pressure_altitude_ft, leak_kg_per_h)
    yields = _yields(
        profile,
        configuration,
        air.temperatures,
        mass_kg=_rounded(mass_kg, MASS_STEP_KG),
        start_ft=_rounded(start_pressure_altitude_ft, HEIGHT_STEP_FT),
        level_ft=flown.pressure_altitude_ft,
        end_ft=_rounded(flown.steps[-1].pressure_altitude_ft, HEIGHT_STEP_FT),
        cas_kt=flown.cas_kt,
    )
    draws = lattice_draws()
    spared_nm, level_change_min, level_change_kg = plan.weights @ yields.basis
    planned_kt = plan.cruise.distance_nm / plan.cruise.time_min * MIN_PER_H
    ground_kt = np.maximum(planned_kt - draws.wind_error_kt, SLOWEST_GROUND_SPEED_KT)
    cruise_min = (plan.distance_nm + spared_nm) / ground_kt * MIN_PER_H
    time_min = level_change_min + cruise_min + other_time_min
    cruise_kg = plan.cruise.burnt_kg / plan.cruise.time_min * cruise_min * yields.cruise_flow
    other_kg = other_fuel_kg - leak_kg_per_h / MIN_PER_H * other_time_min
    burnt_kg = (level_change_kg + cruise_kg + other_kg) * draws.fuel_flow_scale
    return _spread(fuel_kg=burnt_kg + leak_kg_per_h / MIN_PER_H * time_min, time_min=time_min)


def _spread(*, fuel_kg: FloatArray, time_min: FloatArray) -> Spread:
    (fuel_p95_kg,) = _percentiles(fuel_kg, (UPPER,))
    time_p5_min, time_p50_min, time_p95_min = _percentiles(time_min, (LOWER, MIDDLE, UPPER))
    return Spread(
        fuel_p95_kg=fuel_p95_kg,
        time_p5_min=time_p5_min,
        time_p50_min=time_p50_min,
        time_p95_min=time_p95_min,
        samples=fuel_kg.size,
        seed=SEED,
        fuel_kg=fuel_kg,
    )


def _percentiles(samples: FloatArray, percents: tuple[float, ...]) -> list[float]:
    """Between order statistics, linear.

    So few are put in order faster than only those that are asked for are put in their place.
    """
    ordered = samples.copy()
    ordered.sort()
    found: list[float] = []
    for percent in percents:
        place = percent / PERCENT * (samples.size - 1)
        under = min(int(place), samples.size - 2)
        low, high = ordered.item(under), ordered.item(under + 1)
        found.append(low + (place - under) * (high - low))
    return found


def _rounded(value: float, step: float) -> float:
    return round(value / step) * step


# --- the plan, in three parts ------------------------------------------------------------------


class _Part(Struct, frozen=True, kw_only=True, gc=False):
    """What one part of the plan covers, takes and burns (without a leak)."""

    distance_nm: float
    time_min: float
    burnt_kg: float


class _Plan(Struct, frozen=True, kw_only=True, gc=False):
    """The change to the cruising level, the cruise, the descent."""

    change: _Part
    cruise: _Part
    descent: _Part

    @property
    def distance_nm(self) -> float:
        """All of the way."""
        return self.change.distance_nm + self.cruise.distance_nm + self.descent.distance_nm

    @property
    def weights(self) -> FloatArray:
        """What to make of the rows of `_Yields.basis`: miles that the changes of level leave to the
        cruise beyond the planned way (extra track included), their minutes, their fuel.
        """
        up, down = self.change, self.descent
        up_h, down_h = up.time_min / MIN_PER_H, down.time_min / MIN_PER_H
        return np.array(
            (
                (1.0, -up.distance_nm, -down.distance_nm, up_h, down_h),
                (0.0, up.time_min, down.time_min, 0.0, 0.0),
                (0.0, up.burnt_kg, down.burnt_kg, 0.0, 0.0),
            )
        )


def _plan(flown: Flown, start_ft: float, leak_kg_per_h: float) -> _Plan:
    """Sort the steps by the first and the last level one. Raises ValueError without one.

    Where the height is lost on extra track, the last descent gives or takes the miles.
    """
    level, from_ft = [], start_ft
    for i, step in enumerate(flown.steps):
        to_ft = step.pressure_altitude_ft
        if abs(to_ft - from_ft) < SAME_LEVEL_FT and step.time_min > 0.0:
            level.append(i)
        from_ft = to_ft
    if not level and any(step.name == EXTRA_TRACK for step in flown.steps):
        level = [len(flown.steps) - 1]
    if not level:
        raise ValueError("no spread of a flight without a level part")
    first, last = level[0], level[-1] + 1
    return _Plan(
        change=_part(flown.steps[:first], leak_kg_per_h),
        cruise=_part(flown.steps[first:last], leak_kg_per_h),
        descent=_part(flown.steps[last:], leak_kg_per_h),
    )


def _part(steps: Sequence[Step], leak_kg_per_h: float) -> _Part:
    distance_nm = time_min = fuel_kg = 0.0
    for step in steps:
        distance_nm += step.distance_nm
        time_min += step.time_min
        fuel_kg += step.fuel_kg
    return _Part(
        distance_nm=distance_nm,
        time_min=time_min,
        burnt_kg=fuel_kg - leak_kg_per_h / MIN_PER_H * time_min,
    )


# --- how the parts yield -----------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class _Rates:
    """Rates of the change of level and of the descent, and how they yield to gear drag and mass.

    Arrays [part, end, 1]; `slowness` is the planned mean of 1/rate, [part, 1].
    """

    fpm: FloatArray
    fpm_per_gear: FloatArray
    fpm_per_kg: FloatArray
    slowness: FloatArray

    def stretch(self, draws: Draws) -> FloatArray:
        """How many times as long each part takes, [part, sample]."""
        of_gear = self.fpm_per_gear * (draws.gear_drag_scale - 1.0)
        rates_fpm = self.fpm + of_gear + self.fpm_per_kg * draws.mass_error_kg
        return _mean_slowness(rates_fpm) / self.slowness


def _mean_slowness(rates_fpm: FloatArray) -> FloatArray:
    """Mean of 1/rate where the rate is linear between its ends: atanh(t)/t over the mean rate."""
    bounded = np.maximum(rates_fpm, MINIMUM_RATE_FPM)
    low, high = bounded[:, 0], bounded[:, 1]
    total = low + high
    u = ((low - high) / total) ** 2
    return np.asarray((1.0 + u * (1.0 / 3.0 + u * (1.0 / 5.0 + u / 7.0))) / total)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Flow:
    """Relative change of the cruise flow with gear drag and mass."""

    per_gear: float
    per_gear_square: float
    per_kg: float

    def ratio(self, draws: Draws) -> FloatArray:
        """Flow over the planned flow."""
        gear = draws.gear_drag_scale - 1.0
        of_gear = gear * (self.per_gear + gear * self.per_gear_square)
        return 1.0 + of_gear + self.per_kg * draws.mass_error_kg


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Yields:
    """How the three parts yield to each sample.

    Rows of `basis`: extra track, how many times as long the change of level and the descent take,
    and both of these times the error of the wind. `cruise_flow` is the flow over the planned one.
    """

    basis: FloatArray
    cruise_flow: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class _Trial:
    """One aircraft around the planned one: as planned, less and more gear drag, heavier."""

    profile: Profile
    configuration: Configuration
    air: Air
    mass_kg: FloatArray
    extra_cd: FloatArray
    cas_kt: float

    def at(self, heights_ft: FloatArray) -> Point:
        """Conditions at heights, as columns."""
        column_ft = heights_ft[:, np.newaxis]
        return point(
            pressure_altitude_ft=column_ft,
            cas_kt=self.cas_kt,
            isa_deviation_degc=isa_deviation_degc(self.air, pressure_altitude_ft=column_ft),
            mach_cap=envelope(self.profile, self.configuration).mach_cap,
        )

    def rates_fpm(self, from_ft: float, to_ft: float) -> FloatArray:
        """Rates, positive either way, at both ends of a change of level: [end, aircraft]."""
        at, down = self.at(np.array([from_ft, to_ft])), to_ft < from_ft
        change = (
            idle_descent
            if down
            else partial(climb_rate, rating=en_route_rating(self.profile, self.configuration))
        )
        path = change(
            self.profile, self.configuration, mass_kg=self.mass_kg, at=at, extra_cd=self.extra_cd
        )
        return np.asarray(-path.rate_fpm if down else path.rate_fpm)

    def flow(self, level_ft: float) -> _Flow:
        """Flow in level flight."""
        at = self.at(np.array([level_ft]))
        polar = configured_polar(self.profile, self.configuration)
        drag = drag_n(
            self.profile,
            polar,
            mass_kg=self.mass_kg,
            at=at,
            thrust_n=None,
            extra_cd=self.extra_cd,
        )
        flow = fuel_flow_kg_per_h(self.profile, self.configuration, thrust_n=drag, at=at)
        planned, less, more, heavy = np.asarray(flow)[0].tolist()
        return _Flow(
            per_gear=(more - less) / (2.0 * GEAR_STEP * planned),
            per_gear_square=(more + less - 2.0 * planned) / (2.0 * GEAR_STEP**2 * planned),
            per_kg=(heavy - planned) / (MASS_OFFSET_KG * planned),
        )


@lru_cache(maxsize=YIELDS_KEPT)
def _yields(
    profile: Profile,
    configuration: Configuration,
    temperatures: tuple[tuple[float, float], ...],
    *,
    mass_kg: float,
    start_ft: float,
    level_ft: float,
    end_ft: float,
    cas_kt: float,
) -> _Yields:
    gear_cd = configured_polar(profile, configuration).gear_cd
    trial = _Trial(
        profile=profile,
        configuration=configuration,
        air=still_air(temperatures),
        mass_kg=mass_kg + MASS_OFFSET_KG * np.array([0.0, 0.0, 0.0, 1.0]),
        extra_cd=gear_cd * GEAR_STEP * np.array([0.0, -1.0, 1.0, 0.0]),
        cas_kt=cas_kt,
    )
    rates_fpm = np.stack([trial.rates_fpm(start_ft, level_ft), trial.rates_fpm(level_ft, end_ft)])
    draws = lattice_draws()
    change, descent = _rates(rates_fpm).stretch(draws)
    wind_kt = draws.wind_error_kt
    return _Yields(
        basis=np.stack(
            (draws.extra_track_nm, change, descent, change * wind_kt, descent * wind_kt)
        ),
        cruise_flow=trial.flow(level_ft).ratio(draws),
    )


def _rates(rates_fpm: FloatArray) -> _Rates:
    """Slopes between the trial aircraft; `rates_fpm` is [part, end, aircraft]."""
    planned, less, more, heavy = (rates_fpm[..., i : i + 1] for i in range(rates_fpm.shape[-1]))
    return _Rates(
        fpm=planned,
        fpm_per_gear=(more - less) / (2.0 * GEAR_STEP),
        fpm_per_kg=(heavy - planned) / MASS_OFFSET_KG,
        slowness=_mean_slowness(planned),
    )
