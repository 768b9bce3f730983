"""What must hold between the rows of a systems file, once each row is right by itself.

A check yields (key, problem) pairs. Together they keep a profile from saying less than it seems
to: a function that no failure can touch, a share that adds to more than the whole, an effect in a
place where it would never be read.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from enum import StrEnum
from itertools import chain
from types import MappingProxyType
from typing import Final

from decision.profile.systems_effects import (
    WHOLE,
    Advice,
    AntiSkidReduced,
    BrakesLost,
    ChecklistTime,
    DragIncrement,
    Effect,
    EngineOut,
    FlapDrive,
    FlapsJammed,
    FlapsLimited,
    FuelFlowIncrement,
    FuelLeak,
    FuelUnusable,
    GearExtension,
    LandBy,
    LandingHazard,
    LimitTo,
    Lose,
    OneWay,
    ReverserLost,
    SlatDrive,
    SlatsJammed,
    SpoilersLost,
    ThrustLimited,
)
from decision.profile.systems_model import Node, NodeKind, SystemsData

Problems = Iterator[tuple[str, str]]

# Counted per piece of equipment, so that two failures of the same one count once.
OF_NODES: Final = (EngineOut, ReverserLost, BrakesLost, SpoilersLost)
# Complete only with what the report of a failure says.
OF_FAILURES: Final = (
    Lose,
    FlapsJammed,
    FlapsLimited,
    SlatsJammed,
    FuelLeak,
    FuelUnusable,
    ThrustLimited,
)
SHARE_TOLERANCE: Final = 1e-9  # rounding of decimal shares, nothing else

# How much worse an effect is than another of its kind: amounts add, words have an order.
AMOUNT: Final[Mapping[type[Effect], str]] = MappingProxyType(
    {
        BrakesLost: "share",
        SpoilersLost: "share",
        DragIncrement: "increment",
        FuelFlowIncrement: "share",
        ChecklistTime: "minutes",
    }
)
GRADE: Final[Mapping[type[Effect], str]] = MappingProxyType(
    {
        GearExtension: "extension",
        FlapDrive: "drive",
        SlatDrive: "drive",
        AntiSkidReduced: "level",
        LandBy: "urgency",
    }
)
# What is lost has nothing left to use up, and is spoken of in other words than what is degraded.
OF_ITS_STATE: Final = (Advice, OneWay)


def check(systems: SystemsData) -> Problems:
    """Everything that the rows contradict each other in."""
    return chain.from_iterable(rule(systems) for rule in RULES)


def _known_nodes(systems: SystemsData) -> Problems:
    """A failure takes away only nodes that exist."""
    for entry in systems.catalogue.values():
        for node in sorted(set(entry.loses) - set(systems.nodes)):
            yield f"failure.{entry.id}.effects", f"loses unknown node {node!r}"


def _known_engines(systems: SystemsData) -> Problems:
    """A failure limits only engines that exist."""
    for entry in systems.catalogue.values():
        for effect in entry.effects:
            if isinstance(effect, ThrustLimited) and effect.engine not in systems.engines:
                yield f"failure.{entry.id}.effects", f"limits unknown engine {effect.engine!r}"


def _effects_in_their_place(systems: SystemsData) -> Problems:
    """Effects of a piece of equipment stand in nodes, those that need a report in failures."""
    for node in systems.nodes.values():
        for effect in (*node.when_lost, *node.when_degraded):
            if isinstance(effect, OF_FAILURES):
                yield f"node.{node.id}", f"effect {effect.kind!r} belongs to a failure"
    for entry in systems.catalogue.values():
        for effect in entry.effects:
            if isinstance(effect, OF_NODES):
                yield f"failure.{entry.id}", f"effect {effect.kind!r} belongs to a node"


def _every_failure_does_something(systems: SystemsData) -> Problems:
    """A failure has at least one effect."""
    for entry in systems.catalogue.values():
        if not entry.effects:
            yield f"failure.{entry.id}.effects", "is empty"


def _reachable(systems: SystemsData) -> Problems:
    """Every function can be touched by a failure, and every node leads to an effect.

    A source that nothing can touch is allowed: it is a means that always works.
    """
    touched = {node for entry in systems.catalogue.values() for node in entry.loses}
    drawn_on = {node for item in systems.nodes.values() for node in item.inputs}
    for node in systems.nodes.values():
        if touched.intersection(node.inputs):
            touched.add(node.id)
        if node.kind is NodeKind.FUNCTION and node.id not in touched:
            yield f"node.{node.id}", "unreachable: no failure of the catalogue can touch it"
        if node.id not in drawn_on and not node.when_lost:
            yield f"node.{node.id}", "leads nowhere: nothing draws on it and it has no effect"


def _degraded_can_happen(systems: SystemsData) -> Problems:
    """Effects of a degraded state need a backup, at the node or at one of its inputs."""
    degradable: set[str] = set()
    for node in systems.nodes.values():
        if node.backup or degradable.intersection(node.inputs):
            degradable.add(node.id)
        elif node.when_degraded:
            yield f"node.{node.id}.when_degraded", "can never happen: nothing backs it up"
        if node.backup and not node.need:
            yield f"node.{node.id}.backup", "backs up nothing: the node has no needs"


def _lost_is_no_better(systems: SystemsData) -> Problems:
    """A lost node leaves no more than a degraded one: a further failure must never help."""
    for node in systems.nodes.values():
        for effect in node.when_degraded:
            if type(effect) not in OF_ITS_STATE and not _still_holds(effect, node):
                words = f"{effect.kind!r} ({effect.words})"
                yield f"node.{node.id}.when_lost", f"is better than degraded: lacks {words}"


def _still_holds(effect: Effect, node: Node) -> bool:
    """Whether an effect of the degraded node, or a worse one, is among those of the lost one."""
    kind = type(effect)
    lost = [each for each in node.when_lost if type(each) is kind]
    if kind in AMOUNT:
        whole = _total(node.when_degraded, kind) - SHARE_TOLERANCE
        return _total(node.when_lost, kind) >= whole
    if kind in GRADE:
        return any(_grade(each) >= _grade(effect) for each in lost)
    if isinstance(effect, LimitTo):
        return any(isinstance(each, LimitTo) and _as_strict(each, effect) for each in lost)
    if isinstance(effect, LandingHazard):
        return effect.code in {each.code for each in lost if isinstance(each, LandingHazard)}
    return replace(effect, source="") in [replace(each, source="") for each in lost]


def _total(effects: tuple[Effect, ...], kind: type[Effect]) -> float:
    amounts: list[float] = [getattr(e, AMOUNT[kind]) for e in effects if type(e) is kind]
    return sum(amounts)


def _grade(effect: Effect) -> int:
    """Place of an effect's word among its kind, from good to bad."""
    word: StrEnum = getattr(effect, GRADE[type(effect)])
    return list(type(word)).index(word)


def _as_strict(limit: LimitTo, than: LimitTo) -> bool:
    return limit.name is than.name and limit.spec.strictest(limit.value, than.value) == limit.value


def _shares(systems: SystemsData) -> Problems:
    """Shares of brakes and of spoilers add to no more than the whole."""
    for kind in (BrakesLost, SpoilersLost):
        total = sum(
            max(_total(node.when_lost, kind), _total(node.when_degraded, kind))
            for node in systems.nodes.values()
        )
        if total > WHOLE + SHARE_TOLERANCE:
            yield f"node.*.{kind.kind}", f"shares add to {total:g}; must be 0 to 1"


def _codes(systems: SystemsData) -> Problems:
    """A caution code has one text: a reader may look it up."""
    texts: dict[str, str] = {}
    nodes = ((f"node.{n.id}", (*n.when_lost, *n.when_degraded)) for n in systems.nodes.values())
    entries = ((f"failure.{e.id}", e.effects) for e in systems.catalogue.values())
    for key, effects in chain(nodes, entries):
        for effect in effects:
            if isinstance(effect, Advice) and texts.setdefault(effect.code, effect.text) != (
                effect.text
            ):
                yield key, f"code {effect.code} already has another text"


RULES: Final[tuple[Callable[[SystemsData], Problems], ...]] = (
    _known_nodes,
    _known_engines,
    _effects_in_their_place,
    _every_failure_does_something,
    _reachable,
    _degraded_can_happen,
    _lost_is_no_better,
    _shares,
    _codes,
)
