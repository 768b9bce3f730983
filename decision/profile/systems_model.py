"""The systems of an aircraft as data: what feeds what, what can fail, and what follows.

Read from `data/profiles/<id>.systems.toml` by `systems_data`. The graph has one rule: a node works
while at least k of its inputs work (`all_of` is k = n, `any_of` is k = 1); when that need fails, a
`backup` need may still hold it up, degraded. Nothing here propagates or decides: that is
`decision.systems`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

from decision.profile.systems_effects import (
    Effect,
    EngineOut,
    FlapsJammed,
    FlapsLimited,
    FuelLeak,
    FuelUnusable,
    Lose,
    ReverserLost,
    SlatsJammed,
)
from decision.quantities import GearPosition


class NodeKind(StrEnum):
    """What a node of the graph is to a reader."""

    SOURCE = "source"
    SUPPLY = "supply"
    FUNCTION = "function"


class FailureGroup(StrEnum):
    """Headings of the failure catalogue."""

    HYDRAULICS = "hydraulics"
    ELECTRICS = "electrics"
    LANDING_GEAR = "landing_gear"
    FLAPS_SLATS = "flaps_slats"
    FLIGHT_CONTROLS = "flight_controls"
    ENGINES = "engines"
    FUEL = "fuel"
    AIR_ICE = "air_ice"
    NAVIGATION = "navigation"
    BRAKES_TYRES = "brakes_tyres"
    SMOKE_FIRE = "smoke_fire"
    INSTRUMENTS = "instruments"


@dataclass(frozen=True, kw_only=True)
class SupplyNeed:
    """At least `k` of the nodes `of` must work. Raises ValueError unless 1 <= k <= n."""

    k: int
    of: tuple[str, ...]

    def __post_init__(self) -> None:
        if not 1 <= self.k <= len(self.of):
            raise ValueError(f"k is {self.k}; accepted 1 to {len(self.of)}")

    @cached_property
    def spare(self) -> int:
        """How many of the inputs may fail."""
        return len(self.of) - self.k


@dataclass(frozen=True, kw_only=True)
class Node:
    """One source, supply or function, and what follows when it is lost or degraded."""

    id: str
    kind: NodeKind
    title: str
    need: SupplyNeed | None
    backup: SupplyNeed | None
    when_lost: tuple[Effect, ...]
    when_degraded: tuple[Effect, ...]
    source: str
    note: str

    @cached_property
    def inputs(self) -> tuple[str, ...]:
        """Every node that this one draws on."""
        return tuple(id_ for need in (self.need, self.backup) if need for id_ in need.of)


@dataclass(frozen=True, kw_only=True)
class CatalogueEntry:
    """One failure that can be reported, with what it does by itself.

    `gear` holds the gear positions in which the failure can occur. What a report of it must or may
    say beside its id follows from its effects. `nature` is what air traffic control hears first,
    `dispatch` what is to be prepared for the landing and after it, `cabin` what the cabin crew must
    know; no words of these take another failure into account.
    """

    id: str
    group: FailureGroup
    ata: str
    title: str
    gear: tuple[GearPosition, ...]
    effects: tuple[Effect, ...]
    source: str
    note: str
    nature: str
    dispatch: str
    cabin: str

    @cached_property
    def loses(self) -> tuple[str, ...]:
        """Nodes that this failure takes away."""
        return tuple(effect.node for effect in self.effects if isinstance(effect, Lose))

    @cached_property
    def needs_detent(self) -> bool:
        """Whether a report must name a flap detent."""
        return _has(self.effects, FlapsJammed, FlapsLimited)

    @cached_property
    def needs_position(self) -> bool:
        """Whether a report must name a slat position."""
        return _has(self.effects, SlatsJammed)

    @cached_property
    def takes_rate(self) -> bool:
        """Whether a report may name a leak rate."""
        return _has(self.effects, FuelLeak)

    @cached_property
    def takes_quantity(self) -> bool:
        """Whether a report may name a fuel quantity."""
        return _has(self.effects, FuelUnusable)


@dataclass(frozen=True, kw_only=True, eq=False)
class SystemsData:
    """Graph and failure catalogue of one aircraft; equal only to itself."""

    nodes: Mapping[str, Node]
    """By id, every node after all of its inputs."""
    catalogue: Mapping[str, CatalogueEntry]
    """By id, in the order of the file."""

    @cached_property
    def engines(self) -> tuple[str, ...]:
        """The engines: the nodes whose loss stops one."""
        return tuple(n.id for n in self.nodes.values() if _has(n.when_lost, EngineOut))

    @cached_property
    def reversers(self) -> int:
        """Number of thrust reversers of the sound aircraft."""
        return sum(_has(node.when_lost, ReverserLost) for node in self.nodes.values())

    def consumers(self, id_: str) -> tuple[str, ...]:
        """Every node that draws on this one, directly or through others."""
        reached = {id_}
        for node in self.nodes.values():
            if reached.intersection(node.inputs):
                reached.add(node.id)
        return tuple(node for node in self.nodes if node in reached and node != id_)


def _has(effects: tuple[Effect, ...], *kinds: type[Effect]) -> bool:
    return any(isinstance(effect, kinds) for effect in effects)
