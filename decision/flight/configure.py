"""From what is left of the aircraft to how it will fly in each phase.

The irreversible step shows here and nowhere else: `clean` is what can still be flown before the
gear goes down, `after_miss` what the aircraft is stuck with once it has.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from msgspec.structs import replace

from decision.case import Case
from decision.performance import Configuration, clean
from decision.profile import Profile
from decision.profile.systems_effects import Extension, LimitName
from decision.quantities import DoorPosition, GearPosition, SlatPosition
from decision.systems import Capability


@dataclass(frozen=True, slots=True, kw_only=True)
class Configurations:
    """The configuration of each phase, and the flap detents of approach and landing."""

    present: Configuration
    clean: Configuration
    approach: Configuration
    landing: Configuration
    go_around: Configuration
    after_miss: Configuration
    gear_extends: bool

    @property
    def irreversible(self) -> bool:
        """Whether the approach leaves the aircraft worse configured than before it."""
        return self.after_miss != self.clean


def configurations(case: Case, capability: Capability, *, fuel_flow_scale: float) -> Configurations:
    """Every phase's configuration for this aircraft, with these failures."""
    profile = case.aircraft.profile
    base = _base(case, capability, fuel_flow_scale)
    landing_flap = nearest_detent(
        profile,
        capability.flap.reachable,
        case.plan.landing_flap or profile.approach.landing_detent,
    )
    gear_down = _gear_down_for_landing(capability)
    doors = capability.gear.doors_now
    if capability.gear.position is GearPosition.UP:
        doors = capability.gear.doors_after_extension
    landing = _with_flap(
        replace(
            base,
            gear_down=gear_down,
            gear_doors_open=doors_hang(capability) or (gear_down and doors is DoorPosition.OPEN),
        ),
        profile,
        capability,
        landing_flap,
    )
    approach_flap = _not_beyond(profile, capability, profile.approach.approach_detent, landing_flap)
    go_around_flap = landing_flap
    if not capability.flap.extend_only:
        go_around_flap = _not_beyond(
            profile, capability, profile.approach.go_around_detent, landing_flap
        )
    clean = _cleaned(base, profile, capability, slats_used=False)
    return Configurations(
        present=_present(base, capability),
        clean=clean,
        approach=_with_flap(landing, profile, capability, approach_flap),
        landing=landing,
        go_around=_go_around(landing, profile, capability, go_around_flap),
        after_miss=_after_miss(landing, profile, capability),
        gear_extends=gear_down and not clean.gear_down,
    )


def certified_configurations(case: Case) -> tuple[Configuration, Configuration]:
    """Those of the approach climb and of the landing climb, as nothing had failed [CFR-25].

    One engine out, gear up, flap of the go-around; all engines, gear down, flap of the landing.
    """
    profile = case.aircraft.profile
    landing = profile.detent(case.plan.landing_flap or profile.approach.landing_detent)
    go_around = min(
        landing,
        profile.detent(profile.approach.go_around_detent),
        key=lambda detent: detent.deflection_deg,
    )
    sound = replace(clean(profile), anti_ice=case.aircraft.anti_ice)
    return (
        replace(
            sound,
            engines_running=sound.engines_running - 1,
            flap=go_around.id,
            slats_out=lever_takes_slats_out(profile, go_around.id),
        ),
        replace(
            sound,
            gear_down=True,
            flap=landing.id,
            slats_out=lever_takes_slats_out(profile, landing.id),
        ),
    )


def lever_takes_slats_out(profile: Profile, flap: str) -> bool:
    """Where the slats are with the lever at a detent, while they move."""
    out_from_deg = profile.detent(profile.slats.out_from_detent).deflection_deg
    return profile.detent(flap).deflection_deg >= out_from_deg


def nearest_detent(profile: Profile, reachable: Iterable[str], wanted: str) -> str:
    """The reachable detent nearest in deflection to the wanted one, the smaller when two are."""
    target_deg = profile.detent(wanted).deflection_deg
    choices = [profile.detent(flap) for flap in reachable]
    return min(choices, key=lambda d: (abs(d.deflection_deg - target_deg), d.deflection_deg)).id


def _base(case: Case, capability: Capability, fuel_flow_scale: float) -> Configuration:
    altitude = capability.limit(LimitName.MAX_PRESSURE_ALTITUDE_FT)
    breathing_ft = case.aircraft.profile.limits.max_unpressurised_ft
    if altitude is not None and not capability.pressurised and altitude.value == breathing_ft:
        altitude = None  # the same limit by another name: `pressurised` has it, for oxygen to lift
    speed = capability.limit(LimitName.MAX_CAS_KT)
    return Configuration(
        flap=case.aircraft.profile.flaps_up,
        engines_running=capability.engines_running,
        thrust_ratio=running_thrust_ratio(capability, engines=case.aircraft.profile.engine.count),
        pressurised=capability.pressurised,
        drag_increment=capability.drag_increment,
        fuel_flow_scale=capability.fuel_flow_scale * fuel_flow_scale,
        anti_ice=case.aircraft.anti_ice,
        max_pressure_altitude_ft=None if altitude is None else altitude.value,
        max_cas_kt=None if speed is None else speed.value,
    )


def running_thrust_ratio(capability: Capability, *, engines: int, stopping: int = 0) -> float:
    """What the running engines together give of their ratings.

    `stopping`: how many sound ones stop besides; the weak ones are left.
    """
    running = capability.engines_running - stopping
    whole = capability.thrust_ratio * engines - stopping
    return 1.0 if running <= 0 else min(1.0, max(0.0, whole / running))


def _present(base: Configuration, capability: Capability) -> Configuration:
    gear_down = capability.gear.position is not GearPosition.UP
    return replace(
        base,
        gear_down=gear_down,
        gear_doors_open=capability.gear.doors_now is DoorPosition.OPEN,
        flap=capability.flap.position,
        slats_out=capability.slats.position is SlatPosition.OUT,
    )


def _cleaned(
    base: Configuration, profile: Profile, capability: Capability, *, slats_used: bool
) -> Configuration:
    """Everything up that can come up; `slats_used` when an approach has put them out."""
    gear = capability.gear
    stuck = gear.position is not GearPosition.UP and not gear.retractable
    flap = min(capability.flap.reachable, key=lambda flap: profile.detent(flap).deflection_deg)
    slats = capability.slats
    slats_out = slats.position is SlatPosition.OUT and (not slats.movable or slats.extend_only)
    slats_out = slats_out or (slats_used and slats.movable and slats.extend_only)
    return replace(
        base,
        gear_down=stuck,
        gear_doors_open=doors_hang(capability) or (stuck and gear.doors_now is DoorPosition.OPEN),
        flap=flap,
        slats_out=slats_out or _slats_follow(profile, capability, flap),
    )


def doors_hang(capability: Capability) -> bool:
    """Whether the doors stand open with the gear up: nothing that the crew does closes them."""
    gear = capability.gear
    return gear.position is GearPosition.UP and gear.doors_now is DoorPosition.OPEN


def _gear_down_for_landing(capability: Capability) -> bool:
    gear = capability.gear
    return gear.position is not GearPosition.UP or gear.extension is not Extension.NONE


def _go_around(
    landing: Configuration, profile: Profile, capability: Capability, flap: str
) -> Configuration:
    """Gear up as soon as it can come up: the procedure's gradient is flown that way."""
    stuck = landing.gear_down and not capability.gear.retractable
    return _with_flap(
        replace(
            landing,
            gear_down=stuck,
            gear_doors_open=doors_hang(capability) or (stuck and landing.gear_doors_open),
        ),
        profile,
        capability,
        flap,
    )


def _after_miss(landing: Configuration, profile: Profile, capability: Capability) -> Configuration:
    stuck = landing.gear_down and not capability.gear.retractable
    cleaned = _cleaned(landing, profile, capability, slats_used=landing.slats_out)
    if capability.flap.extend_only:  # out for the approach, and there they stay
        cleaned = _with_flap(cleaned, profile, capability, landing.flap)
    return replace(
        cleaned,
        gear_down=stuck,
        gear_doors_open=doors_hang(capability) or (stuck and landing.gear_doors_open),
    )


def _with_flap(
    configuration: Configuration, profile: Profile, capability: Capability, flap: str
) -> Configuration:
    return replace(configuration, flap=flap, slats_out=_slats_follow(profile, capability, flap))


def _slats_follow(profile: Profile, capability: Capability, flap: str) -> bool:
    """Slats go with the flap lever unless they cannot move."""
    slats = capability.slats
    if not slats.movable:
        return slats.position is SlatPosition.OUT
    if slats.extend_only and slats.position is SlatPosition.OUT:
        return True
    return lever_takes_slats_out(profile, flap)


def _not_beyond(profile: Profile, capability: Capability, wanted: str, landing_flap: str) -> str:
    """A detent for approach or go-around: the wanted one, but never more flap than for landing."""
    limit_deg = profile.detent(landing_flap).deflection_deg
    usable = [
        flap
        for flap in capability.flap.reachable
        if profile.detent(flap).deflection_deg <= limit_deg
    ]
    return nearest_detent(profile, usable, wanted)
