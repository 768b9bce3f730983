"""A case: everything one decision is about, immutable and checked. These types are its format.

A member with a meaning (`about`, `sized`) is a member of the request, with that type, unit and
range; its default is what is assumed, and listed, when it is absent. A bare member of one of these
types lends its own members to the object around it; any other bare member is not read but worked
out. A profile is written by its id, an aerodrome by its indicator or described. `None` means that
the value was not given and that no default exists: whatever needs it is UNKNOWN.
"""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum
from typing import Annotated, Final, Literal

from msgspec import Struct

from decision.fields import SUPPLIED, about, sized
from decision.notices.types import MAX_NOTICES, NOTICE_TEXT, Notice
from decision.performance.diversion import GREATEST_LEAK_KG_PER_H
from decision.profile import Profile
from decision.quantities import (
    ALTITUDE_FT,
    BEARING,
    CODE,
    ELEVATION_FT,
    FLAP,
    GRADIENT_PERCENT,
    HEIGHT_FT,
    ICAO,
    IDENT,
    INDICATOR,
    KG,
    METRES,
    MINUTES,
    RUNWAY_IDENT,
    SLOPE_PERCENT,
    TRACK_NM,
    WIND_KT,
    GearPosition,
    Position,
    SlatPosition,
)
from decision.systems import Failure
from decision.weather.hazards import kinds
from decision.weather.readings import HazardWeight
from decision.weather.spots import SpotObservation
from decision.windows import Window

MAX_ALTERNATES: Final = 20
MAX_APPROACHES: Final = 40  # of one place
MAX_REPORTS: Final = 1000
MAX_REPORT_LENGTH: Final = 2000
MAX_COURSE_LENGTH: Final = 80
AGEING: Final = (
    "/aircraft/position",
    "/aircraft/pressure_altitude_ft",
    "/aircraft/mass_kg",
    "/fuel/on_board_kg",
    "/destination/track_nm",
)
"""What is known of the state for a moment, besides the miles to each alternate."""
CARRIED_WITH_IT: Final = (
    "/aircraft/gear",
    "/aircraft/oxygen_min",
    "/fuel/observed_flow_kg_per_h",
    "/plan/hold_min",
    "/plan/checklist_min",
    "/air_traffic/delay_min",
)
"""What time and the way change besides."""
TO_ALTERNATE: Final = "/alternates/{}/track_from_present_nm"
MOST_CARRIED: Final = len(AGEING) + len(CARRIED_WITH_IT)
CARRIED_FIELD: Final = "|".join((*AGEING, *CARRIED_WITH_IT, TO_ALTERNATE.format("[0-9]{1,2}")))
MOST_FOUND: Final = 100  # [ASSUMED] as many as anybody reads, and some 10 kB of the answer
MAX_WHY_LENGTH: Final = 300
MAX_FETCHED_AGE_S: Final = 86_400  # a day: far more than a report is kept for

FACTOR = Annotated[float, about("Factor on a landing distance.", low=1.0, high=3.0)]
PROFILE = Annotated[
    Profile, sized("a loaded profile", shortest=1, longest=40, pattern="[a-z0-9][a-z0-9-]*")
]
LEAK_KG_PER_H = Annotated[
    float, about("a loss of fuel", low=0, high=GREATEST_LEAK_KG_PER_H, unit="kg/h")
]
REPORTS = Annotated[
    tuple[
        Annotated[str, sized("a raw METAR, SPECI or TAF", shortest=1, longest=MAX_REPORT_LENGTH)],
        ...,
    ],
    sized("Raw reports in any order.", longest=MAX_REPORTS),
]
NOTICES = Annotated[
    tuple[Annotated[Notice, NOTICE_TEXT], ...],
    sized(
        "Notices: the text of a NOTAM or SNOWTAM, alone or as `raw`, or what one says by members.",
        longest=MAX_NOTICES,
    ),
]
RULEBOOK = Annotated[Literal["icao", "easa", "faa-121"], about("Rules to judge by.")]


class ApproachKind(StrEnum):
    """Classes of approach procedure; ICAO types A and B, two- and three-dimensional."""

    TYPE_B = "3D-B"
    TYPE_A_3D = "3D-A"
    TYPE_A_2D = "2D-A"
    CIRCLING = "circling"


class Lights(StrEnum):
    """Approach lighting by usable length: full, intermediate, basic, none."""

    FULL = "FALS"
    INTERMEDIATE = "IALS"
    BASIC = "BALS"
    NONE = "NALS"


class AlternateBar(StrEnum):
    """Which minima an alternate has to meet."""

    IN_FLIGHT = "in_flight"
    PLANNING = "planning"


class ReportClass(StrEnum):
    """What a report is: seen (METAR, SPECI) or expected (TAF)."""

    OBSERVATION = "observation"
    FORECAST = "forecast"


class Runway(Struct, frozen=True, kw_only=True, gc=False):
    """One landing direction."""

    ident: Annotated[RUNWAY_IDENT, about("Runway designator.")]
    true_bearing_deg: Annotated[BEARING, about("True bearing.")]
    lda_m: Annotated[
        float | None,
        about(
            "Landing distance available; absent: not known, and asked for.",
            low=300,
            high=6000,
            unit="m",
        ),
    ] = None
    length_m: Annotated[
        float | None,
        about(
            "Length of the runway itself, which the landing distance available cannot exceed; "
            "used where that is not known.",
            low=300,
            high=6000,
            unit="m",
        ),
    ] = None
    slope_percent: Annotated[
        SLOPE_PERCENT, about("Slope in the landing direction, uphill positive.")
    ] = 0.0
    width_m: Annotated[float | None, about("Width.", low=10, high=100, unit="m")] = None
    grooved: Annotated[bool, about("Grooved or porous friction course.")] = False
    condition_code: Annotated[
        CODE | tuple[CODE, CODE, CODE] | None,
        about("Runway condition code 0 to 6, or one per third from the touchdown end."),
    ] = None
    contaminant: Annotated[
        Literal[
            "dry",
            "frost",
            "damp",
            "wet",
            "slippery_wet",
            "standing_water",
            "slush",
            "dry_snow",
            "wet_snow",
            "compacted_snow",
            "snow_over_compacted_snow",
            "ice",
            "wet_ice",
            "snow_over_ice",
        ]
        | None,
        about("Reported surface; used when there is no code."),
    ] = None
    depth_mm: Annotated[float | None, about("Depth of it.", low=0, high=500, unit="mm")] = None
    closed: Annotated[
        bool | None,
        about("Not available for landing; absent: taken as open, which is listed."),
    ] = None
    strength_kg: Annotated[
        KG | None, about("Greatest aircraft mass that the pavement is cleared for.")
    ] = None

    @property
    def longest_m(self) -> float | None:
        """What the landing distance available is, or cannot exceed; None where nothing is known."""
        return self.length_m if self.lda_m is None else self.lda_m

    @property
    def condition_thirds(self) -> tuple[int, int, int] | None:
        """The code of each third from the touchdown end; a single one stands for all three."""
        code = self.condition_code
        return (code, code, code) if isinstance(code, int) else code


class Obstacle(Struct, frozen=True, kw_only=True, gc=False):
    """Something under the missed approach."""

    distance_nm: Annotated[
        float,
        about(
            "Distance along the missed approach track from the missed approach point.",
            low=0,
            high=60,
            unit="NM",
        ),
    ]
    elevation_ft: Annotated[
        float, about("Elevation of its top.", low=-1500, high=30_000, unit="ft")
    ]


class Approach(Struct, frozen=True, kw_only=True, gc=False):
    """An instrument approach as published; heights are above the threshold or aerodrome."""

    id: Annotated[IDENT, about("Name of the procedure.")]
    runway: Annotated[RUNWAY_IDENT, about("Runway it leads to.")]
    kind: Annotated[
        ApproachKind,
        about("Type B or A instrument approach, three- or two-dimensional, or circling."),
    ]
    needs: Annotated[
        tuple[IDENT, ...],
        sized('Equipment the procedure needs, for example "ILS" or "GNSS".', longest=10),
    ] = ()
    dh_ft: Annotated[HEIGHT_FT | None, about("Decision height (3D).")] = None
    mdh_ft: Annotated[HEIGHT_FT | None, about("Minimum descent height (2D, circling).")] = None
    rvr_m: Annotated[METRES | None, about("Published minimum runway visual range.")] = None
    visibility_m: Annotated[METRES | None, about("Published minimum visibility.")] = None
    lights: Annotated[
        Lights | None, about("Full, intermediate, basic or no approach lighting system.")
    ] = None
    equipment_out: Annotated[
        tuple[
            Literal[
                "approach_lights",
                "approach_lights_except_last_210_m",
                "approach_lights_except_last_420_m",
                "edge_lights",
                "centreline_lights",
                "touchdown_zone_lights",
                "rvr_system",
                "ils_standby_transmitter",
                "outer_marker",
                "middle_marker",
                "taxiway_lights",
                "standby_power",
                "ils",
                "localizer",
                "glide_path",
                "ils_dme",
                "ils_downgraded",
                "dme",
                "vor",
                "ndb",
                "aid_that_may_be_needed",
            ],
            ...,
        ],
        sized("Ground equipment reported out of service.", longest=21),
    ] = ()
    missed_gradient_percent: Annotated[
        GRADIENT_PERCENT | None,
        about(
            "Charted missed approach gradient; absent: the nominal one of the rulebook "
            "(2.5 percent, or 200 ft/NM for faa-121)."
        ),
    ] = None
    missed_altitude_ft: Annotated[
        ALTITUDE_FT | None,
        about("Altitude of the missed approach; absent: 3000 ft above the aerodrome."),
    ] = None
    missed_track_nm: Annotated[
        float,
        about(
            "Miles flown on the missed approach before joining the diversion track.",
            low=0,
            high=200,
            unit="NM",
        ),
    ] = 10.0
    oei_missed_gradient_percent: Annotated[
        GRADIENT_PERCENT | None,
        about("Gradient of a published one-engine-out missed approach, where there is one."),
    ] = None
    obstacles: Annotated[
        tuple[Obstacle, ...],
        sized(
            "Obstacles under the missed approach, to be cleared by the climb as it will be.",
            longest=20,
        ),
    ] = ()

    @property
    def minimum_height_ft(self) -> float | None:
        """DH or MDH, whichever the procedure has."""
        return self.dh_ft if self.dh_ft is not None else self.mdh_ft


class Closure(Struct, frozen=True, kw_only=True, gc=False):
    """A time at which an aerodrome is closed."""

    from_at: Annotated[datetime, about("Closed from.")]
    until_at: Annotated[datetime, about("Closed until, not included.")]

    @property
    def window(self) -> Window:
        """The time. Raises ValueError where it ends before it begins (checked on building)."""
        return Window(self.from_at, self.until_at)


class Opening(Struct, frozen=True, kw_only=True, gc=False):
    """A time at which an aerodrome is open."""

    from_at: Annotated[datetime, about("Open from.")]
    until_at: Annotated[datetime, about("Open until, not included.")]

    @property
    def window(self) -> Window:
        """The time. Raises ValueError where it ends before it begins (checked on building)."""
        return Window(self.from_at, self.until_at)


class Aerodrome(Struct, frozen=True, kw_only=True, gc=False):
    """A place to land: the format of an aerodrome file too."""

    icao: Annotated[ICAO, about("Location indicator.")]
    name: Annotated[str, sized("Name.", shortest=1, longest=80), SUPPLIED]
    elevation_ft: Annotated[
        ELEVATION_FT, about("Elevation; required unless the aerodrome is loaded."), SUPPLIED
    ]
    position: Annotated[Position | None, about("Reference point.")] = None
    runways: Annotated[
        tuple[Runway, ...],
        sized(
            "Landing directions; required unless the aerodrome is loaded.", shortest=1, longest=24
        ),
        SUPPLIED,
    ]
    approaches: Annotated[
        tuple[Approach, ...],
        sized(
            "Instrument approaches; required unless the aerodrome is loaded.",
            longest=MAX_APPROACHES,
        ),
        SUPPLIED,
    ]
    rescue_category: Annotated[
        int | None, about("Rescue and fire fighting category.", low=0, high=10)
    ] = None
    closures: Annotated[
        tuple[Closure, ...], sized("Times at which the aerodrome is closed.", longest=20)
    ] = ()
    opening: Annotated[
        tuple[Opening, ...],
        sized("Times at which the aerodrome is open; absent: taken as always open.", longest=20),
    ] = ()
    separate_runways: Annotated[
        bool | None,
        about("Two landing runways of which a blocked one does not stop the other."),
    ] = None

    def runway(self, ident: str) -> Runway:
        """The runway of that name. Raises KeyError when there is none (checked on building)."""
        for runway in self.runways:
            if runway.ident == ident:
                return runway
        raise KeyError(ident)


class Leg(Struct, frozen=True, kw_only=True, gc=False):
    """An aerodrome and the way to it."""

    aerodrome: Aerodrome
    track_nm: Annotated[TRACK_NM | None, about("Miles to this aerodrome.")] = None
    track_from_present_nm: float | None = None
    minimum_level_ft: Annotated[ALTITUDE_FT | None, about("Lowest safe level on the way.")] = None


class Destination(Leg, frozen=True, kw_only=True, gc=False):
    """Where the approach is, and the way to it from the present position."""

    track_nm: Annotated[
        TRACK_NM | None, about("Distance to run to the threshold along the expected path.")
    ] = None


class Alternate(Leg, frozen=True, kw_only=True, gc=False):
    """Where a diversion may lead, and the ways to it."""

    track_nm: Annotated[
        TRACK_NM | None,
        about("Miles from the destination's missed approach point to this aerodrome."),
    ] = None
    track_from_present_nm: Annotated[
        TRACK_NM | None, about("Miles from the present position to this aerodrome.")
    ] = None


class Proposing(Struct, frozen=True, kw_only=True, gc=False):
    """What the loaded aerodromes are searched by for more alternates."""

    within_nm: Annotated[
        TRACK_NM | None,
        about(
            "Miles to fly from the present position, at most: great circle times "
            "`policy.routing_factor`; absent: no limit of its own."
        ),
    ] = None
    within_min: Annotated[
        MINUTES | None,
        about(
            "Minutes to touchdown, at most, estimated at the limit speed of the present level and "
            "gear with the wind there; absent: no limit of its own."
        ),
    ] = None
    most: Annotated[int, about("How many to add, at most.", low=1, high=MAX_ALTERNATES)]


class ProposedPlace(Struct, frozen=True, kw_only=True, gc=False):
    """A loaded aerodrome that was found in a search for more alternates."""

    icao: Annotated[ICAO, about("Its location indicator.")]
    taken: Annotated[bool, about("Whether it was added to the alternates.")]
    why: Annotated[str, sized("Why it was taken or left.", shortest=1, longest=MAX_WHY_LENGTH)]


class Gazette(Struct, frozen=True, kw_only=True, gc=False):
    """The aerodromes that were loaded, by content."""

    digest: Annotated[
        str,
        sized("SHA-256 of their files.", shortest=64, longest=64, pattern="[0-9a-f]{64}"),
    ]
    count: Annotated[int, about("How many aerodromes.", low=0, high=1_000_000)]


class Proposed(Struct, frozen=True, kw_only=True, gc=False):
    """What came of a search for more alternates; those that were taken are among the alternates."""

    aerodromes: Annotated[Gazette, about("Which aerodromes were searched.")]
    places: Annotated[
        tuple[ProposedPlace, ...],
        sized("Each one that was found, the soonest touchdown first.", longest=MOST_FOUND),
    ]
    beyond: Annotated[
        int,
        about(
            "How many more there are within the limits, all farther than these.",
            low=0,
            high=1_000_000,
        ),
    ] = 0


class Aircraft(Struct, frozen=True, kw_only=True, gc=False):
    """The aircraft at `as_of`."""

    profile: Annotated[PROFILE, about("Id of the aircraft profile.")]
    mass_kg: Annotated[KG, about("Gross mass now, fuel included.")]
    pressure_altitude_ft: Annotated[ALTITUDE_FT, about("Pressure altitude now.")]
    gear: Annotated[GearPosition, about("Landing gear as it is now.")] = GearPosition.UP
    flap: Annotated[FLAP, about("Flap detent as it is now; absent: flaps up."), SUPPLIED]
    slats: Annotated[
        SlatPosition | None,
        about("Slats as they are now; absent: as they normally go with the flap detent."),
    ] = None
    position: Annotated[Position | None, about("Present position.")] = None
    anti_ice: Annotated[
        bool, about("Engine and wing anti-ice in use for the rest of the flight.")
    ] = False
    oxygen_min: Annotated[
        MINUTES | None,
        about("Oxygen left for everybody on board above 10 000 ft without pressurisation."),
    ] = None
    persons_on_board: Annotated[
        int | None,
        about("Passengers and crew, for the words of a distress call.", low=1, high=1000),
    ] = None
    heading_true_deg: Annotated[
        BEARING | None, about("Heading now, for the words of a distress call.")
    ] = None


class Fuel(Struct, frozen=True, kw_only=True, gc=False):
    """Fuel at `as_of`; `unusable_kg` is inside `on_board_kg`."""

    on_board_kg: Annotated[KG, about("Fuel on board now, unusable too.")]
    unusable_kg: Annotated[KG, about("Part of it that cannot be used.")] = 0.0
    leak_kg_per_h: Annotated[LEAK_KG_PER_H, about("Loss by a leak; drains in every phase.")] = 0.0
    planned_final_reserve_kg: Annotated[
        KG | None,
        about("Final reserve of the operational flight plan; absent: 30 min clean holding."),
    ] = None
    observed_flow_kg_per_h: Annotated[
        float | None,
        about(
            "Fuel flow seen now, level, in the present configuration; checked on the model.",
            low=0,
            high=50_000,
            unit="kg/h",
        ),
    ] = None

    @property
    def usable_kg(self) -> float:
        """What can be burnt."""
        return self.on_board_kg - self.unusable_kg


class WindAloft(Struct, frozen=True, kw_only=True, gc=False, cache_hash=True):
    """Wind and perhaps temperature at one level."""

    pressure_altitude_ft: Annotated[ALTITUDE_FT, about("Level.")]
    from_true_deg: Annotated[BEARING, about("Wind direction.")]
    speed_kt: Annotated[WIND_KT, about("Wind speed.")]
    temperature_degc: Annotated[
        float | None,
        about("Air temperature at the level.", low=-100, high=60, unit="degrees Celsius"),
    ] = None


class Observation(Struct, frozen=True, kw_only=True, gc=False):
    """A spot observation and where it was made."""

    icao: Annotated[ICAO, about("Where.")]
    spot: SpotObservation


class Lack(Struct, frozen=True, kw_only=True, gc=False):
    """A report that a case has not got."""

    icao: Annotated[ICAO, about("Where.")]
    kind: Annotated[
        ReportClass,
        about("What was lacking: an observation (METAR, SPECI) or a forecast (TAF)."),
    ]


class Fetched(Struct, frozen=True, kw_only=True, gc=False):
    """What came of fetching a report that the case lacked; its text is among the reports."""

    lack: Lack
    at: Annotated[datetime | None, about("When the source gave it; absent: nothing came.")] = None
    age_s: Annotated[
        float | None,
        about(
            "How long before this case was made that was.",
            low=0,
            high=MAX_FETCHED_AGE_S,
            unit="s",
        ),
    ] = None
    stale: Annotated[bool, about("A newer one was due, but could not be had.")]
    problem: Annotated[
        Annotated[str, sized("a reason in plain words", shortest=1, longest=200)] | None,
        about("Why nothing, or nothing newer, could be had."),
    ] = None


class Weather(Struct, frozen=True, kw_only=True, gc=False):
    """The reports of a case."""

    reports: REPORTS
    fetch: Annotated[
        bool, about("Fetch what the reports lack from the service's configured source.")
    ] = False
    fetched: Annotated[
        tuple[Fetched, ...] | None,
        sized(
            "What was fetched, as the service wrote it into this case; with it, nothing is "
            "fetched again.",
            longest=len(ReportClass) * (1 + MAX_ALTERNATES),
        ),
    ] = None


class Plan(Struct, frozen=True, kw_only=True, gc=False):
    """What the crew intends."""

    approach: Annotated[IDENT | None, about("Approach to be flown at the destination.")] = None
    runway: Annotated[RUNWAY_IDENT | None, about("Landing runway.")] = None
    hold_min: Annotated[MINUTES, about("Holding required before it.")] = 0.0
    gear_extension_nm: Annotated[
        float | None,
        about(
            "Distance to the threshold at which the gear goes down; absent: of the profile.",
            low=0.5,
            high=40,
            unit="NM",
        ),
    ] = None
    checklist_min: Annotated[
        MINUTES | None,
        about("Minutes of checklists, which run on the way; absent: of the failures."),
    ] = None
    landing_flap: Annotated[FLAP | None, about("Detent for landing; absent: of the profile.")] = (
        None
    )


class HazardRating(Struct, frozen=True, kw_only=True, gc=False):
    """How heavily the operator weighs a kind of hazardous weather (data/tables/hazards.csv)."""

    phenomenon: Annotated[
        str,
        sized(
            "Kind of hazardous weather.",
            words=tuple(dict.fromkeys(each.phenomenon for each in kinds())),
        ),
    ]
    weight: Annotated[
        HazardWeight,
        about("bar: no landing in it; warning: advised against; caution: said, and no plain GO."),
    ]


class Policy(Struct, frozen=True, kw_only=True, gc=False):
    """The operator's choices within, or with a stated reason outside, the rulebook.

    Of two weights on one kind of hazard the graver counts.
    """

    margin_kg: Annotated[
        KG | None,
        about("Fuel wanted above the legal minimum; absent: five minutes of holding."),
    ] = None
    margin_percentile: Annotated[
        float,
        about(
            "Percentile of the fuel need that the margin must cover.",
            low=50,
            high=99,
            unit="percent",
        ),
    ] = 95.0
    landing_factor: Annotated[
        FACTOR | None,
        about("Factor on the landing distance at time of arrival; absent: the rulebook's."),
    ] = None
    alternate_bar: Annotated[AlternateBar, about("Which minima an alternate must meet.")] = (
        AlternateBar.IN_FLIGHT
    )
    planning_scheme: Annotated[
        Literal["basic", "variations", "derived_alternate", "standard_alternate"] | None,
        about(
            "How planning minima are made, where the rulebook has more than one way; absent: "
            "the rulebook's own."
        ),
    ] = None
    routing_factor: Annotated[
        float,
        about("Track miles per great-circle mile where no track is given.", low=1.0, high=2.0),
    ] = 1.10  # [ASSUMED] the operator sets its own
    delay_min: Annotated[
        MINUTES,
        about("Delay that a change of clearance may cost, for the minimum-fuel state."),
    ] = 10.0
    prefer_commit: Annotated[
        bool | None,
        about(
            "Where a permitted committed landing and a legal diversion are both open: commit "
            "(true) or divert (false); absent: by the fuel that the diversion leaves."
        ),
    ] = None
    gate_report_max_age_min: Annotated[
        float,
        about(
            "Age a destination report may have at the last clean diversion point.",
            low=1,
            high=120,
            unit="min",
        ),
    ] = 15.0
    time_critical_trade_min: Annotated[
        MINUTES,
        about("As soon as possible: minutes that a missed limit which does not endanger weighs."),
    ] = 5.0
    endangering_trade_min: Annotated[
        MINUTES, about("As soon as possible: minutes that an endangering breach weighs.")
    ] = 15.0
    nearest_trade_min: Annotated[
        MINUTES,
        about("Nearest suitable: times no further apart than this count as the same."),
    ] = 5.0
    nearest_far_min: Annotated[
        MINUTES,
        about("Nearest suitable: a landing here earlier by more than this is not given up."),
    ] = 30.0
    state_max_age_min: Annotated[
        float | None,
        about(
            "Age that carried state may have; beyond it nothing is decided on it; absent: 10.",
            low=0,
            high=60,
            unit="min",
        ),
    ] = None
    adopt: Annotated[
        frozenset[IDENT],
        sized(
            "Codes of rules on guidance that bind in this operation, besides the factor on the "
            "landing distance at time of arrival, which always does.",
            longest=40,
        ),
    ] = frozenset()
    hazard_weights: Annotated[
        tuple[HazardRating, ...],
        sized(
            "Where hazardous weather weighs otherwise than usual in this operation; lighter "
            "only with `deviation_reason`.",
            longest=40,
        ),
    ] = ()
    deviation_reason: Annotated[
        str | None,
        sized(
            "Why the policy is looser than the rulebook; printed in the answer.",
            shortest=1,
            longest=300,
        ),
    ] = None


class AirTraffic(Struct, frozen=True, kw_only=True, gc=False):
    """What air traffic control has said about delay."""

    expect_approach_at: Annotated[datetime | None, about("Expected approach time.")] = None
    delay_min: Annotated[
        MINUTES | None,
        about("Delay told by air traffic control: held before the approach, besides `hold_min`."),
    ] = None


class CarriedValue(Struct, frozen=True, kw_only=True, gc=False):
    """A value of the case that was not given for `as_of`, but carried to it."""

    field: Annotated[
        str,
        sized("JSON Pointer of it in this case.", shortest=2, longest=60, pattern=CARRIED_FIELD),
    ]
    given_at: Annotated[datetime, about("Moment for which it was last given.")]


class NoBetterThan(Struct, frozen=True, kw_only=True, gc=False):
    """What was decided before the state was carried on."""

    verdict: Annotated[
        Literal["GO", "GO_WITH_CAUTION", "INSUFFICIENT_DATA", "NO_GO"] | None,
        about("The verdict then: no better one follows; absent: there is news since."),
    ] = None
    deadline_at: Annotated[
        datetime | None, about("The deadline then: no later one follows; absent: it may.")
    ] = None


class Carried(Struct, frozen=True, kw_only=True, gc=False):
    """What of the state was carried from an earlier moment to `as_of`, and along which way."""

    along: Annotated[
        str, sized("The way: a course, or a hold.", shortest=1, longest=MAX_COURSE_LENGTH)
    ]
    values: Annotated[
        tuple[CarriedValue, ...], sized("The values.", longest=MOST_CARRIED + MAX_ALTERNATES)
    ]
    lost: Annotated[
        Annotated[str, sized("a reason in plain words", shortest=1, longest=300)] | None,
        about("Why the state at `as_of` cannot be told from the way; absent: it can."),
    ] = None
    no_better_than: Annotated[
        NoBetterThan | None, about("What was decided before, where that still bounds it.")
    ] = None


class Assumption(Struct, frozen=True, kw_only=True, gc=False):
    """A default that was used because the request did not say."""

    field: str
    value: object
    text: str


class Case(Struct, frozen=True, kw_only=True, gc=False):
    """The whole question."""

    flight_id: Annotated[IDENT, about("The operator's name of it.")]
    as_of: Annotated[datetime, about("Moment of the aircraft state.")]
    rulebook: RULEBOOK = "icao"
    aircraft: Annotated[Aircraft, about("State of the aircraft.")]
    fuel: Annotated[Fuel, about("Fuel.")]
    failures: Annotated[
        tuple[Failure, ...],
        sized("What has failed; an empty list when nothing has.", longest=20),
    ]
    destination: Annotated[
        Destination,
        INDICATOR,
        about("Aerodrome of the approach: a loaded one by its indicator, or described."),
    ]
    alternates: Annotated[
        tuple[Annotated[Alternate, INDICATOR], ...],
        sized("Aerodromes to divert to.", longest=MAX_ALTERNATES),
    ]
    propose_alternates: Annotated[
        Proposing | None,
        about(
            "Add alternates from the loaded aerodromes by touchdown time, runway and reports at "
            "hand; needs `aircraft.position`."
        ),
    ] = None
    proposed: Annotated[
        Proposed | None,
        about(
            "What was proposed, as it was written into this case with each place in full; with "
            "it, nothing is proposed again."
        ),
    ] = None
    winds_aloft: Annotated[
        tuple[WindAloft, ...] | None,
        sized("Winds by level; absent: calm, with a caution.", longest=40),
    ] = None
    weather: Annotated[Weather, about("Weather reports.")]
    observations: Annotated[
        tuple[Observation, ...], sized("Spot readings later than the reports.", longest=60)
    ] = ()
    notices: Annotated[
        NOTICES, about("Notices of the places of the case, each for arrivals in its time.")
    ] = ()
    plan: Annotated[Plan, about("What the crew intends.")] = Plan()
    policy: Annotated[Policy, about("The operator's policy.")] = Policy()
    air_traffic: Annotated[AirTraffic, about("What control has said.")] = AirTraffic()
    carried: Annotated[
        Carried | None,
        about(
            "State that is older than `as_of`, as the service wrote it into a case that it "
            "decided again."
        ),
    ] = None
    approvals: Annotated[
        frozenset[IDENT],
        sized('Crew and operator approvals, for example "LVO".', longest=20),
    ] = frozenset()
    include: Annotated[
        frozenset[Literal["flip_points", "uncertainty", "steps", "findings", "ahead"]],
        sized("Parts of the answer that are computed on request.", longest=5),
    ] = frozenset()
    compare_rulebooks: Annotated[
        bool, about("Judge the same case under every rulebook as well.")
    ] = False
    assumptions: tuple[Assumption, ...] = ()
    input_digest: str = ""
    gazette: Gazette | None = None

    @property
    def came_with_alternates(self) -> bool:
        """Whether the caller named any: a place that was proposed was not planned with."""
        proposed = () if self.proposed is None else self.proposed.places
        taken = {each.icao for each in proposed if each.taken}
        return any(leg.aerodrome.icao not in taken for leg in self.alternates)
