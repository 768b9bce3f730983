"""One attempt: an approach at one aerodrome at one time, with every figure that a rule compares.

What cannot be worked out is None and says why in `unknown`; no figure is put in its place.
"""

from __future__ import annotations

from datetime import datetime
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from decision.attempt.arrival import Arrival
from decision.attempt.attempt import Attempt, CertifiedClimb, Role, RunwayWind
from decision.attempt.category import AeroplaneCategory, category_flown, speed_increment_kt
from decision.attempt.climb_away import clearances
from decision.attempt.daylight import is_night
from decision.attempt.minima import OperatingMinima, minima_at
from decision.attempt.runway_wind import credited_headwind_kt
from decision.attempt.site import Site, Sites, Surroundings
from decision.case import Aerodrome, AlternateBar, Approach, Runway
from decision.errors import OutOfRange
from decision.flight.configure import running_thrust_ratio
from decision.flight.physics import approach_speed_kt, climb, landing
from decision.flight.situation import Situation
from decision.performance import Climb, Landing
from decision.weather.runway import RunwayCondition
from decision.windows import Window

DRY_CODE: Final = 6  # [GRF]


def draw(situation: Situation, arrival: Arrival) -> tuple[Attempt, ...]:
    """An attempt by each approach there, or by the one that is wanted; one without any if none."""
    drawing = Drawing(situation, arrival, Sites())
    return tuple(map(drawing.attempt, drawing.procedures))


class Drawing:
    """The attempts of one arrival, each drawn when it is asked for.

    `procedures`: each approach there, or the one that is wanted; (None,) if there is none. What
    attempts on one runway share is worked out once; `sites` are those of the case.
    """

    def __init__(self, situation: Situation, arrival: Arrival, sites: Sites) -> None:
        self._place = _place(situation, arrival, sites)
        self._runways: dict[str | None, _OnRunway] = {}
        self.procedures: tuple[Approach | None, ...] = tuple(
            [
                approach
                for approach in self._place.site.aerodrome.approaches
                if arrival.approach_id in (None, approach.id)
                and arrival.runway_ident in (None, approach.runway)
            ]
        ) or (None,)

    def attempt(self, approach: Approach | None) -> Attempt:
        """The attempt by one of the procedures."""
        runway = _runway(self._place.site.aerodrome, approach)
        ident = None if runway is None else runway.ident
        on = self._runways.get(ident)
        if on is None:
            on = self._runways[ident] = _on_runway(self._place, runway)
        return _attempt(self._place, on, approach)

    def runway(self, approach: Approach | None) -> tuple[Runway | None, RunwayWind | None]:
        """The runway of that attempt, and the wind on it."""
        site = self._place.site
        runway = _runway(site.aerodrome, approach)
        return runway, None if runway is None else site.winds[runway.ident]


class _Place(Struct, frozen=True, kw_only=True, gc=False):
    """What all attempts at one aerodrome at one time share."""

    situation: Situation
    site: Site
    role: Role
    at: datetime
    window: Window
    mass_kg: float
    approach_speed_kt: float
    is_night: bool | None
    certified_climb: CertifiedClimb | None


class _OnRunway(Struct, frozen=True, kw_only=True, gc=False):
    """What all attempts on one runway share besides; figures as in `Attempt`, None if not known."""

    runway: Runway | None
    surface: RunwayCondition | None
    wind: RunwayWind | None
    unknown: tuple[str, ...]
    headwind_kt: float | None = None
    landing: Landing | None = None
    landing_at_best: Landing | None = None
    landing_dry: Landing | None = None
    climb: Climb | None = None
    engine_out_climb: Climb | None = None


def _place(situation: Situation, arrival: Arrival, sites: Sites) -> _Place:
    leg, at, mass_kg = arrival.leg, arrival.at, arrival.mass_kg
    configuration = situation.configurations.landing
    speed_kt = speed_increment_kt(situation) + approach_speed_kt(
        situation.case.aircraft.profile,
        mass_kg=mass_kg,
        flap=configuration.flap,
        slats_out=configuration.slats_out,
    )
    site = sites.at(situation, leg, arrival.window)
    air = site.air
    return _Place(
        situation=situation,
        site=site,
        role=arrival.role,
        at=at,
        window=arrival.window,
        mass_kg=mass_kg,
        approach_speed_kt=speed_kt,
        is_night=is_night(leg.aerodrome.position, at, situation.rulebook),
        certified_climb=None
        if air is None
        else sites.certification(situation).climbs(
            mass_kg=mass_kg,
            pressure_altitude_ft=air.pressure_altitude_ft,
            isa_deviation_degc=air.isa_deviation_degc,
        ),
    )


def _on_runway(place: _Place, runway: Runway | None) -> _OnRunway:
    """Surface and wind, and where air and wind are known landing distance and climb."""
    situation, site, wind, surface = place.situation, place.site, None, None
    if runway is not None:
        surface = site.surface(situation, runway, place.at)
        wind = site.winds[runway.ident]
    unknown = site.unknown if wind is not None else (*site.unknown, "wind")
    on = _OnRunway(runway=runway, surface=surface, wind=wind, unknown=unknown)
    if wind is None or site.air is None:
        return on
    headwind_kt = credited_headwind_kt(wind.headwind_kt, rulebook=situation.rulebook)
    try:
        return _figured(place, on, site.air, headwind_kt)
    except OutOfRange as error:  # a gale from behind, air that no runway has
        return replace(on, unknown=(*site.unknown, _beyond_model(error)))


def _figured(place: _Place, on: _OnRunway, air: Surroundings, headwind_kt: float) -> _OnRunway:
    """With landing distance and climb. Raises OutOfRange where the model does not hold."""
    situation, runway, surface = place.situation, on.runway, on.surface
    code = None if surface is None else surface.code
    at_best = surface.at_best if surface is not None and code is None else None
    landed, landed_at_best = (
        _landing(place, air, runway, headwind_kt, condition_code=each) for each in (code, at_best)
    )
    unproven, policy = _unproven(situation), situation.case.policy
    planned = policy.alternate_bar is AlternateBar.PLANNING and not unproven
    climbs = place.role is not Role.ALTERNATE
    return _OnRunway(
        runway=runway,
        surface=surface,
        wind=on.wind,
        headwind_kt=headwind_kt,
        landing=None if unproven else landed,
        landing_at_best=landed or landed_at_best if unproven else landed_at_best,
        landing_dry=_landing(place, air, runway, headwind_kt, condition_code=DRY_CODE, reversers=0)
        if planned
        else None,
        climb=_climb(place, air, headwind_kt) if climbs else None,
        engine_out_climb=_climb(place, air, headwind_kt, stopping=1)
        if climbs and situation.capability.engines_running > 1
        else None,
        unknown=(*place.site.unknown, *unproven),
    )


def _beyond_model(error: OutOfRange) -> str:
    name, _, unit = error.name.replace("_", " ").rpartition(" ")
    return (
        f"what {name} of {error.value:.0f} {unit} does (the model holds from {error.low:.0f} to "
        f"{error.high:.0f})"
    )


def _attempt(place: _Place, on: _OnRunway, approach: Approach | None) -> Attempt:
    site = place.site
    category = category_flown(
        place.situation,
        approach,
        mass_kg=place.mass_kg,
        approach_speed_kt=place.approach_speed_kt,
    )
    drawn = Attempt(
        role=place.role,
        leg=site.leg,
        approach=approach,
        runway=on.runway,
        at=place.at,
        window=place.window,
        weather=site.weather,
        mass_kg=place.mass_kg,
        flap=place.situation.configurations.landing.flap,
        approach_speed_kt=place.approach_speed_kt,
        category=category,
        is_night=place.is_night,
        minima=_minima(place, approach, category),
        runway_condition=on.surface,
        wind=on.wind,
        landing=on.landing,
        landing_at_best=on.landing_at_best,
        landing_dry=on.landing_dry,
        climb=on.climb,
        engine_out_climb=on.engine_out_climb,
        capability=place.situation.capability,
        unknown=on.unknown,
        certified_climb=place.certified_climb,
        surface_temperature_degc=site.temperature_degc,
        noticed=site.noticed,
        winds=site.winds if place.role is Role.ALTERNATE else {},
    )
    if on.climb is None or on.headwind_kt is None or site.air is None:
        return drawn
    if approach is None or not approach.obstacles:
        return drawn
    cleared = clearances(
        place.situation,
        drawn,
        pressure_altitude_ft=site.air.pressure_altitude_ft,
        isa_deviation_degc=site.air.isa_deviation_degc,
        headwind_kt=on.headwind_kt,
    )
    return replace(drawn, clearances=cleared)


def _minima(
    place: _Place, approach: Approach | None, category: AeroplaneCategory | None
) -> OperatingMinima | None:
    """What the procedure asks for, with what works on board and on the ground."""
    if approach is None:
        return None
    situation = place.situation
    return minima_at(
        place.site.aerodrome,
        approach,
        rulebook=situation.rulebook,
        category=category,
        is_night=place.is_night,
        lost_equipment=situation.capability.lost_approach_equipment,
        approvals=situation.case.approvals,
    )


def _runway(aerodrome: Aerodrome, approach: Approach | None) -> Runway | None:
    """The runway of the procedure; without a procedure the longest open one."""
    if approach is not None:
        return aerodrome.runway(approach.runway)
    open_runways = [runway for runway in aerodrome.runways if not runway.closed]
    return max(open_runways, key=lambda runway: runway.longest_m or 0.0, default=None)


def _unproven(situation: Situation) -> tuple[str, ...]:
    """What no figure of an ordinary landing covers; it can only stop later than that."""
    hazards = (each.text.partition(":")[0] for each in situation.capability.unproven_landing)
    return tuple(
        f"how the aircraft stops ({each[:1].lower()}{each[1:].rstrip('.')})" for each in hazards
    )


def _landing(
    place: _Place,
    air: Surroundings,
    runway: Runway | None,
    headwind_kt: float,
    *,
    condition_code: int | None,
    reversers: int | None = None,
) -> Landing | None:
    if condition_code is None or runway is None:
        return None
    situation = place.situation
    left, configuration = situation.capability, situation.configurations.landing
    return landing(
        situation.case.aircraft.profile,
        mass_kg=place.mass_kg,
        flap=configuration.flap,
        slats_out=configuration.slats_out,
        pressure_altitude_ft=air.pressure_altitude_ft,
        isa_deviation_degc=air.isa_deviation_degc,
        condition_code=condition_code,
        headwind_kt=headwind_kt,
        slope_percent=runway.slope_percent,
        spoilers=max(0.0, left.ground_spoiler_fraction),
        reversers=left.reversers if reversers is None else reversers,
        brakes_fraction=left.brakes_fraction,
        anti_skid=left.anti_skid,
        speed_increment_kt=speed_increment_kt(situation),
        ice_coefficient=situation.rulebook.number("ice_braking_coefficient"),
    )


def _climb(place: _Place, air: Surroundings, headwind_kt: float, *, stopping: int = 0) -> Climb:
    """The go-around as it is, or with sound engines stopping besides."""
    situation = place.situation
    left, profile = situation.capability, situation.case.aircraft.profile
    configuration = situation.configurations.go_around
    if stopping:
        configuration = replace(
            configuration,
            engines_running=left.engines_running - stopping,
            thrust_ratio=running_thrust_ratio(
                left, engines=profile.engine.count, stopping=stopping
            ),
        )
    return climb(
        profile,
        configuration=configuration,
        mass_kg=place.mass_kg,
        pressure_altitude_ft=air.pressure_altitude_ft,
        isa_deviation_degc=air.isa_deviation_degc,
        headwind_kt=headwind_kt,
    )
