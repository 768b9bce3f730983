"""The bodies of the tools beside the case: flat, in the case's own vocabulary.

`Configured` stands in every body about flying: the same words mean the same everywhere.
"""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any, Final, Literal

from msgspec import Struct

from decision.attempt.arrival import WEATHER_AT_MINIMUM_MIN
from decision.case.types import (
    FACTOR,
    LEAK_KG_PER_H,
    NOTICES,
    PROFILE,
    REPORTS,
    RULEBOOK,
    Observation,
    Policy,
)
from decision.fields import SUPPLIED, about, sized
from decision.performance.climb import LONGEST_CLIMB_NM
from decision.quantities import (
    ALTITUDE_FT,
    CODE,
    FLAP,
    ICAO,
    KG,
    MINUTES,
    SLOPE_PERCENT,
    TRACK_NM,
    AntiSkid,
    DoorPosition,
    GearPosition,
    SlatPosition,
)
from decision.rulebooks.rulebook import load_rulebook
from decision.rules.policy import landing_factor
from decision.systems import Failure
from decision.systems.timeline import (
    CONFIGURED_GATE_NM,
    MAX_GROUNDSPEED_KT,
    MAX_TRACK_NM,
    MIN_GROUNDSPEED_KT,
)
from decision.what_if.vary import BY_NAME, InputsTried

MOST_PATCHES: Final = 8
DEFAULT_ALTITUDE_FT: Final = 1500.0  # where arrivals and holds are usually counted [PRACTICE]

OF_PROFILE = Annotated[PROFILE, about("Id of the aircraft profile.")]
MASS_KG = Annotated[KG, about("Gross mass now, fuel included.")]
PRESSURE_ALTITUDE_FT = Annotated[ALTITUDE_FT, about("Pressure altitude.")]
SLATS = Annotated[SlatPosition | None, about("Slats; absent: as they go with the flap detent.")]
HEADWIND_KT = Annotated[
    float, about("Headwind; a tailwind is negative.", low=-200, high=200, unit="kt")
]
ISA_DEGC = Annotated[
    float, about("Temperature above standard.", low=-60, high=60, unit="degrees Celsius")
]


class Configured(Struct, frozen=True, kw_only=True, gc=False):
    """An aircraft in flight and its configuration."""

    profile: OF_PROFILE
    mass_kg: MASS_KG
    gear: Annotated[Literal["up", "down"], about("Landing gear.")] = "up"
    gear_doors: Annotated[DoorPosition, about("Gear doors.")] = DoorPosition.CLOSED
    flap: Annotated[FLAP, about("Flap detent; absent: flaps up."), SUPPLIED]
    slats: SLATS = None
    engines_running: Annotated[
        int | None, about("Engines that run; absent: all of the profile.", low=1, high=4)
    ] = None


class DiversionQuestion(Configured, frozen=True, kw_only=True, gc=False):
    """A flight to another place."""

    distance_nm: Annotated[TRACK_NM, about("Track miles.")]
    start_altitude_ft: Annotated[ALTITUDE_FT, about("Where it starts.")] = DEFAULT_ALTITUDE_FT
    end_altitude_ft: Annotated[ALTITUDE_FT, about("Where it ends.")] = DEFAULT_ALTITUDE_FT
    pressurised: Annotated[bool, about("Cabin pressurised.")] = True
    headwind_kt: HEADWIND_KT = 0.0
    isa_deviation_degc: ISA_DEGC = 0.0
    pressure_altitude_ft: Annotated[
        ALTITUDE_FT | None, about("Cruise level; absent: the best one.")
    ] = None
    cas_kt: Annotated[
        float | None,
        about("Cruise calibrated airspeed; absent: the best one.", low=80, high=450, unit="kt"),
    ] = None


class ClimbQuestion(Configured, frozen=True, kw_only=True, gc=False):
    """A climb."""

    pressure_altitude_ft: PRESSURE_ALTITUDE_FT
    isa_deviation_degc: ISA_DEGC = 0.0
    headwind_kt: HEADWIND_KT = 0.0
    distance_nm: Annotated[
        float | None,
        about(
            "Distance over the ground at which the altitude reached is asked for.",
            low=0,
            high=LONGEST_CLIMB_NM,
            unit="NM",
        ),
    ] = None


class HoldingQuestion(Configured, frozen=True, kw_only=True, gc=False):
    """A time in the hold."""

    pressure_altitude_ft: PRESSURE_ALTITUDE_FT
    minutes: Annotated[MINUTES, about("Time in the hold.")]
    isa_deviation_degc: ISA_DEGC = 0.0


class LandingQuestion(Struct, frozen=True, kw_only=True, gc=False):
    """A landing."""

    profile: OF_PROFILE
    mass_kg: MASS_KG
    flap: Annotated[FLAP, about("Flap detent.")]
    slats: SLATS = None
    pressure_altitude_ft: PRESSURE_ALTITUDE_FT
    isa_deviation_degc: ISA_DEGC = 0.0
    condition_code: Annotated[CODE, about("Runway condition code.")]
    headwind_kt: HEADWIND_KT = 0.0
    slope_percent: Annotated[SLOPE_PERCENT, about("Uphill positive.")] = 0.0
    spoilers: Annotated[bool, about("Ground spoilers work.")] = True
    reversers: Annotated[int, about("Reversers in use.", low=0, high=4)] = 0
    brakes_fraction: Annotated[float, about("Share of the wheel brakes.", low=0, high=1)] = 1.0
    anti_skid: Annotated[
        AntiSkid | None, about("How the brakes are modulated; absent: as the profile has it.")
    ] = None
    landing_factor: Annotated[
        FACTOR, about("Factor for `factored_m`; absent: that of the rulebook `icao`.")
    ] = landing_factor(Policy(), load_rulebook("icao"))


class FailuresQuestion(Struct, frozen=True, kw_only=True, gc=False):
    """What failures leave."""

    profile: OF_PROFILE
    failures: Annotated[tuple[Failure, ...], sized("What has failed.", longest=20)]
    gear: Annotated[GearPosition, about("Landing gear as it is now.")] = GearPosition.UP
    flap: Annotated[FLAP, about("Flap detent as it is now; absent: flaps up."), SUPPLIED]
    slats: Annotated[
        SlatPosition | None, about("Slats as they are now; absent: as they go with the flap.")
    ] = None
    leak_kg_per_h: Annotated[
        LEAK_KG_PER_H | None, about("Rate of a reported leak; absent: unknown.")
    ] = None
    track_nm: Annotated[
        float | None,
        about(
            "Distance to run to the threshold, for the steps on the way; absent: no steps.",
            low=CONFIGURED_GATE_NM,
            high=MAX_TRACK_NM,
            unit="NM",
        ),
    ] = None
    groundspeed_kt: Annotated[
        float | None,
        about(
            "Ground speed on that way; given with `track_nm`, or neither.",
            low=MIN_GROUNDSPEED_KT,
            high=MAX_GROUNDSPEED_KT,
            unit="kt",
        ),
    ] = None


class ReportsQuestion(Struct, frozen=True, kw_only=True, gc=False):
    """Reports to be decoded."""

    reports: REPORTS
    received_at: Annotated[datetime, about("When they were received: reports give day and hour.")]


class NoticesQuestion(Struct, frozen=True, kw_only=True, gc=False):
    """Notices to be read."""

    notices: NOTICES
    received_at: Annotated[
        datetime, about("When they were received: condition reports give no year.")
    ]


class WindowOfTime(Struct, frozen=True, kw_only=True, gc=False):
    """A time that is asked about."""

    start: Annotated[datetime, about("First instant.")]
    end: Annotated[datetime, about("Last instant, not included.")]


class ConditionsQuestion(Struct, frozen=True, kw_only=True, gc=False):
    """What governs at a place over a time."""

    station: Annotated[ICAO, about("Whose conditions.")]
    reports: REPORTS
    as_of: Annotated[datetime, about("The present time: what is in force, and how old it is.")]
    window: Annotated[
        WindowOfTime | None,
        about("The time that is asked about, at most two days; or `eta`."),
    ] = None
    eta: Annotated[
        datetime | None,
        about("The time that is asked about begins here; instead of `window`."),
    ] = None
    minutes: Annotated[float, about("How long from `eta`.", low=1, high=2880, unit="min")] = (
        WEATHER_AT_MINIMUM_MIN
    )
    rulebook: RULEBOOK = "icao"
    observations: Annotated[
        tuple[Observation, ...],
        sized("What was told by word, of this station and others.", longest=60),
    ] = ()


class SignInQuestion(Struct, frozen=True, kw_only=True, gc=False):
    """A key that is changed for a session."""

    key: Annotated[str, sized("The text of the key.", shortest=1, longest=200)]


class FilledSignIn(SignInQuestion, frozen=True, kw_only=True, gc=False):
    """What the page for signing in sends."""

    then: Annotated[
        str,
        sized(
            "The path to be shown then; absent: the documents.",
            shortest=1,
            longest=2000,
            pattern="/(?!/)[!-~]*|/",
        ),
    ] = "/docs"


class DecideAgain(Struct, frozen=True, kw_only=True, gc=False):
    """What is other than in a stored case, now that it is decided again."""

    patch: Annotated[
        dict[str, Any] | None,
        about(
            "JSON Merge Patch (RFC 7396) of the stored case: what is given counts from now; a list"
            " replaces a list, null takes a member away."
        ),
    ] = None
    add_reports: Annotated[REPORTS, sized("New reports; those that it has are not doubled.")] = ()


class Variations(Struct, frozen=True, kw_only=True, gc=False):
    """Variations of a stored case."""

    patches: Annotated[
        tuple[Annotated[dict[str, Any], about("a patch")], ...],
        sized(
            "JSON Merge Patches (RFC 7396) of the stored case, each of it alone.",
            longest=MOST_PATCHES,
        ),
    ] = ()
    inputs: Annotated[
        tuple[Annotated[InputsTried, about("Inputs at other values, all at once.")], ...],
        sized(
            "Inputs of the stored case at other values, what reports and winds say among them.",
            longest=MOST_PATCHES,
        ),
    ] = ()
    turns_of: Annotated[
        tuple[Annotated[str, sized("an input", words=tuple(BY_NAME))], ...],
        sized(
            "Inputs of which each of `inputs` tells where they turn the verdict, the others at"
            " their values.",
            longest=len(BY_NAME),
        ),
    ] = ()


class ReportsGiven(Struct, frozen=True, kw_only=True, gc=False):
    """Reports that are handed in for watches."""

    reports: REPORTS
    received_at: Annotated[
        datetime | None,
        about(
            "When they were received: reports give day and hour. Absent: when they get here, by"
            " the service's clock."
        ),
    ] = None


class WebhookGiven(Struct, frozen=True, kw_only=True, gc=False):
    """Where events of a watch are sent to."""

    url: Annotated[
        str,
        sized(
            "The address; its host is one of `APPROACH_WEBHOOK_HOSTS`.", shortest=1, longest=2048
        ),
    ]
    secret_id: Annotated[
        str, sized("Id of the secret that what is sent is signed with.", shortest=1, longest=36)
    ]


class WatchAsked(Struct, frozen=True, kw_only=True, gc=False):
    """A recorded decision that is to be kept under watch."""

    decision_id: Annotated[str, sized("Id of the record.", shortest=1, longest=36)]
    until: Annotated[datetime, about("When the watch ends: within 24 hours.")]
    webhook: Annotated[
        WebhookGiven | None, about("Where events are sent to besides the streams; absent: nowhere.")
    ] = None


class StateGiven(Struct, frozen=True, kw_only=True, gc=False):
    """The state of the aircraft under watch, as it is now."""

    patch: Annotated[
        dict[str, Any],
        about(
            "JSON Merge Patch (RFC 7396) of the case under watch: what is given counts from now; a"
            " list replaces a list, null takes a member away."
        ),
    ]
