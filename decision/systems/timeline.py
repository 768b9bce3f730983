"""What must be done where on the way to the threshold, with the steps that cannot be undone.

Works backwards from the gate at which the aircraft must be configured, at one ground speed: a
slow drive and an alternate extension start earlier, and work that comes first pushes what follows.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from decision.errors import require_range
from decision.profile import Profile
from decision.profile.systems_effects import Drive, Extension
from decision.quantities import GearPosition
from decision.systems.capability import Capability
from decision.systems.found import Path
from decision.units import MIN_PER_H

CONFIGURED_GATE_NM: Final = 3.0  # [PRACTICE] about 1000 ft on a three-degree path
WING: Final = frozenset({"flaps", "slats"})  # moved by one lever
MAX_TRACK_NM: Final = 500.0  # [ASSUMED] an approach is not planned from further out
MIN_GROUNDSPEED_KT: Final = 60.0  # [ASSUMED] slower is no airliner
MAX_GROUNDSPEED_KT: Final = 400.0  # [ASSUMED] faster is no approach


@dataclass(frozen=True, slots=True, kw_only=True)
class TimelineStep:
    """One thing to do: where and when it starts, how long it takes, and whether it is for good.

    `late_nm` is how much further out it should have started; more than zero means that the
    aircraft is not ready at the gate unless it flies that much further. A `distance_to_go_nm`
    below zero means that the crew is not free for it before the threshold.
    """

    name: str
    distance_to_go_nm: float
    in_min: float
    duration_min: float
    one_way: bool
    late_nm: float
    because: Path


@dataclass(frozen=True, slots=True, kw_only=True)
class _Task:
    """A step before it is placed: where it should start (None: at once) and what it takes."""

    name: str
    start_nm: float | None
    duration_min: float
    one_way: bool
    because: Path


def timeline(
    profile: Profile,
    capability: Capability,
    *,
    track_nm: float,
    groundspeed_kt: float,
    gear_extension_nm: float | None = None,
    flap_extension_nm: float | None = None,
) -> tuple[TimelineStep, ...]:
    """The steps left from `track_nm` before the threshold, in order of the track.

    Checklists come first and hold up the rest; gear and flaps can then run side by side. The gear
    goes down at `gear_extension_nm`, if that is given, else where the profile has it; the flaps at
    `flap_extension_nm`, else so that they are out at the gate. Raises OutOfRange on a distance
    outside 3 to 500 NM, or a ground speed outside 60 to 400 kt.
    """
    require_range("track_nm", track_nm, low=CONFIGURED_GATE_NM, high=MAX_TRACK_NM)
    require_range("groundspeed_kt", groundspeed_kt, low=MIN_GROUNDSPEED_KT, high=MAX_GROUNDSPEED_KT)
    nm_per_min = groundspeed_kt / MIN_PER_H
    ready_nm = track_nm - capability.checklist_min * nm_per_min
    gear = _gear(profile, capability, nm_per_min, planned_nm=gear_extension_nm)
    flaps = _flaps(profile, capability, nm_per_min, planned_nm=flap_extension_nm)
    tasks = (*gear, *flaps)
    moved = (_place(task, track_nm, ready_nm, nm_per_min) for task in tasks)
    checklists = (_place(task, track_nm, track_nm, nm_per_min) for task in _checklists(capability))
    steps = (*checklists, *moved)
    return tuple(sorted(steps, key=lambda step: (-step.distance_to_go_nm, step.name)))


def wing_changes_for_good(capability: Capability) -> bool:
    """Whether flaps, or the slats that go with their lever, do not come in again once out."""
    return any(change.what in WING for change in capability.irreversible)


def flaps_start_nm(profile: Profile, capability: Capability, *, groundspeed_kt: float) -> float:
    """Distance to go at which the flaps start, to be out at the gate; 0 if they do not move."""
    tasks = _flaps(profile, capability, groundspeed_kt / MIN_PER_H, planned_nm=None)
    return max((task.start_nm for task in tasks if task.start_nm is not None), default=0.0)


def _checklists(capability: Capability) -> Iterator[_Task]:
    if capability.checklist_min > 0.0:
        yield _Task(
            name="checklists",
            start_nm=None,
            duration_min=capability.checklist_min,
            one_way=False,
            because=(),
        )


def _gear(
    profile: Profile, capability: Capability, nm_per_min: float, *, planned_nm: float | None
) -> Iterator[_Task]:
    """The gear goes down as planned, else at the profile's distance, or earlier to be in time."""
    gear, usual = capability.gear, profile.approach
    if gear.position is not GearPosition.UP or gear.extension is Extension.NONE:
        return
    alternate = gear.extension is Extension.ALTERNATE
    usual_nm = usual.gear_extension_alternate_nm if alternate else usual.gear_extension_normal_nm
    takes_min = usual.gear_extension_alternate_min if alternate else usual.gear_extension_normal_min
    yield _Task(
        name="extend the gear by the alternate system" if alternate else "extend the gear",
        start_nm=max(usual_nm, CONFIGURED_GATE_NM + takes_min * nm_per_min)
        if planned_nm is None
        else planned_nm,
        duration_min=takes_min,
        one_way=any(change.what == "gear" for change in capability.irreversible),
        because=gear.because,
    )


def _flaps(
    profile: Profile, capability: Capability, nm_per_min: float, *, planned_nm: float | None
) -> Iterator[_Task]:
    """Flaps from where they are to the landing detent, or the furthest short of it."""
    flap, usual = capability.flap, profile.approach
    here, full = profile.detent(flap.position), profile.detent(usual.landing_detent)
    reach = [profile.detent(id_) for id_ in flap.reachable]
    target = max(
        (d for d in reach if d.deflection_deg <= full.deflection_deg),
        key=lambda d: d.deflection_deg,
        default=here,
    )
    travel = (target.deflection_deg - here.deflection_deg) / full.deflection_deg
    if travel <= 0.0:
        return
    slow = flap.drive is Drive.SLOW
    takes_min = travel * (
        usual.flap_retraction_slow_min if slow else usual.flap_retraction_normal_min
    )
    yield _Task(
        name=f"flaps to {target.id}" + (" by the slow drive" if slow else ""),
        start_nm=CONFIGURED_GATE_NM + takes_min * nm_per_min if planned_nm is None else planned_nm,
        duration_min=takes_min,
        one_way=wing_changes_for_good(capability),
        because=flap.because or capability.slats.because,
    )


def _place(task: _Task, track_nm: float, ready_nm: float, nm_per_min: float) -> TimelineStep:
    """Start where it should, or as soon as the crew is free; what is missing is `late_nm`."""
    wanted_nm = track_nm if task.start_nm is None else task.start_nm
    start_nm = min(wanted_nm, ready_nm)
    return TimelineStep(
        name=task.name,
        distance_to_go_nm=start_nm,
        in_min=(track_nm - start_nm) / nm_per_min,
        duration_min=task.duration_min,
        one_way=task.one_way,
        late_nm=wanted_nm - start_nm,
        because=task.because,
    )
