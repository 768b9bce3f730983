"""What the physics needs to know about one aircraft type: values and look-up, no formulas.

Every figure of a profile file lands in exactly one field here. A field's `Range` is the unit that
the file must state and the interval that the loader accepts: wide enough for any transport
aeroplane, narrow enough to catch a slipped digit or a wrong unit.
A `Profile` is equal only to itself (profiles are loaded once and cached), which makes it a cheap
and safe key for tables prepared from it.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from decision.citations import Source
from decision.errors import OutOfRange
from decision.profile.operator_tables import NO_TABLES, OperatorTables
from decision.profile.systems_model import SystemsData
from decision.quantities import AntiSkid


@dataclass(frozen=True, slots=True)
class Range:
    """Unit and accepted interval of a profile value."""

    unit: str
    low: float
    high: float


Ratio = Annotated[float, Range("ratio", 0.0, 1.0)]
Factor = Annotated[float, Range("ratio", 0.5, 3.0)]
DragCoefficient = Annotated[float, Range("1", 0.0, 0.5)]
LiftCoefficient = Annotated[float, Range("1", 0.0, 4.5)]
MassKg = Annotated[float, Range("kg", 1_000.0, 650_000.0)]
SpeedKt = Annotated[float, Range("kt", 30.0, 450.0)]
WindKt = Annotated[float, Range("kt", 0.0, 60.0)]
Mach = Annotated[float, Range("Mach", 0.2, 0.99)]
AltitudeFt = Annotated[float, Range("ft", 0.0, 51_000.0)]
LengthM = Annotated[float, Range("m", 0.5, 120.0)]
DistanceNm = Annotated[float, Range("NM", 0.0, 60.0)]
DurationMin = Annotated[float, Range("min", 0.0, 60.0)]
TemperatureK = Annotated[float, Range("K", 0.0, 40.0)]
LapsePerK = Annotated[float, Range("1/K", 0.0, 0.05)]
Angle = Annotated[float, Range("deg", 0.0, 60.0)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Masses:
    """Mass limits; `max_fuel_kg` is the usable capacity of the tanks."""

    oew_kg: MassKg
    mzfw_kg: MassKg
    mlw_kg: MassKg
    mtow_kg: MassKg
    max_fuel_kg: Annotated[float, Range("kg", 200.0, 300_000.0)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fuselage:
    """What sets the category for rescue and fire fighting; length over all."""

    length_m: Annotated[float, Range("m", 5.0, 89.9)]
    width_m: Annotated[float, Range("m", 1.0, 8.0)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wing:
    """Reference wing."""

    area_m2: Annotated[float, Range("m2", 5.0, 1_000.0)]
    span_m: LengthM
    sweep_deg: Angle
    thickness_ratio: Annotated[float, Range("ratio", 0.05, 0.25)]

    @property
    def aspect_ratio(self) -> float:
        """Span squared over area."""
        return self.span_m**2 / self.area_m2


@dataclass(frozen=True, slots=True, kw_only=True)
class Polar:
    """Clean drag polar `CD = cd0 + k CL^2`, and what flaps and Mach number do to it.

    `flap_efficiency_per_deg` is the gain of span efficiency per degree of flap;
    `technology_factor` is kappa of the drag-rise formula.
    """

    cd0: DragCoefficient
    k: Annotated[float, Range("1", 0.01, 0.2)]
    flap_efficiency_per_deg: Annotated[float, Range("1/deg", 0.0, 0.02)]
    technology_factor: Annotated[float, Range("1", 0.8, 1.0)]


@dataclass(frozen=True, slots=True, kw_only=True)
class GearDrag:
    """Drag coefficient of the extended gear, linear in flap deflection; and of its open doors."""

    flaps_up_cd: DragCoefficient
    flaps_full_cd: DragCoefficient
    doors_open_cd: DragCoefficient


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineData:
    """The installed engines: thrust per engine, its reference cruise point, and the fuel law.

    Fuel law: flow over take-off flow = `fuel_constant + fuel_linear tau + fuel_square tau^2 +
    fuel_ram M sqrt(tau)`, tau = thrust / (delta static thrust), not below
    `idle_flow_static + idle_flow_mach_square M^2`.
    """

    count: Annotated[int, Range("1", 2, 4)]
    static_thrust_n: Annotated[float, Range("N", 5_000.0, 600_000.0)]
    bypass_ratio: Annotated[float, Range("ratio", 0.5, 15.0)]
    arm_m: LengthM
    cruise_mach: Mach
    cruise_pressure_altitude_ft: AltitudeFt
    takeoff_fuel_flow_kg_per_s: Annotated[float, Range("kg/s", 0.02, 6.0)]
    fuel_constant: Annotated[float, Range("1", -0.2, 0.3)]
    fuel_linear: Annotated[float, Range("1", 0.0, 2.0)]
    fuel_square: Annotated[float, Range("1", -1.0, 1.0)]
    fuel_ram: Annotated[float, Range("1", 0.0, 3.0)]
    idle_flow_static: Ratio
    idle_flow_mach_square: Ratio
    idle_thrust_ratio: Annotated[float, Range("ratio", 0.0, 0.2)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ratings:
    """How far each thrust rating holds: flat to a temperature, then lapsing; and its ratios.

    Maximum continuous thrust is `continuous_low_ratio` of go-around thrust up to
    `continuous_low_ft`, `continuous_high_ratio` of the climb rating from `continuous_high_ft`,
    linear between. `anti_ice_thrust_ratio` and `anti_ice_fuel_ratio` apply with bleed on.
    """

    go_around_flat_k: TemperatureK
    go_around_lapse_per_k: LapsePerK
    climb_flat_k: TemperatureK
    climb_lapse_per_k: LapsePerK
    climb_scale: Factor
    continuous_low_ratio: Factor
    continuous_low_ft: AltitudeFt
    continuous_high_ratio: Factor
    continuous_high_ft: AltitudeFt
    anti_ice_thrust_ratio: Ratio
    anti_ice_fuel_ratio: Factor


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineOutData:
    """Drag with an engine stopped: windmilling, and the fin that holds the yaw.

    `flow_ratio` multiplies the flow of those that run: alone they supply air and power for all.
    """

    windmill_cd: DragCoefficient
    fin_arm_m: LengthM
    fin_span_m: LengthM
    flow_ratio: Annotated[float, Range("ratio", 1.0, 1.3)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Detent:
    """One flap position; `clmax` is with the slats in (`Profile.clmax` adds them)."""

    id: str
    deflection_deg: Angle
    cd0: DragCoefficient
    clmax: LiftCoefficient
    vfe_kt: SpeedKt | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Slats:
    """Slats, moved apart from the flaps; the lever moves them out from `out_from_detent` on."""

    cd0: DragCoefficient
    clmax_increment: LiftCoefficient
    vfe_kt: SpeedKt
    out_from_detent: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Limits of speed and altitude, and the narrowest runway."""

    vmo_kt: SpeedKt
    mmo: Mach
    vle_kt: SpeedKt
    mle: Mach
    vlo_extend_kt: SpeedKt
    vlo_retract_kt: SpeedKt
    max_pressure_altitude_ft: AltitudeFt
    max_flaps_out_ft: AltitudeFt
    max_gear_out_ft: AltitudeFt
    max_unpressurised_ft: AltitudeFt
    minimum_runway_width_m: Annotated[float, Range("m", 10.0, 80.0)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Brakes:
    """Wheel brakes, all of them working. `dry_friction` is the certified maximum.

    `rolling_friction` is what a wheel resists with when it is not braked.
    """

    dry_friction: Ratio
    rolling_friction: Annotated[float, Range("ratio", 0.005, 0.05)]
    in_service_ratio: Ratio
    load_share: Ratio
    force_limit_kn: Annotated[float, Range("kN", 10.0, 2_000.0)]
    energy_limit_mj: Annotated[float, Range("MJ", 5.0, 1_500.0)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tyres:
    """Tyres and the anti-skid system as delivered."""

    pressure_psi: Annotated[float, Range("psi", 50.0, 300.0)]
    speed_limit_kt: SpeedKt
    anti_skid: AntiSkid


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftDump:
    """Lift coefficient on the ground, `cl_flaps_up + cl_flaps_full_increment deflection / full`,
    times `spoiler_lift_ratio` with ground spoilers out, which add `spoiler_cd`; the ground
    leaves `ground_effect_ratio` of the induced drag.
    """

    cl_flaps_up: LiftCoefficient
    cl_flaps_full_increment: LiftCoefficient
    spoiler_lift_ratio: Ratio
    spoiler_cd: DragCoefficient
    ground_effect_ratio: Ratio


@dataclass(frozen=True, slots=True, kw_only=True)
class Reverse:
    """Reverse thrust per engine over static thrust, above and below `cutback_kt` airspeed.

    `ground_idle_ratio` is the forward thrust of an engine that does not reverse.
    """

    high_speed_ratio: Ratio
    low_speed_ratio: Ratio
    ground_idle_ratio: Ratio
    cutback_kt: SpeedKt


@dataclass(frozen=True, slots=True, kw_only=True)
class LandingData:
    """The airborne part and the transition of a landing."""

    flare_s: Annotated[float, Range("s", 3.0, 15.0)]
    touchdown_speed_ratio: Ratio
    transition_s: Annotated[float, Range("s", 0.0, 6.0)]


@dataclass(frozen=True, slots=True, kw_only=True)
class LandingFactors:
    """The least by which a loss lengthens a landing, whatever the physics say.

    Ratios to the same landing without the loss; `downslope_per_percent` is what each percent of
    downward slope adds at least.
    """

    ground_spoilers_lost: Factor
    spoilers_and_reversers_lost: Factor
    half_brakes_lost: Factor
    anti_skid_lost: Factor
    downslope_per_percent: Ratio


@dataclass(frozen=True, slots=True, kw_only=True)
class Speeds:
    """Operating speeds as ratios of the reference stall speed, and margins to limits.

    `mach_margin` is kept below MMO and MLE in normal flight; `run_in_cas_kt` is the speed of the
    arrival where the configuration allows it; `placard_margin_kt` is kept below the speed limits of
    flaps, slats, gear, doors and failures when a course is planned.
    """

    approach_ratio: Factor
    go_around_ratio: Factor
    holding_ratio: Factor
    second_segment_ratio: Factor
    mach_margin: Annotated[float, Range("Mach", 0.0, 0.1)]
    run_in_cas_kt: SpeedKt
    placard_margin_kt: Annotated[float, Range("kt", 0.0, 30.0)]


@dataclass(frozen=True, slots=True, kw_only=True)
class EmergencyDescent:
    """The descent after a loss of cabin pressure, at idle with the speed brakes out."""

    cas_kt: SpeedKt
    speed_brake_cd: DragCoefficient


class OrdinaryOf(StrEnum):
    """States of the aircraft that each have an ordinary level and speed."""

    CLEAN = "clean"
    GEAR_DOWN = "gear_down"
    FLAPS_OUT = "flaps_out"
    ENGINE_OUT = "engine_out"
    UNPRESSURISED = "unpressurised"


@dataclass(frozen=True, slots=True, kw_only=True)
class OrdinaryRow:
    """Level and speed at which crews ordinarily divert in one state of the aircraft.

    Of several states at once the lowest level and the lowest speed hold.
    """

    state: OrdinaryOf
    level_ft: AltitudeFt
    cas_kt: SpeedKt


class LowVisibility(StrEnum):
    """Whether the flight manual lets minima below category I be used in a state."""

    USABLE = "usable"
    NOT_USABLE = "not_usable"
    NOT_STATED = "not_stated"


@dataclass(frozen=True, slots=True, kw_only=True)
class ApproachData:
    """How an approach is flown: detents, where the gear goes down, how long things take."""

    landing_detent: str
    approach_detent: str
    go_around_detent: str
    second_segment_detent: str
    gear_extension_normal_nm: DistanceNm
    gear_extension_alternate_nm: DistanceNm
    gear_extension_normal_min: DurationMin
    gear_extension_alternate_min: DurationMin
    flap_retraction_normal_min: DurationMin
    flap_retraction_slow_min: DurationMin
    approach_allowance_min: DurationMin
    low_visibility_one_engine: LowVisibility


@dataclass(frozen=True, slots=True, kw_only=True)
class CrosswindRow:
    """Crosswind limit on a runway of one condition code (6 dry to 1 ice)."""

    condition_code: Annotated[int, Range("1", 1, 6)]
    crosswind_limit_kt: WindKt


@dataclass(frozen=True, slots=True, kw_only=True)
class WindLimits:
    """Wind limits for landing; `gust_included` says that gusts count against them."""

    tailwind_limit_kt: WindKt
    gust_included: bool
    crosswind: tuple[CrosswindRow, ...]

    def crosswind_limit_kt(self, condition_code: int) -> float:
        """Limit for a condition code 1 to 6. Raises OutOfRange on any other."""
        for row in self.crosswind:
            if row.condition_code == condition_code:
                return row.crosswind_limit_kt
        codes = [row.condition_code for row in self.crosswind]
        raise OutOfRange("condition_code", condition_code, low=min(codes), high=max(codes))


class AccuracyOf(StrEnum):
    """Figures of the model whose accuracy a profile states."""

    CLEAN_FUEL = "clean_fuel"
    DEGRADED_FUEL = "degraded_fuel"
    CLIMB_GRADIENT = "climb_gradient"
    DRY_LANDING = "dry_landing"
    CONTAMINATED_LANDING = "contaminated_landing"

    @property
    def unit(self) -> str:
        """Percent of the figure; of a gradient, which is a percentage itself, points of it."""
        return "point" if self is AccuracyOf.CLIMB_GRADIENT else "percent"


@dataclass(frozen=True, slots=True, kw_only=True)
class AccuracyRow:
    """How far the model is expected to be off in 19 cases of 20, and what that rests on.

    `within` is in percent of the figure, of a climb gradient in points. Every answer repeats it.
    """

    of: AccuracyOf
    within: Annotated[float, Range("%", 0.1, 100.0)]
    check: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Profile:
    """One aircraft type, checked. `digest` is the SHA-256 of the bytes of its files."""

    id: str
    version: str
    title: str
    digest: str
    masses: Masses
    fuselage: Fuselage
    wing: Wing
    polar: Polar
    gear: GearDrag
    engine: EngineData
    ratings: Ratings
    engine_out: EngineOutData
    slats: Slats
    limits: Limits
    brakes: Brakes
    tyres: Tyres
    lift_dump: LiftDump
    reverse: Reverse
    landing: LandingData
    landing_factors: LandingFactors
    speeds: Speeds
    emergency_descent: EmergencyDescent
    approach: ApproachData
    wind: WindLimits
    detents: tuple[Detent, ...]
    ordinary: tuple[OrdinaryRow, ...]
    accuracy: tuple[AccuracyRow, ...]
    systems: SystemsData
    tables: OperatorTables = NO_TABLES
    sources: tuple[Source, ...] = ()

    def detent(self, flap: str) -> Detent:
        """The flap detent of that id. Raises ValueError naming the detents that exist."""
        for detent in self.detents:
            if detent.id == flap:
                return detent
        known = ", ".join(detent.id for detent in self.detents)
        raise ValueError(f"{self.id} has no flap detent {flap!r}; it has {known}")

    @property
    def flaps_up(self) -> str:
        """The detent with the least deflection."""
        return min(self.detents, key=lambda detent: detent.deflection_deg).id

    def clmax(self, *, flap: str, slats_out: bool) -> float:
        """Maximum lift coefficient with the flaps at a detent and the slats in or out."""
        return self.detent(flap).clmax + (self.slats.clmax_increment if slats_out else 0.0)

    def slats_out_with_lever(self, flap: str) -> bool:
        """Whether the lever at this detent has the slats out when nothing is jammed."""
        first = self.detent(self.slats.out_from_detent)
        return self.detent(flap).deflection_deg >= first.deflection_deg

    @property
    def full_flap_deg(self) -> float:
        """Deflection of the last detent."""
        return max(detent.deflection_deg for detent in self.detents)
