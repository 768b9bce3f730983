"""From a checked object to an `Aerodrome`, with the rules that a shape alone cannot say."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from decision.case.bearing import WRONG_WAY_DEG, apart_deg
from decision.case.given import Given
from decision.case.shape import AERODROME, APPROACH, CLOSURE, OBSTACLE, OPENING, POSITION, RUNWAY
from decision.case.spec import Record, read_instant
from decision.case.types import (
    Aerodrome,
    Approach,
    ApproachKind,
    Assumption,
    Lights,
    Obstacle,
    Runway,
)
from decision.errors import Fault
from decision.quantities import Position
from decision.windows import Window

DESCRIPTION: Final = ("elevation_ft", "runways", "approaches")
"""What an aerodrome needs that is described, and not named alone."""


def read_aerodrome(
    value: Mapping[str, Any], *, pointer: str, assumptions: list[Assumption]
) -> tuple[Aerodrome, tuple[Fault, ...]]:
    """The aerodrome and the faults in it; with faults it must not be used."""
    given = Given(record=AERODROME, value=value, pointer=pointer, assumptions=assumptions)
    # One line per kind of default is enough: the index of a runway adds nothing for the reader.
    aerodrome = Aerodrome(
        icao=given.of("icao"),
        name=given.of("name") or given.of("icao"),
        elevation_ft=given.sure("elevation_ft"),
        position=read_position(given),
        runways=tuple(_runway(item) for item in given.items("runways", RUNWAY, index="*")),
        approaches=tuple(
            _approach(item) for item in given.items("approaches", APPROACH, index="*")
        ),
        rescue_category=given.of("rescue_category"),
        closures=_times(given, "closures", CLOSURE),
        opening=_times(given, "opening", OPENING),
        separate_runways=given.of("separate_runways"),
    )
    return aerodrome, (
        *_runway_faults(aerodrome, pointer),
        *_bearing_faults(aerodrome, pointer),
        *_approach_faults(aerodrome, pointer),
    )


def times_faults(value: Mapping[str, Any], *, pointer: str) -> tuple[Fault, ...]:
    """Closures and openings that end before they begin: they cannot become windows."""
    return tuple(
        Fault(
            pointer=f"{pointer}/{name}/{index}/until_at",
            code="order",
            message=f"{words} ends after it begins",
            accepted=f"an instant after {item['from_at']}",
        )
        for name, words in (("closures", "a closure"), ("opening", "an opening"))
        for index, item in enumerate(value.get(name) or ())
        if not _in_order(item)
    )


def _in_order(item: Mapping[str, Any]) -> bool:
    start_at, end_at = read_instant(item["from_at"]), read_instant(item["until_at"])
    return start_at is not None and end_at is not None and start_at < end_at


def read_position(given: Given) -> Position | None:
    """The `position` member, when there is one."""
    if given.of("position") is None:
        return None
    point = given.member("position", POSITION)
    return Position(
        latitude_deg=point.sure("latitude_deg"), longitude_deg=point.sure("longitude_deg")
    )


def _times(given: Given, name: str, record: Record) -> tuple[Window, ...]:
    return tuple(
        Window(item.instant("from_at"), item.instant("until_at"))
        for item in given.items(name, record)
    )


def _runway(given: Given) -> Runway:
    return Runway(
        ident=given.of("ident"),
        true_bearing_deg=given.sure("true_bearing_deg"),
        lda_m=given.sure("lda_m"),
        slope_percent=given.sure("slope_percent"),
        width_m=given.number("width_m"),
        grooved=given.of("grooved"),
        condition_thirds=_thirds(given.of("condition_code")),
        contaminant=given.of("contaminant"),
        depth_mm=given.number("depth_mm"),
        closed=given.of("closed"),
        strength_kg=given.number("strength_kg"),
    )


def _thirds(code: float | list[float] | None) -> tuple[int, int, int] | None:
    """One code stands for all three thirds."""
    match code:
        case None:
            return None
        case [touchdown, midpoint, stop_end]:
            return (int(touchdown), int(midpoint), int(stop_end))
        case single:
            return (int(single), int(single), int(single))  # type: ignore[arg-type]


def _approach(given: Given) -> Approach:
    lights = given.of("lights")
    return Approach(
        id=given.of("id"),
        runway=given.of("runway"),
        kind=ApproachKind(given.of("kind")),
        needs=given.texts("needs"),
        dh_ft=given.number("dh_ft"),
        mdh_ft=given.number("mdh_ft"),
        rvr_m=given.number("rvr_m"),
        visibility_m=given.number("visibility_m"),
        lights=None if lights is None else Lights(lights),
        equipment_out=given.texts("equipment_out"),
        missed_gradient_percent=given.number("missed_gradient_percent"),
        missed_altitude_ft=given.number("missed_altitude_ft"),
        missed_track_nm=given.sure("missed_track_nm"),
        oei_missed_gradient_percent=given.number("oei_missed_gradient_percent"),
        obstacles=tuple(_obstacle(item) for item in given.items("obstacles", OBSTACLE)),
    )


def _obstacle(given: Given) -> Obstacle:
    return Obstacle(distance_nm=given.sure("distance_nm"), elevation_ft=given.sure("elevation_ft"))


def _runway_faults(aerodrome: Aerodrome, pointer: str) -> tuple[Fault, ...]:
    idents = [runway.ident for runway in aerodrome.runways]
    return tuple(
        Fault(
            pointer=f"{pointer}/runways/{index}/ident",
            code="duplicate",
            message=f"runway {ident} is there twice",
            accepted="each runway once",
        )
        for index, ident in enumerate(idents)
        if ident in idents[:index]
    )


def _bearing_faults(aerodrome: Aerodrome, pointer: str) -> tuple[Fault, ...]:
    """A bearing of the other end: every headwind would be told as a tailwind."""
    return tuple(
        Fault(
            pointer=f"{pointer}/runways/{index}/true_bearing_deg",
            code="contradiction",
            message=f"runway {runway.ident} cannot bear {runway.true_bearing_deg:g} degrees true",
            accepted=f"a bearing within {WRONG_WAY_DEG:g} degrees of its name",
        )
        for index, runway in enumerate(aerodrome.runways)
        if apart_deg(runway) > WRONG_WAY_DEG
    )


def _approach_faults(aerodrome: Aerodrome, pointer: str) -> tuple[Fault, ...]:
    idents = [runway.ident for runway in aerodrome.runways]
    names = [approach.id for approach in aerodrome.approaches]
    faults = []
    for index, approach in enumerate(aerodrome.approaches):
        where = f"{pointer}/approaches/{index}"
        if approach.runway not in idents:
            faults.append(
                Fault(
                    pointer=f"{where}/runway",
                    code="unknown_runway",
                    message=f"{aerodrome.icao} has no runway {approach.runway}",
                    accepted=", ".join(idents),
                )
            )
        if approach.dh_ft is not None and approach.mdh_ft is not None:
            faults.append(
                Fault(
                    pointer=f"{where}/mdh_ft",
                    code="contradiction",
                    message="an approach has a decision height or a minimum descent height",
                    accepted="one of dh_ft and mdh_ft",
                )
            )
        if approach.id in names[:index]:
            faults.append(
                Fault(
                    pointer=f"{where}/id",
                    code="duplicate",
                    message=f"approach {approach.id} is there twice",
                    accepted="each approach once",
                )
            )
    return tuple(faults)
