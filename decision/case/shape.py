"""The request of a decision, field by field: names, units, ranges, defaults and what each means.

The only place that knows them. Ranges are those of the model's validity or of plain sense; where a
profile narrows one (mass, fuel, detents) the constructor of the case says so with its figures.
"""

from __future__ import annotations

from typing import Final

from decision.case.spec import (
    AnyOf,
    Choice,
    Field,
    Flag,
    Instant,
    ListOf,
    Number,
    Record,
    Text,
)
from decision.case.types import ReportClass
from decision.performance.diversion import GREATEST_LEAK_KG_PER_H
from decision.weather.hazards import kinds
from decision.weather.readings import HazardWeight

MAX_ALTERNATES: Final = 20
MAX_REPORTS: Final = 200
MAX_REPORT_LENGTH: Final = 2000
MAX_FETCHED_AGE_S: Final = 86_400  # a day: far more than a report is kept for
ROUTING_FACTOR: Final = 1.10  # [ASSUMED] the operator sets its own
DEFAULT_POLICY: Final[dict[str, object]] = {
    "margin_percentile": 95.0,
    "landing_factor": 1.15,
    "alternate_bar": "in_flight",
    "routing_factor": ROUTING_FACTOR,
    "delay_min": 10.0,
    "time_critical_trade_min": 5.0,
    "endangering_trade_min": 15.0,
    "nearest_trade_min": 5.0,
    "nearest_far_min": 30.0,
    "gate_report_max_age_min": 15.0,
}

ICAO = Text(
    min_length=4,
    max_length=4,
    pattern="[A-Z][A-Z0-9]{3}",
    means="an ICAO location indicator in capitals",
)
IDENT = Text(max_length=40, pattern=r"[A-Za-z0-9][A-Za-z0-9 _./+-]*", means="an identifier")
FLAP = Text(max_length=8, pattern=r"[0-9A-Za-z]+", means="a flap detent of the profile")
RUNWAY_IDENT = Text(
    min_length=2,
    max_length=3,
    pattern=r"(0[1-9]|[12][0-9]|3[0-6])[LCR]?",
    means='a runway such as "27" or "09L"',
)
ALTITUDE_FT = Number(low=-2000, high=45000, unit="ft")
LEAK_KG_PER_H = Number(low=0, high=GREATEST_LEAK_KG_PER_H, unit="kg/h")
KG = Number(low=0, high=700_000, unit="kg")
BEARING = Number(low=0, high=360, unit="degrees true")
TRACK_NM = Number(low=0, high=3000, unit="NM")
HEIGHT_FT = Number(low=0, high=10000, unit="ft")
METRES = Number(low=0, high=20000, unit="m")
MINUTES = Number(low=0, high=600, unit="min")
WIND_KT = Number(low=0, high=300, unit="kt")
PERCENT_GRADIENT = Number(low=0, high=15, unit="percent")
CODE = Number(low=0, high=6, whole=True)

POSITION = Record(
    name="Position",
    fields=(
        Field(
            name="latitude_deg",
            spec=Number(low=-90, high=90, unit="degrees"),
            required=True,
            doc="Geodetic latitude, north positive.",
        ),
        Field(
            name="longitude_deg",
            spec=Number(low=-180, high=180, unit="degrees"),
            required=True,
            doc="Longitude, east positive.",
        ),
    ),
)

AIRCRAFT = Record(
    name="Aircraft",
    fields=(
        Field(
            name="profile",
            spec=Text(max_length=40, pattern="[a-z0-9][a-z0-9-]*", means="a loaded profile"),
            required=True,
            doc="Id of the aircraft profile.",
        ),
        Field(name="mass_kg", spec=KG, required=True, doc="Gross mass now, fuel included."),
        Field(
            name="pressure_altitude_ft",
            spec=ALTITUDE_FT,
            required=True,
            doc="Pressure altitude now.",
        ),
        Field(
            name="gear",
            spec=Choice(values=("up", "down", "in_transit", "unsafe")),
            default="up",
            doc="Landing gear as it is now.",
        ),
        Field(name="flap", spec=FLAP, doc="Flap detent as it is now; absent: flaps up."),
        Field(
            name="slats",
            spec=Choice(values=("in", "out")),
            doc="Slats as they are now; absent: as they normally go with the flap detent.",
        ),
        Field(name="position", spec=POSITION, doc="Present position."),
        Field(
            name="anti_ice",
            spec=Flag(),
            default=False,
            doc="Engine and wing anti-ice in use for the rest of the flight.",
        ),
        Field(
            name="oxygen_min",
            spec=MINUTES,
            doc="Oxygen left for everybody on board above 10 000 ft without pressurisation.",
        ),
        Field(
            name="persons_on_board",
            spec=Number(low=1, high=1000, whole=True),
            doc="Passengers and crew, for the words of a distress call.",
        ),
        Field(
            name="heading_true_deg",
            spec=BEARING,
            doc="Heading now, for the words of a distress call.",
        ),
    ),
)

FUEL = Record(
    name="Fuel",
    fields=(
        Field(name="on_board_kg", spec=KG, required=True, doc="Fuel on board now, unusable too."),
        Field(name="unusable_kg", spec=KG, default=0.0, doc="Part of it that cannot be used."),
        Field(
            name="leak_kg_per_h",
            spec=LEAK_KG_PER_H,
            default=0.0,
            doc="Loss by a leak; drains in every phase.",
        ),
        Field(
            name="planned_final_reserve_kg",
            spec=KG,
            doc="Final reserve of the operational flight plan; absent: 30 min clean holding.",
        ),
        Field(
            name="observed_flow_kg_per_h",
            spec=Number(low=0, high=50_000, unit="kg/h"),
            doc="Fuel flow seen now, level, in the present configuration; checked on the model.",
        ),
    ),
)

FAILURE = Record(
    name="Failure",
    fields=(
        Field(
            name="id",
            spec=Text(max_length=60, pattern="[a-z0-9][a-z0-9-]*", means="a failure id"),
            required=True,
            doc="Id of the profile's failure catalogue.",
        ),
        Field(name="detent", spec=FLAP, doc="Where the flaps are jammed."),
        Field(
            name="position", spec=Choice(values=("out", "in")), doc="Where the slats are jammed."
        ),
        Field(
            name="quantity_kg",
            spec=Number(low=0, high=100_000, unit="kg"),
            doc="Fuel that is trapped and cannot be used; absent where there is some: unknown.",
        ),
    ),
)

RUNWAY = Record(
    name="Runway",
    fields=(
        Field(name="ident", spec=RUNWAY_IDENT, required=True, doc="Runway designator."),
        Field(name="true_bearing_deg", spec=BEARING, required=True, doc="True bearing."),
        Field(
            name="lda_m",
            spec=Number(low=300, high=6000, unit="m"),
            required=True,
            doc="Landing distance available.",
        ),
        Field(
            name="slope_percent",
            spec=Number(low=-4, high=4, unit="percent"),
            default=0.0,
            doc="Slope in the landing direction, uphill positive.",
        ),
        Field(name="width_m", spec=Number(low=10, high=100, unit="m"), doc="Width."),
        Field(name="grooved", spec=Flag(), default=False, doc="Grooved or porous friction course."),
        Field(
            name="condition_code",
            spec=AnyOf(choices=(CODE, ListOf(item=CODE, min_items=3, max_items=3))),
            doc="Runway condition code 0 to 6, or one per third from the touchdown end.",
        ),
        Field(
            name="contaminant",
            spec=Choice(
                values=(
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
                )
            ),
            doc="Reported surface; used when there is no code.",
        ),
        Field(name="depth_mm", spec=Number(low=0, high=500, unit="mm"), doc="Depth of it."),
        Field(
            name="closed",
            spec=Flag(),
            doc="Not available for landing; absent: taken as open, which is listed.",
        ),
        Field(
            name="strength_kg",
            spec=KG,
            doc="Greatest aircraft mass that the pavement is cleared for.",
        ),
    ),
)

OBSTACLE = Record(
    name="Obstacle",
    fields=(
        Field(
            name="distance_nm",
            spec=Number(low=0, high=60, unit="NM"),
            required=True,
            doc="Distance along the missed approach track from the missed approach point.",
        ),
        Field(
            name="elevation_ft",
            spec=Number(low=-1500, high=30000, unit="ft"),
            required=True,
            doc="Elevation of its top.",
        ),
    ),
)
APPROACH = Record(
    name="Approach",
    fields=(
        Field(name="id", spec=IDENT, required=True, doc="Name of the procedure."),
        Field(name="runway", spec=RUNWAY_IDENT, required=True, doc="Runway it leads to."),
        Field(
            name="kind",
            spec=Choice(values=("3D-B", "3D-A", "2D-A", "circling")),
            required=True,
            doc="Type B or A instrument approach, three- or two-dimensional, or circling.",
        ),
        Field(
            name="needs",
            spec=ListOf(item=IDENT, max_items=10),
            default=(),
            doc='Equipment the procedure needs, for example "ILS" or "GNSS".',
        ),
        Field(name="dh_ft", spec=HEIGHT_FT, doc="Decision height (3D)."),
        Field(name="mdh_ft", spec=HEIGHT_FT, doc="Minimum descent height (2D, circling)."),
        Field(name="rvr_m", spec=METRES, doc="Published minimum runway visual range."),
        Field(name="visibility_m", spec=METRES, doc="Published minimum visibility."),
        Field(
            name="lights",
            spec=Choice(values=("FALS", "IALS", "BALS", "NALS")),
            doc="Full, intermediate, basic or no approach lighting system.",
        ),
        Field(
            name="equipment_out",
            spec=ListOf(
                item=Choice(
                    values=(
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
                    )
                ),
                max_items=12,
            ),
            default=(),
            doc="Ground equipment reported out of service.",
        ),
        Field(
            name="missed_gradient_percent",
            spec=PERCENT_GRADIENT,
            doc="Charted missed approach gradient; absent: the nominal one of the rulebook "
            "(2.5 percent, or 200 ft/NM for faa-121).",
        ),
        Field(
            name="missed_altitude_ft",
            spec=ALTITUDE_FT,
            doc="Altitude of the missed approach; absent: 3000 ft above the aerodrome.",
        ),
        Field(
            name="missed_track_nm",
            spec=Number(low=0, high=200, unit="NM"),
            default=10.0,
            doc="Miles flown on the missed approach before joining the diversion track.",
        ),
        Field(
            name="oei_missed_gradient_percent",
            spec=PERCENT_GRADIENT,
            doc="Gradient of a published one-engine-out missed approach, where there is one.",
        ),
        Field(
            name="obstacles",
            spec=ListOf(item=OBSTACLE, max_items=20),
            default=(),
            doc="Obstacles under the missed approach, to be cleared by the climb as it will be.",
        ),
    ),
)

CLOSURE = Record(
    name="Closure",
    fields=(
        Field(name="from_at", spec=Instant(), required=True, doc="Closed from."),
        Field(name="until_at", spec=Instant(), required=True, doc="Closed until, not included."),
    ),
)
OPENING = Record(
    name="Opening",
    fields=(
        Field(name="from_at", spec=Instant(), required=True, doc="Open from."),
        Field(name="until_at", spec=Instant(), required=True, doc="Open until, not included."),
    ),
)

_AERODROME_FIELDS = (
    Field(name="icao", spec=ICAO, required=True, doc="Location indicator."),
    Field(name="name", spec=Text(max_length=80), doc="Name."),
    Field(
        name="elevation_ft",
        spec=Number(low=-1500, high=16000, unit="ft"),
        doc="Elevation; required unless the aerodrome is loaded.",
    ),
    Field(name="position", spec=POSITION, doc="Reference point."),
    Field(
        name="runways",
        spec=ListOf(item=RUNWAY, min_items=1, max_items=24),
        doc="Landing directions; required unless the aerodrome is loaded.",
    ),
    Field(
        name="approaches",
        spec=ListOf(item=APPROACH, min_items=0, max_items=60),
        doc="Instrument approaches; required unless the aerodrome is loaded.",
    ),
    Field(
        name="rescue_category",
        spec=Number(low=0, high=10, whole=True),
        doc="Rescue and fire fighting category.",
    ),
    Field(
        name="closures",
        spec=ListOf(item=CLOSURE, max_items=20),
        default=(),
        doc="Times at which the aerodrome is closed.",
    ),
    Field(
        name="opening",
        spec=ListOf(item=OPENING, max_items=20),
        default=(),
        doc="Times at which the aerodrome is open; absent: taken as always open.",
    ),
    Field(
        name="separate_runways",
        spec=Flag(),
        doc="Two landing runways of which a blocked one does not stop the other.",
    ),
)
AERODROME = Record(name="Aerodrome", fields=_AERODROME_FIELDS)
DESTINATION = Record(
    name="Destination",
    fields=(
        *_AERODROME_FIELDS,
        Field(
            name="track_nm",
            spec=TRACK_NM,
            doc="Distance to run to the threshold along the expected path.",
        ),
        Field(name="minimum_level_ft", spec=ALTITUDE_FT, doc="Lowest safe level on the way."),
    ),
)
ALTERNATE = Record(
    name="Alternate",
    fields=(
        *_AERODROME_FIELDS,
        Field(
            name="track_nm",
            spec=TRACK_NM,
            doc="Miles from the destination's missed approach point to this aerodrome.",
        ),
        Field(
            name="track_from_present_nm",
            spec=TRACK_NM,
            doc="Miles from the present position to this aerodrome.",
        ),
        Field(name="minimum_level_ft", spec=ALTITUDE_FT, doc="Lowest safe level on the way."),
    ),
)

WIND_ALOFT = Record(
    name="WindAloft",
    fields=(
        Field(name="pressure_altitude_ft", spec=ALTITUDE_FT, required=True, doc="Level."),
        Field(name="from_true_deg", spec=BEARING, required=True, doc="Wind direction."),
        Field(name="speed_kt", spec=WIND_KT, required=True, doc="Wind speed."),
        Field(
            name="temperature_degc",
            spec=Number(low=-100, high=60, unit="degrees Celsius"),
            doc="Air temperature at the level.",
        ),
    ),
)

SPOT_RVR = Record(
    name="SpotRvr",
    fields=(
        Field(name="runway", spec=RUNWAY_IDENT, required=True, doc="Runway."),
        Field(name="touchdown_m", spec=METRES, required=True, doc="Touchdown zone."),
        Field(name="midpoint_m", spec=METRES, doc="Midpoint."),
        Field(name="stop_end_m", spec=METRES, doc="Stop end."),
    ),
)
SPOT_WIND = Record(
    name="SpotWind",
    fields=(
        Field(name="from_true_deg", spec=BEARING, required=True, doc="Direction, true."),
        Field(name="speed_kt", spec=WIND_KT, required=True, doc="Speed."),
        Field(name="gust_kt", spec=WIND_KT, doc="Gust."),
    ),
)
OBSERVATION = Record(
    name="Observation",
    fields=(
        Field(name="icao", spec=ICAO, required=True, doc="Where."),
        Field(name="at", spec=Instant(), required=True, doc="When."),
        Field(name="rvr", spec=ListOf(item=SPOT_RVR, max_items=12), doc="Runway visual ranges."),
        Field(name="wind", spec=SPOT_WIND, doc="Tower wind."),
        Field(name="qnh_hpa", spec=Number(low=850, high=1090, unit="hPa"), doc="QNH."),
        Field(
            name="braking",
            spec=Choice(
                values=(
                    "good",
                    "good_to_medium",
                    "medium",
                    "medium_to_poor",
                    "poor",
                    "less_than_poor",
                )
            ),
            doc="Braking action reported by a pilot; an hour later it only lowers a code.",
        ),
        Field(
            name="braking_runway",
            spec=RUNWAY_IDENT,
            doc="Runway of the braking report; absent: every runway.",
        ),
        Field(name="ceiling_ft", spec=HEIGHT_FT, doc="Ceiling above the aerodrome."),
        Field(name="visibility_m", spec=METRES, doc="Visibility."),
    ),
)

FETCHED = Record(
    name="Fetched",
    fields=(
        Field(name="icao", spec=ICAO, required=True, doc="Where."),
        Field(
            name="kind",
            spec=Choice(values=tuple(each.value for each in ReportClass)),
            required=True,
            doc="What was lacking: an observation (METAR, SPECI) or a forecast (TAF).",
        ),
        Field(name="at", spec=Instant(), doc="When the source gave it; absent: nothing came."),
        Field(
            name="age_s",
            spec=Number(low=0, high=MAX_FETCHED_AGE_S, unit="s"),
            doc="How long before this case was made that was.",
        ),
        Field(
            name="stale",
            spec=Flag(),
            required=True,
            doc="A newer one was due, but could not be had.",
        ),
        Field(
            name="problem",
            spec=Text(max_length=200, means="a reason in plain words"),
            doc="Why nothing, or nothing newer, could be had.",
        ),
    ),
)

WEATHER = Record(
    name="Weather",
    fields=(
        Field(
            name="reports",
            spec=ListOf(
                item=Text(max_length=MAX_REPORT_LENGTH, means="a raw METAR, SPECI or TAF"),
                max_items=MAX_REPORTS,
            ),
            required=True,
            doc="Raw reports in any order.",
        ),
        Field(
            name="fetch",
            spec=Flag(),
            default=False,
            doc="Fetch what the reports lack from the service's configured source.",
        ),
        Field(
            name="fetched",
            spec=ListOf(item=FETCHED, max_items=len(ReportClass) * (1 + MAX_ALTERNATES)),
            doc="What was fetched, as the service wrote it into this case; with it, nothing is "
            "fetched again.",
        ),
    ),
)

PLAN = Record(
    name="Plan",
    fields=(
        Field(name="approach", spec=IDENT, doc="Approach to be flown at the destination."),
        Field(name="runway", spec=RUNWAY_IDENT, doc="Landing runway."),
        Field(name="hold_min", spec=MINUTES, default=0.0, doc="Holding required before it."),
        Field(
            name="gear_extension_nm",
            spec=Number(low=0.5, high=40, unit="NM"),
            doc="Distance to the threshold at which the gear goes down; absent: of the profile.",
        ),
        Field(
            name="checklist_min",
            spec=MINUTES,
            doc="Minutes of checklists, which run on the way; absent: of the failures.",
        ),
        Field(name="landing_flap", spec=FLAP, doc="Detent for landing; absent: of the profile."),
    ),
)

HAZARD_RATING = Record(
    name="HazardRating",
    fields=(
        Field(
            name="phenomenon",
            spec=Choice(values=tuple(dict.fromkeys(each.phenomenon for each in kinds()))),
            required=True,
            doc="Kind of hazardous weather.",
        ),
        Field(
            name="weight",
            spec=Choice(values=tuple(HazardWeight)),
            required=True,
            doc="bar: no landing in it; warning: advised against; caution: said, and no plain GO.",
        ),
    ),
)

POLICY = Record(
    name="Policy",
    fields=(
        Field(
            name="margin_kg",
            spec=KG,
            doc="Fuel wanted above the legal minimum; absent: five minutes of holding.",
        ),
        Field(
            name="margin_percentile",
            spec=Number(low=50, high=99, unit="percent"),
            default=DEFAULT_POLICY["margin_percentile"],
            doc="Percentile of the fuel need that the margin must cover.",
        ),
        Field(
            name="landing_factor",
            spec=Number(low=1.0, high=3.0),
            default=DEFAULT_POLICY["landing_factor"],
            doc="Factor on the landing distance at time of arrival.",
        ),
        Field(
            name="alternate_bar",
            spec=Choice(values=("in_flight", "planning")),
            default=DEFAULT_POLICY["alternate_bar"],
            doc="Which minima an alternate must meet.",
        ),
        Field(
            name="planning_scheme",
            spec=Choice(values=("basic", "variations", "derived_alternate", "standard_alternate")),
            doc="How planning minima are made, where the rulebook has more than one way; absent: "
            "the rulebook's own.",
        ),
        Field(
            name="routing_factor",
            spec=Number(low=1.0, high=2.0),
            default=DEFAULT_POLICY["routing_factor"],
            doc="Track miles per great-circle mile where no track is given.",
        ),
        Field(
            name="delay_min",
            spec=MINUTES,
            default=DEFAULT_POLICY["delay_min"],
            doc="Delay that a change of clearance may cost, for the minimum-fuel state.",
        ),
        Field(
            name="prefer_commit",
            spec=Flag(),
            doc="Where a permitted committed landing and a legal diversion are both open: commit "
            "(true) or divert (false); absent: by the fuel that the diversion leaves.",
        ),
        Field(
            name="time_critical_trade_min",
            spec=MINUTES,
            default=DEFAULT_POLICY["time_critical_trade_min"],
            doc="As soon as possible: minutes that a missed limit which does not endanger weighs.",
        ),
        Field(
            name="endangering_trade_min",
            spec=MINUTES,
            default=DEFAULT_POLICY["endangering_trade_min"],
            doc="As soon as possible: minutes that an endangering breach weighs.",
        ),
        Field(
            name="nearest_trade_min",
            spec=MINUTES,
            default=DEFAULT_POLICY["nearest_trade_min"],
            doc="Nearest suitable: times no further apart than this count as the same.",
        ),
        Field(
            name="nearest_far_min",
            spec=MINUTES,
            default=DEFAULT_POLICY["nearest_far_min"],
            doc="Nearest suitable: a landing here earlier by more than this is not given up.",
        ),
        Field(
            name="adopt",
            spec=ListOf(item=IDENT, max_items=40),
            doc="Codes of rules on guidance that bind in this operation, besides the factor on the "
            "landing distance at time of arrival, which always does.",
        ),
        Field(
            name="hazard_weights",
            spec=ListOf(item=HAZARD_RATING, max_items=40),
            doc="Where hazardous weather weighs otherwise than usual in this operation; lighter "
            "only with `deviation_reason`.",
        ),
        Field(
            name="gate_report_max_age_min",
            spec=Number(low=1, high=120, unit="min"),
            default=DEFAULT_POLICY["gate_report_max_age_min"],
            doc="Age a destination report may have at the last clean diversion point.",
        ),
        Field(
            name="deviation_reason",
            spec=Text(max_length=300),
            doc="Why the policy is looser than the rulebook; printed in the answer.",
        ),
    ),
)

AIR_TRAFFIC = Record(
    name="AirTraffic",
    fields=(
        Field(name="expect_approach_at", spec=Instant(), doc="Expected approach time."),
        Field(
            name="delay_min",
            spec=MINUTES,
            doc="Delay told by air traffic control: held before the approach, besides `hold_min`.",
        ),
    ),
)

CASE = Record(
    name="Case",
    fields=(
        Field(name="flight_id", spec=IDENT, required=True, doc="The operator's name of it."),
        Field(name="as_of", spec=Instant(), required=True, doc="Moment of the aircraft state."),
        Field(
            name="rulebook",
            spec=Choice(values=("icao", "easa", "faa-121")),
            default="icao",
            doc="Rules to judge by.",
        ),
        Field(name="aircraft", spec=AIRCRAFT, required=True, doc="State of the aircraft."),
        Field(name="fuel", spec=FUEL, required=True, doc="Fuel."),
        Field(
            name="failures",
            spec=ListOf(item=FAILURE, max_items=20),
            required=True,
            doc="What has failed; an empty list when nothing has.",
        ),
        Field(
            name="destination",
            spec=AnyOf(choices=(ICAO, DESTINATION)),
            required=True,
            doc="Aerodrome of the approach: a loaded one by its indicator, or described.",
        ),
        Field(
            name="alternates",
            spec=ListOf(item=AnyOf(choices=(ICAO, ALTERNATE)), max_items=MAX_ALTERNATES),
            required=True,
            doc="Aerodromes to divert to.",
        ),
        Field(
            name="winds_aloft",
            spec=ListOf(item=WIND_ALOFT, max_items=40),
            doc="Winds by level; absent: calm, with a caution.",
        ),
        Field(name="weather", spec=WEATHER, required=True, doc="Weather reports."),
        Field(
            name="observations",
            spec=ListOf(item=OBSERVATION, max_items=60),
            default=(),
            doc="Spot readings later than the reports.",
        ),
        Field(name="plan", spec=PLAN, default={}, doc="What the crew intends."),
        Field(name="policy", spec=POLICY, default={}, doc="The operator's policy."),
        Field(name="air_traffic", spec=AIR_TRAFFIC, default={}, doc="What control has said."),
        Field(
            name="approvals",
            spec=ListOf(item=IDENT, max_items=20),
            default=(),
            doc='Crew and operator approvals, for example "LVO".',
        ),
        Field(
            name="include",
            spec=ListOf(
                item=Choice(values=("flip_points", "uncertainty", "steps")),
                max_items=3,
            ),
            default=(),
            doc="Parts of the answer that are computed on request.",
        ),
        Field(
            name="compare_rulebooks",
            spec=Flag(),
            default=False,
            doc="Judge the same case under every rulebook as well.",
        ),
    ),
)
