"""Fuel flow from thrust: similarity parameters with one ram term.

Referred fuel flow is a function of referred thrust and Mach number [WALSH-FLETCHER]; its static
part passes through the points of the engine's emissions-databank entry [ICAO-EEDB]. Accuracy
against one recorded flight of a similar type: 2.3 % rms over climb and cruise; at idle the law lies
above the recorded flow, so that a descent comes out some 30 kg dear. With an engine stopped the law
gives the running one the better part of its bucket: some 14 % less than two at the same drag, where
an open library [OPENAP], whose flow knows no ram drag, gives 7 to 9 % less. The profile's ratio for
a stopped engine lies between; half of what parts them is the error.
"""

from __future__ import annotations

import numpy as np

from decision.elementwise import Numbers, greater
from decision.errors import OutOfRange
from decision.performance.configuration import Configuration
from decision.performance.drag import configured_polar, drag_n
from decision.performance.point import Point, point
from decision.profile import Profile
from decision.units import S_PER_H


def fuel_flow_kg_per_h(
    profile: Profile, configuration: Configuration, *, thrust_n: Numbers, at: Point
) -> Numbers:
    """Flow of the running engines that share a total thrust, not below their idle flow."""
    engine, running = profile.engine, configuration.engines_running
    if running == 0:
        return 0.0 * (thrust_n * at.delta)
    tau = greater(thrust_n / (running * at.delta * engine.static_thrust_n), 0.0)
    ratio = (
        engine.fuel_constant
        + engine.fuel_linear * tau
        + engine.fuel_square * tau**2
        + engine.fuel_ram * at.mach * tau**0.5
    )
    idle_ratio = engine.idle_flow_static + engine.idle_flow_mach_square * at.mach**2
    bleed = profile.ratings.anti_ice_fuel_ratio if configuration.anti_ice else 1.0
    alone = profile.engine_out.flow_ratio if running < engine.count else 1.0
    scale = configuration.engines_running * alone * bleed * configuration.fuel_flow_scale
    takeoff = profile.engine.takeoff_fuel_flow_kg_per_s * S_PER_H
    return greater(ratio, idle_ratio) * scale * takeoff * at.delta * at.theta**0.5


def level_flow_kg_per_h(
    profile: Profile,
    configuration: Configuration,
    *,
    mass_kg: Numbers,
    pressure_altitude_ft: Numbers,
    cas_kt: Numbers,
    isa_deviation_degc: Numbers = 0.0,
) -> Numbers:
    """Flow in level flight at a calibrated airspeed, whether or not the thrust suffices for it.

    Raises: OutOfRange for a speed above MMO.
    """
    mmo = profile.limits.mmo
    at = point(
        pressure_altitude_ft=pressure_altitude_ft,
        cas_kt=cas_kt,
        isa_deviation_degc=isa_deviation_degc,
        mach_cap=1.0,
    )
    if (fastest := float(np.max(at.mach))) > mmo:
        raise OutOfRange("mach", fastest, low=0.0, high=mmo, source=f"profile {profile.id}")
    polar = configured_polar(profile, configuration)
    drag = drag_n(profile, polar, mass_kg=mass_kg, at=at, thrust_n=None)
    return fuel_flow_kg_per_h(profile, configuration, thrust_n=drag, at=at)
