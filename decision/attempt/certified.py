"""The climbs that limit a landing mass, of the aircraft with nothing failed.

Where something has failed that they depend on, a climb that is enough says nothing of this
aircraft, and only one that is not is told of. There a lower bound that is enough will do: that of a
mass, a level and a temperature a little beyond, kept for the next attempt.
"""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import compress
from typing import Final

from msgspec import Struct

from decision.attempt.attempt import CertifiedClimb
from decision.flight.configure import certified_configurations
from decision.flight.physics import climb
from decision.flight.situation import Situation
from decision.performance import Configuration
from decision.profile import Profile
from decision.profile.systems_effects import Drive
from decision.systems import Capability

APPROACH_ROW: Final = "oei_approach_climb_percent"
LANDING_ROW: Final = "landing_climb_percent"
MASS_STEP_KG: Final = 1_000.0  # [ASSUMED] how far beyond: bounds are less than a point too low
HEIGHT_STEP_FT: Final = 1_000.0  # [ASSUMED]
DEVIATION_STEP_DEGC: Final = 5.0  # [ASSUMED]
BOUNDS_KEPT: Final = 512


class Certification(Struct, frozen=True, kw_only=True, gc=False):
    """The climbs of one case: in which configurations, and the gradients that are asked for.

    `voided`: something has failed that they depend on.
    """

    profile: Profile
    approach: Configuration
    landing: Configuration
    approach_percent: float
    landing_percent: float
    voided: bool

    def climbs(
        self, *, mass_kg: float, pressure_altitude_ft: float, isa_deviation_degc: float
    ) -> CertifiedClimb:
        """Their gradients in this air, or bounds where these will do. Raises OutOfRange."""
        if self.voided:
            bounds = _kept_climbs(
                self.profile,
                self.approach,
                self.landing,
                mass_kg=min(_up(mass_kg, MASS_STEP_KG), self.profile.masses.mtow_kg),
                pressure_altitude_ft=_up(pressure_altitude_ft, HEIGHT_STEP_FT),
                isa_deviation_degc=_up(isa_deviation_degc, DEVIATION_STEP_DEGC),
                at_least=True,
            )
            if self._enough(bounds):
                return bounds
        return _climbs(
            self.profile,
            self.approach,
            self.landing,
            mass_kg=mass_kg,
            pressure_altitude_ft=pressure_altitude_ft,
            isa_deviation_degc=isa_deviation_degc,
        )

    def _enough(self, climbs: CertifiedClimb) -> bool:
        return (
            climbs.approach_percent >= self.approach_percent
            and climbs.landing_percent >= self.landing_percent
        )


def certification(situation: Situation) -> Certification:
    """That of a case under its rulebook."""
    profile, book = situation.case.aircraft.profile, situation.rulebook
    approach, landing = certified_configurations(situation.case)
    return Certification(
        profile=profile,
        approach=approach,
        landing=landing,
        approach_percent=book.number(APPROACH_ROW),
        landing_percent=book.number(LANDING_ROW),
        voided=bool(not_as_certified(situation.capability, profile)),
    )


def _climbs(
    profile: Profile,
    approach: Configuration,
    landing: Configuration,
    *,
    mass_kg: float,
    pressure_altitude_ft: float,
    isa_deviation_degc: float,
    at_least: bool = False,
) -> CertifiedClimb:
    """Both, one engine out and all engines."""
    approach_percent, landing_percent = (
        climb(
            profile,
            configuration=configuration,
            mass_kg=mass_kg,
            pressure_altitude_ft=pressure_altitude_ft,
            isa_deviation_degc=isa_deviation_degc,
        ).gradient_percent
        for configuration in (approach, landing)
    )
    return CertifiedClimb(
        approach_percent=approach_percent, landing_percent=landing_percent, at_least=at_least
    )


_kept_climbs = lru_cache(maxsize=BOUNDS_KEPT)(_climbs)


def _up(value: float, step: float) -> float:
    return math.ceil(value / step) * step


def not_as_certified(left: Capability, profile: Profile) -> str:
    """What has failed that the certified climbs depend on, in words; empty where nothing has."""
    flap, slats = left.flap, left.slats
    failed = (
        left.engines_running < profile.engine.count,
        left.engines_running == profile.engine.count and left.thrust_ratio < 1.0,
        not left.gear.retractable,
        flap.extend_only or flap.drive is Drive.NONE,
        slats.extend_only or not slats.movable,
        left.drag_increment > 0.0,
    )
    return ", ".join(compress(NOT_AS_CERTIFIED, failed))


NOT_AS_CERTIFIED: Final = (
    "an engine out",
    "limited thrust",
    "gear that does not come up",
    "flaps that do not move as they should",
    "slats that do not move as they should",
    "drag that the aircraft had not",
)
