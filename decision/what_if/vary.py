"""The inputs that a flip point varies: what each is now, how far it may go, how it is changed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum, auto
from typing import Final

from msgspec.structs import replace

from decision.attempt.attempt import Attempt, Role
from decision.case import Case
from decision.course import CourseKind
from decision.decide.decision import Decided
from decision.flight.tried import AS_IT_IS, Tried, WhatIf

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
