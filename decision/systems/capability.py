"""What is left of an aircraft after failures: the answer of this room, as values.

Every entry carries `because`: the shortest path from a reported failure to what it took away,
failure first. Fields only ever get worse with another failure (fewer functions, stricter limits).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final

from msgspec import Struct

from decision.fields import about, sized
from decision.profile.systems_effects import Drive, Extension, LimitName, Urgency, Weight
from decision.profile.systems_model import NodeKind
from decision.quantities import FLAP, AntiSkid, DoorPosition, GearPosition, SlatPosition

FAILURE_ID: Final = sized("a failure id", shortest=1, longest=60, pattern="[a-z0-9][a-z0-9-]*")
GEAR_NOT_LOCKED: Final = "GEAR_NOT_LOCKED"


TRAPPED_KG = Annotated[float, about("trapped fuel", low=0, high=100_000, unit="kg")]


class Failure(Struct, frozen=True, kw_only=True, gc=False):
    """A reported failure: an id of the catalogue and what the crew sees of it.

    `rate_kg_per_h` (a leak, reported with the fuel) and `quantity_kg` may stay None, which means
    unknown, never zero.
    """

    id: Annotated[str, FAILURE_ID, about("Id of the profile's failure catalogue.")]
    detent: Annotated[FLAP | None, about("Where the flaps are jammed.")] = None
    position: Annotated[SlatPosition | None, about("Where the slats are jammed.")] = None
    quantity_kg: Annotated[
        TRAPPED_KG | None,
        about("Fuel that is trapped and cannot be used; absent where there is some: unknown."),
    ] = None
    rate_kg_per_h: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LostFunction:
    """A node of the systems graph that is lost or degraded.

    `together_with`: the failures that took away its other sources, where it has more than one.
    """

    function: Annotated[str, about("Its id in the profile.")]
    title: Annotated[str, about("Its name for people.")]
    kind: Annotated[NodeKind, about("What it is to a reader.")]
    degraded: Annotated[bool, about("Still there in a lesser way.")]
    because: Annotated[tuple[str, ...], about("Path from the failure, failure first.")]
    together_with: Annotated[tuple[str, ...], about("Failures that took away its other sources.")]


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """The strictest value of a named limit and what set it; no `unit` for a ratio or a count."""

    name: Annotated[LimitName, about("Which limit; its unit ends the name.")]
    value: Annotated[float, about("Its value, in `unit`.")]
    unit: Annotated[str, about("Unit; empty for a ratio or a count.")]
    because: Annotated[str, about("The failure that sets it.")]


@dataclass(frozen=True, slots=True, kw_only=True)
class GearCapability:
    """Where the gear is and what can still be done with it.

    `retractable`: whether the gear, down, can be brought up; `doors_after_extension` only matters
    while it can still be extended. A gear in transit or unsafe counts with its doors open.
    """

    position: Annotated[GearPosition, about("Where it is.")]
    extension: Annotated[Extension, about("How it can still be extended.")]
    retractable: Annotated[bool, about("Whether, when down, it can be brought up.")]
    doors_after_extension: Annotated[DoorPosition, about("Its doors once it is out.")]
    doors_now: Annotated[DoorPosition, about("Its doors as they are.")]
    because: Annotated[tuple[str, ...], about("Path from the failure, failure first.")]


@dataclass(frozen=True, slots=True, kw_only=True)
class FlapCapability:
    """Where the flaps are, which detents they can reach (the present one included) and how.

    `drive` is NONE when they do not move, whatever the reason; `extend_only`: out, not in again.
    """

    position: Annotated[str, about("Detent where they are.")]
    reachable: Annotated[tuple[str, ...], about("Detents they can reach.")]
    drive: Annotated[Drive, about("How fast they still move.")]
    jammed: Annotated[bool, about("Whether they are stuck.")]
    extend_only: Annotated[bool, about("Out, but not in again.")]
    because: Annotated[tuple[str, ...], about("Path from the failure, failure first.")]


@dataclass(frozen=True, slots=True, kw_only=True)
class SlatCapability:
    """Where the slats are and whether they can be moved; `extend_only`: out, but not in again."""

    position: Annotated[SlatPosition, about("Where they are.")]
    movable: Annotated[bool, about("Whether they still move.")]
    extend_only: Annotated[bool, about("Out, but not in again.")]
    drive: Annotated[Drive, about("How fast they still move.")]
    because: Annotated[tuple[str, ...], about("Path from the failure, failure first.")]


@dataclass(frozen=True, slots=True, kw_only=True)
class SystemCaution:
    """Something that the crew must be told; `also` are further failures that say the same."""

    code: Annotated[str, about("Kind of the caution.")]
    text: Annotated[str, about("Whole sentences.")]
    weight: Annotated[Weight, about("How much it weighs.")]
    because: Annotated[tuple[str, ...], about("Path from its cause, cause first.")]
    also: Annotated[tuple[str, ...], about("Further failures that say the same.")] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class IrreversibleChange:
    """A step that is still open, and that cannot be undone once taken."""

    what: Annotated[str, about("What it is of.")]
    step: Annotated[str, about("The step, as one says it to a crew.")]
    because: Annotated[tuple[str, ...], about("Path from the failure, failure first.")]


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

    lost: Annotated[tuple[LostFunction, ...], about("What is lost or degraded.")]
    gear: Annotated[GearCapability, about("The landing gear.")]
    flap: Annotated[FlapCapability, about("The flaps.")]
    slats: Annotated[SlatCapability, about("The slats.")]
    engines_running: Annotated[int, about("Engines that run.")]
    engines_failed: Annotated[tuple[str, ...], about("Ids of those that do not.")]
    thrust_ratio: Annotated[
        float, about("Thrust that is left, of what a sound aircraft has, 0 to 1.")
    ]
    pressurised: Annotated[bool, about("Whether the cabin is.")]
    limits: Annotated[tuple[Limit, ...], about("Limits that failures set.")]
    ground_spoilers: Annotated[bool, about("Whether all of them work.")]
    ground_spoiler_fraction: Annotated[float, about("Share of them that works, 0 to 1.")]
    reversers: Annotated[int, about("Reversers that work.")]
    brakes_fraction: Annotated[float, about("Share of the wheel brakes that works, 0 to 1.")]
    anti_skid: Annotated[AntiSkid, about("How the brakes are modulated.")]
    nose_wheel_steering: Annotated[bool, about("Whether it works.")]
    blocks_runway: Annotated[bool, about("Whether it may stay on the runway after landing.")]
    lost_approach_equipment: Annotated[
        frozenset[str], about("Equipment that approaches may need and that is lost.")
    ]
    anti_ice: Annotated[bool, about("Whether it works.")]
    leak_kg_per_h: Annotated[float, about("Fuel lost, as far as its rate is known.", unit="kg/h")]
    leak_rate_unknown: Annotated[bool, about("More is lost than is known.")]
    unusable_fuel_kg: Annotated[
        float, about("Fuel that cannot be used, as far as known.", unit="kg")
    ]
    unusable_fuel_unknown: Annotated[bool, about("More cannot be used than is known.")]
    fuel_quantity_doubtful: Annotated[bool, about("Whether the gauges can be relied on no more.")]
    drag_increment: Annotated[float, about("Added to the drag coefficient.")]
    fuel_flow_scale: Annotated[float, about("Fuel flow beside that of a sound aircraft.")]
    urgency: Annotated[Urgency, about("How soon the failures want it on the ground.")]
    checklist_min: Annotated[float, about("Time that checklists take.", unit="min")]
    before_landing_min: Annotated[
        float, about("The part of it that delays a touchdown.", unit="min")
    ]
    cautions: Annotated[tuple[SystemCaution, ...], about("What the crew must be told.")]
    landing_hazards: Annotated[
        tuple[SystemCaution, ...], about("What makes the landing itself unsafe on any runway.")
    ]
    irreversible: Annotated[tuple[IrreversibleChange, ...], about("Steps that cannot be undone.")]
    natures: Annotated[tuple[str, ...], about("What air traffic control hears first.")]
    dispatch_lines: Annotated[
        tuple[str, ...], about("What is to be prepared for the landing and after it.")
    ]
    cabin_lines: Annotated[tuple[str, ...], about("What the cabin crew must know.")]

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
