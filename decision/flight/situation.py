"""What stays the same through one decision: the case, what is left, the weather, the rulebook.

A plain value: what was flown, drawn or judged of it is kept elsewhere.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from msgspec import structs

from decision.case import Case, Leg
from decision.errors import Fault, InvalidCase
from decision.flight.configure import Configurations, configurations
from decision.flight.physics import holding_flow_kg_per_h
from decision.flight.tracks import en_route_deviation_degc
from decision.flight.tried import AS_IT_IS, WhatIf
from decision.notices import NoticesAtPlace, StandingNotices, standing_notices
from decision.notices.collect import NOTHING_STANDS
from decision.profile.operator_tables import OutOfTable
from decision.rulebooks.rulebook import Asked, load_rulebook
from decision.systems import Capability, Urgency, assess
from decision.weather import Report
from decision.weather.collect import SetAside, StationWeather, collect, read_heap

# Flow above the model by more than this scales the model and raises a caution [ASSUMED].
FLOW_TOLERANCE_RATIO: Final = 1.05
CAPABILITIES_KEPT: Final = 256


@dataclass(frozen=True, slots=True, kw_only=True)
class Situation(Asked):
    """One case with everything that follows from it before any course is thought of.

    `flow_ratio`: observed fuel flow over the model's, None when none was observed.
    """

    capability: Capability
    configurations: Configurations
    weather: Mapping[str, StationWeather]
    reports: tuple[Report, ...]
    set_aside: tuple[SetAside, ...]
    notices: StandingNotices
    flow_ratio: float | None
    what_if: WhatIf

    def station(self, icao: str) -> StationWeather:
        """The reports in force at an aerodrome; none is an answer too."""
        return self.weather[icao]

    def notices_at(self, icao: str) -> NoticesAtPlace:
        """The notices of an aerodrome; of most there are none."""
        return self.notices.at.get(icao, NOTHING_STANDS)

    @property
    def for_time(self) -> bool:
        """Whether courses are flown for time: a failure asks for a landing as soon as possible."""
        return self.capability.urgency is Urgency.AS_SOON_AS_POSSIBLE

    @property
    def legs(self) -> tuple[Leg, ...]:
        """Destination first, then the alternates as given."""
        return (self.case.destination, *self.case.alternates)


def situation_of(
    case: Case, *, rulebook: str | None = None, what_if: WhatIf = AS_IT_IS
) -> Situation:
    """Work out what is left, read the reports, and load the rulebook."""
    aircraft = case.aircraft
    capability = _assess(
        aircraft.profile,
        case.failures,
        gear=aircraft.gear,
        flap=aircraft.flap,
        slats=aircraft.slats,
    )
    ratio = _flow_ratio(case, capability)
    scale = ratio if ratio is not None and ratio > FLOW_TOLERANCE_RATIO else 1.0
    heap = read_heap(case.weather.reports, received_at=case.as_of)
    places = [case.destination, *case.alternates]
    return Situation(
        case=case,
        rulebook=load_rulebook(rulebook or case.rulebook),
        capability=capability,
        configurations=configurations(case, capability, fuel_flow_scale=scale),
        weather={
            leg.aerodrome.icao: collect(heap.reports, station=leg.aerodrome.icao, as_of=case.as_of)
            for leg in places
        },
        reports=heap.reports,
        set_aside=heap.unreadable,
        notices=standing_notices(
            case.notices,
            places=[leg.aerodrome.icao for leg in places],
            received_at=case.as_of,
        ),
        flow_ratio=ratio,
        what_if=what_if,
    )


def varied_situation(like: Situation, case: Case, what_if: WhatIf) -> Situation | None:
    """The situation of a case that was varied, in which attempts are what they were before.

    That holds where only fuel, mass and hold are other ones, as they are where flip points vary the
    case: attempts depend on none of them but by their own mass and moment. None for any other case:
    it starts afresh.
    """
    if not _alike(case, like.case) or _flow_ratio(case, like.capability) != like.flow_ratio:
        return None
    return replace(like, case=case, what_if=what_if)


def _alike(case: Case, other: Case) -> bool:
    """Whether two cases are the same but for fuel on board, mass and hold."""
    return other == structs.replace(
        case,
        fuel=structs.replace(case.fuel, on_board_kg=other.fuel.on_board_kg),
        aircraft=structs.replace(case.aircraft, mass_kg=other.aircraft.mass_kg),
        plan=structs.replace(case.plan, hold_min=other.plan.hold_min),
    )


_assess = lru_cache(maxsize=CAPABILITIES_KEPT)(assess)


def _flow_ratio(case: Case, capability: Capability) -> float | None:
    observed = case.fuel.observed_flow_kg_per_h
    if observed is None or capability.engines_running == 0:
        return None  # without an engine there is no flow to compare with
    try:
        model = holding_flow_kg_per_h(
            case.aircraft.profile,
            configuration=configurations(case, capability, fuel_flow_scale=1.0).present,
            mass_kg=case.aircraft.mass_kg,
            pressure_altitude_ft=case.aircraft.pressure_altitude_ft,
            isa_deviation_degc=en_route_deviation_degc(case, case.aircraft.pressure_altitude_ft),
        )
    except OutOfTable as error:
        raise InvalidCase((_incomparable(error),)) from None
    return observed / model


def _incomparable(error: OutOfTable) -> Fault:
    """An observed flow that no table has a figure for cannot be left out in silence."""
    return Fault(
        pointer="/fuel/observed_flow_kg_per_h",
        code="incomparable",
        message=f"nothing to compare it with: {error}",
        accepted="a flow at a mass, level and speed that the operator's table has, or none",
    )
