"""A case: everything one decision is about, immutable and already checked.

Built only by `decision.case.build`; nothing after it looks at a dict. `None` means that the value
was not given and that no default exists: whatever needs it is UNKNOWN.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from decision.profile import Profile
from decision.quantities import GearPosition, Position, SlatPosition
from decision.systems import Failure
from decision.weather.readings import HazardWeight
from decision.weather.spots import SpotObservation
from decision.windows import Window


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Runway:
    """One landing direction. A code is per third from the touchdown end, or None if not given.

    `closed` None: nobody has said; taken as open, which the answer lists as an assumption.
    """

    ident: str
    true_bearing_deg: float
    lda_m: float
    slope_percent: float
    width_m: float | None
    grooved: bool
    condition_thirds: tuple[int, int, int] | None
    contaminant: str | None
    depth_mm: float | None
    closed: bool | None
    strength_kg: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Obstacle:
    """Something under the missed approach; the distance is along it from where it begins."""

    distance_nm: float
    elevation_ft: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Approach:
    """An instrument approach as published; heights are above the threshold or aerodrome."""

    id: str
    runway: str
    kind: ApproachKind
    needs: tuple[str, ...]
    dh_ft: float | None
    mdh_ft: float | None
    rvr_m: float | None
    visibility_m: float | None
    lights: Lights | None
    equipment_out: tuple[str, ...]
    missed_gradient_percent: float | None
    missed_altitude_ft: float | None
    missed_track_nm: float
    oei_missed_gradient_percent: float | None
    obstacles: tuple[Obstacle, ...] = ()

    @property
    def minimum_height_ft(self) -> float | None:
        """DH or MDH, whichever the procedure has."""
        return self.dh_ft if self.dh_ft is not None else self.mdh_ft


@dataclass(frozen=True, slots=True, kw_only=True)
class Aerodrome:
    """A place to land. `opening` empty: no hours are given."""

    icao: str
    name: str
    elevation_ft: float
    position: Position | None
    runways: tuple[Runway, ...]
    approaches: tuple[Approach, ...]
    rescue_category: int | None
    closures: tuple[Window, ...]
    opening: tuple[Window, ...]
    separate_runways: bool | None

    def runway(self, ident: str) -> Runway:
        """The runway of that name. Raises KeyError when there is none (checked on building)."""
        for runway in self.runways:
            if runway.ident == ident:
                return runway
        raise KeyError(ident)


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """An aerodrome and the way to it. For the destination `track_nm` runs from the present."""

    aerodrome: Aerodrome
    track_nm: float | None
    track_from_present_nm: float | None
    minimum_level_ft: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class AircraftState:
    """The aircraft at `as_of`."""

    profile: Profile
    mass_kg: float
    pressure_altitude_ft: float
    gear: GearPosition
    flap: str
    slats: SlatPosition | None
    position: Position | None
    anti_ice: bool
    oxygen_min: float | None
    persons_on_board: int | None
    heading_true_deg: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FuelState:
    """Fuel at `as_of`; `unusable_kg` is inside `on_board_kg`."""

    on_board_kg: float
    unusable_kg: float
    leak_kg_per_h: float
    planned_final_reserve_kg: float | None
    observed_flow_kg_per_h: float | None

    @property
    def usable_kg(self) -> float:
        """What can be burnt."""
        return self.on_board_kg - self.unusable_kg


@dataclass(frozen=True, slots=True, kw_only=True)
class WindAloft:
    """Wind and perhaps temperature at one level."""

    pressure_altitude_ft: float
    from_true_deg: float
    speed_kt: float
    temperature_degc: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What the crew intends."""

    approach: str | None
    runway: str | None
    hold_min: float
    gear_extension_nm: float | None
    checklist_min: float | None
    landing_flap: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class HazardRating:
    """How heavily the operator weighs a kind of hazardous weather (data/tables/hazards.csv)."""

    phenomenon: str
    weight: HazardWeight


@dataclass(frozen=True, slots=True, kw_only=True)
class Policy:
    """The operator's choices within, or with a stated reason outside, the rulebook.

    `planning_scheme` None: the rulebook's own; `prefer_commit` None: by fuel. `adopt`: codes of
    rules whose guidance binds here. `hazard_weights`: where the operator weighs otherwise; of two
    on one kind the graver counts.
    """

    margin_kg: float | None
    margin_percentile: float
    landing_factor: float
    alternate_bar: AlternateBar
    planning_scheme: str | None
    routing_factor: float
    delay_min: float
    prefer_commit: bool | None
    gate_report_max_age_min: float
    time_critical_trade_min: float
    endangering_trade_min: float
    nearest_trade_min: float
    nearest_far_min: float
    adopt: frozenset[str]
    deviation_reason: str | None
    hazard_weights: tuple[HazardRating, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class AirTraffic:
    """What air traffic control has said about delay."""

    expect_approach_at: datetime | None
    delay_min: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SpotReading:
    """A spot observation and where it was made."""

    icao: str
    observation: SpotObservation


@dataclass(frozen=True, slots=True, kw_only=True)
class Lack:
    """A report that a case has not got."""

    icao: str
    kind: ReportClass


@dataclass(frozen=True, slots=True, kw_only=True)
class Fetched:
    """What came of fetching a report that the case lacked; its text is among the reports.

    `at`: when the source gave it, `age_s` before this case was made; None when nothing came.
    `stale`: a newer one was due, but could not be had. `problem`: why, in plain words.
    """

    lack: Lack
    at: datetime | None
    age_s: float | None
    stale: bool
    problem: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumption:
    """A default that was used because the request did not say."""

    field: str
    value: object
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """The whole question."""

    flight_id: str
    as_of: datetime
    rulebook: str
    aircraft: AircraftState
    fuel: FuelState
    failures: tuple[Failure, ...]
    destination: Leg
    alternates: tuple[Leg, ...]
    winds: tuple[WindAloft, ...] | None
    reports: tuple[str, ...]
    fetch: bool
    fetched: tuple[Fetched, ...] | None
    spots: tuple[SpotReading, ...]
    plan: Plan
    policy: Policy
    air_traffic: AirTraffic
    approvals: frozenset[str]
    include: frozenset[str]
    compare_rulebooks: bool
    assumptions: tuple[Assumption, ...]
    input_digest: str
