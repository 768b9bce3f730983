"""A capability in plain sentences, each ending in the path that led to it. No arithmetic."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import chain
from typing import Final

from decision.profile.systems_effects import LIMITS, Urgency
from decision.profile.systems_model import NodeKind
from decision.quantities import GearPosition
from decision.systems.capability import (
    Capability,
    FlapCapability,
    GearCapability,
    IrreversibleChange,
    Limit,
    LostFunction,
    SlatCapability,
    SystemCaution,
)
from decision.systems.found import PATH_ARROW

DIRECT: Final = 2  # failure and what it takes away
URGENCY_WORDS: Final = {
    Urgency.NEAREST_SUITABLE: "Land at the nearest suitable aerodrome.",
    Urgency.AS_SOON_AS_POSSIBLE: "Land as soon as possible.",
}


def explain(capability: Capability) -> tuple[str, ...]:
    """What is left, in sentences: urgency and hazards first, then what moves, what is lost, why.

    Sources further from a failure than one step are left out; they stand in the paths.
    """
    return tuple(
        chain(
            _urgency(capability.urgency),
            _cautions(capability.landing_hazards),
            _one_way(capability.irreversible),
            _gear(capability.gear),
            _flaps(capability.flap),
            _slats(capability.slats),
            _lost(capability.lost),
            _limits(capability.limits),
            _fuel(capability),
            _cautions(capability.cautions),
        )
    )


def _sentence(text: str, because: Iterable[str]) -> str:
    path = PATH_ARROW.join(because)
    return f"{text} ({path})" if path else text


def _urgency(urgency: Urgency) -> Iterator[str]:
    if urgency is not Urgency.NONE:
        yield URGENCY_WORDS[urgency]


def _cautions(cautions: Iterable[SystemCaution]) -> Iterator[str]:
    for caution in cautions:
        also = f" Also: {', '.join(caution.also)}." if caution.also else ""
        yield _sentence(caution.text + also, caution.because)


def _one_way(changes: Iterable[IrreversibleChange]) -> Iterator[str]:
    return (_sentence(f"Cannot be undone: to {c.step}.", c.because) for c in changes)


def _gear(gear: GearCapability) -> Iterator[str]:
    if gear.because or gear.position not in (GearPosition.UP, GearPosition.DOWN):
        again = "can be retracted" if gear.retractable else "cannot be retracted"
        text = f"Gear {gear.position}, doors {gear.doors_now}; extension {gear.extension}; {again}."
        yield _sentence(text, gear.because)


def _flaps(flap: FlapCapability) -> Iterator[str]:
    if flap.because:
        reach = ", ".join(flap.reachable)
        yield _sentence(
            f"Flaps at {flap.position}, drive {flap.drive}; can stand at {reach}.", flap.because
        )


def _slats(slats: SlatCapability) -> Iterator[str]:
    if slats.because:
        yield _sentence(f"Slats {slats.position}, drive {slats.drive}.", slats.because)


def _lost(lost: Iterable[LostFunction]) -> Iterator[str]:
    for item in lost:
        if item.kind is not NodeKind.SOURCE or len(item.because) <= DIRECT:
            state = "degraded" if item.degraded else "lost"
            others = (
                f", together with {', '.join(item.together_with)}" if item.together_with else ""
            )
            yield _sentence(f"{item.title}: {state}{others}.", item.because)


def _limits(limits: Iterable[Limit]) -> Iterator[str]:
    for limit in limits:
        words = " ".join((LIMITS[limit.name].words, f"{limit.value:g}", limit.unit)).rstrip()
        yield f"{words}. ({limit.because})"


def _fuel(capability: Capability) -> Iterator[str]:
    if capability.leak_kg_per_h > 0.0:
        yield f"Fuel leaks at {capability.leak_kg_per_h:g} kg/h."
    if capability.leak_rate_unknown:
        yield "Fuel leaks at an unknown rate: no landing fuel can be promised."
    if capability.unusable_fuel_kg > 0.0:
        yield f"{capability.unusable_fuel_kg:g} kg of the fuel on board cannot be used."
    if capability.unusable_fuel_unknown:
        yield "An unknown part of the fuel on board cannot be used."
