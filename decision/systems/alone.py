"""What each failure does by itself on an aircraft that is otherwise sound, worked out once.

For whoever looks for a failure: what it takes away and what can then be done once only. Several
failures together can take more than each by itself; that is `assess`.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import Annotated, Final

from msgspec import Struct

from decision.fields import about
from decision.profile import Profile
from decision.profile.systems_effects import Urgency
from decision.profile.systems_model import CatalogueEntry, NodeKind
from decision.quantities import GearPosition, SlatPosition
from decision.systems.assess import assess
from decision.systems.capability import Capability, Failure

MOST_PROFILES: Final = 16  # as many as have anything worked out once at a time


class TakenAway(Struct, frozen=True, kw_only=True, gc=False):
    """A function, supply or source that a failure takes away, or part of it."""

    title: Annotated[str, about("Its name for people.")]
    kind: Annotated[NodeKind, about("What it is to a reader.")]
    degraded: Annotated[bool, about("Still there in a lesser way.")]


class FailureAlone(Struct, frozen=True, kw_only=True, gc=False):
    """What one failure does by itself."""

    takes_away: Annotated[
        tuple[TakenAway, ...], about("What it takes by itself: functions, supplies, sources.")
    ]
    cannot_be_undone: Annotated[
        tuple[str, ...], about("Steps that are then for good, as one says them to a crew.")
    ]
    urgency: Annotated[Urgency, about("How soon it wants the aircraft on the ground.")]
    cautions: Annotated[tuple[str, ...], about("What the crew must be told of it.")]


@lru_cache(maxsize=MOST_PROFILES)
def each_alone(profile: Profile) -> Mapping[str, FailureAlone]:
    """What every failure of the catalogue does by itself, by id.

    With the gear up where the failure occurs so, the lever at flaps up, jams where they stand then.
    """
    catalogue = profile.systems.catalogue
    return MappingProxyType(
        {id_: _alone(_left(profile, entry)) for id_, entry in catalogue.items()}
    )


def _left(profile: Profile, entry: CatalogueEntry) -> Capability:
    report = Failure(
        id=entry.id,
        detent=profile.flaps_up if entry.needs_detent else None,
        position=SlatPosition.IN if entry.needs_position else None,
    )
    gear = GearPosition.UP if GearPosition.UP in entry.gear else entry.gear[0]
    return assess(profile, [report], gear=gear, flap=profile.flaps_up, slats=None)


def _alone(left: Capability) -> FailureAlone:
    return FailureAlone(
        takes_away=tuple(
            TakenAway(title=each.title, kind=each.kind, degraded=each.degraded)
            for each in left.lost
        ),
        cannot_be_undone=tuple(each.step for each in left.irreversible),
        urgency=left.urgency,
        cautions=tuple(each.text for each in (*left.landing_hazards, *left.cautions)),
    )
