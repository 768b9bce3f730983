"""Speed and altitude limits of a configuration, each with the name of what sets it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from decision.atmosphere import GRAVITY_MPS2, SEA_LEVEL_DENSITY_KG_PER_M3
from decision.elementwise import Numbers
from decision.errors import require_range
from decision.performance.configuration import Configuration
from decision.profile import Profile
from decision.units import MPS_PER_KT

SPEED_STEP_KT: Final = 5.0  # [ASSUMED] spacing of the speeds that are tried
LEVEL_STEP_FT: Final = 1000.0  # [PRACTICE] cruising levels
UNPRESSURISED: Final = "unpressurised altitude limit"
VMO: Final = "VMO"


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedLimit:
    """A limit and what sets it, such as 'VLE' or 'gear-extended altitude limit'."""

    value: float
    name: str

    def words(self, unit: str) -> str:
        """The limit as a text names it, such as 'VLE 265 kt'."""
        return f"{self.name} {self.value:.0f} {unit}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Envelope:
    """The limits that govern: highest speed, Mach number in normal flight, pressure altitude.

    `slowest_per_sqrt_kg` times the root of the mass is the slowest manoeuvring speed (1.30 VSR).
    `planned_kt` is the highest speed of a plan: the profile's margin below every placard but VMO.
    `highest_with_oxygen_ft` leaves out that people breathe where there is no cabin pressure.
    """

    fastest_kt: NamedLimit
    planned_kt: float
    mach_cap: float
    highest_ft: NamedLimit
    highest_with_oxygen_ft: NamedLimit
    slowest_per_sqrt_kg: float

    def highest_above_ft(self, lowest_ft: float) -> NamedLimit:
        """The altitude limit on a way whose lowest level is given.

        Where terrain, or the aerodrome itself, asks for more than people breathe without cabin
        pressure, that way is flown no higher than it asks for, to the next level of the tables, and
        oxygen decides.
        """
        if lowest_ft <= self.highest_ft.value or self.highest_ft.name != UNPRESSURISED:
            return self.highest_ft
        asked_ft = math.ceil(lowest_ft / LEVEL_STEP_FT) * LEVEL_STEP_FT
        if asked_ft <= self.highest_with_oxygen_ft.value:
            return NamedLimit(value=asked_ft, name=UNPRESSURISED)
        return self.highest_with_oxygen_ft


@lru_cache(maxsize=512)
def envelope(profile: Profile, configuration: Configuration) -> Envelope:
    """The envelope of a configuration. Raises ValueError on a flap detent that does not exist."""
    limits, margin_kt = profile.limits, profile.speeds.placard_margin_kt
    mach = min(limits.mmo, limits.mle) if configuration.gear_down else limits.mmo
    speeds, altitudes = (tuple(each(profile, configuration)) for each in (_speeds, _altitudes))
    return Envelope(
        fastest_kt=min(speeds, key=lambda limit: limit.value),
        planned_kt=min(each.value - (margin_kt if each.name != VMO else 0.0) for each in speeds),
        mach_cap=mach - profile.speeds.mach_margin,
        highest_ft=min(altitudes, key=lambda limit: limit.value),
        highest_with_oxygen_ft=min(
            (each for each in altitudes if each.name != UNPRESSURISED),
            key=lambda limit: limit.value,
        ),
        slowest_per_sqrt_kg=profile.speeds.holding_ratio
        * stall_speed_per_sqrt_kg(profile, configuration),
    )


def slowest_kt(profile: Profile, configuration: Configuration, *, mass_kg: float) -> float:
    """The slowest speed of en-route flight and holding, 1.30 VSR."""
    slowest: float = envelope(profile, configuration).slowest_per_sqrt_kg * mass_kg**0.5
    return slowest


def stall_speed_kt(profile: Profile, configuration: Configuration, *, mass_kg: Numbers) -> Numbers:
    """Reference stall speed VSR in calibrated airspeed (equivalent at these low speeds)."""
    return stall_speed_per_sqrt_kg(profile, configuration) * mass_kg**0.5


def stall_speed_per_sqrt_kg(profile: Profile, configuration: Configuration) -> float:
    """VSR in knots over the root of the mass in kilograms."""
    clmax = profile.clmax(flap=configuration.flap, slats_out=configuration.slats_out)
    pressure_per_kg = GRAVITY_MPS2 / (profile.wing.area_m2 * clmax)
    speed: float = (2.0 * pressure_per_kg / SEA_LEVEL_DENSITY_KG_PER_M3) ** 0.5
    return speed / MPS_PER_KT


def require_mass(profile: Profile, *, mass_kg: float) -> None:
    """Raise OutOfRange unless the mass lies within empty and maximum take-off mass."""
    low_kg, high_kg = profile.masses.oew_kg, profile.masses.mtow_kg
    require_range("mass_kg", mass_kg, low=low_kg, high=high_kg, source=f"profile {profile.id}")


def _speeds(profile: Profile, configuration: Configuration) -> Iterator[NamedLimit]:
    limits = profile.limits
    yield NamedLimit(value=limits.vmo_kt, name=VMO)
    if configuration.gear_down:
        yield NamedLimit(value=limits.vle_kt, name="VLE")
    detent = profile.detent(configuration.flap)
    if detent.vfe_kt is not None:
        yield NamedLimit(value=detent.vfe_kt, name=f"VFE of flap {detent.id}")
    if configuration.slats_out:
        yield NamedLimit(value=profile.slats.vfe_kt, name="slats-extended speed limit")
    if configuration.max_cas_kt is not None:
        yield NamedLimit(value=configuration.max_cas_kt, name="speed limit of the failure")


def _altitudes(profile: Profile, configuration: Configuration) -> Iterator[NamedLimit]:
    limits = profile.limits
    yield NamedLimit(value=limits.max_pressure_altitude_ft, name="maximum altitude")
    if configuration.gear_down or configuration.gear_doors_open:
        yield NamedLimit(value=limits.max_gear_out_ft, name="gear-extended altitude limit")
    if configuration.slats_out or profile.detent(configuration.flap).deflection_deg > 0.0:
        yield NamedLimit(value=limits.max_flaps_out_ft, name="flaps-extended altitude limit")
    if not configuration.pressurised:
        yield NamedLimit(value=limits.max_unpressurised_ft, name=UNPRESSURISED)
    if configuration.max_pressure_altitude_ft is not None:
        limit = configuration.max_pressure_altitude_ft
        yield NamedLimit(value=limit, name="altitude limit of the failure")
