"""Shapes of the requests beside the case: flat bodies of the tools, in the case's own vocabulary.

`CONFIGURATION` stands in every body about performance: the same words mean the same everywhere.
"""

from __future__ import annotations

from typing import Any, Final

from decision.attempt.arrival import WEATHER_AT_MINIMUM_MIN
from decision.case.shape import (
    AIRCRAFT,
    ALTITUDE_FT,
    CASE,
    CODE,
    DEFAULT_POLICY,
    FAILURE,
    ICAO,
    LEAK_KG_PER_H,
    MINUTES,
    TRACK_NM,
    WEATHER,
)
from decision.case.spec import Choice, Field, Flag, Instant, ListOf, Number, Record, Spec
from decision.performance.climb import LONGEST_CLIMB_NM
from decision.systems.timeline import (
    CONFIGURED_GATE_NM,
    MAX_GROUNDSPEED_KT,
    MAX_TRACK_NM,
    MIN_GROUNDSPEED_KT,
)

WIND_KT: Final = Number(low=-200, high=200, unit="kt")
DEVIATION: Final = Number(low=-60, high=60, unit="degrees Celsius")
ENGINES: Final = Number(low=1, high=4, whole=True)
DEFAULT_ALTITUDE_FT: Final = 1500.0  # where arrivals and holds are usually counted [PRACTICE]


def _field(name: str, spec: Spec, doc: str, default: Any = None) -> Field:  # noqa: ANN401
    return Field(name=name, spec=spec, doc=doc, default=default)


def _required(name: str, spec: Spec, doc: str) -> Field:
    return Field(name=name, spec=spec, doc=doc, required=True)


PROFILE: Final = AIRCRAFT.by_name["profile"]
MASS: Final = AIRCRAFT.by_name["mass_kg"]
ALTITUDE: Final = _required("pressure_altitude_ft", ALTITUDE_FT, "Pressure altitude.")
FLAP: Final = _field("flap", AIRCRAFT.by_name["flap"].spec, "Flap detent; absent: flaps up.")
SLATS: Final = _field(
    "slats", Choice(values=("in", "out")), "Slats; absent: as they go with the flap detent."
)
HEADWIND: Final = _field("headwind_kt", WIND_KT, "Headwind; a tailwind is negative.", 0.0)
ISA: Final = _field("isa_deviation_degc", DEVIATION, "Temperature above standard.", 0.0)
CONFIGURATION: Final = (
    _field("gear", Choice(values=("up", "down")), "Landing gear.", "up"),
    _field("gear_doors", Choice(values=("closed", "open")), "Gear doors.", "closed"),
    FLAP,
    SLATS,
    _field("engines_running", ENGINES, "Engines that run; absent: all of the profile."),
)

DIVERSION: Final = Record(
    name="DiversionQuestion",
    fields=(
        PROFILE,
        MASS,
        _required("distance_nm", TRACK_NM, "Track miles."),
        *CONFIGURATION,
        _field("start_altitude_ft", ALTITUDE_FT, "Where it starts.", DEFAULT_ALTITUDE_FT),
        _field("end_altitude_ft", ALTITUDE_FT, "Where it ends.", DEFAULT_ALTITUDE_FT),
        _field("pressurised", Flag(), "Cabin pressurised.", True),
        HEADWIND,
        ISA,
        _field("pressure_altitude_ft", ALTITUDE_FT, "Cruise level; absent: the best one."),
        _field(
            "cas_kt",
            Number(low=80, high=450, unit="kt"),
            "Cruise calibrated airspeed; absent: the best one.",
        ),
    ),
)
CLIMB: Final = Record(
    name="ClimbQuestion",
    fields=(
        PROFILE,
        MASS,
        ALTITUDE,
        *CONFIGURATION,
        ISA,
        HEADWIND,
        _field(
            "distance_nm",
            Number(low=0, high=LONGEST_CLIMB_NM, unit="NM"),
            "Distance over the ground at which the altitude reached is asked for.",
        ),
    ),
)
HOLDING: Final = Record(
    name="HoldingQuestion",
    fields=(
        PROFILE,
        MASS,
        ALTITUDE,
        _required("minutes", MINUTES, "Time in the hold."),
        *CONFIGURATION,
        ISA,
    ),
)
LANDING: Final = Record(
    name="LandingQuestion",
    fields=(
        PROFILE,
        MASS,
        _required("flap", FLAP.spec, "Flap detent."),
        SLATS,
        ALTITUDE,
        ISA,
        _required("condition_code", CODE, "Runway condition code."),
        HEADWIND,
        _field("slope_percent", Number(low=-4, high=4, unit="percent"), "Uphill positive.", 0.0),
        _field("spoilers", Flag(), "Ground spoilers work.", True),
        _field("reversers", Number(low=0, high=4, whole=True), "Reversers in use.", 0),
        _field("brakes_fraction", Number(low=0, high=1), "Share of the wheel brakes.", 1.0),
        _field(
            "anti_skid",
            Choice(values=("full", "quasi", "on_off", "none")),
            "How the brakes are modulated; absent: as the profile has it.",
        ),
        _field(
            "landing_factor",
            Number(low=1, high=3),
            "Factor for `factored_m`.",
            DEFAULT_POLICY["landing_factor"],
        ),
    ),
)
EXPANSION: Final = Record(
    name="FailuresQuestion",
    fields=(
        PROFILE,
        _required("failures", ListOf(item=FAILURE, max_items=20), "What has failed."),
        _field("gear", AIRCRAFT.by_name["gear"].spec, "Landing gear as it is now.", "up"),
        _field("flap", FLAP.spec, "Flap detent as it is now; absent: flaps up."),
        _field("slats", SLATS.spec, "Slats as they are now; absent: as they go with the flap."),
        _field(
            "leak_kg_per_h",
            LEAK_KG_PER_H,
            "Rate of a reported leak; absent: unknown.",
        ),
        _field(
            "track_nm",
            Number(low=CONFIGURED_GATE_NM, high=MAX_TRACK_NM, unit="NM"),
            "Distance to run to the threshold, for the steps on the way; absent: no steps.",
        ),
        _field(
            "groundspeed_kt",
            Number(low=MIN_GROUNDSPEED_KT, high=MAX_GROUNDSPEED_KT, unit="kt"),
            "Ground speed on that way; given with `track_nm`, or neither.",
        ),
    ),
)
DECODING: Final = Record(
    name="ReportsQuestion",
    fields=(
        _required("reports", WEATHER.by_name["reports"].spec, "Raw reports in any order."),
        _required("received_at", Instant(), "When they were received: reports give day and hour."),
    ),
)
WINDOW_MIN: Final = Number(low=1, high=2880, unit="min")
WINDOW: Final = Record(
    name="WindowOfTime",
    fields=(
        _required("start", Instant(), "First instant."),
        _required("end", Instant(), "Last instant, not included."),
    ),
)
CONDITIONS: Final = Record(
    name="ConditionsQuestion",
    fields=(
        _required("station", ICAO, "Whose conditions."),
        _required("reports", WEATHER.by_name["reports"].spec, "Raw reports in any order."),
        _required("as_of", Instant(), "The present time: what is in force, and how old it is."),
        _field("window", WINDOW, "The time that is asked about, at most two days; or `eta`."),
        _field("eta", Instant(), "The time that is asked about begins here; instead of `window`."),
        _field("minutes", WINDOW_MIN, "How long from `eta`.", WEATHER_AT_MINIMUM_MIN),
        CASE.by_name["rulebook"],
        _field(
            "observations",
            CASE.by_name["observations"].spec,
            "What was told by word, of this station and others.",
            (),
        ),
    ),
)
