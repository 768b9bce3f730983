"""From the flat body of a tool to the values that `decision` asks for, or the faults in it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from decision.case import Library
from decision.case.spec import Record
from decision.errors import Fault, InvalidCase
from decision.performance import Configuration
from decision.profile import Profile
from decision.quantities import GearPosition, SlatPosition
from decision.systems import Capability, Failure, assess

Body = Mapping[str, Any]


def with_defaults(body: Body, shape: Record) -> dict[str, Any]:
    """The body with every absent or null member at its default."""
    given = {name: value for name, value in body.items() if value is not None}
    return {member.name: given.get(member.name, member.default) for member in shape.fields}


def profile_of(body: Body, library: Library) -> Profile:
    """The profile that is named. Raises: InvalidCase if there is none, or if it lacks the flap."""
    if body["profile"] not in library.profile_ids:
        raise InvalidCase((_unknown("profile", "is not loaded", library.profile_ids),))
    profile = library.profile(body["profile"])
    faults = tuple(_beyond(body, profile))
    if faults:
        raise InvalidCase(faults)
    return profile


def configuration_of(body: Body, profile: Profile) -> Configuration:
    """The configuration that a body about performance describes."""
    engines = body.get("engines_running")
    return Configuration(
        gear_down=body["gear"] == "down",
        gear_doors_open=body["gear_doors"] == "open",
        flap=flap_of(body, profile),
        slats_out=slats_out_of(body, profile),
        engines_running=profile.engine.count if engines is None else int(engines),
        pressurised=body.get("pressurised", True),
    )


def flap_of(body: Body, profile: Profile) -> str:
    """The flap detent: as said, else flaps up."""
    return profile.flaps_up if body["flap"] is None else str(body["flap"])


def slats_out_of(body: Body, profile: Profile) -> bool:
    """Whether the slats are out: as said, else as the lever takes them."""
    if body["slats"] is None:
        return profile.slats_out_with_lever(flap_of(body, profile))
    return bool(body["slats"] == "out")


def capability_of(body: Body, profile: Profile) -> Capability:
    """What the failures leave. Raises: InvalidCase with pointers into the flat body."""
    slats = None if body["slats"] is None else SlatPosition(body["slats"])
    failures = [_failure(each, body["leak_kg_per_h"]) for each in body["failures"]]
    try:
        return assess(
            profile,
            failures,
            gear=GearPosition(body["gear"]),
            flap=flap_of(body, profile),
            slats=slats,
        )
    except InvalidCase as error:
        flat = (replace(f, pointer=f.pointer.removeprefix("/aircraft")) for f in error.faults)
        raise InvalidCase(tuple(flat)) from None


def pair_of(body: Body, one: str, other: str) -> tuple[float | None, float | None]:
    """Two figures that say something together only. Raises: InvalidCase if one is missing."""
    missing = [name for name in (one, other) if body[name] is None]
    if len(missing) == 1:
        (name,) = missing
        said = other if name == one else one
        raise InvalidCase(
            (
                Fault(
                    pointer=f"/{name}",
                    code="required",
                    message=f"is missing; {said} says nothing without it",
                    accepted=f"both {one} and {other}, or neither",
                ),
            )
        )
    return body[one], body[other]


def _failure(report: Body, leak_kg_per_h: float | None) -> Failure:
    position = report.get("position")
    return Failure(
        id=report["id"],
        detent=report.get("detent"),
        position=None if position is None else SlatPosition(position),
        rate_kg_per_h=leak_kg_per_h or None,  # a leak of zero is a leak of unknown rate
        quantity_kg=report.get("quantity_kg"),
    )


def _beyond(body: Body, profile: Profile) -> Iterator[Fault]:
    detents = tuple(detent.id for detent in profile.detents)
    if flap_of(body, profile) not in detents:
        yield _unknown("flap", f"is no detent of {profile.id}", detents)
    for name in ("engines_running", "reversers"):
        if (body.get(name) or 0) > profile.engine.count:
            yield Fault(
                pointer=f"/{name}",
                code="range",
                message=f"{profile.id} does not have so many",
                accepted=f"at most {profile.engine.count}",
            )


def _unknown(name: str, message: str, accepted: tuple[str, ...]) -> Fault:
    return Fault(pointer=f"/{name}", code="unknown", message=message, accepted=", ".join(accepted))
