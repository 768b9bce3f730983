"""What each key of a profile file means, for the performance engineer who fills it in.

One line a key, and where a figure is usually found. The units and ranges are with the types; a test
holds this table complete and free of keys that do not exist.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

_MASSES: Final = {
    "oew_kg": "Operating empty mass: ready for flight, without payload and fuel.",
    "mzfw_kg": "Maximum zero-fuel mass.",
    "mlw_kg": "Maximum landing mass.",
    "mtow_kg": "Maximum take-off mass.",
    "max_fuel_kg": "Usable fuel with full tanks.",
}
_FUSELAGE: Final = {
    "length_m": "Length over all; with the width it gives the category for rescue services.",
    "width_m": "Greatest width of the fuselage.",
}
_WING: Final = {
    "area_m2": "Reference area, to which every coefficient of the file refers.",
    "span_m": "Span; with the area it gives the aspect ratio.",
    "sweep_deg": "Sweep at a quarter of the chord; for the drag rise.",
    "thickness_ratio": "Mean thickness over chord; for the drag rise.",
}
_POLAR: Final = {
    "cd0": "Zero-lift drag, clean.",
    "k": "Induced drag factor, clean; 1 over (pi, aspect ratio, span efficiency).",
    "flap_efficiency_per_deg": "What a degree of flap adds to the span efficiency.",
    "technology_factor": "Kappa of the drag rise: 0.87 older aerofoils, 0.95 supercritical.",
}
_GEAR: Final = {
    "flaps_up_cd": "Drag of the extended gear, doors closed, flaps up.",
    "flaps_full_cd": "The same at full flap, which shields it: less.",
    "doors_open_cd": "What doors that stay open add, after an alternate extension above all.",
}
_ENGINE: Final = {
    "count": "Engines; the systems file must have as many.",
    "static_thrust_n": "Take-off thrust of one engine at rest, sea level, standard.",
    "bypass_ratio": "Bypass ratio; it sets how thrust falls with speed.",
    "arm_m": "From the plane of symmetry to an engine; for the yaw of a stopped one.",
    "cruise_mach": "Mach number of the cruise point to which the climb thrust refers.",
    "cruise_pressure_altitude_ft": "Level of that cruise point.",
    "takeoff_fuel_flow_kg_per_s": "Fuel flow of one engine at take-off thrust, at rest.",
    "fuel_constant": "Fuel law: part that does not depend on thrust.",
    "fuel_linear": "Fuel law: part that goes with thrust.",
    "fuel_square": "Fuel law: part that goes with the square of thrust.",
    "fuel_ram": "Fuel law: part that goes with Mach number and the root of thrust.",
    "idle_flow_static": "Idle flow over take-off flow, at rest.",
    "idle_flow_mach_square": "What it gains with the square of the Mach number.",
    "idle_thrust_ratio": "Idle thrust over take-off thrust, in flight.",
}
_RATINGS: Final = {
    "go_around_flat_k": "Go-around thrust is flat up to this deviation from standard.",
    "go_around_lapse_per_k": "Share of it that each further degree costs.",
    "climb_flat_k": "The same for climb thrust.",
    "climb_lapse_per_k": "Share of it that each further degree costs.",
    "climb_scale": "Climb thrust over what the general law gives for the engine.",
    "continuous_low_ratio": "Maximum continuous over go-around thrust, low.",
    "continuous_low_ft": "Up to this level.",
    "continuous_high_ratio": "Maximum continuous over climb thrust, high.",
    "continuous_high_ft": "From this level; between the two it is linear.",
    "anti_ice_thrust_ratio": "What is left of thrust with anti-ice bleed.",
    "anti_ice_fuel_ratio": "Fuel flow with anti-ice bleed over that without.",
}
_ENGINE_OUT: Final = {
    "windmill_cd": "Drag of one stopped engine.",
    "fin_arm_m": "From the centre of gravity to the aerodynamic centre of the fin.",
    "fin_span_m": "Effective span of the fin, which holds the yaw.",
    "flow_ratio": "Fuel flow of the running engines over what their thrust alone asks for.",
}
_SLATS: Final = {
    "cd0": "What extended slats add to the drag.",
    "clmax_increment": "What they add to the maximum lift coefficient.",
    "vfe_kt": "Greatest speed with slats out.",
    "out_from_detent": "The lever has them out from this flap detent on.",
}
_LIMITS: Final = {
    "vmo_kt": "Maximum operating speed, calibrated.",
    "mmo": "Maximum operating Mach number.",
    "vle_kt": "Greatest speed with the gear extended.",
    "mle": "Greatest Mach number with the gear extended.",
    "vlo_extend_kt": "Greatest speed to extend the gear; so far only the check uses it.",
    "vlo_retract_kt": "Greatest speed to retract it; so far only the check uses it.",
    "max_pressure_altitude_ft": "Maximum operating altitude.",
    "max_flaps_out_ft": "Greatest altitude with flaps or slats out.",
    "max_gear_out_ft": "Greatest altitude with the gear extended or its doors open.",
    "max_unpressurised_ft": "Greatest altitude without cabin pressure.",
    "minimum_runway_width_m": "Narrowest runway that may be landed on.",
}
_BRAKES: Final = {
    "dry_friction": "Greatest braking coefficient on a dry runway, as certified.",
    "rolling_friction": "Resistance of a wheel that is not braked.",
    "in_service_ratio": "Share of the certified coefficient that is counted on arrival.",
    "load_share": "Share of the weight that stands on braked wheels.",
    "force_limit_kn": "Greatest force of all brakes together: torque, not grip.",
    "energy_limit_mj": "Energy that all brakes together take up once.",
}
_TYRES: Final = {
    "pressure_psi": "Pressure in service: sets where they plane and how they grip when wet.",
    "speed_limit_kt": "Rated ground speed.",
    "anti_skid": "Kind of anti-skid system, as certification has it.",
}
_LIFT_DUMP: Final = {
    "cl_flaps_up": "Lift coefficient on the ground, flaps up.",
    "cl_flaps_full_increment": "What full flap adds.",
    "spoiler_lift_ratio": "Share of that lift that is left with ground spoilers out.",
    "spoiler_cd": "What they add to the drag.",
    "ground_effect_ratio": "Share of the induced drag that is left on the ground.",
}
_REVERSE: Final = {
    "high_speed_ratio": "Reverse thrust of an engine over take-off thrust, above the cut-back.",
    "low_speed_ratio": "The same below it.",
    "ground_idle_ratio": "Forward thrust over take-off thrust of an engine that does not reverse.",
    "cutback_kt": "Airspeed at which reverse is cut back.",
}
_LANDING: Final = {
    "flare_s": "From 50 ft to the touchdown.",
    "touchdown_speed_ratio": "Speed at touchdown over approach speed.",
    "transition_s": "From the touchdown until spoilers, brakes and reversers all act.",
}
_LANDING_FACTORS: Final = {
    "ground_spoilers_lost": "At least so much longer without any ground spoiler.",
    "spoilers_and_reversers_lost": "The same without reversers either.",
    "half_brakes_lost": "The same with half of the brakes; other shares in proportion.",
    "anti_skid_lost": "The same without anti-skid.",
    "downslope_per_percent": "What each percent of downward slope adds at least.",
}
_SPEEDS: Final = {
    "approach_ratio": "Speed at 50 ft over the reference stall speed of the flaps in use.",
    "go_around_ratio": "The same for the climb after a miss.",
    "holding_ratio": "The same for the slowest holding and manoeuvring speed.",
    "second_segment_ratio": "The same for the second segment; only the check uses it.",
    "mach_margin": "Kept below MMO and MLE in normal flight.",
    "run_in_cas_kt": "Speed of the arrival, where the configuration allows it.",
    "placard_margin_kt": "Kept below limits of flaps, slats, gear and failures in a plan.",
}
_EMERGENCY_DESCENT: Final = {
    "cas_kt": "Speed of the descent after a loss of pressure, where nothing forbids it.",
    "speed_brake_cd": "What the speed brakes add to the drag in it.",
}
_ORDINARY: Final = {
    "state": "State of the aircraft; one row for each.",
    "level_ft": "Level at which crews ordinarily divert in it.",
    "cas_kt": "Their speed.",
}
_APPROACH: Final = {
    "landing_detent": "Flap for landing.",
    "approach_detent": "Flap from the gear extension on, until landing flap.",
    "go_around_detent": "Flap in the climb after a miss.",
    "second_segment_detent": "Flap for take-off; only the check uses it.",
    "gear_extension_normal_nm": "Distance to run at which the gear goes down.",
    "gear_extension_alternate_nm": "The same when it goes down by the alternate system: earlier.",
    "gear_extension_normal_min": "How long the extension takes.",
    "gear_extension_alternate_min": "How long the alternate extension takes.",
    "flap_retraction_normal_min": "How long flaps take to come in after a miss.",
    "flap_retraction_slow_min": "The same by the slow drive.",
    "approach_allowance_min": "Time of an approach and landing, counted at the end of a diversion.",
    "low_visibility_one_engine": "Whether minima below category I are usable on one engine.",
}
_WIND: Final = {
    "tailwind_limit_kt": "Greatest tailwind for landing.",
    "gust_included": "Whether gusts count against these limits.",
}
_CROSSWIND: Final = {
    "condition_code": "Runway condition code, 6 dry to 1 ice; one row for each.",
    "crosswind_limit_kt": "Greatest crosswind on such a runway.",
}
_DETENTS: Final = {
    "id": "Name of the detent, as crews say it; requests use it.",
    "deflection_deg": "Deflection; 0 in the first row, rising.",
    "cd0": "What this flap adds to the drag.",
    "clmax": "Maximum lift coefficient with the slats in; trimmed, power off.",
    "vfe_kt": "Greatest speed with this flap; none where flaps set no limit.",
}
_ACCURACY: Final = {
    "of": "Which figure of the model; one row for each.",
    "within": "Error that 19 cases of 20 stay within: percent, of a gradient points.",
    "check": "What that rests on, in words: a flight recorded, a table, nothing.",
    "source": "Source of the figure.",
}

MEANING: Final[Mapping[str, str]] = MappingProxyType(
    {
        f"{table}.{key}": words
        for table, keys in (
            ("masses", _MASSES),
            ("fuselage", _FUSELAGE),
            ("wing", _WING),
            ("polar", _POLAR),
            ("gear", _GEAR),
            ("engine", _ENGINE),
            ("ratings", _RATINGS),
            ("engine_out", _ENGINE_OUT),
            ("slats", _SLATS),
            ("limits", _LIMITS),
            ("brakes", _BRAKES),
            ("tyres", _TYRES),
            ("lift_dump", _LIFT_DUMP),
            ("reverse", _REVERSE),
            ("landing", _LANDING),
            ("landing_factors", _LANDING_FACTORS),
            ("speeds", _SPEEDS),
            ("emergency_descent", _EMERGENCY_DESCENT),
            ("approach", _APPROACH),
            ("wind", _WIND),
            ("wind.crosswind", _CROSSWIND),
            ("detents", _DETENTS),
            ("ordinary", _ORDINARY),
            ("accuracy", _ACCURACY),
        )
        for key, words in keys.items()
    }
)
"""Words by the full name of the key."""
