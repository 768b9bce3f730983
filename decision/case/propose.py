"""More alternates for a case, from the loaded aerodromes: which are found, taken or left, and why.

Everything within the limits is looked at, the soonest touchdown first. What cannot help is left: a
place that is there already, that is closed, or whose runways are too short or too weak even for a
dry landing of the sound aircraft without its fuel. Of the others those are taken that lack least of
what a decision needs (approaches, landing distance available, reports), then the soonest; the last
one that is taken is the soonest of all, whatever it lacks, since that is known of it by then.

Times are estimates to choose by, at the limit speed of the present level; what is taken is flown
and judged like any alternate, and what is not known of it is UNKNOWN.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any, Final

from msgspec import Struct

from decision import atmosphere
from decision.case.atlas import Nearby
from decision.case.library import Library
from decision.case.types import (
    MAX_ALTERNATES,
    MOST_FOUND,
    Aerodrome,
    Case,
    Proposed,
    ProposedPlace,
    Proposing,
    Runway,
    WindAloft,
)
from decision.case.written import with_places
from decision.earth import initial_true_deg
from decision.errors import Fault, InvalidCase, OutOfRange
from decision.notices import ReadNotice, closing_notices
from decision.performance.landing import landing
from decision.quantities import AntiSkid, GearPosition, Position, wind_components
from decision.speeds import ground_speed_kt, mach_from_cas, tas_from_mach_kt
from decision.units import MIN_PER_H
from decision.weather.collect import collect, read_heap
from decision.windows import around, clock_text

FARTHEST_NM: Final = 3000.0
"""As far as a track of a case may be given; farther places are not looked for."""
DRY_CODE: Final = 6  # [GRF]


class Candidate(Struct, frozen=True, kw_only=True, gc=False):
    """A place that was found. `minutes` to touchdown; None where the wind allows no headway."""

    aerodrome: Aerodrome
    track_nm: float
    minutes: float | None
    touchdown_at: datetime | None
    lacks: tuple[str, ...]


class Search(Struct, frozen=True, kw_only=True, gc=False):
    """What candidates are held against. `shortest_m`: no runway that is shorter will do."""

    case: Case
    asked: Proposing
    there: frozenset[str]
    shortest_m: float | None
    lightest_kg: float
    closing: tuple[ReadNotice, ...]


Check = Callable[[Candidate, Search], str | None]


def proposals(body: Mapping[str, Any], case: Case, library: Library) -> dict[str, Any]:
    """The body with what is proposed for the case it was read to. Raises: InvalidCase."""
    asked, position = case.propose_alternates, case.aircraft.position
    if asked is None or position is None:
        raise InvalidCase((NO_POSITION,))
    search = _search(case, asked)
    found = library.atlas.within(
        position,
        _radius_nm(case, asked) / case.policy.routing_factor,
        most=MOST_FOUND,
    )
    candidates = _candidates(case, position, found.places, library)
    left = {each.aerodrome.icao: why for each in candidates if (why := _why_left(each, search))}
    fit = [each for each in candidates if each.aerodrome.icao not in left]
    taken = _taken(fit, most=min(asked.most, MAX_ALTERNATES - len(case.alternates)))
    told = Proposed(
        aerodromes=library.gazette,
        places=tuple(_told(each, left, taken, search) for each in candidates),
        beyond=found.beyond,
    )
    return with_places(body, case, told, [each.aerodrome for each in taken])


NO_POSITION: Final = Fault(
    pointer="/aircraft/position",
    code="required",
    message="alternates are proposed by how far they are from there",
    accepted="the present position",
)


def _radius_nm(case: Case, asked: Proposing) -> float:
    """Track miles beyond which nothing is within the limits."""
    limits = [FARTHEST_NM]
    if asked.within_nm is not None:
        limits.append(asked.within_nm)
    if asked.within_min is not None:
        wind = _wind(case)
        fastest_kt = _tas_kt(case) + (0.0 if wind is None else wind.speed_kt)
        limits.append(asked.within_min / MIN_PER_H * fastest_kt)
    return min(limits)


def _search(case: Case, asked: Proposing) -> Search:
    legs = (case.destination, *case.alternates)
    return Search(
        case=case,
        asked=asked,
        there=frozenset(leg.aerodrome.icao for leg in legs),
        shortest_m=_at_best_m(case),
        lightest_kg=case.aircraft.mass_kg - case.fuel.on_board_kg,
        closing=closing_notices(case.notices, received_at=case.as_of),
    )


def _at_best_m(case: Case) -> float | None:
    """Landing distance without its factor: dry, calm, at sea level, everything working, no fuel."""
    profile = case.aircraft.profile
    try:
        landed = landing(
            profile,
            mass_kg=case.aircraft.mass_kg - case.fuel.on_board_kg,
            flap=profile.approach.landing_detent,
            slats_out=True,
            pressure_altitude_ft=0.0,
            isa_deviation_degc=0.0,
            condition_code=DRY_CODE,
            headwind_kt=0.0,
            slope_percent=0.0,
            spoilers=1.0,
            reversers=profile.systems.reversers,
            brakes_fraction=1.0,
            anti_skid=AntiSkid.FULL,
        )
    except OutOfRange:  # a mass that the case may not have: it is told by the sense of the case
        return None
    return landed.distance_m


def _tas_kt(case: Case) -> float:
    """Limit speed at the present level, with the gear as it is, in standard air."""
    aircraft, limits = case.aircraft, case.aircraft.profile.limits
    up = aircraft.gear is GearPosition.UP
    cas_kt, mach = (limits.vmo_kt, limits.mmo) if up else (limits.vle_kt, limits.mle)
    level_ft = aircraft.pressure_altitude_ft
    ratio = atmosphere.pressure_ratio(level_ft)
    slower = min(float(mach_from_cas(cas_kt=cas_kt, pressure_ratio=ratio)), mach)
    temperature_k = atmosphere.temperature_k(pressure_altitude_ft=level_ft)
    return float(tas_from_mach_kt(mach=slower, temperature_k=temperature_k))


def _wind(case: Case) -> WindAloft | None:
    """That of the level nearest to the present one; None where the case gives no winds."""
    level_ft = case.aircraft.pressure_altitude_ft
    return min(
        case.winds_aloft or (),
        key=lambda each: abs(each.pressure_altitude_ft - level_ft),
        default=None,
    )


def _candidates(
    case: Case, position: Position, found: Sequence[Nearby], library: Library
) -> list[Candidate]:
    """What was found, the soonest touchdown first, what the wind keeps away last."""
    at_hand = _reports_at_hand(case)
    tas_kt, wind = _tas_kt(case), _wind(case)
    made = []
    for each in found:
        aerodrome = library.aerodromes[each.icao]
        track_nm = each.distance_nm * case.policy.routing_factor
        minutes = _minutes(track_nm, position, aerodrome, tas_kt=tas_kt, wind=wind)
        made.append(
            Candidate(
                aerodrome=aerodrome,
                track_nm=track_nm,
                minutes=minutes,
                touchdown_at=None if minutes is None else case.as_of + timedelta(minutes=minutes),
                lacks=tuple(_lacks(aerodrome, at_hand.get(each.icao, NOTHING), case)),
            )
        )
    return sorted(made, key=_soonest)


def _soonest(each: Candidate) -> tuple[float, float, str]:
    return (
        math.inf if each.minutes is None else each.minutes,
        each.track_nm,
        each.aerodrome.icao,
    )


def _minutes(
    track_nm: float,
    start: Position,
    aerodrome: Aerodrome,
    *,
    tas_kt: float,
    wind: WindAloft | None,
) -> float | None:
    if wind is None or aerodrome.position is None or aerodrome.position == start:
        return track_nm / tas_kt * MIN_PER_H
    components = wind_components(
        wind_from_true_deg=wind.from_true_deg,
        wind_kt=wind.speed_kt,
        direction_true_deg=initial_true_deg(start=start, end=aerodrome.position),
    )
    try:
        speed_kt = ground_speed_kt(
            tas_kt=tas_kt,
            headwind_kt=components.headwind_kt,
            crosswind_kt=components.crosswind_kt,
        )
    except OutOfRange:
        return None
    return track_nm / speed_kt * MIN_PER_H


NOTHING: Final = (False, False)


def _reports_at_hand(case: Case) -> dict[str, tuple[bool, bool]]:
    """Of each station with reports: whether an observation, and a forecast, is in force."""
    reports = read_heap(case.weather.reports, received_at=case.as_of).reports
    have = {}
    for station in {each.station for each in reports}:
        found = collect(reports, station=station, as_of=case.as_of)
        have[station] = (found.observation is not None, found.forecast is not None)
    return have


def _lacks(aerodrome: Aerodrome, have: tuple[bool, bool], case: Case) -> list[str]:
    """What a decision would have to ask for; a report that is to be fetched is none of it."""
    lacks = []
    if not aerodrome.approaches:
        lacks.append("approaches")
    if all(each.lda_m is None for each in aerodrome.runways):
        lacks.append("landing distance available")
    if case.weather.fetch:
        return lacks
    observation, forecast = have
    if not observation:
        lacks.append("observation")
    if not forecast:
        lacks.append("forecast")
    return lacks


def _taken(fit: Sequence[Candidate], *, most: int) -> list[Candidate]:
    """Those that lack least, then the soonest; the last place is for the soonest of all."""
    chosen = sorted(fit, key=lambda each: (len(each.lacks), _soonest(each)))[:most]
    if len(chosen) > 1 and fit[0] not in chosen:
        chosen[-1] = fit[0]
    return chosen


def _told(
    each: Candidate, left: Mapping[str, str], taken: Sequence[Candidate], search: Search
) -> ProposedPlace:
    icao = each.aerodrome.icao
    is_taken = icao in {other.aerodrome.icao for other in taken}
    way = f"{each.track_nm:.0f} NM"
    if each.minutes is not None:
        way += f", about {math.ceil(each.minutes)} min at the limit speed"
    missing = f"; not known: {', '.join(each.lacks)}" if each.lacks else ""
    why = left.get(icao)
    if why is None and is_taken:
        why = f"runway {_longest(each.aerodrome, search)}{missing}"
    elif why is None:
        why = f"{_before(taken, search)}{missing}"
    return ProposedPlace(icao=icao, taken=is_taken, why=f"{way}; {why}")


def _longest(aerodrome: Aerodrome, search: Search) -> str:
    runway = max(_usable(aerodrome, search), key=lambda each: each.longest_m or 0.0)
    length_m = runway.longest_m
    return f"{runway.ident} {'of unknown length' if length_m is None else f'{length_m:.0f} m'}"


def _before(taken: Sequence[Candidate], search: Search) -> str:
    """Why one that would do was not taken."""
    if len(taken) < search.asked.most:
        return f"the case has no room for more than {MAX_ALTERNATES} alternates"
    return f"left for {len(taken)} that lack less or are sooner"


# --- why a place is left ---


def _why_left(each: Candidate, search: Search) -> str | None:
    return next((why for check in CHECKS if (why := check(each, search)) is not None), None)


def _already(each: Candidate, search: Search) -> str | None:
    icao = each.aerodrome.icao
    if icao == search.case.destination.aerodrome.icao:
        return "it is the destination"
    return "it is an alternate of the case already" if icao in search.there else None


def _not_in_time(each: Candidate, search: Search) -> str | None:
    if each.minutes is None:
        return "the wind leaves no headway"
    limit_min = search.asked.within_min
    late = limit_min is not None and each.minutes > limit_min
    return f"later than the {limit_min:g} min asked for" if late else None


def _closed(each: Candidate, _search: Search) -> str | None:
    """Closed at the moment of touchdown, by a closure or by its hours."""
    at = each.touchdown_at
    if at is None:
        return None
    place = each.aerodrome
    shut = any(at in time.window for time in place.closures)
    outside = bool(place.opening) and not any(at in time.window for time in place.opening)
    return f"it is closed at {clock_text(at)}" if shut or outside else None


def _closed_by_notice(each: Candidate, search: Search) -> str | None:
    """Closed by a notice that is in force at the moment of touchdown."""
    at, icao = each.touchdown_at, each.aerodrome.icao
    if at is None:
        return None
    moment = around(at, before_min=0.0, after_min=1.0)
    by = [
        notice.id for notice in search.closing if icao in notice.places and notice.in_force(moment)
    ]
    return f"it is closed at {clock_text(at)} by {' and '.join(by)}" if by else None


def _no_runway(each: Candidate, search: Search) -> str | None:
    place = each.aerodrome
    if _usable(place, search):
        return None
    if all(runway.closed for runway in place.runways):
        return "its runways are closed"
    lengths = [runway.longest_m for runway in place.runways if runway.longest_m is not None]
    if search.shortest_m is None or any(length >= search.shortest_m for length in lengths):
        return "no open runway is long and strong enough"
    return (
        f"its longest runway has {max(lengths, default=0.0):.0f} m, and"
        f" {math.ceil(search.shortest_m)} m are needed even dry, with all working and no fuel"
    )


def _usable(aerodrome: Aerodrome, search: Search) -> list[Runway]:
    """Runways of which nothing that is known forbids a landing at its best."""
    return [
        each
        for each in aerodrome.runways
        if not each.closed
        and not _below(each.longest_m, search.shortest_m)
        and not _below(each.strength_kg, search.lightest_kg)
    ]


def _below(known: float | None, least: float | None) -> bool:
    return known is not None and least is not None and known < least


CHECKS: Final[tuple[Check, ...]] = (
    _already,
    _not_in_time,
    _closed,
    _closed_by_notice,
    _no_runway,
)
"""Why a place is left, the first that fits."""
