"""Weather at an alternate over its window against the bar that applies; ice without protection."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from decision.attempt.attempt import Attempt, Role, Scene
from decision.attempt.minima import PlanningMinima, PlanningOption, planning_met, planning_minima
from decision.case import AlternateBar
from decision.course import Course, CourseKind
from decision.rules.against_minima import (
    ceiling_at_least,
    ceiling_of,
    compared_words,
    doubt_of,
    seen_at,
    visibility_of,
)
from decision.rules.combine import (
    by_reading,
    holds,
    not_applicable,
    unknown,
    worst_of,
)
from decision.rules.finding import Judgement, Outcome
from decision.rules.policy import scheme_of
from decision.rules.registry import Context, CourseRule, Rule
from decision.rules.row import CHART, TIGHT_RATIO, Breach, Mend
from decision.rules.wind import usable_runways
from decision.weather.report import Element

_minima = lru_cache(maxsize=1024)(planning_minima)

ALTERNATE: Final = frozenset({Role.ALTERNATE})
AFTER_APPROACH: Final = frozenset({CourseKind.APPROACH_THEN_DIVERT, CourseKind.HOLD_THEN_APPROACH})


def alternate_visibility(attempt: Attempt, context: Context) -> Judgement:
    """Visibility or RVR of the window against operating or planning minima."""
    judged = visibility_in_flight(attempt, context)
    return judged or _bar_only(_planned_visibility(attempt, context), attempt, context)


def visibility_in_flight(scene: Scene, context: Context) -> Judgement | None:
    """Visibility or RVR against operating minima; None where planning minima are asked for."""
    if context.case.policy.alternate_bar is AlternateBar.PLANNING:
        return None
    seen = seen_at(scene, context)
    if seen is None:
        return unknown(f"no approach to {scene.icao} is described", lacks=(CHART,))
    visibility = scene.weather.visibility
    return by_reading(
        f"{scene.icao} {compared_words(seen)}",
        seen.value_m,
        seen.limit_m,
        seen.reached,
        unit="m",
        why=_why(scene, Element.VISIBILITY, visibility.governing.text, seen.because),
    )


def alternate_ceiling(attempt: Attempt, context: Context) -> Judgement:
    """Ceiling of the window against the minimum height, or the planning minima."""
    judged = ceiling_in_flight(attempt, context)
    return judged or _bar_only(_planned_ceiling(attempt, context), attempt, context)


def ceiling_in_flight(scene: Scene, context: Context) -> Judgement | None:
    """Ceiling against the minimum height; None where planning minima are asked for."""
    if context.case.policy.alternate_bar is AlternateBar.PLANNING:
        return None
    height_ft = scene.minimum_height_ft
    if height_ft is None:
        return unknown(f"{scene.icao} ceiling: no minimum height is known", lacks=(CHART,))
    return ceiling_at_least(scene, height_ft, context, what=f"{scene.icao} ceiling")


def _bar_only(judged: Judgement, attempt: Attempt, context: Context) -> Judgement:
    """Planning minima missed by weather that still meets the operating ones endanger nobody."""
    if judged.outcome is Outcome.FAIL and _above_operating_minima(attempt, context):
        return judged.meaning(Breach.PLANNING_BAR)
    return judged


def _above_operating_minima(attempt: Attempt, context: Context) -> bool:
    """Whether ceiling and visibility are known to meet the operating minima."""
    height_ft, seen = attempt.minimum_height_ft, seen_at(attempt, context)
    high_enough = height_ft is not None and bool(ceiling_of(attempt, context).reaches(height_ft))
    return high_enough and seen is not None and seen.reached is True


def _why(attempt: Scene, element: Element, *texts: str) -> str:
    """Why a figure is in doubt: what is not known of it, else the words of the report."""
    said = [text for text in texts if text]
    return doubt_of(attempt, element) or "; ".join(dict.fromkeys(said))


def _planned_ceiling(attempt: Attempt, context: Context) -> Judgement:
    """Ceiling against the option that is met best: one option must meet both."""
    option = _option(attempt, context)
    if isinstance(option, Judgement):
        return option
    return ceiling_at_least(attempt, option.ceiling_ft, context, what=f"{attempt.icao} ceiling")


def _planned_visibility(attempt: Attempt, context: Context) -> Judgement:
    """Visibility against that option; for planning a forecast one counts as it stands."""
    option = _option(attempt, context)
    if isinstance(option, Judgement):
        return option
    visibility = visibility_of(attempt, context)
    return by_reading(
        f"{attempt.icao} planning visibility",
        visibility.metres,
        option.visibility_m,
        visibility.reaches(option.visibility_m),
        unit="m",
        why=_why(attempt, Element.VISIBILITY, visibility.governing.text),
    )


def _option(attempt: Attempt, context: Context) -> PlanningOption | Judgement:
    """The option of the planning minima that is met best; what there is to say without any."""
    minima = planning_minima_of(attempt, context)
    best = planning_met(
        minima, ceiling=ceiling_of(attempt, context), visibility=visibility_of(attempt, context)
    ).option
    if best is not None:
        return best
    why = "; ".join((*minima.unknown, *minima.because))
    if not attempt.aerodrome.approaches:
        return unknown(
            f"{attempt.icao} planning minima are not known: {why}",
            lacks=(CHART,),
        )
    return holds(
        minima.available,
        yes="",
        no=f"{attempt.icao} has no planning minima: {why}",
        unknown=f"{attempt.icao} planning minima are not known: {why}",
    )


def planning_minima_of(attempt: Attempt, context: Context) -> PlanningMinima:
    """Planning minima of the attempt's aerodrome for this aircraft, on runways that it can use."""
    return _minima(
        attempt.aerodrome,
        rulebook=context.rulebook,
        category=attempt.category,
        is_night=attempt.is_night,
        lost_equipment=attempt.capability.lost_approach_equipment,
        approvals=context.case.approvals,
        usable_runways=usable_runways(attempt, context),
        scheme=scheme_of(context.case.policy, context.rulebook),
    )


def continuation(course: Course, context: Context) -> Judgement:
    """Towards the destination only with an alternate forecast at its alternate minima.

    Not applicable where the rulebook is content with operating minima in flight.
    """
    if context.rulebook.word("continuation_bar") == OPERATING_BAR:
        return not_applicable("this rulebook asks for operating minima in flight")
    landing = [attempt for attempt in course.attempts if attempt.role is Role.ALTERNATE]
    if not landing:
        return unknown(f"arrival at {course.icao} is not known")
    return worst_of(each(landing[0], context) for each in (_planned_ceiling, _planned_visibility))


def ice_protection(attempt: Scene, _context: Context) -> Judgement:
    """Without anti-ice, no icing or freezing precipitation in the window."""
    if attempt.capability.anti_ice:
        return not_applicable("ice protection works")
    weather = attempt.weather
    clear = None if weather.freezing_precipitation is None else not weather.icing_phenomena
    if weather.freezing_precipitation:
        clear = False
    return holds(
        clear,
        yes=f"no icing weather at {attempt.icao}",
        no=f"icing weather at {attempt.icao} without ice protection: "
        f"{' '.join(weather.icing_phenomena or weather.phenomena) or 'freezing precipitation'}",
        unknown=f"icing weather at {attempt.icao} is not known, ice protection is lost",
    )


OPERATING_BAR: Final = "operating_minima"

RULES: Final[tuple[Rule, ...]] = (
    Rule(
        "WX-01",
        "Visibility at the alternate",
        "alternate_in_flight_bar",
        Breach.BELOW_MINIMA,
        alternate_visibility,
        of_scene=visibility_in_flight,
        applies=ALTERNATE,
        telling=True,
        tight_weather_ratio=TIGHT_RATIO,
    ),
    Rule(
        "WX-02",
        "Ceiling at the alternate",
        "alternate_in_flight_bar",
        Breach.BELOW_MINIMA,
        alternate_ceiling,
        of_scene=ceiling_in_flight,
        applies=ALTERNATE,
        telling=True,
        tight_weather_ratio=TIGHT_RATIO,
    ),
    Rule(
        "WX-03",
        "Icing without protection",
        "icing",
        Breach.WIND_LIMIT,
        ice_protection,
        of_scene=ice_protection,
        mend=Mend.WAITING,
    ),
)
COURSE_RULES: Final[tuple[CourseRule, ...]] = (
    CourseRule(
        "WX-04",
        "Alternate at alternate minima before continuing",
        "continuation_bar",
        Breach.PLANNING_BAR,
        continuation,
        applies=AFTER_APPROACH,
        telling=True,
    ),
)
