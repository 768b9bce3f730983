"""From the flat body of a tool to the values that `decision` asks for, or the faults in it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any, TypeVar

from msgspec import Struct, structs

from decision.case import Library
from decision.case.build import reading_from, stop_on
from decision.case.derive import record_of
from decision.errors import Fault, InvalidCase
from decision.performance import Configuration
from decision.profile import Profile
from decision.quantities import SlatPosition
from decision.systems import Capability, assess
from service.shapes import Configured, DiversionQuestion, FailuresQuestion, LandingQuestion

Question = TypeVar("Question", bound=Struct)


def question_of(kind: type[Question], body: Mapping[str, Any], library: Library) -> Question:
    """What a checked body asks. Raises: InvalidCase if it names what is not there."""
    reading = reading_from(library)
    question: Question = record_of(kind).made(body, "", reading)
    stop_on(tuple(reading.faults))
    stop_on(tuple(_beyond(question)))
    return question


def configuration_of(question: Configured) -> Configuration:
    """The configuration that a body about performance describes."""
    engines = question.engines_running
    return Configuration(
        gear_down=question.gear == "down",
        gear_doors_open=question.gear_doors == "open",
        flap=question.flap,
        slats_out=slats_out_of(question),
        engines_running=question.profile.engine.count if engines is None else engines,
        pressurised=not isinstance(question, DiversionQuestion) or question.pressurised,
    )


def slats_out_of(question: Configured | LandingQuestion) -> bool:
    """Whether the slats are out: as said, else as the lever takes them."""
    if question.slats is None:
        return question.profile.slats_out_with_lever(question.flap)
    return question.slats is SlatPosition.OUT


def capability_of(question: FailuresQuestion) -> Capability:
    """What the failures leave. Raises: InvalidCase with pointers into the flat body."""
    rate = question.leak_kg_per_h or None  # a leak of zero is a leak of unknown rate
    try:
        return assess(
            question.profile,
            [structs.replace(each, rate_kg_per_h=rate) for each in question.failures],
            gear=question.gear,
            flap=question.flap,
            slats=question.slats,
        )
    except InvalidCase as error:
        flat = (replace(f, pointer=f.pointer.removeprefix("/aircraft")) for f in error.faults)
        raise InvalidCase(tuple(flat)) from None


def pair_of(question: FailuresQuestion) -> tuple[float, float] | None:
    """Track and ground speed, which say something together only. Raises: InvalidCase."""
    pair = {"track_nm": question.track_nm, "groundspeed_kt": question.groundspeed_kt}
    missing = [name for name, value in pair.items() if value is None]
    if len(missing) == 1:
        (name,) = missing
        (said,) = pair.keys() - missing
        raise InvalidCase(
            (
                Fault(
                    pointer=f"/{name}",
                    code="required",
                    message=f"is missing; {said} says nothing without it",
                    accepted="both track_nm and groundspeed_kt, or neither",
                ),
            )
        )
    if question.track_nm is None or question.groundspeed_kt is None:
        return None
    return question.track_nm, question.groundspeed_kt


def _beyond(question: Struct) -> Iterator[Fault]:
    """What the profile of a question has not got."""
    profile, flap = getattr(question, "profile", None), getattr(question, "flap", None)
    if not isinstance(profile, Profile):
        return
    detents = tuple(detent.id for detent in profile.detents)
    if flap not in detents:
        yield Fault(
            pointer="/flap",
            code="unknown",
            message=f"is no detent of {profile.id}",
            accepted=", ".join(detents),
        )
    for name in ("engines_running", "reversers"):
        if (getattr(question, name, None) or 0) > profile.engine.count:
            yield Fault(
                pointer=f"/{name}",
                code="range",
                message=f"{profile.id} does not have so many",
                accepted=f"at most {profile.engine.count}",
            )
