"""What weighs on the approach at the destination, and on the minima of every approach."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from decision.decide.concerns.concern import Concern, attempt_here, attempts_of
from decision.decide.judge import JudgedCourse
from decision.flight.situation import Situation
from decision.quantities import GearPosition
from decision.rules.against_minima import miss_likely
from decision.rules.approach import may_be_barred
from decision.rules.climb import charted_percent, gradient_within_error
from decision.rules.hazard import span_text
from decision.rules.landing import landing_within_error
from decision.systems import Weight
from decision.windows import minutes_between


def conditions(_situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """What the crew has to do for the approach here to be usable."""
    attempt = attempt_here(courses)
    here = None if attempt is None else attempt.minima
    for condition in () if here is None else here.conditions:
        yield Concern(code="APPROACH_CONDITION", weight=Weight.CAUTION, quotes=(condition,))


def minima(_situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """Why minima are not those of the chart: the category flown, equipment or lights that fail."""
    for attempt in attempts_of(courses):
        flown = attempt.minima
        if attempt.approach is None or flown is None:
            continue
        for why in flown.because:
            if why not in flown.barred:
                yield Concern(
                    code="MINIMA_NOT_AS_CHARTED",
                    weight=Weight.INFO,
                    at=(attempt.icao,),
                    quotes=(attempt.approach.id, why),
                )


def miss_is_likely(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """A ceiling below the minimum height."""
    attempt = attempt_here(courses)
    if attempt is None:
        return
    height_ft, ceiling = attempt.minimum_height_ft, attempt.weather.ceiling
    if miss_likely(attempt, situation) and height_ft is not None and ceiling.feet is not None:
        yield Concern(
            code="MISS_LIKELY",
            weight=Weight.WARNING,
            at=(attempt.icao,),
            figures={"ceiling_ft": ceiling.feet, "height_ft": height_ft},
            because=(ceiling.governing.text,),
        )


def barred_by_forecast(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """Forecast groups that would bar the approach here if they came true."""
    attempt = attempt_here(courses)
    groups = () if attempt is None else may_be_barred(attempt, situation)
    if attempt is not None and groups:
        said = (f"{each.text} ({span_text(each.from_at, each.until_at)})" for each in groups)
        yield Concern(
            code="MAY_BE_BARRED",
            weight=Weight.CAUTION,
            at=(attempt.icao,),
            quotes=tuple(dict.fromkeys(said)),
        )


def engine_out_margin(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """With all engines running: what an engine failure in the missed approach would leave."""
    attempt = attempt_here(courses)
    if attempt is None or attempt.engine_out_climb is None:
        return
    charted = charted_percent(attempt, situation)
    gradient = attempt.engine_out_climb.ground_gradient_percent
    if charted is not None and gradient < charted:
        yield Concern(
            code="ENGINE_OUT_MARGIN_LOST",
            weight=Weight.INFO,
            at=(attempt.icao,),
            figures={"gradient_percent": gradient, "charted_percent": charted},
        )


def engine_out_procedure(
    situation: Situation, courses: Sequence[JudgedCourse]
) -> Iterable[Concern]:
    """With an engine out: no missed approach is published for that."""
    attempt = attempt_here(courses)
    if attempt is None or attempt.approach is None or not situation.capability.engines_failed:
        return
    if attempt.approach.oei_missed_gradient_percent is None:
        yield Concern(
            code="NO_ENGINE_OUT_MISSED_APPROACH", weight=Weight.CAUTION, at=(attempt.icao,)
        )


def gate_report(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """Passing the last clean point needs a fresh report of the destination."""
    attempt = attempt_here(courses)
    station = situation.station(situation.case.destination.aerodrome.icao)
    ahead = situation.configurations.irreversible
    if attempt is None or station.observation is None or not ahead:
        return
    if situation.case.aircraft.gear is not GearPosition.UP:
        return
    limit_min = situation.case.policy.gate_report_max_age_min
    old_min = minutes_between(station.observation.issued_at, attempt.at)
    if old_min > limit_min:
        yield Concern(
            code="FRESH_REPORT_NEEDED",
            weight=Weight.CAUTION,
            at=(attempt.icao,),
            figures={"old_min": old_min, "limit_min": limit_min},
            because=(station.observation.raw,),
        )


def near_a_limit(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """What passes by less than the model can tell: no plain GO rests on it."""
    attempt = attempt_here(courses)
    if attempt is None:
        return
    for near, what in NEAR:
        if near(attempt, situation):
            yield Concern(
                code="WITHIN_MODEL_ERROR",
                weight=Weight.CAUTION,
                at=(attempt.icao,),
                quotes=(what,),
            )


NEAR: Final = (
    (gradient_within_error, "missed approach climb gradient"),
    (landing_within_error, "landing distance with its factor"),
)
