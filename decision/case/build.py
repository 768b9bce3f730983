"""From a parsed object to a `Case`: one constructor, every fault at once, every default listed.

The order is: shape (types, units, ranges), references (profile, failures, aerodromes), then sense
(masses, fuel, contradictions). A later stage runs only on what the earlier one let through.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any

from decision.case import sense
from decision.case.aerodromes import (
    DESCRIPTION,
    read_aerodrome,
    read_position,
    times_faults,
)
from decision.case.given import Given
from decision.case.library import Library, installed_library
from decision.case.shape import (
    AIR_TRAFFIC,
    AIRCRAFT,
    ALTERNATE,
    CASE,
    DESTINATION,
    FAILURE,
    FETCHED,
    FUEL,
    HAZARD_RATING,
    OBSERVATION,
    PLAN,
    POLICY,
    SPOT_RVR,
    SPOT_WIND,
    WEATHER,
    WIND_ALOFT,
)
from decision.case.spec import Record
from decision.case.types import (
    Aerodrome,
    AircraftState,
    AirTraffic,
    AlternateBar,
    Assumption,
    Case,
    Fetched,
    FuelState,
    HazardRating,
    Lack,
    Leg,
    Plan,
    Policy,
    ReportClass,
    SpotReading,
    WindAloft,
)
from decision.errors import Fault, InvalidCase
from decision.profile import Profile
from decision.quantities import GearPosition, SlatPosition
from decision.systems import Failure
from decision.weather.readings import HazardWeight
from decision.weather.spots import Braking, SpotObservation, SpotRvr, SpotWind

LEG_FIELDS = ("track_nm", "track_from_present_nm", "minimum_level_ft")


def case_from_mapping(body: Mapping[str, Any], *, library: Library | None = None) -> Case:
    """Build the case. Raises InvalidCase with every fault found, each with its JSON Pointer."""
    shelf = installed_library() if library is None else library
    _stop_on(CASE.faults(body))
    assumptions: list[Assumption] = []
    given = Given(record=CASE, value=body, assumptions=assumptions)
    profile = _profile(given, shelf)
    destination, alternates = _legs(given, shelf)
    case = _case(given, profile, destination, alternates, digest=input_digest(body))
    _stop_on(sense.faults(case))
    return case


def input_digest(body: Mapping[str, Any]) -> str:
    """SHA-256 of the canonical JSON: sorted keys, no spaces, whole numbers without a point."""
    text = json.dumps(
        _plain(body), sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    )
    return hashlib.sha256(text.encode()).hexdigest()


def _plain(value: object) -> object:
    match value:
        case Mapping():
            return {key: _plain(item) for key, item in value.items()}
        case list() | tuple():
            return [_plain(item) for item in value]
        case float() if value.is_integer():
            return int(value)
        case _:
            return value


def _stop_on(faults: tuple[Fault, ...]) -> None:
    if faults:
        raise InvalidCase(faults)


def _profile(given: Given, library: Library) -> Profile:
    wanted = given.value["aircraft"]["profile"]
    if wanted in library.profile_ids:
        return library.profile(wanted)
    raise InvalidCase(
        [
            Fault(
                pointer="/aircraft/profile",
                code="unknown_profile",
                message=f"no profile {wanted!r} is loaded",
                accepted=", ".join(library.profile_ids),
            )
        ]
    )


def _legs(given: Given, library: Library) -> tuple[Leg, tuple[Leg, ...]]:
    """Destination and alternates, or every fault in any of them."""
    places = [("/destination", given.value["destination"], DESTINATION)]
    places += [
        (f"/alternates/{index}", item, ALTERNATE)
        for index, item in enumerate(given.value["alternates"])
    ]
    legs: list[Leg] = []
    faults: list[Fault] = []
    for pointer, value, record in places:
        leg, found = _leg(pointer, value, record, library, given.assumptions)
        faults += found
        if leg is not None:
            legs.append(leg)
    _stop_on(tuple(faults))
    return legs[0], tuple(legs[1:])


def _leg(
    pointer: str,
    value: str | Mapping[str, Any],
    record: Record,
    library: Library,
    assumptions: list[Assumption],
) -> tuple[Leg | None, tuple[Fault, ...]]:
    place = {"icao": value} if isinstance(value, str) else value
    aerodrome, faults = _aerodrome(place, pointer, library, assumptions)
    if aerodrome is None or faults:
        return None, faults
    given = Given(record=record, value=place, pointer=pointer, assumptions=assumptions)
    numbers = {name: given.number(name) if name in record.by_name else None for name in LEG_FIELDS}
    return Leg(aerodrome=aerodrome, **numbers), ()


def _aerodrome(
    place: Mapping[str, Any],
    pointer: str,
    library: Library,
    assumptions: list[Assumption],
) -> tuple[Aerodrome | None, tuple[Fault, ...]]:
    """A described aerodrome, or the loaded one when only its indicator is given."""
    described = [key for key in place if key not in ("icao", *LEG_FIELDS)]
    loaded = library.aerodromes.get(place["icao"])
    if not described and loaded is not None:
        return loaded, ()
    missing = [key for key in DESCRIPTION if place.get(key) is None]
    if missing:
        return None, (
            Fault(
                pointer=pointer if described else f"{pointer}/icao",
                code="unknown_aerodrome",
                message=f"{place['icao']} is not loaded and {', '.join(missing)} not given",
                accepted="a loaded aerodrome or a full description; loaded: "
                + ", ".join(sorted(library.aerodromes)),
            ),
        )
    faults = times_faults(place, pointer=pointer)
    if faults:
        return None, faults
    return read_aerodrome(place, pointer=pointer, assumptions=assumptions)


def _case(
    given: Given, profile: Profile, destination: Leg, alternates: tuple[Leg, ...], *, digest: str
) -> Case:
    fuel = _fuel(given.member("fuel", FUEL))
    weather = given.member("weather", WEATHER)
    air_traffic = _air_traffic(given.member("air_traffic", AIR_TRAFFIC))
    return Case(
        flight_id=given.of("flight_id"),
        as_of=given.instant("as_of"),
        rulebook=given.of("rulebook"),
        aircraft=_aircraft(given.member("aircraft", AIRCRAFT), profile),
        fuel=fuel,
        failures=tuple(_failure(item, fuel) for item in given.items("failures", FAILURE)),
        destination=destination,
        alternates=alternates,
        winds=_winds(given),
        reports=weather.texts("reports"),
        fetch=weather.of("fetch") is True,
        fetched=_fetched(weather),
        spots=tuple(_spot(item) for item in given.items("observations", OBSERVATION)),
        plan=_plan(given.member("plan", PLAN), delay_min=air_traffic.delay_min or 0.0),
        policy=_policy(given.member("policy", POLICY)),
        air_traffic=air_traffic,
        approvals=frozenset(given.texts("approvals")),
        include=frozenset(given.texts("include")),
        compare_rulebooks=given.of("compare_rulebooks") is True,
        input_digest=digest,
        assumptions=tuple(given.assumptions),  # last: every member above may have added one
    )


def _aircraft(given: Given, profile: Profile) -> AircraftState:
    slats = given.of("slats")
    return AircraftState(
        profile=profile,
        mass_kg=given.sure("mass_kg"),
        pressure_altitude_ft=given.sure("pressure_altitude_ft"),
        gear=GearPosition(given.of("gear")),
        flap=given.of_or("flap", profile.flaps_up),
        slats=None if slats is None else SlatPosition(slats),
        position=read_position(given),
        anti_ice=given.of("anti_ice"),
        oxygen_min=given.number("oxygen_min"),
        persons_on_board=given.of("persons_on_board"),
        heading_true_deg=given.number("heading_true_deg"),
    )


def _fuel(given: Given) -> FuelState:
    return FuelState(
        on_board_kg=given.sure("on_board_kg"),
        unusable_kg=given.sure("unusable_kg"),
        leak_kg_per_h=given.sure("leak_kg_per_h"),
        planned_final_reserve_kg=given.number("planned_final_reserve_kg"),
        observed_flow_kg_per_h=given.number("observed_flow_kg_per_h"),
    )


def _failure(given: Given, fuel: FuelState) -> Failure:
    position = given.of("position")
    return Failure(
        id=given.of("id"),
        detent=given.of("detent"),
        position=None if position is None else SlatPosition(position),
        rate_kg_per_h=fuel.leak_kg_per_h or None,  # a leak of zero is a leak of unknown rate
        quantity_kg=given.number("quantity_kg"),
    )


def _winds(given: Given) -> tuple[WindAloft, ...] | None:
    if not given.of("winds_aloft"):
        return None
    winds = [
        WindAloft(
            pressure_altitude_ft=item.sure("pressure_altitude_ft"),
            from_true_deg=item.sure("from_true_deg"),
            speed_kt=item.sure("speed_kt"),
            temperature_degc=item.number("temperature_degc"),
        )
        for item in given.items("winds_aloft", WIND_ALOFT)
    ]
    return tuple(sorted(winds, key=lambda wind: wind.pressure_altitude_ft))


def spots_of(body: Mapping[str, Any], *, icao: str) -> tuple[SpotObservation, ...]:
    """What was told by word of one place, from a checked body that has `observations`."""
    told = Given(record=CASE, value=body).items("observations", OBSERVATION)
    return tuple(each.observation for each in map(_spot, told) if each.icao == icao)


def _spot(given: Given) -> SpotReading:
    wind = given.member("wind", SPOT_WIND) if given.of("wind") else None
    return SpotReading(
        icao=given.of("icao"),
        observation=SpotObservation(
            at=given.instant("at"),
            rvr=tuple(
                SpotRvr(
                    runway=item.of("runway"),
                    touchdown_m=item.sure("touchdown_m"),
                    midpoint_m=item.number("midpoint_m"),
                    stop_end_m=item.number("stop_end_m"),
                )
                for item in given.items("rvr", SPOT_RVR)
            ),
            wind=None
            if wind is None
            else SpotWind(
                from_true_deg=wind.sure("from_true_deg"),
                speed_kt=wind.sure("speed_kt"),
                gust_kt=wind.number("gust_kt"),
            ),
            qnh_hpa=given.number("qnh_hpa"),
            braking=None if given.of("braking") is None else Braking(given.of("braking")),
            braking_runway=given.of("braking_runway"),
            ceiling_ft=given.number("ceiling_ft"),
            visibility_m=given.number("visibility_m"),
        ),
    )


def _fetched(weather: Given) -> tuple[Fetched, ...] | None:
    """What was fetched for the case; None if nobody tried."""
    if weather.of("fetched") is None:
        return None
    return tuple(
        Fetched(
            lack=Lack(icao=item.of("icao"), kind=ReportClass(item.of("kind"))),
            at=None if item.of("at") is None else item.instant("at"),
            age_s=item.number("age_s"),
            stale=item.of("stale"),
            problem=item.of("problem"),
        )
        for item in weather.items("fetched", FETCHED)
    )


def _plan(given: Given, *, delay_min: float) -> Plan:
    """The plan; a delay that control has told is held for, besides the hold that is planned."""
    return Plan(
        approach=given.of("approach"),
        runway=given.of("runway"),
        hold_min=given.sure("hold_min") + delay_min,
        gear_extension_nm=given.number("gear_extension_nm"),
        checklist_min=given.number("checklist_min"),
        landing_flap=given.of("landing_flap"),
    )


def _policy(given: Given) -> Policy:
    return Policy(
        margin_kg=given.number("margin_kg"),
        margin_percentile=given.sure("margin_percentile"),
        landing_factor=given.sure("landing_factor"),
        alternate_bar=AlternateBar(given.of("alternate_bar")),
        planning_scheme=given.of("planning_scheme"),
        routing_factor=given.sure("routing_factor"),
        delay_min=given.sure("delay_min"),
        prefer_commit=given.of("prefer_commit"),
        gate_report_max_age_min=given.sure("gate_report_max_age_min"),
        time_critical_trade_min=given.sure("time_critical_trade_min"),
        endangering_trade_min=given.sure("endangering_trade_min"),
        nearest_trade_min=given.sure("nearest_trade_min"),
        nearest_far_min=given.sure("nearest_far_min"),
        adopt=frozenset(given.texts("adopt")),
        deviation_reason=given.of("deviation_reason"),
        hazard_weights=tuple(
            HazardRating(phenomenon=each.of("phenomenon"), weight=HazardWeight(each.of("weight")))
            for each in given.items("hazard_weights", HAZARD_RATING)
        ),
    )


def _air_traffic(given: Given) -> AirTraffic:
    expected = given.of("expect_approach_at") is not None
    return AirTraffic(
        expect_approach_at=given.instant("expect_approach_at") if expected else None,
        delay_min=given.number("delay_min"),
    )
