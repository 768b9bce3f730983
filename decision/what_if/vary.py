"""The inputs that a flip point varies: what each is now, how far it may go, how it is changed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import Enum, auto
from types import MappingProxyType
from typing import Annotated, Final

from msgspec import Struct
from msgspec.structs import replace

from decision.attempt.attempt import Attempt, Role
from decision.case import Case
from decision.course import CourseKind
from decision.decide.decision import Decided
from decision.errors import Fault, InvalidCase
from decision.fields import about
from decision.flight.tried import AS_IT_IS, Tried, WhatIf
from decision.quantities import CODE, KG

Try = Callable[[Case, float], tuple[Case, WhatIf]]


class Better(Enum):
    """Which way an input is better for every course, whatever else is so.

    EITHER: it moves the moments of arrival, and another moment may have better weather.
    """

    HIGHER = auto()
    EITHER = auto()


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """One input: its range, the step to which a flip is found, how to read and how to vary it."""

    name: str
    unit: str
    step: float
    better: Better
    span: Callable[[Decided], tuple[float, float]]
    present: Callable[[Decided], float | None]
    tried: Try


def fixed(low: float, high: float) -> Callable[[Decided], tuple[float, float]]:
    """A range that is the same in every case."""
    return lambda _answer: (low, high)


def _here(answer: Decided) -> Attempt | None:
    """The approach at the destination as planned, from any course that has it."""
    for judged in answer.courses:
        if judged.course.kind is CourseKind.HOLD_THEN_APPROACH:
            continue
        for attempt in judged.course.attempts:
            if attempt.role is not Role.ALTERNATE:
                return attempt
    return None


def _there(answer: Decided) -> Attempt | None:
    """The best course's attempt at an alternate."""
    for judged in answer.courses:
        for attempt in judged.course.attempts:
            if attempt.role is Role.ALTERNATE:
                return attempt
    return None


def _ceiling_of(attempt: Attempt | None) -> float | None:
    if attempt is None:
        return None
    feet = attempt.weather.ceiling.feet
    no_ceiling = attempt.weather.ceiling.reaches(HIGHEST_CEILING_FT) is True
    return HIGHEST_CEILING_FT if feet is None and no_ceiling else feet


def _visibility_of(attempt: Attempt | None) -> float | None:
    return None if attempt is None else attempt.weather.visibility.metres


def _code_of(attempt: Attempt | None) -> float | None:
    surface = None if attempt is None else attempt.runway_condition
    return None if surface is None or surface.code is None else float(surface.code)


def _temperature_of(answer: Decided) -> float | None:
    attempt = _here(answer)
    return None if attempt is None else attempt.weather.temperature_degc


def _fuel(case: Case, value: float) -> tuple[Case, WhatIf]:
    """At the same mass, as far as the aircraft without that fuel is no lighter than empty."""
    aircraft = case.aircraft
    mass_kg = max(aircraft.mass_kg, aircraft.profile.masses.oew_kg + value)
    return replace(
        case,
        fuel=replace(case.fuel, on_board_kg=value),
        aircraft=replace(aircraft, mass_kg=mass_kg),
    ), AS_IT_IS


def _mass(case: Case, value: float) -> tuple[Case, WhatIf]:
    return replace(case, aircraft=replace(case.aircraft, mass_kg=value)), AS_IT_IS


def _masses(answer: Decided) -> tuple[float, float]:
    """Masses that the fuel on board leaves: what it sits in is neither empty nor overloaded."""
    case = answer.situation.case
    masses, fuel_kg = case.aircraft.profile.masses, case.fuel.on_board_kg
    return masses.oew_kg + fuel_kg, min(masses.mtow_kg, masses.mzfw_kg + fuel_kg)


def _delay(case: Case, value: float) -> tuple[Case, WhatIf]:
    hold_min = case.plan.hold_min + value
    return replace(case, plan=replace(case.plan, hold_min=hold_min)), AS_IT_IS


HIGHEST_CEILING_FT: Final = 5000.0
FURTHEST_VISIBILITY_M: Final = 10_000.0
MOST_FUEL_KG: Final = 20_000.0

INPUTS: Final[tuple[Input, ...]] = (
    Input(
        name="fuel_on_board_kg",
        unit="kg",
        step=10.0,
        better=Better.HIGHER,
        span=fixed(0.0, MOST_FUEL_KG),
        present=lambda answer: answer.situation.case.fuel.on_board_kg,
        tried=_fuel,
    ),
    Input(
        name="diversion_headwind_kt",
        unit="kt",
        step=1.0,
        better=Better.EITHER,
        span=fixed(-60.0, 100.0),
        present=lambda _answer: 0.0,
        tried=lambda case, value: (case, WhatIf(headwind_kt=value)),
    ),
    Input(
        name="destination_visibility_m",
        unit="m",
        step=50.0,
        better=Better.HIGHER,
        span=fixed(0.0, FURTHEST_VISIBILITY_M),
        present=lambda answer: _visibility_of(_here(answer)),
        tried=lambda case, value: (case, WhatIf(destination=Tried(visibility_m=value))),
    ),
    Input(
        name="destination_ceiling_ft",
        unit="ft",
        step=50.0,
        better=Better.HIGHER,
        span=fixed(0.0, HIGHEST_CEILING_FT),
        present=lambda answer: _ceiling_of(_here(answer)),
        tried=lambda case, value: (case, WhatIf(destination=Tried(ceiling_ft=value))),
    ),
    Input(
        name="alternate_ceiling_ft",
        unit="ft",
        step=50.0,
        better=Better.HIGHER,
        span=fixed(0.0, HIGHEST_CEILING_FT),
        present=lambda answer: _ceiling_of(_there(answer)),
        tried=lambda case, value: (case, WhatIf(alternates=Tried(ceiling_ft=value))),
    ),
    Input(
        name="alternate_visibility_m",
        unit="m",
        step=50.0,
        better=Better.HIGHER,
        span=fixed(0.0, FURTHEST_VISIBILITY_M),
        present=lambda answer: _visibility_of(_there(answer)),
        tried=lambda case, value: (case, WhatIf(alternates=Tried(visibility_m=value))),
    ),
    Input(
        name="delay_min",
        unit="min",
        step=1.0,
        better=Better.EITHER,
        span=fixed(0.0, 120.0),
        present=lambda _answer: 0.0,
        tried=_delay,
    ),
    Input(
        name="destination_condition_code",
        unit="code",
        step=1.0,
        better=Better.HIGHER,
        span=fixed(0.0, 6.0),
        present=lambda answer: _code_of(_here(answer)),
        tried=lambda case, value: (case, WhatIf(destination=Tried(condition_code=round(value)))),
    ),
    Input(
        name="mass_kg",
        unit="kg",
        step=100.0,
        better=Better.EITHER,
        span=_masses,
        present=lambda answer: answer.situation.case.aircraft.mass_kg,
        tried=_mass,
    ),
    Input(
        name="destination_temperature_degc",
        unit="degC",
        step=1.0,
        better=Better.EITHER,
        span=fixed(-40.0, 50.0),
        present=_temperature_of,
        tried=lambda case, value: (case, WhatIf(destination=Tried(temperature_degc=value))),
    ),
)
BY_NAME: Final = MappingProxyType({each.name: each for each in INPUTS})


FUEL_TRIED = Annotated[float, about("a fuel", low=0, high=MOST_FUEL_KG, unit="kg")]
HEADWIND_TRIED = Annotated[float, about("a headwind", low=-60, high=100, unit="kt")]
CEILING_TRIED = Annotated[float, about("a ceiling", low=0, high=HIGHEST_CEILING_FT, unit="ft")]
VISIBILITY_TRIED = Annotated[
    float, about("a visibility", low=0, high=FURTHEST_VISIBILITY_M, unit="m")
]
DELAY_TRIED = Annotated[float, about("a delay", low=0, high=120, unit="min")]
TEMPERATURE_TRIED = Annotated[
    float, about("a temperature", low=-40, high=50, unit="degrees Celsius")
]


class InputsTried(Struct, frozen=True, kw_only=True, gc=False):
    """Values of inputs that are tried out together; what is absent stays as it is."""

    fuel_on_board_kg: Annotated[FUEL_TRIED | None, about("Fuel on board, at the same mass.")] = None
    diversion_headwind_kt: Annotated[
        HEADWIND_TRIED | None, about("Headwind more than is known, on every diversion.")
    ] = None
    destination_visibility_m: Annotated[
        VISIBILITY_TRIED | None, about("Visibility at the destination, and RVR with it.")
    ] = None
    destination_ceiling_ft: Annotated[
        CEILING_TRIED | None, about("Ceiling at the destination.")
    ] = None
    alternate_ceiling_ft: Annotated[CEILING_TRIED | None, about("Ceiling at each alternate.")] = (
        None
    )
    alternate_visibility_m: Annotated[
        VISIBILITY_TRIED | None, about("Visibility at each alternate, and RVR with it.")
    ] = None
    delay_min: Annotated[DELAY_TRIED | None, about("A hold besides the planned one.")] = None
    destination_condition_code: Annotated[
        CODE | None, about("Runway condition code of every third at the destination.")
    ] = None
    mass_kg: Annotated[
        KG | None, about("Gross mass, at the same fuel, as far as that is one of the aircraft.")
    ] = None
    destination_temperature_degc: Annotated[
        TEMPERATURE_TRIED | None, about("Temperature at the destination.")
    ] = None


def varied(answer: Decided, values: Mapping[str, float], *, at: str = "") -> tuple[Case, WhatIf]:
    """The case of an answer with inputs at these values, by name, all at once.

    Raises: InvalidCase, its pointers below `at`, where the case does not know an input, so that
    there is nothing to vary, or where a value is none that it can have.
    """
    faults = tuple(
        fault for name in values if (fault := _fault(BY_NAME[name], answer, values[name], at))
    )
    if faults:
        raise InvalidCase(faults)
    case, what_if = answer.situation.case, answer.situation.what_if
    for each in INPUTS:  # in one order, whatever the caller's
        if each.name in values:
            case, more = each.tried(case, values[each.name])
            what_if = more.beside(what_if)
    return case, what_if


def _fault(tried: Input, answer: Decided, value: float, at: str) -> Fault | None:
    low, high = tried.span(answer)
    if low <= value <= high and tried.present(answer) is not None:
        return None
    known = tried.present(answer) is not None
    return Fault(
        pointer=f"{at}/{tried.name}",
        code="range" if known else "unknown",
        message=f"is {value:g} {tried.unit}" if known else "is not known in this case",
        accepted=f"{low:g} to {high:g} {tried.unit}" if known else "a variation without it",
    )
