"""Faults in a report of failures: unknown words, missing detail, states that contradict each other.

Every fault is found, in the order of the request. What a failure does not take is left alone when
it is a fuel figure (a case states fuel once, for all of its failures), and is a fault when it is a
detent or a position, which only its own failure can mean.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain
from typing import Final

from decision.errors import Fault, meant
from decision.profile import Profile
from decision.profile.systems_effects import FlapsJammed
from decision.profile.systems_model import CatalogueEntry
from decision.quantities import GearPosition, SlatPosition
from decision.systems.capability import Failure

# [ASSUMED] above any leak or tank; a larger figure is a wrong unit.
MAX_RATE_KG_PER_H: Final = 50_000.0
MAX_QUANTITY_KG: Final = 300_000.0
POSITIONS: Final = ", ".join(SlatPosition)
Numbered = tuple[int, Failure, CatalogueEntry]


def check_failures(
    profile: Profile,
    failures: Sequence[Failure],
    *,
    gear: GearPosition,
    flap: str,
    slats: SlatPosition | None,
) -> tuple[Fault, ...]:
    """Everything wrong with these reports on an aircraft in this state; empty if nothing is.

    Pointers lie in the request: `/failures/<index>/...` and `/aircraft/gear|flap|slats`. The same
    report twice is no fault.
    """
    ids = [detent.id for detent in profile.detents]
    catalogue = profile.systems.catalogue
    known = [(i, f, catalogue[f.id]) for i, f in enumerate(failures) if f.id in catalogue]
    found = [
        _unknown(failures, catalogue),
        *(_details(item, ids) for item in known),
        _repeated(failures),
        _gear(known, gear),
    ]
    if flap in ids:
        found.append(_flaps(known, ids, flap))
    else:
        found.append(iter([_unknown_detent("/aircraft/flap", flap, ids)]))
    found.append(_slats(known, slats))
    return tuple(chain.from_iterable(found))


def _unknown(failures: Iterable[Failure], catalogue: Iterable[str]) -> Iterator[Fault]:
    known = set(catalogue)
    for i, failure in enumerate(failures):
        if failure.id not in known:
            yield Fault(
                pointer=f"/failures/{i}/id",
                code="unknown_failure",
                message=f"the profile has no failure {failure.id!r}{meant(failure.id, known)}",
                accepted=", ".join(sorted(known)),
            )


def _details(item: Numbered, ids: Sequence[str]) -> Iterator[Fault]:
    """What one report must, may and must not say."""
    i, failure, entry = item
    at = f"/failures/{i}"
    yield from _detent(f"{at}/detent", failure, entry, ids)
    yield from _position(f"{at}/position", failure, entry)
    if entry.takes_rate:
        yield from _amount(f"{at}/rate_kg_per_h", failure.rate_kg_per_h, MAX_RATE_KG_PER_H, "kg/h")
    if entry.takes_quantity:
        yield from _amount(f"{at}/quantity_kg", failure.quantity_kg, MAX_QUANTITY_KG, "kg")
    elif failure.quantity_kg is not None:
        yield _not_taken(f"{at}/quantity_kg", failure, "quantity")


def _detent(
    pointer: str, failure: Failure, entry: CatalogueEntry, ids: Sequence[str]
) -> Iterator[Fault]:
    if failure.detent is None:
        if entry.needs_detent:
            yield Fault(
                pointer=pointer,
                code="missing_detent",
                message=f"failure {failure.id!r} needs the flap detent",
                accepted=", ".join(ids),
            )
    elif not entry.needs_detent:
        yield _not_taken(pointer, failure, "detent")
    elif failure.detent not in ids:
        yield _unknown_detent(pointer, failure.detent, ids)


def _position(pointer: str, failure: Failure, entry: CatalogueEntry) -> Iterator[Fault]:
    if failure.position is None and entry.needs_position:
        yield Fault(
            pointer=pointer,
            code="missing_position",
            message=f"failure {failure.id!r} needs the position of the slats",
            accepted=POSITIONS,
        )
    elif failure.position is not None and not entry.needs_position:
        yield _not_taken(pointer, failure, "position")


def _amount(pointer: str, value: float | None, high: float, unit: str) -> Iterator[Fault]:
    if value is not None and not (math.isfinite(value) and 0.0 < value <= high):
        yield Fault(
            pointer=pointer,
            code="range",
            message=f"is {value:g} {unit}",
            accepted=f"above 0 to {high:g} {unit}; absent if unknown",
        )


def _not_taken(pointer: str, failure: Failure, what: str) -> Fault:
    return Fault(
        pointer=pointer,
        code=f"unexpected_{what}",
        message=f"failure {failure.id!r} has no {what}",
        accepted="absent",
    )


def _unknown_detent(pointer: str, detent: str, ids: Sequence[str]) -> Fault:
    return Fault(
        pointer=pointer,
        code="unknown_detent",
        message=f"the profile has no flap detent {detent!r}",
        accepted=", ".join(ids),
    )


def _repeated(failures: Sequence[Failure]) -> Iterator[Fault]:
    first: dict[str, Failure] = {}
    for i, failure in enumerate(failures):
        if first.setdefault(failure.id, failure) != failure:
            yield Fault(
                pointer=f"/failures/{i}",
                code="contradiction",
                message=f"failure {failure.id!r} is reported twice, differently",
                accepted="one report of it",
            )


def _gear(known: Iterable[Numbered], gear: GearPosition) -> Iterator[Fault]:
    for _, failure, entry in known:
        if gear not in entry.gear:
            yield Fault(
                pointer="/aircraft/gear",
                code="contradiction",
                message=f"gear {gear} contradicts failure {failure.id!r}",
                accepted=", ".join(entry.gear),
            )


def _flaps(known: Iterable[Numbered], ids: Sequence[str], flap: str) -> Iterator[Fault]:
    """The lever may stand short of a jam, never beyond it; two jams must agree."""
    jams = [
        (i, failure.detent)
        for i, failure, entry in known
        if any(isinstance(effect, FlapsJammed) for effect in entry.effects)
        and failure.detent in ids
    ]
    for i, detent in jams:
        if detent != jams[0][1]:
            yield Fault(
                pointer=f"/failures/{i}/detent",
                code="contradiction",
                message=f"flaps cannot be jammed at {jams[0][1]} and at {detent}",
                accepted=str(jams[0][1]),
            )
        if ids.index(flap) > ids.index(str(detent)):
            yield Fault(
                pointer="/aircraft/flap",
                code="contradiction",
                message=f"flap {flap} is beyond {detent}, where the flaps are jammed",
                accepted=", ".join(ids[: ids.index(str(detent)) + 1]),
            )


def _slats(known: Iterable[Numbered], slats: SlatPosition | None) -> Iterator[Fault]:
    for _, failure, entry in known:
        jammed = entry.needs_position and failure.position is not None
        if jammed and slats is not None and slats is not failure.position:
            yield Fault(
                pointer="/aircraft/slats",
                code="contradiction",
                message=f"slats {slats} contradict failure {failure.id!r}, {failure.position}",
                accepted=str(failure.position),
            )
