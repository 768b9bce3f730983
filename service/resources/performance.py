"""`/v1/performance/*`: the calculators under the decision, each for itself."""

from __future__ import annotations

from collections.abc import Callable
from http import HTTPStatus
from types import MappingProxyType
from typing import Any, Final, TypeVar

from decision import performance as model
from decision.answer.calculators import ClimbTold, DiversionTold, HoldingFlight, LandingWithFactor
from decision.case.derive import record_of
from decision.errors import Fault, InvalidCase, OutOfRange
from decision.performance.climb import altitude_at_distance
from service.address import Address
from service.plain import plain
from service.problems import OUT_OF_RANGE
from service.questions import configuration_of, slats_out_of
from service.scopes import Scope
from service.shapes import ClimbQuestion, DiversionQuestion, HoldingQuestion, LandingQuestion

Answer = dict[str, Any]
Question = TypeVar("Question", DiversionQuestion, ClimbQuestion, HoldingQuestion, LandingQuestion)

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
    scope=Scope.READ,
    summary="Fuel, time, level and speed of a diversion; approach and reserve not included.",
    body=record_of(DiversionQuestion),
    answers=(DiversionTold,),
    example={"profile": "xtj150", "mass_kg": 60000, "distance_nm": 200, "gear": "down"},
    successes={HTTPStatus.OK: "The flight, or the limit that forbids it."},
    raises=(OUT_OF_RANGE,),
)
def diversion(asked: DiversionQuestion) -> Answer:
    """One flight."""
    return located(_diversion, asked)


@Address(
    "POST",
    "/v1/performance/landing",
    tag="tools",
    scope=Scope.READ,
    summary="Landing distance from 50 ft with the devices that work.",
    body=record_of(LandingQuestion),
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
def landing(asked: LandingQuestion) -> Answer:
    """One landing."""
    return located(_landing, asked)


@Address(
    "POST",
    "/v1/performance/climb",
    tag="tools",
    scope=Scope.READ,
    summary="Go-around gradient and ceiling of a configuration.",
    body=record_of(ClimbQuestion),
    answers=(ClimbTold,),
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
def climb(asked: ClimbQuestion) -> Answer:
    """One climb."""
    return located(_climb, asked)


@Address(
    "POST",
    "/v1/performance/holding",
    tag="tools",
    scope=Scope.READ,
    summary="Fuel and speed of a hold.",
    body=record_of(HoldingQuestion),
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
def holding(asked: HoldingQuestion) -> Answer:
    """One hold."""
    return located(_holding, asked)


def located(calculator: Callable[[Question], Answer], asked: Question) -> Answer:
    """The answer; a quantity out of range is pointed at where the body has it by that name."""
    try:
        return calculator(asked)
    except OutOfRange as error:
        name = FIELD_OF.get(error.name, error.name)
        if getattr(asked, name, None) is None:
            raise  # a quantity in between: the problem names it, there is nothing to point at
        fault = Fault(
            pointer=f"/{name}",
            code="range",
            message=f"{error.value:g} is outside the model",
            accepted=f"a number from {error.low:g} to {error.high:g}",
        )
        raise InvalidCase((fault,)) from None


def _diversion(asked: DiversionQuestion) -> Answer:
    air = model.uniform_air(
        headwind_kt=asked.headwind_kt, isa_deviation_degc=asked.isa_deviation_degc
    )
    flown = model.fly_diversion(
        asked.profile,
        configuration=configuration_of(asked),
        mass_kg=asked.mass_kg,
        distance_nm=asked.distance_nm,
        start_pressure_altitude_ft=asked.start_altitude_ft,
        end_pressure_altitude_ft=asked.end_altitude_ft,
        air=air,
        pressure_altitude_ft=asked.pressure_altitude_ft,
        cas_kt=asked.cas_kt,
    )
    return _flown(flown)


FIGURES = model.Flown.__struct_fields__


def _flown(outcome: model.Outcome) -> Answer:
    """A flight; the figures of one that cannot be flown are null, not zero."""
    match outcome:
        case model.Flown():
            return {"feasible": True, "limited_by": None, "unknown": False, **plain(outcome)}
        case model.CannotFly(limited_by=why):
            unknown = False
        case model.NotKnown(what=why):
            unknown = True
    refused = {"feasible": False, "limited_by": why, "unknown": unknown}
    return {**refused, **dict.fromkeys(FIGURES), "steps": []}


def _landing(asked: LandingQuestion) -> Answer:
    profile, modulation = asked.profile, asked.anti_skid
    landed = model.landing(
        profile,
        mass_kg=asked.mass_kg,
        flap=asked.flap,
        slats_out=slats_out_of(asked),
        pressure_altitude_ft=asked.pressure_altitude_ft,
        isa_deviation_degc=asked.isa_deviation_degc,
        condition_code=asked.condition_code,
        headwind_kt=asked.headwind_kt,
        slope_percent=asked.slope_percent,
        spoilers=asked.spoilers,
        reversers=asked.reversers,
        brakes_fraction=asked.brakes_fraction,
        anti_skid=profile.tyres.anti_skid if modulation is None else modulation,
    )
    distance_m, factor = landed.distance_m, asked.landing_factor
    factored_m = None if distance_m is None else distance_m * factor
    return {"distance_m": distance_m, "factored_m": factored_m, **plain(landed)}


def _climb(asked: ClimbQuestion) -> Answer:
    configuration = configuration_of(asked)
    deviation = asked.isa_deviation_degc
    climbed = model.climb(
        asked.profile,
        configuration=configuration,
        mass_kg=asked.mass_kg,
        pressure_altitude_ft=asked.pressure_altitude_ft,
        isa_deviation_degc=deviation,
        headwind_kt=asked.headwind_kt,
    )
    highest_ft = model.ceiling_ft(
        asked.profile,
        configuration=configuration,
        mass_kg=asked.mass_kg,
        isa_deviation_degc=deviation,
    )
    return {
        "gradient_percent": climbed.gradient_percent,
        "ground_gradient_percent": climbed.ground_gradient_percent,
        "gradient_ft_per_nm": climbed.ft_per_nm,
        "rate_fpm": climbed.rate_fpm,
        "cas_kt": climbed.cas_kt,
        "ceiling_ft": highest_ft,
        "reached": _reached(asked),
    }


def _reached(asked: ClimbQuestion) -> Answer | None:
    """Height and level at the distance asked for."""
    if asked.distance_nm is None:
        return None
    reached: Answer = plain(
        altitude_at_distance(
            asked.profile,
            configuration=configuration_of(asked),
            mass_kg=asked.mass_kg,
            pressure_altitude_ft=asked.pressure_altitude_ft,
            isa_deviation_degc=asked.isa_deviation_degc,
            distance_nm=asked.distance_nm,
            headwind_kt=asked.headwind_kt,
        )
    )
    return reached


def _holding(asked: HoldingQuestion) -> Answer:
    held = _flown(
        model.fly_hold(
            asked.profile,
            configuration=configuration_of(asked),
            mass_kg=asked.mass_kg,
            pressure_altitude_ft=asked.pressure_altitude_ft,
            isa_deviation_degc=asked.isa_deviation_degc,
            minutes=asked.minutes,
        )
    )
    return {
        "feasible": held["feasible"],
        "limited_by": held["limited_by"],
        "fuel_kg": held["fuel_kg"],
        "flow_kg_per_h": _holding_flow(asked) if held["feasible"] else None,
        "cas_kt": held["cas_kt"],
    }


def _holding_flow(asked: HoldingQuestion) -> float:
    return model.holding_flow_kg_per_h(
        asked.profile,
        configuration=configuration_of(asked),
        mass_kg=asked.mass_kg,
        pressure_altitude_ft=asked.pressure_altitude_ft,
        isa_deviation_degc=asked.isa_deviation_degc,
    )
