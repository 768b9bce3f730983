"""The flights of a network on every day of an archive, as cases."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import UTC, datetime, time, timedelta
from pathlib import Path
from typing import Annotated, Any, Final

import msgspec
from msgspec import Struct

from decision.case import Library, case_from_mapping
from decision.course import CourseKind
from decision.earth import distance_nm, point_between
from decision.fields import about
from decision.quantities import Position
from decision.recommend import row_of
from decision.windows import instant_text
from service.replay.archive import Archive

INVENTED: Final = Path(__file__).parent / "network.toml"
AMPLE_KG: Final = 6000.0  # more than any flight of a network needs, less than any tank holds
FAIR: Final = "METAR {0} {1:%d%H%M}Z 26008KT 9999 FEW030 12/06 Q1013"
FAIR_LATER: Final = "TAF {0} {1:%d%H%M}Z {1:%d%H}/{2:%d%H} 26008KT 9999 FEW030"
PLAN_DAY: Final = datetime(
    2026, 3, 14, tzinfo=UTC
)  # of the fair weather; which day it is, is no matter
ROUNDS: Final = 3  # fuel weighs, and what weighs less needs less
DIVERTING: Final = f"{CourseKind.APPROACH_THEN_DIVERT}:"  # what labels of such courses begin with


class Planned(Struct, frozen=True, kw_only=True):
    """A flight of every day."""

    flight_id: str
    at: str
    destination: str
    alternates: tuple[str, ...]


class NetworkHub(Struct, frozen=True, kw_only=True):
    """Where every flight comes from."""

    latitude_deg: float
    longitude_deg: float


class Network(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The flights of a day, and how they are fuelled."""

    source: str
    profile: str
    rulebook: str
    zero_fuel_kg: Annotated[float, about("Mass without fuel.", unit="kg")]
    track_nm: Annotated[float, about("To run when a flight is asked.", unit="NM")]
    pressure_altitude_ft: float
    minimum_level_ft: float
    oxygen_min: Annotated[float, about("Oxygen of crew and passengers.", unit="min")]
    reserve_kg: Annotated[float, about("On board over what is needed in fair weather.", unit="kg")]
    hub: NetworkHub
    winds_aloft: tuple[dict[str, float], ...]
    flights: tuple[Planned, ...]

    @property
    def places(self) -> tuple[str, ...]:
        """Every place that a flight may come to."""
        named = (
            each for flight in self.flights for each in (flight.destination, *flight.alternates)
        )
        return tuple(dict.fromkeys(named))


def read_network(file: Path = INVENTED) -> Network:
    """A network from its file. Raises: ValueError naming what is wrong, OSError."""
    return msgspec.toml.decode(file.read_bytes(), type=Network)


def cases_of(
    network: Network, archive: Archive, *, begin: datetime, days: int, library: Library
) -> Iterator[dict[str, Any]]:
    """The case of each flight on each day, with the reports that were at hand then."""
    fuel = {each.flight_id: planned_kg(network, each, library=library) for each in network.flights}
    for day in range(days):
        for flight in network.flights:
            at = begin + timedelta(days=day) + _of_day(flight.at)
            reports = archive.at_hand((flight.destination, *flight.alternates), at)
            case = _case(network, flight, at=at, reports=reports, library=library)
            yield _fuelled(network, case, fuel[flight.flight_id])


def planned_kg(network: Network, flight: Planned, *, library: Library) -> float:
    """On board so that in fair weather the reserve is left after a miss and its best diversion.

    Raises: ValueError where no diversion can be flown even so.
    """
    places = (flight.destination, *flight.alternates)
    at = PLAN_DAY + _of_day(flight.at)
    end = at + timedelta(hours=9)
    reports = [text.format(each, at, end) for each in places for text in (FAIR, FAIR_LATER)]
    case = _case(network, flight, at=at, reports=reports, library=library)
    fuel_kg = AMPLE_KG
    for _ in range(ROUNDS):
        over_kg = _best_kg(_fuelled(network, case, fuel_kg), library=library)
        if over_kg is None:
            raise ValueError(f"{flight.flight_id}: no diversion can be flown")
        fuel_kg += network.reserve_kg - over_kg
    return round(fuel_kg, -1)


def _best_kg(case: Mapping[str, Any], *, library: Library) -> float | None:
    """What the best diversion after a miss has over the final reserve; None: none can be flown."""
    row = row_of(case_from_mapping(case, library=library))
    margins = (
        each.margin_kg
        for each in row.margins
        if each.course.startswith(DIVERTING) and each.margin_kg is not None
    )
    return max(margins, default=None)


def _of_day(text: str) -> timedelta:
    at = time.fromisoformat(text)
    return timedelta(hours=at.hour, minutes=at.minute)


def _fuelled(network: Network, case: Mapping[str, Any], fuel_kg: float) -> dict[str, Any]:
    aircraft = {**case["aircraft"], "mass_kg": network.zero_fuel_kg + fuel_kg}
    return {**case, "aircraft": aircraft, "fuel": {"on_board_kg": fuel_kg}}


def _case(
    network: Network, flight: Planned, *, at: datetime, reports: list[str], library: Library
) -> dict[str, Any]:
    """The case of a flight at a moment, but for its fuel."""
    position = _on_the_way(network, flight, library)
    return {
        "flight_id": f"{flight.flight_id} {at:%d%b}".upper(),
        "as_of": instant_text(at),
        "rulebook": network.rulebook,
        "aircraft": {
            "profile": network.profile,
            "pressure_altitude_ft": network.pressure_altitude_ft,
            "gear": "up",
            "flap": "0",
            "oxygen_min": network.oxygen_min,
            "position": msgspec.to_builtins(position),
        },
        "failures": [],
        "destination": {
            "icao": flight.destination,
            "track_nm": network.track_nm,
            "minimum_level_ft": network.minimum_level_ft,
        },
        "alternates": [
            {"icao": each, "minimum_level_ft": network.minimum_level_ft}
            for each in flight.alternates
        ],
        "winds_aloft": list(network.winds_aloft),
        "weather": {"reports": reports},
    }


def _on_the_way(network: Network, flight: Planned, library: Library) -> Position:
    """The point on the way from the hub from which it is so far to the destination."""
    there = library.aerodromes[flight.destination].position
    if there is None:
        raise ValueError(f"{flight.destination} has no position")
    hub = Position(latitude_deg=network.hub.latitude_deg, longitude_deg=network.hub.longitude_deg)
    share = network.track_nm / distance_nm(start=there, end=hub)
    return point_between(start=there, end=hub, share=min(1.0, share))
