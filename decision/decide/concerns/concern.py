"""A fact that no rule decides and that the crew must be told; its words are made by the answer."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import Final

from msgspec import Struct

from decision.attempt.attempt import Attempt
from decision.case import Fetched
from decision.course import APPROACH_THEN_DIVERT, COMMIT_TO_LAND
from decision.decide.judge import JudgedCourse
from decision.flight.situation import Situation
from decision.systems import Weight

NO_FIGURES: Final[Mapping[str, float]] = MappingProxyType({})
HERE: Final = (APPROACH_THEN_DIVERT, COMMIT_TO_LAND)  # kinds that begin with the approach here
HAZARD: Final = "HAZARD_"  # how the codes of hazardous weather begin


class Concern(Struct, frozen=True, kw_only=True, gc=False):
    """One fact. What weighs more than `INFO` lets no plain GO be.

    `at`: the places that it is of. `figures`: by name, which ends in the unit. `quotes`: what
    reports, rules or the profile say of it. `because`: path from its cause, cause first. `fetched`:
    the reports of which it is. `words`: what the profile says, told as it is.
    """

    code: str
    weight: Weight
    at: tuple[str, ...] = ()
    figures: Mapping[str, float] = NO_FIGURES
    quotes: tuple[str, ...] = ()
    because: tuple[str, ...] = ()
    fetched: tuple[Fetched, ...] = ()
    words: str = ""


Source = Callable[[Situation, Sequence[JudgedCourse]], Iterable[Concern]]
"""One kind of concern, looked for in a situation and its courses."""


def attempts_of(courses: Iterable[JudgedCourse]) -> Iterable[Attempt]:
    """The approaches of all courses, in their order; each once, for courses share them."""
    every = [attempt for judged in courses for attempt in judged.course.attempts]
    return {id(attempt): attempt for attempt in every}.values()


def attempt_here(courses: Iterable[JudgedCourse]) -> Attempt | None:
    """The approach at the destination."""
    for judged in courses:
        if judged.course.kind in HERE:
            return next(iter(judged.course.attempts), None)
    return None
