"""From reported failures to what is left of the aircraft.

Each field of the capability is one reduction of the effects in force: a worst word, a strictest
value, a correctly rounded sum. All of them are free of order, so the answer is too.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import reduce
from math import fsum
from typing import Final

from decision.errors import InvalidCase
from decision.profile import Profile
from decision.profile.systems_effects import (
    LIMITS,
    WHOLE,
    Advice,
    AntiIceLost,
    AntiSkidReduced,
    BlocksRunway,
    BrakesLost,
    ChecklistTime,
    DragIncrement,
    EngineOut,
    EquipmentLost,
    Extension,
    FuelFlowIncrement,
    FuelLeak,
    FuelQuantityDoubtful,
    FuelUnusable,
    GearExtension,
    GearUnconfirmed,
    LandBy,
    LandingHazard,
    LimitName,
    LimitTo,
    PressurisationLost,
    ReverserLost,
    SpoilersLost,
    SteeringLost,
    ThrustLimited,
    Urgency,
    Weight,
)
from decision.profile.systems_model import Node, NodeKind, SystemsData
from decision.quantities import AntiSkid, DoorPosition, GearPosition, SlatPosition
from decision.systems.capability import (
    GEAR_NOT_LOCKED,
    Capability,
    Failure,
    GearCapability,
    Limit,
    LostFunction,
    SystemCaution,
)
from decision.systems.check import check_failures
from decision.systems.found import PATH_ARROW, Found, InForce, find, nearest
from decision.systems.graph import Fallen, NodeState
from decision.systems.gravity import URGENCIES, WEIGHTS, gravest_first
from decision.systems.movable import (
    flap_capability,
    gear_capability,
    irreversible_changes,
    slat_capability,
)

ANTI_SKID_LEVELS: Final = tuple(AntiSkid)  # from good to bad
KINDS: Final = (NodeKind.FUNCTION, NodeKind.SUPPLY, NodeKind.SOURCE)


def assess(
    profile: Profile,
    failures: Sequence[Failure],
    *,
    gear: GearPosition,
    flap: str,
    slats: SlatPosition | None,
) -> Capability:
    """What remains with these failures, and why.

    `flap` is a detent of the profile; `slats` None means where the flap lever takes them. Raises:
    InvalidCase with the faults that `check_failures` finds.
    """
    faults = check_failures(profile, failures, gear=gear, flap=flap, slats=slats)
    if faults:
        raise InvalidCase(faults)
    systems = profile.systems
    found = find(systems, failures)
    gear_left = gear_capability(found, reported=gear)
    flap_left = flap_capability(found, profile, reported=flap)
    slats_left = slat_capability(found, profile, reported=slats, flap=flap_left.position)
    told = gravest_first(systems, found, {failure.id for failure in failures})
    stopped = tuple(sorted(item.because[-1] for item in found.of(EngineOut)))
    leaks, trapped = found.reports(FuelLeak), found.reports(FuelUnusable)
    return Capability(
        lost=_lost(systems, found),
        gear=gear_left,
        flap=flap_left,
        slats=slats_left,
        engines_running=profile.engine.count - len(stopped),
        engines_failed=stopped,
        thrust_ratio=_thrust_ratio(systems, found, stopped),
        pressurised=not found.has(PressurisationLost),
        limits=_limits(found),
        ground_spoilers=not found.has(SpoilersLost),
        ground_spoiler_fraction=WHOLE - fsum(i.effect.share for i in found.of(SpoilersLost)),
        reversers=systems.reversers - len(found.of(ReverserLost)),
        brakes_fraction=WHOLE - fsum(i.effect.share for i in found.of(BrakesLost)),
        anti_skid=_anti_skid(profile, found),
        nose_wheel_steering=not found.has(SteeringLost),
        blocks_runway=found.has(BlocksRunway),
        lost_approach_equipment=frozenset(i.effect.equipment for i in found.of(EquipmentLost)),
        anti_ice=not found.has(AntiIceLost),
        leak_kg_per_h=fsum(r.rate_kg_per_h for r in leaks if r.rate_kg_per_h is not None),
        leak_rate_unknown=any(r.rate_kg_per_h is None for r in leaks),
        unusable_fuel_kg=fsum(r.quantity_kg for r in trapped if r.quantity_kg is not None),
        unusable_fuel_unknown=any(r.quantity_kg is None for r in trapped),
        fuel_quantity_doubtful=found.has(FuelQuantityDoubtful),
        drag_increment=fsum(i.effect.increment for i in found.of(DragIncrement)),
        fuel_flow_scale=WHOLE + fsum(i.effect.share for i in found.of(FuelFlowIncrement)),
        urgency=max(
            (i.effect.urgency for i in found.of(LandBy)), key=URGENCIES.index, default=Urgency.NONE
        ),
        checklist_min=fsum(i.effect.minutes for i in found.of(ChecklistTime)),
        before_landing_min=fsum(i.effect.before_landing_min for i in found.of(ChecklistTime)),
        cautions=_by_weight((*_advice(found.of(Advice)), *_gear_cautions(gear_left, gear))),
        landing_hazards=_by_weight(
            (*_advice(found.of(LandingHazard)), *_gear_hazards(found, gear_left))
        ),
        irreversible=irreversible_changes(found, gear_left, flap_left, slats_left),
        natures=tuple(dict.fromkeys(entry.nature for entry in told)),
        dispatch_lines=tuple(dict.fromkeys(entry.dispatch for entry in told)),
        cabin_lines=tuple(dict.fromkeys(entry.cabin for entry in told)),
    )


def _lost(systems: SystemsData, found: Found) -> tuple[LostFunction, ...]:
    """Functions before supplies before sources; each group in the order of the graph."""
    fallen = [_lost_function(systems.nodes[id_], fall) for id_, fall in found.fallen.items()]
    return tuple(sorted(fallen, key=lambda item: KINDS.index(item.kind)))


def _lost_function(node: Node, fall: Fallen) -> LostFunction:
    others = fall.causes - {fall.path[0]} if len(fall.causes) > 1 else ()
    return LostFunction(
        function=node.id,
        title=node.title,
        kind=node.kind,
        degraded=fall.state is NodeState.DEGRADED,
        because=fall.path,
        together_with=tuple(sorted(others)),
    )


def _thrust_ratio(systems: SystemsData, found: Found, stopped: Sequence[str]) -> float:
    limited = [(i.effect.engine, i.effect.ratio) for i in found.of(ThrustLimited)]
    each = (
        min((ratio for engine, ratio in limited if engine == id_), default=WHOLE)
        for id_ in systems.engines
        if id_ not in stopped
    )
    return fsum(each) / len(systems.engines)


def _limits(found: Found) -> tuple[Limit, ...]:
    items = found.of(LimitTo)
    groups = ((name, [i for i in items if i.effect.name is name]) for name in LimitName)
    return tuple(_strictest(name, group) for name, group in groups if group)


def _strictest(name: LimitName, items: Sequence[InForce[LimitTo]]) -> Limit:
    spec = LIMITS[name]
    value = reduce(spec.strictest, (item.effect.value for item in items))
    setters = (item for item in items if item.effect.value == value)
    return Limit(name=name, value=value, unit=spec.unit, because=PATH_ARROW.join(nearest(setters)))


def _anti_skid(profile: Profile, found: Found) -> AntiSkid:
    levels = [profile.tyres.anti_skid, *(i.effect.level for i in found.of(AntiSkidReduced))]
    return max(levels, key=ANTI_SKID_LEVELS.index)


def _advice(items: Iterable[InForce[Advice]]) -> Iterator[SystemCaution]:
    """One caution per code, with the nearest of its causes."""
    by_code: dict[str, list[InForce[Advice]]] = {}
    for item in items:
        by_code.setdefault(item.effect.code, []).append(item)
    for code, same in by_code.items():
        weight = max((item.effect.weight for item in same), key=WEIGHTS.index)
        because = nearest(same)
        yield SystemCaution(
            code=code,
            text=same[0].effect.text,
            weight=weight,
            because=because,
            also=tuple(sorted({item.because[0] for item in same} - {because[0]})),
        )


def _by_weight(cautions: Iterable[SystemCaution]) -> tuple[SystemCaution, ...]:
    """Heaviest first, then by code."""
    return tuple(sorted(cautions, key=lambda c: (-WEIGHTS.index(c.weight), c.code)))


def _gear_cautions(gear: GearCapability, reported: GearPosition) -> Iterator[SystemCaution]:
    """What follows from where the gear is, beyond what each failure says by itself."""
    assumed = reported is GearPosition.DOWN and gear.extension is not Extension.NORMAL
    if assumed and gear.doors_now is DoorPosition.OPEN:
        yield SystemCaution(
            code="GEAR_DOORS_TAKEN_AS_OPEN",
            text="The gear is down, by which system is not known: its doors are taken as open.",
            weight=Weight.INFO,
            because=gear.because,
        )


def _gear_hazards(found: Found, gear: GearCapability) -> Iterator[SystemCaution]:
    if gear.position in (GearPosition.IN_TRANSIT, GearPosition.UNSAFE):
        yield SystemCaution(
            code=GEAR_NOT_LOCKED,
            text="The gear is not confirmed locked: drag and limits are those of the gear down.",
            weight=Weight.WARNING,
            because=nearest(found.of(GearUnconfirmed)) or (f"gear {gear.position}",),
        )
    elif gear.position is GearPosition.UP and gear.extension is Extension.NONE:
        yield SystemCaution(
            code="GEAR_WILL_NOT_EXTEND",
            text="No means is left to extend the gear: landing with the gear up.",
            weight=Weight.WARNING,
            because=nearest(found.of(GearExtension)),
        )
