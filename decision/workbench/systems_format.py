"""The part of the page of profiles that describes a systems file, from what reads it."""

from __future__ import annotations

import inspect
from collections.abc import Iterator, Mapping
from dataclasses import fields
from enum import StrEnum
from types import MappingProxyType
from typing import Final, get_type_hints

from decision.profile.systems_checks import OF_FAILURES, OF_NODES
from decision.profile.systems_checks import RULES as CROSS_CHECKS
from decision.profile.systems_effects import (
    EFFECTS,
    LIMITS,
    MAX_CHECKLIST_MIN,
    MAX_DRAG_INCREMENT,
    WHOLE,
    Effect,
    LimitName,
)
from decision.profile.systems_model import FailureGroup, NodeKind
from decision.quantities import GearPosition

INTRODUCTION: Final = """## The systems file

`ID.systems.toml`, beside the profile, says what feeds what, what can fail, and what follows. It has
rows of two kinds.

A **node** is a part, a supply or a function. It works while its `needs` are met: all of some nodes,
any of them, or at least k of them. When they are not, a `backup` may hold it up: then it is
*degraded*, otherwise *lost*. A node whose need is met only by degraded inputs is degraded too. Each
state has its effects: a lost node has those of `when_lost`, a degraded one those of
`when_degraded`, never both. A lost node must leave no more than a degraded one.

A **failure** is what a crew can report. It takes nodes away (`lose`) and may have effects of its
own. The rest follows through the graph, and an answer gives the path: `hydraulic-1 >
gear-normal-extension > gear-extension`.

```
[[node]]
id = "flap-drive"
kind = "function"
title = "Flap drive"
needs = { all_of = ["hydraulic-2"] }
backup = { all_of = ["flap-electric-motor"] }
when_degraded = [{ kind = "flap-drive", drive = "slow" }]
when_lost = [{ kind = "flap-drive", drive = "none" }]
source = "ASSUMED"

[[failure]]
id = "hydraulic-2"
group = "hydraulics"
ata = "29"
title = "Hydraulic supply 2 lost"
effects = [{ kind = "lose", node = "hydraulic-2" }, { kind = "checklist", minutes = 5 }]
source = "ASSUMED"
nature = "hydraulic failure"
dispatch = "A longer runway; brake cooling. Maintenance for hydraulic supply 2."
cabin = "Hydraulic failure. The approach takes longer, since flaps move slowly."
```

How to begin: draw the supplies (engines, generators, buses, hydraulics, bleed), then each function
that has an effect on a diversion or a landing, then what backs it up. Leave out what has no effect:
the check refuses a node that leads nowhere. Ids are small letters, digits and hyphens. Engines are
the nodes that have the effect `engine-out`; there must be as many as `engine.count` says."""

NODE_KEYS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "id": "Name in this file and in answers.",
        "kind": f"What it is to a reader: {', '.join(kind.value for kind in NodeKind)}.",
        "title": "Words for it.",
        "needs": "Optional. `{ all_of = [..] }`, `{ any_of = [..] }` or `{ k = 2, k_of = [..] }`.",
        "backup": "Optional. The same; holds the node up, degraded, when its needs are not met.",
        "when_lost": "Optional. Effects while it is lost.",
        "when_degraded": "Optional. Effects while it is degraded.",
        "source": "Key of the bibliography, for the row and each effect that names none.",
        "note": "Optional. Why it is so.",
    }
)
FAILURE_KEYS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "id": "Name that a request uses.",
        "group": f"Heading: {', '.join(group.value for group in FailureGroup)}.",
        "ata": "Chapter, two digits.",
        "title": "Words for it.",
        "gear": "Optional. Gear positions in which it can occur: "
        f"{', '.join(position.value for position in GearPosition)}; all of them if it names none.",
        "effects": "What it does by itself; at least one.",
        "source": "Key of the bibliography, for the row and each effect that names none.",
        "note": "Optional. Why it is so.",
        "nature": "What air traffic control hears first, in words that fit after a call sign.",
        "dispatch": "What is to be prepared for the landing and after it; whole sentences.",
        "cabin": "What the cabin crew must know and prepare; whole sentences.",
    }
)
# What a key of an effect may be, where its type alone does not say.
ACCEPTED: Final[Mapping[str, str]] = MappingProxyType(
    {
        "node": "id of a node",
        "engine": "id of an engine",
        "ratio": f"0 to {WHOLE:g}",
        "share": f"0 to {WHOLE:g}",
        "increment": f"0 to {MAX_DRAG_INCREMENT:g}",
        "minutes": f"0 to {MAX_CHECKLIST_MIN:g} min",
        "before_landing_min": "0 to `minutes`; default 0",
        "name": "a limit, below",
        "value": "in the range of the limit",
        "code": "capitals, digits, underscores; one text each",
        "text": "text",
        "what": "text",
        "step": "text, as one says it to a crew",
    }
)


def systems_section() -> Iterator[str]:
    """The section, line by line."""
    yield INTRODUCTION
    yield from _keys("[[node]]", NODE_KEYS)
    yield from _keys("[[failure]]", FAILURE_KEYS)
    yield from _effects()
    yield from _limits()
    yield from _cross_checks()


def _keys(name: str, keys: Mapping[str, str]) -> Iterator[str]:
    yield f"\n### `{name}`\n\n| key | meaning |\n| --- | --- |"
    yield from (f"| `{key}` | {meaning} |" for key, meaning in keys.items())


def _effects() -> Iterator[str]:
    yield "\n### Effects\n"
    yield "A closed set: each has a meaning that rules and performance know. Any may have a source."
    yield ""
    yield "| kind | stands in | further keys | meaning |\n| --- | --- | --- | --- |"
    for kind, effect in EFFECTS.items():
        yield f"| `{kind}` | {_place(effect)} | {_further(effect)} | {_meaning(effect)} |"


def _place(effect: type[Effect]) -> str:
    if effect in OF_NODES:
        return "node"
    return "failure" if effect in OF_FAILURES else "either"


def _further(effect: type[Effect]) -> str:
    hints = get_type_hints(effect)
    names = [field.name for field in fields(effect) if field.name != "source"]
    return "; ".join(f"`{name}`: {_accepted(name, hints[name])}" for name in names)


def _accepted(name: str, kind: type[object]) -> str:
    if issubclass(kind, StrEnum) and kind is not LimitName:
        return ", ".join(member.value for member in kind)
    return ACCEPTED[name]


def _meaning(effect: type[Effect]) -> str:
    """First paragraph of the effect's own description, without what it raises."""
    words = " ".join((inspect.getdoc(effect) or "").partition("\n\n")[0].split())
    return words.partition(" Raises")[0]


def _limits() -> Iterator[str]:
    yield "\n### Limits\n\nOf two values of one limit the stricter holds."
    yield "\n| name | unit | accepted | meaning |\n| --- | --- | --- | --- |"
    for name, spec in LIMITS.items():
        yield f"| `{name}` | {spec.unit} | {spec.low:g} to {spec.high:g} | {spec.words} |"


def _cross_checks() -> Iterator[str]:
    yield "\n### What is checked between the rows\n"
    yield "Once each row is right by itself:\n"
    for rule in CROSS_CHECKS:
        words = " ".join((inspect.getdoc(rule) or "").split())
        yield f"- {words}"
