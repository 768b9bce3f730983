"""From a parsed object to a `Case`: one constructor, every fault at once, every default listed.

The order is: shape (types, units, ranges), references (profile, aerodromes), then sense (masses,
fuel, contradictions). A later stage runs only on what the earlier one let through.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any, Final

from msgspec.structs import replace

from decision.case import sense
from decision.case.aerodromes import aerodrome_finder
from decision.case.derive import record_of
from decision.case.library import Library, installed_library
from decision.case.propose import proposals
from decision.case.spec import BodyReading, Finder, hinted
from decision.case.types import Aerodrome, Assumption, Case, Gazette
from decision.errors import Fault, InvalidCase, meant
from decision.profile import Profile

CASE: Final = record_of(Case)
TOLD_FIRST: Final = ("destination", "alternates", "fuel")  # among what was assumed


def case_from_mapping(body: Mapping[str, Any], *, library: Library | None = None) -> Case:
    """Build the case. Raises InvalidCase with every fault found, each with its JSON Pointer."""
    shelf = installed_library() if library is None else library
    whole, read, reading = _read(body, shelf)
    gazette = shelf.gazette if reading.named and not shelf.installed else None
    case = _settled(read, _told(reading), digest=input_digest(whole), gazette=gazette)
    stop_on(sense.faults(case))
    return case


def written_out(body: Mapping[str, Any], *, library: Library) -> Mapping[str, Any]:
    """The body itself, or one with the alternates that it asks to be proposed: that is the case.

    In it every place stands in full, so it gets the same answer whatever is loaded later; the body
    itself gets that answer too, for as long as the same aerodromes are loaded.
    Raises: InvalidCase for one that cannot be read, or that does not say where the aircraft is.
    """
    return _read(body, library)[0] if _asks_for_places(body) else body


def _asks_for_places(body: Mapping[str, Any]) -> bool:
    return body.get("propose_alternates") is not None and body.get("proposed") is None


def _read(body: Mapping[str, Any], library: Library) -> tuple[Mapping[str, Any], Case, BodyReading]:
    """The body with its proposals, what it is read to, and how. Raises: InvalidCase."""
    stop_on(hinted(CASE.faults(body)))
    reading = reading_from(library)
    read: Case = CASE.made(body, "", reading)
    stop_on(tuple(reading.faults))
    if not _asks_for_places(body):
        return body, read, reading
    return _read(proposals(body, read, library), library)


def reading_from(library: Library) -> BodyReading:
    """A reading to which profiles and aerodromes are known by name."""
    return BodyReading(
        finders={
            Profile: _profile_finder(library),
            Aerodrome: aerodrome_finder(library.aerodromes),
        }
    )


def stop_on(faults: tuple[Fault, ...]) -> None:
    """Raises: InvalidCase if there are faults."""
    if faults:
        raise InvalidCase(faults)


def input_digest(body: Mapping[str, Any]) -> str:
    """SHA-256 of the canonical JSON: sorted keys, no spaces, whole numbers without a point."""
    text = json.dumps(
        _plain(body), sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    )
    return hashlib.sha256(text.encode()).hexdigest()


def _plain(value: object) -> object:
    match value:
        case str() | int() | None:  # the most, and told sooner than a mapping
            return value
        case float():
            return int(value) if value.is_integer() else value
        case Mapping():
            return {key: _plain(item) for key, item in value.items()}
        case list() | tuple():
            return [_plain(item) for item in value]
        case _:
            return value


def _profile_finder(library: Library) -> Finder:
    """Finds a profile by its id; it says which detent an object beside it means by no `flap`."""

    def find(wanted: str, pointer: str, reading: BodyReading) -> Profile | None:
        if wanted not in library.profile_ids:
            reading.faults.append(_unknown_profile(wanted, pointer, library))
            return None
        profile = library.profile(wanted)
        reading.supplied[f"{pointer.removesuffix('/profile')}/flap"] = profile.flaps_up
        return profile

    return find


def _unknown_profile(wanted: str, pointer: str, library: Library) -> Fault:
    return Fault(
        pointer=pointer,
        code="unknown_profile",
        message=f"no profile {wanted!r} is loaded{meant(wanted, library.profile_ids)}",
        accepted=", ".join(library.profile_ids),
    )


def _told(reading: BodyReading) -> tuple[Assumption, ...]:
    """What was assumed, of places and fuel first."""

    def rank(assumption: Assumption) -> int:
        top = assumption.field.split("/")[1]
        return TOLD_FIRST.index(top) if top in TOLD_FIRST else len(TOLD_FIRST)

    return tuple(sorted(reading.assumed.values(), key=rank))


def _settled(
    case: Case, assumptions: tuple[Assumption, ...], *, digest: str, gazette: Gazette | None
) -> Case:
    """The case with what follows from several of its members together.

    A leak is of every failure that leaks, and one of zero of an unknown rate; a delay that control
    has told is held for, besides the hold that is planned.
    """
    rate = case.fuel.leak_kg_per_h or None
    delay_min = case.air_traffic.delay_min or 0.0
    winds = sorted(case.winds_aloft or (), key=lambda wind: wind.pressure_altitude_ft)
    return replace(
        case,
        failures=tuple(replace(each, rate_kg_per_h=rate) for each in case.failures),
        winds_aloft=tuple(winds) or None,
        plan=replace(case.plan, hold_min=case.plan.hold_min + delay_min),
        assumptions=assumptions,
        input_digest=digest,
        gazette=gazette if case.proposed is None else case.proposed.aerodromes,
    )
