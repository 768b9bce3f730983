"""The level that one engine holds on the net path, for terrain under a diversion.

The net path is the actual one less a gradient that the certification asks for; the rules on terrain
compare the level at which it is flat. Limits of level are none of its business: a way that breaks
one is not flown at all.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final

from decision.flight.ledger import Diversion
from decision.flight.situation import Situation
from decision.flight.tracks import en_route_deviation_degc
from decision.performance import Configuration, climb
from decision.performance.configuration import Rating
from decision.performance.envelope import slowest_kt
from decision.profile import Profile
from decision.turning import last_good

MASS_STEP_KG: Final = 250.0
DEVIATION_STEP_DEGC: Final = 1.0
LEVEL_TOLERANCE_FT: Final = 100.0


def net_level_of(
    situation: Situation, configuration: Configuration, diversion: Diversion, *, level_ft: float
) -> float | None:
    """What the net path of a diversion holds, at its greatest mass; None with all engines or none.

    `level_ft`: where it is flown, for the temperature.
    """
    profile = situation.case.aircraft.profile
    if not 0 < configuration.engines_running < profile.engine.count:
        return None
    return net_level_ft(
        profile,
        configuration,
        mass_kg=min(_up(diversion.mass_kg, MASS_STEP_KG), profile.masses.mtow_kg),
        isa_deviation_degc=_up(
            en_route_deviation_degc(situation.case, level_ft), DEVIATION_STEP_DEGC
        ),
        decrement_percent=situation.rulebook.number("oei_net_decrement_percent"),
    )


def _up(value: float, step: float) -> float:
    """Rounded against the aircraft, so that one answer serves many courses."""
    return math.ceil(value / step) * step


@lru_cache(maxsize=512)
def net_level_ft(
    profile: Profile,
    configuration: Configuration,
    *,
    mass_kg: float,
    isa_deviation_degc: float,
    decrement_percent: float,
) -> float:
    """Highest level at which the actual gradient less the decrement is not negative, in feet.

    Continuous thrust at the slowest speed en route, near which the gradient is best: of speeds up
    to 1.4 times that none holds a higher level in either demo aircraft. 0 where not even sea level
    is held. Errs on the low side by up to LEVEL_TOLERANCE_FT. Source: [CFR-25] 25.123.
    """
    slowest = slowest_kt(profile, configuration, mass_kg=mass_kg)

    def holds(level_ft: float) -> bool:
        at = climb(
            profile,
            configuration=configuration,
            mass_kg=mass_kg,
            pressure_altitude_ft=level_ft,
            isa_deviation_degc=isa_deviation_degc,
            rating=Rating.MAXIMUM_CONTINUOUS,
            cas_kt=slowest,
        )
        return at.gradient_percent >= decrement_percent

    top_ft = profile.limits.max_pressure_altitude_ft
    if holds(top_ft):
        return top_ft
    return last_good(holds, good=0.0, bad=top_ft, step=LEVEL_TOLERANCE_FT)
