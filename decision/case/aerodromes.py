"""From a checked object to an `Aerodrome`, with the rules that a shape alone cannot say."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from decision.case.bearing import WRONG_WAY_DEG, apart_deg
from decision.case.spec import BodyReading, Finder
from decision.case.types import Aerodrome, Closure, Opening
from decision.case.written import AERODROME, is_described
from decision.errors import Fault, meant
from decision.windows import instant_text

DESCRIPTION: Final = ("elevation_ft", "runways", "approaches")
"""What an aerodrome needs that is described, and not named alone."""
MOST_NAMED: Final = 40
"""Loaded aerodromes of which all are told to who has named another; of more, how many there are."""


def aerodrome_finder(loaded: Mapping[str, Aerodrome]) -> Finder:
    """Reads an aerodrome that is described, and finds the loaded one where only its name is."""

    def find(place: Mapping[str, Any], pointer: str, reading: BodyReading) -> Aerodrome | None:
        described = is_described(place)
        if not described and place["icao"] in loaded:
            reading.named.append(place["icao"])
            return loaded[place["icao"]]
        missing = [name for name in DESCRIPTION if place.get(name) is None]
        if missing:
            where = pointer if described else f"{pointer}/icao"
            reading.faults.append(_unknown(place["icao"], where, missing, loaded))
            return None
        aerodrome = read_aerodrome(place, pointer, reading)
        reading.faults += faults_of(aerodrome, pointer)
        return aerodrome

    return find


def read_aerodrome(place: Mapping[str, Any], pointer: str, reading: BodyReading) -> Aerodrome:
    """An aerodrome that is described; one without a name is called by its indicator."""
    named = {**place, "name": place.get("name") or place["icao"]}
    aerodrome: Aerodrome = AERODROME.made(named, pointer, reading)
    return aerodrome


def faults_of(aerodrome: Aerodrome, pointer: str) -> tuple[Fault, ...]:
    """What is wrong with a described aerodrome; with faults it must not be used."""
    return (
        *_time_faults(aerodrome, pointer),
        *_runway_faults(aerodrome, pointer),
        *_bearing_faults(aerodrome, pointer),
        *_approach_faults(aerodrome, pointer),
    )


def _unknown(icao: str, pointer: str, missing: list[str], loaded: Mapping[str, Aerodrome]) -> Fault:
    return Fault(
        pointer=pointer,
        code="unknown_aerodrome",
        message=f"{icao} is not loaded and {', '.join(missing)} not given{_meant(icao, loaded)}",
        accepted=f"a loaded aerodrome or a full description; loaded: {_names(loaded)}",
    )


def _names(loaded: Mapping[str, Aerodrome]) -> str:
    return ", ".join(sorted(loaded)) if len(loaded) <= MOST_NAMED else f"{len(loaded)} aerodromes"


def _meant(icao: str, loaded: Mapping[str, Aerodrome]) -> str:
    """Among many, names of one region alone are looked through: each takes a while."""
    few = len(loaded) <= MOST_NAMED
    return meant(icao, loaded if few else [each for each in loaded if each[:2] == icao[:2]])


def _time_faults(aerodrome: Aerodrome, pointer: str) -> tuple[Fault, ...]:
    """Closures and openings that end before they begin: they cannot become windows."""
    return tuple(
        Fault(
            pointer=f"{pointer}/{name}/{index}/until_at",
            code="order",
            message=f"{words} ends after it begins",
            accepted=f"an instant after {instant_text(time.from_at)}",
        )
        for name, words, times in _times(aerodrome)
        for index, time in enumerate(times)
        if time.from_at >= time.until_at
    )


def _times(aerodrome: Aerodrome) -> tuple[tuple[str, str, tuple[Closure | Opening, ...]], ...]:
    return (
        ("closures", "a closure", aerodrome.closures),
        ("opening", "an opening", aerodrome.opening),
    )


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
