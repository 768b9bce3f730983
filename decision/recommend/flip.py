"""What would change the answer: for each input the value at which the verdict flips.

Found by bracketing on the real decision: the present value has one verdict, an end of the range
another, and the gap between them is halved until it is narrow. A flip point is the first value
that was seen to give the other verdict, so it is never a guess between two decisions.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

from decision.case import Case
from decision.course import Attempt, CourseKind, Role
from decision.courses.what_if import AS_IT_IS, WhatIf
from decision.recommend.answer import Recommendation, Verdict

Try = Callable[[Case, float], tuple[Case, WhatIf]]
Present = Callable[[Recommendation], float | None]
Decide = Callable[[Case, WhatIf], Verdict]


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """One input that is varied: its range, the step to which the flip is found, how to vary it."""

    name: str
    unit: str
    low: float
    high: float
    step: float
    present: Present
    tried: Try


@dataclass(frozen=True, slots=True, kw_only=True)
class FlipPoint:
    """The nearest value of an input with another verdict; None when none in its range has.

    None, too, where places differ, so that the present value everywhere is another case already.
    """

    input: str
    present: float | None
    flips_at: float | None
    to_verdict: Verdict | None
    unit: str


def flip_points(answer: Recommendation, decide: Decide) -> tuple[FlipPoint, ...]:
    """One flip point for each input, in the order of the table."""
    return tuple(_flip(each, answer, decide) for each in INPUTS)


def _flip(varied: Input, answer: Recommendation, decide: Decide) -> FlipPoint:
    """Try both ends of the range; of two flips the one nearer to the present value counts."""
    case, verdict = answer.situation.case, answer.decision.verdict
    present = varied.present(answer)
    found: list[tuple[float, Verdict]] = []
    if present is not None:
        start = min(max(present, varied.low), varied.high)
        for end in (varied.low, varied.high):
            flip = _bracket(varied, case, verdict, start, end, decide)
            if flip is not None:
                found.append(flip)
        if found and decide(*varied.tried(case, start)) is not verdict:
            found.clear()
    nearest = min(found, key=lambda flip: abs(flip[0] - (present or 0.0)), default=(None, None))
    return FlipPoint(
        input=varied.name,
        present=present,
        flips_at=nearest[0],
        to_verdict=nearest[1],
        unit=varied.unit,
    )


def _bracket(  # noqa: PLR0917 - private, one caller
    varied: Input, case: Case, verdict: Verdict, start: float, end: float, decide: Decide
) -> tuple[float, Verdict] | None:
    """The value nearest to the start, to one step, that has another verdict."""
    steps = round(abs(end - start) / varied.step)
    if steps == 0:
        return None
    direction = varied.step if end > start else -varied.step
    same, other, flipped = 0, steps, decide(*varied.tried(case, start + steps * direction))
    if flipped is verdict:
        return None
    while other - same > 1:
        middle = (same + other) // 2
        seen = decide(*varied.tried(case, start + middle * direction))
        if seen is verdict:
            same = middle
        else:
            other, flipped = middle, seen
    return start + other * direction, flipped


def _here(answer: Recommendation) -> Attempt | None:
    """The approach at the destination as planned, from any course that has it."""
    for judged in answer.courses:
        if judged.course.kind is CourseKind.HOLD_THEN_APPROACH:
            continue
        for attempt in judged.course.attempts:
            if attempt.role is not Role.ALTERNATE:
                return attempt
    return None


def _there(answer: Recommendation) -> Attempt | None:
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


def _fuel(case: Case, value: float) -> tuple[Case, WhatIf]:
    return replace(case, fuel=replace(case.fuel, on_board_kg=value)), AS_IT_IS


def _delay(case: Case, value: float) -> tuple[Case, WhatIf]:
    hold_min = case.plan.hold_min + value
    return replace(case, plan=replace(case.plan, hold_min=hold_min)), AS_IT_IS


HIGHEST_CEILING_FT: Final = 5000.0
MOST_FUEL_KG: Final = 20_000.0

INPUTS: Final[tuple[Input, ...]] = (
    Input(
        name="fuel_on_board_kg",
        unit="kg",
        low=0.0,
        high=MOST_FUEL_KG,
        step=10.0,
        present=lambda answer: answer.situation.case.fuel.on_board_kg,
        tried=_fuel,
    ),
    Input(
        name="diversion_headwind_kt",
        unit="kt",
        low=-60.0,
        high=100.0,
        step=1.0,
        present=lambda _answer: 0.0,
        tried=lambda case, value: (case, WhatIf(headwind_kt=value)),
    ),
    Input(
        name="destination_visibility_m",
        unit="m",
        low=0.0,
        high=10_000.0,
        step=50.0,
        present=lambda answer: _visibility_of(_here(answer)),
        tried=lambda case, value: (case, WhatIf(destination_visibility_m=value)),
    ),
    Input(
        name="destination_ceiling_ft",
        unit="ft",
        low=0.0,
        high=HIGHEST_CEILING_FT,
        step=50.0,
        present=lambda answer: _ceiling_of(_here(answer)),
        tried=lambda case, value: (case, WhatIf(destination_ceiling_ft=value)),
    ),
    Input(
        name="alternate_ceiling_ft",
        unit="ft",
        low=0.0,
        high=HIGHEST_CEILING_FT,
        step=50.0,
        present=lambda answer: _ceiling_of(_there(answer)),
        tried=lambda case, value: (case, WhatIf(alternate_ceiling_ft=value)),
    ),
    Input(
        name="alternate_visibility_m",
        unit="m",
        low=0.0,
        high=10_000.0,
        step=50.0,
        present=lambda answer: _visibility_of(_there(answer)),
        tried=lambda case, value: (case, WhatIf(alternate_visibility_m=value)),
    ),
    Input(
        name="delay_min",
        unit="min",
        low=0.0,
        high=120.0,
        step=1.0,
        present=lambda _answer: 0.0,
        tried=_delay,
    ),
    Input(
        name="destination_condition_code",
        unit="code",
        low=0.0,
        high=6.0,
        step=1.0,
        present=lambda answer: _code_of(_here(answer)),
        tried=lambda case, value: (case, WhatIf(destination_condition_code=round(value))),
    ),
)
