"""Which of the reported failures is told first: the one that asks for the ground soonest."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Final

from decision.profile.systems_effects import (
    Advice,
    Effect,
    Extension,
    GearExtension,
    GearUnconfirmed,
    LandBy,
    LandingHazard,
    Urgency,
    Weight,
)
from decision.profile.systems_model import CatalogueEntry, SystemsData
from decision.systems.found import Found, InForce

URGENCIES: Final = tuple(Urgency)
WEIGHTS: Final = tuple(Weight)

Gravity = tuple[int, bool, int]


def gravest_first(
    systems: SystemsData, found: Found, ids: Collection[str]
) -> tuple[CatalogueEntry, ...]:
    """The reported failures by urgency, then hazard of the landing, then weight of their cautions.

    Equals stand as the catalogue has them, so the order of the report does not matter. What a node
    brings counts for every failure that it takes to bring that node down.
    """
    reported = (entry for entry in systems.catalogue.values() if entry.id in ids)
    return tuple(sorted(reported, key=lambda entry: _gravity(found, entry.id), reverse=True))


def _gravity(found: Found, id_: str) -> Gravity:
    urgent = (i.effect.urgency for i in found.of(LandBy) if id_ in _causes(found, i))
    weighty = (i.effect.weight for i in found.of(Advice) if id_ in _causes(found, i))
    return (
        max((URGENCIES.index(urgency) for urgency in urgent), default=0),
        any(id_ in _causes(found, item) for item in _hazards(found)),
        max((1 + WEIGHTS.index(weight) for weight in weighty), default=0),
    )


def _hazards(found: Found) -> Iterator[InForce[Effect]]:
    yield from found.of(LandingHazard)
    yield from found.of(GearUnconfirmed)
    yield from (i for i in found.of(GearExtension) if i.effect.extension is Extension.NONE)


def _causes(found: Found, item: InForce[Effect]) -> Collection[str]:
    """The failure that an effect came with, or all that it takes to bring its node down."""
    if item.report is not None:
        return (item.report.id,)
    return found.fallen[item.because[-1]].causes
