"""`/v1/performance/*`: the calculators under the decision, each for itself."""

from __future__ import annotations

from collections.abc import Callable
from http import HTTPStatus
from types import MappingProxyType
from typing import Any, Final

from decision import performance as model
from decision.answer.calculators import Climb, Diversion, HoldingFlight, LandingWithFactor
from decision.errors import Fault, InvalidCase, OutOfRange
from decision.performance.climb import altitude_at_distance
from decision.profile import Profile
from decision.quantities import AntiSkid
from service.address import Address
from service.collaborators import Collaborators
from service.plain import plain
from service.problems import OUT_OF_RANGE
from service.questions import Body, configuration_of, profile_of, slats_out_of
from service.shapes import CLIMB, DIVERSION, HOLDING, LANDING

Answer = dict[str, Any]
Calculator = Callable[[Profile, Body], Answer]

FIELD_OF: Final = MappingProxyType(  # where the flat body has a shorter name than the core
    {
        "start_pressure_altitude_ft": "start_altitude_ft",
        "end_pressure_altitude_ft": "end_altitude_ft",
    }
)


@Address(
    "POST",
    "/v1/performance/diversion",
    tag="tools",
    summary="Fuel, time, level and speed of a diversion; approach and reserve not included.",
    body=DIVERSION,
    answers=(Diversion,),
    example={"profile": "xtj150", "mass_kg": 60000, "distance_nm": 200, "gear": "down"},
    successes={HTTPStatus.OK: "The flight, or the limit that forbids it."},
    raises=(OUT_OF_RANGE,),
)
def diversion(with_: Collaborators, asked: Body) -> Answer:
    """One flight."""
    return located(_diversion, profile_of(asked, with_.library), asked)


@Address(
    "POST",
    "/v1/performance/landing",
    tag="tools",
    summary="Landing distance from 50 ft with the devices that work.",
    body=LANDING,
    answers=(LandingWithFactor,),
    example={
        "profile": "xtj150",
        "mass_kg": 60000,
        "flap": "34",
        "pressure_altitude_ft": 0,
        "condition_code": 5,
    },
    successes={HTTPStatus.OK: "The landing, or what forbids it."},
    raises=(OUT_OF_RANGE,),
)
def landing(with_: Collaborators, asked: Body) -> Answer:
    """One landing."""
    return located(_landing, profile_of(asked, with_.library), asked)


@Address(
    "POST",
    "/v1/performance/climb",
    tag="tools",
    summary="Go-around gradient and ceiling of a configuration.",
    body=CLIMB,
    answers=(Climb,),
    example={
        "profile": "xtj150",
        "mass_kg": 60000,
        "pressure_altitude_ft": 2000,
        "engines_running": 1,
        "flap": "20",
        "distance_nm": 8,
    },
    successes={HTTPStatus.OK: "Gradient, rate, speed and ceiling, and altitude reached."},
    raises=(OUT_OF_RANGE,),
)
def climb(with_: Collaborators, asked: Body) -> Answer:
    """One climb."""
    return located(_climb, profile_of(asked, with_.library), asked)


@Address(
    "POST",
    "/v1/performance/holding",
    tag="tools",
    summary="Fuel and speed of a hold.",
    body=HOLDING,
    answers=(HoldingFlight,),
    example={
        "profile": "xtj150",
        "mass_kg": 60000,
        "pressure_altitude_ft": 5000,
        "minutes": 20,
    },
    successes={HTTPStatus.OK: "The hold, or the limit that forbids it."},
    raises=(OUT_OF_RANGE,),
)
def holding(with_: Collaborators, asked: Body) -> Answer:
    """One hold."""
    return located(_holding, profile_of(asked, with_.library), asked)


def located(calculator: Calculator, profile: Profile, body: Body) -> Answer:
    """The answer; a quantity out of range is pointed at where the body has it by that name."""
    try:
        return calculator(profile, body)
    except OutOfRange as error:
        name = FIELD_OF.get(error.name, error.name)
        if body.get(name) is None:
            raise  # a quantity in between: the problem names it, there is nothing to point at
        fault = Fault(
            pointer=f"/{name}",
            code="range",
            message=f"{error.value:g} is outside the model",
            accepted=f"a number from {error.low:g} to {error.high:g}",
        )
        raise InvalidCase((fault,)) from None


def _diversion(profile: Profile, body: Body) -> Answer:
    air = model.uniform_air(
        headwind_kt=body["headwind_kt"], isa_deviation_degc=body["isa_deviation_degc"]
    )
    flown = model.fly_diversion(
        profile,
        configuration=configuration_of(body, profile),
        mass_kg=body["mass_kg"],
        distance_nm=body["distance_nm"],
        start_pressure_altitude_ft=body["start_altitude_ft"],
        end_pressure_altitude_ft=body["end_altitude_ft"],
        air=air,
        pressure_altitude_ft=body["pressure_altitude_ft"],
        cas_kt=body["cas_kt"],
    )
    return _flown(plain(flown))


def _flown(flown: Answer) -> Answer:
    """A flight; the figures of one that cannot be flown are null, not zero."""
    if flown["feasible"]:
        return flown
    figures = ("fuel_kg", "time_min", "distance_nm", "pressure_altitude_ft", "cas_kt")
    return {**flown, **dict.fromkeys((*figures, "end_mass_kg"))}


def _landing(profile: Profile, body: Body) -> Answer:
    modulation = body["anti_skid"]
    landed = model.landing(
        profile,
        mass_kg=body["mass_kg"],
        flap=body["flap"],
        slats_out=slats_out_of(body, profile),
        pressure_altitude_ft=body["pressure_altitude_ft"],
        isa_deviation_degc=body["isa_deviation_degc"],
        condition_code=int(body["condition_code"]),
        headwind_kt=body["headwind_kt"],
        slope_percent=body["slope_percent"],
        spoilers=body["spoilers"],
        reversers=int(body["reversers"]),
        brakes_fraction=body["brakes_fraction"],
        anti_skid=profile.tyres.anti_skid if modulation is None else AntiSkid(modulation),
    )
    distance_m, factor = landed.distance_m, body["landing_factor"]
    factored_m = None if distance_m is None else distance_m * factor
    return {"distance_m": distance_m, "factored_m": factored_m, **plain(landed)}


def _climb(profile: Profile, body: Body) -> Answer:
    configuration = configuration_of(body, profile)
    deviation = body["isa_deviation_degc"]
    climbed = model.climb(
        profile,
        configuration=configuration,
        mass_kg=body["mass_kg"],
        pressure_altitude_ft=body["pressure_altitude_ft"],
        isa_deviation_degc=deviation,
        headwind_kt=body["headwind_kt"],
    )
    highest_ft = model.ceiling_ft(
        profile,
        configuration=configuration,
        mass_kg=body["mass_kg"],
        isa_deviation_degc=deviation,
    )
    return {
        "gradient_percent": climbed.gradient_percent,
        "ground_gradient_percent": climbed.ground_gradient_percent,
        "gradient_ft_per_nm": climbed.ft_per_nm,
        "rate_fpm": climbed.rate_fpm,
        "cas_kt": climbed.cas_kt,
        "ceiling_ft": highest_ft,
        "reached": _reached(profile, body),
    }


def _reached(profile: Profile, body: Body) -> Answer | None:
    """Height and level at the distance asked for."""
    if body["distance_nm"] is None:
        return None
    reached: Answer = plain(
        altitude_at_distance(
            profile,
            configuration=configuration_of(body, profile),
            mass_kg=body["mass_kg"],
            pressure_altitude_ft=body["pressure_altitude_ft"],
            isa_deviation_degc=body["isa_deviation_degc"],
            distance_nm=body["distance_nm"],
            headwind_kt=body["headwind_kt"],
        )
    )
    return reached


def _holding(profile: Profile, body: Body) -> Answer:
    asked = {
        "configuration": configuration_of(body, profile),
        "mass_kg": body["mass_kg"],
        "pressure_altitude_ft": body["pressure_altitude_ft"],
        "isa_deviation_degc": body["isa_deviation_degc"],
    }
    held = _flown(plain(model.fly_hold(profile, minutes=body["minutes"], **asked)))
    flow = model.holding_flow_kg_per_h(profile, **asked) if held["feasible"] else None
    return {
        "feasible": held["feasible"],
        "limited_by": held["limited_by"],
        "fuel_kg": held["fuel_kg"],
        "flow_kg_per_h": flow,
        "cas_kt": held["cas_kt"],
    }
