"""Gates of certification: climb gradients, stall speeds and the speeds taken from them.

Sea level, standard air, still air; [CFR-25] names the engines, the configuration and the mass.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from decision.performance.climb import climb
from decision.performance.configuration import Rating
from decision.performance.envelope import stall_speed_kt
from decision.profile import Profile
from decision.workbench.plausibility.finding import Gate, GateFigure, stall_kt, with_lever

# [CFR-25] by number of engines: 25.121(d), 25.121(b), and 25.119 for all of them
APPROACH_CLIMB_PERCENT: Final = {2: 2.1, 3: 2.4, 4: 2.7}
SECOND_SEGMENT_PERCENT: Final = {2: 2.4, 3: 2.7, 4: 3.0}
LANDING_CLIMB_PERCENT: Final = 3.2
APPROACH_STALL_RATIO: Final = 1.10  # [CFR-25] 25.121(d): VSR approach over VSR landing, at most
LANDING_SPEED_RATIO: Final = 1.23  # [CFR-25] 25.125(b)(2): speed over VSR, at least
APPROACH_CLIMB_SPEED_RATIO: Final = 1.40  # [CFR-25] 25.121(d): speed over VSR, at most
TAKE_OFF_SPEED_RATIO: Final = 1.13  # [CFR-25] 25.107(b): V2 over VSR, at least


def _approach_climb(profile: Profile) -> Iterator[GateFigure]:
    flap = profile.approach.go_around_detent
    gradient = climb(
        profile,
        configuration=with_lever(profile, flap, stopped=1),
        mass_kg=profile.masses.mlw_kg,
        pressure_altitude_ft=0.0,
        isa_deviation_degc=0.0,
    ).gradient_percent
    yield GateFigure(
        what=f"one engine stopped, flap {flap}, gear up, MLW",
        value=gradient,
        low=APPROACH_CLIMB_PERCENT[profile.engine.count],
    )


def _landing_climb(profile: Profile) -> Iterator[GateFigure]:
    flap = profile.approach.landing_detent
    gradient = climb(
        profile,
        configuration=with_lever(profile, flap, gear=True),
        mass_kg=profile.masses.mlw_kg,
        pressure_altitude_ft=0.0,
        isa_deviation_degc=0.0,
    ).gradient_percent
    what = f"every engine running, flap {flap}, gear down, MLW"
    yield GateFigure(what=what, value=gradient, low=LANDING_CLIMB_PERCENT)


def _second_segment(profile: Profile) -> Iterator[GateFigure]:
    flap, mass_kg = profile.approach.second_segment_detent, profile.masses.mtow_kg
    configuration = with_lever(profile, flap, stopped=1)
    stall_kt = float(stall_speed_kt(profile, configuration, mass_kg=mass_kg))
    gradient = climb(
        profile,
        configuration=configuration,
        mass_kg=mass_kg,
        pressure_altitude_ft=0.0,
        isa_deviation_degc=0.0,
        rating=Rating.GO_AROUND,
        cas_kt=profile.speeds.second_segment_ratio * stall_kt,
    ).gradient_percent
    yield GateFigure(
        what=f"one engine stopped, flap {flap}, gear up, MTOW",
        value=gradient,
        low=SECOND_SEGMENT_PERCENT[profile.engine.count],
    )


def _approach_stall(profile: Profile) -> Iterator[GateFigure]:
    a = profile.approach
    ratio = stall_kt(profile, a.go_around_detent) / stall_kt(profile, a.landing_detent)
    what = f"VSR at flap {a.go_around_detent} over VSR at flap {a.landing_detent}"
    yield GateFigure(what=what, value=ratio, high=APPROACH_STALL_RATIO)


def _speed_ratios(profile: Profile) -> Iterator[GateFigure]:
    speeds = profile.speeds
    yield GateFigure(what="approach", value=speeds.approach_ratio, low=LANDING_SPEED_RATIO)
    yield GateFigure(
        what="go-around",
        value=speeds.go_around_ratio,
        low=TAKE_OFF_SPEED_RATIO,
        high=APPROACH_CLIMB_SPEED_RATIO,
    )
    yield GateFigure(
        what="second segment", value=speeds.second_segment_ratio, low=TAKE_OFF_SPEED_RATIO
    )


CERTIFICATION: Final = (
    Gate(id="approach climb", figures=_approach_climb, unit="%", source="CFR-25 25.121(d)"),
    Gate(id="landing climb", figures=_landing_climb, unit="%", source="CFR-25 25.119"),
    Gate(id="second segment", figures=_second_segment, unit="%", source="CFR-25 25.121(b)"),
    Gate(id="approach stall", figures=_approach_stall, unit="", source="CFR-25 25.121(d)"),
    Gate(
        id="speed ratios", figures=_speed_ratios, unit="", source="CFR-25 25.107, 25.121(d), 25.125"
    ),
)
