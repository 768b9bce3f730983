"""What is left of an aircraft after failures: the answer of this room, as values.

Every entry carries `because`: the shortest path from a reported failure to what it took away,
failure first. Fields only ever get worse with another failure (fewer functions, stricter limits).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from decision.profile.systems_effects import Drive, Extension, LimitName, Urgency, Weight
from decision.profile.systems_model import NodeKind
from decision.quantities import AntiSkid, DoorPosition, GearPosition, SlatPosition

GEAR_NOT_LOCKED: Final = "GEAR_NOT_LOCKED"


@dataclass(frozen=True, slots=True, kw_only=True)
class Failure:
    """A reported failure: an id of the catalogue and what the crew sees of it.

    `detent` and `position` say where flaps and slats stand; `rate_kg_per_h` (a leak) and
    `quantity_kg` (trapped fuel) may stay None, which means unknown, never zero.
    """

    id: str
    detent: str | None = None
    position: SlatPosition | None = None
    rate_kg_per_h: float | None = None
    quantity_kg: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LostFunction:
    """A node of the systems graph that is lost or degraded.

    `together_with`: the failures that took away its other sources, where it has more than one.
    """

    function: str
    title: str
    kind: NodeKind
    degraded: bool
    because: tuple[str, ...]
    together_with: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """The strictest value of a named limit and what set it; no `unit` for a ratio or a count."""

    name: LimitName
    value: float
    unit: str
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class GearCapability:
    """Where the gear is and what can still be done with it.

    `retractable`: whether the gear, down, can be brought up; `doors_after_extension` only matters
    while it can still be extended. A gear in transit or unsafe counts with its doors open.
    """

    position: GearPosition
    extension: Extension
    retractable: bool
    doors_after_extension: DoorPosition
    doors_now: DoorPosition
    because: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FlapCapability:
    """Where the flaps are, which detents they can reach (the present one included) and how.

    `drive` is NONE when they do not move, whatever the reason; `extend_only`: out, not in again.
    """

    position: str
    reachable: tuple[str, ...]
    drive: Drive
    jammed: bool
    extend_only: bool
    because: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SlatCapability:
    """Where the slats are and whether they can be moved; `extend_only`: out, but not in again."""

    position: SlatPosition
    movable: bool
    extend_only: bool
    drive: Drive
    because: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SystemCaution:
    """Something that the crew must be told; `also` are further failures that say the same."""

    code: str
    text: str
    weight: Weight
    because: tuple[str, ...]
    also: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class IrreversibleChange:
    """A step that is still open, and that cannot be undone once taken."""

    what: str
    step: str
    because: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Capability:
    """The degraded aircraft, before any question of performance.

    `thrust_ratio` is what all engines together still give, over what they gave when sound: a
    stopped engine of two halves it, a limited one takes its share. The rest of the words:
    `lost_approach_equipment` holds values of ApproachEquipment. `ground_spoilers` needs all of
    them; the fraction tells how much is left. `leak_kg_per_h` counts known rates only, and
    `leak_rate_unknown` says that there is more; the same for unusable fuel. `landing_hazards`
    make the landing itself unsafe whatever the runway. `natures`, `dispatch_lines`, `cabin_lines`:
    what the failures say of themselves, the most urgent one first, the same words once; a line of
    one failure does not know of the others.
    """

    lost: tuple[LostFunction, ...]
    gear: GearCapability
    flap: FlapCapability
    slats: SlatCapability
    engines_running: int
    engines_failed: tuple[str, ...]
    thrust_ratio: float
    pressurised: bool
    limits: tuple[Limit, ...]
    ground_spoilers: bool
    ground_spoiler_fraction: float
    reversers: int
    brakes_fraction: float
    anti_skid: AntiSkid
    nose_wheel_steering: bool
    blocks_runway: bool
    lost_approach_equipment: frozenset[str]
    anti_ice: bool
    leak_kg_per_h: float
    leak_rate_unknown: bool
    unusable_fuel_kg: float
    unusable_fuel_unknown: bool
    fuel_quantity_doubtful: bool
    drag_increment: float
    fuel_flow_scale: float
    urgency: Urgency
    checklist_min: float
    before_landing_min: float
    cautions: tuple[SystemCaution, ...]
    landing_hazards: tuple[SystemCaution, ...]
    irreversible: tuple[IrreversibleChange, ...]
    natures: tuple[str, ...]
    dispatch_lines: tuple[str, ...]
    cabin_lines: tuple[str, ...]

    @property
    def unproven_landing(self) -> tuple[SystemCaution, ...]:
        """Hazards with which no figure of an ordinary landing holds.

        All but a lock that is not confirmed: if it holds, the landing is an ordinary one.
        """
        return tuple(each for each in self.landing_hazards if each.code != GEAR_NOT_LOCKED)

    def limit(self, name: LimitName) -> Limit | None:
        """The limit of that name, or None if no failure sets it."""
        for limit in self.limits:
            if limit.name is name:
                return limit
        return None
