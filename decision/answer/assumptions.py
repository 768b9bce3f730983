"""What was taken for granted: defaults of the request, and what nobody has reported."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from decision.attempt.attempt import Attempt
from decision.case import Assumption, Case, Runway
from decision.case.bearing import EXPLAINED_DEG, apart_deg
from decision.case.carried import STATE_MAX_AGE_MIN, age_min, carried_value
from decision.decide.judge import JudgedCourse
from decision.decide.measures import urgency_of
from decision.flight.situation import Situation
from decision.performance.level import beside_tables
from decision.rules.policy import landing_factor
from decision.systems import Urgency
from decision.windows import instant_text


def assumptions_of(courses: Sequence[JudgedCourse], situation: Situation) -> tuple[Assumption, ...]:
    """Each assumption once: the case's own first, then those of runways and charts."""
    every = [attempt for judged in courses for attempt in judged.course.attempts]
    attempts = {id(attempt): attempt for attempt in every}.values()  # courses share theirs
    drawn = [*_of_the_decision(situation)]
    drawn += [each for attempt in attempts for each in _of(attempt, situation)]
    drawn += [each for judged in courses for each in _beside_tables(judged, situation)]
    unique = {each.field: each for each in reversed([*situation.case.assumptions, *drawn])}
    return tuple(reversed(unique.values()))


def _of_the_decision(situation: Situation) -> Iterator[Assumption]:
    """What is taken where the case leaves a choice open, or where haste overrides it."""
    case = situation.case
    yield from _carried(case)
    if case.policy.landing_factor is None:
        factor = landing_factor(case.policy, situation.rulebook)
        yield Assumption(
            field="/policy/landing_factor",
            value=factor,
            text="of the rulebook",
        )
    if case.policy.prefer_commit is None:
        yield Assumption(
            field="/policy/prefer_commit",
            value="by_fuel",
            text="where both are open, commit only if the diversion lands near its final reserve",
        )
    if case.plan.hold_min > 0.0 and urgency_of(situation) is Urgency.AS_SOON_AS_POSSIBLE:
        yield Assumption(
            field="/plan/hold_min",
            value=0.0,
            text="/plan/hold_min is not flown: the failure asks for a landing as soon as possible",
        )


def _carried(case: Case) -> Iterator[Assumption]:
    """Each value that was not given for now, with its age, and how old it may be."""
    if case.carried is None:
        return
    for each in case.carried.values:
        value = carried_value(case, each.field)
        yield Assumption(
            field=each.field,
            value="not known" if value is None else value,
            text=f"{each.field} of {instant_text(each.given_at)}, {age_min(case, each):.1f} min "
            f"old: carried on, {case.carried.along}",
        )
    if case.policy.state_max_age_min is None:
        yield Assumption(
            field="/policy/state_max_age_min",
            value=STATE_MAX_AGE_MIN,
            text=f"/policy/state_max_age_min not given: {STATE_MAX_AGE_MIN:g} assumed",
        )


def _beside_tables(judged: JudgedCourse, situation: Situation) -> Iterator[Assumption]:
    """What the model answered for, where the operator has tables without rows for it."""
    profile = situation.case.aircraft.profile
    flown = beside_tables(profile, judged.course.configuration)
    if flown is not None:
        yield Assumption(
            field=f"fuel flow, {flown}",
            value="physics",
            text=f"the operator's fuel tables have no rows for {flown}: flow by the model",
        )
    if profile.tables.landing is not None:
        for flap in dict.fromkeys(filter(None, map(_flap_beside_table, judged.course.attempts))):
            yield Assumption(
                field=f"landing distance, flap {flap}",
                value="physics",
                text=f"the operator's landing table has no rows for flap {flap}:"
                " distance by the model",
            )


def _flap_beside_table(attempt: Attempt) -> str | None:
    """The flap of a landing whose distance is known, but not from a table."""
    landed = attempt.landing
    known = landed is not None and landed.unknown is None and landed.table_m is None
    return attempt.flap if known else None


def _of(attempt: Attempt, situation: Situation) -> Iterator[Assumption]:
    surface, runway, approach = attempt.runway_condition, attempt.runway, attempt.approach
    if surface is not None and runway is not None:
        for text in surface.assumptions:
            yield Assumption(
                field=f"{attempt.icao} runway {runway.ident} condition",
                value=surface.code,
                text=f"{attempt.icao} runway {runway.ident}: {text}",
            )
    if runway is not None:
        yield from _of_runway(attempt.icao, runway, situation)
    if approach is not None and approach.missed_gradient_percent is None:
        percent = situation.rulebook.gradient_percent("missed_gradient")
        yield Assumption(
            field=f"{attempt.icao} {approach.id} missed approach gradient",
            value=percent,
            text=f"{attempt.icao} {approach.id}: no gradient is charted, {percent:.1f} percent",
        )


def _of_runway(icao: str, runway: Runway, situation: Situation) -> Iterator[Assumption]:
    """What a runway is taken for where nobody says."""
    if runway.closed is None:
        yield Assumption(
            field=f"{icao} runways closed",
            value=False,
            text="nothing says whether a runway is closed, taken as open",
        )
    if apart_deg(runway) > EXPLAINED_DEG:
        yield Assumption(
            field=f"{icao} runway {runway.ident} bearing",
            value=runway.true_bearing_deg,
            text=f"{icao} runway {runway.ident}: a bearing of {runway.true_bearing_deg:.0f} degrees"
            f" true is {apart_deg(runway):.0f} off its name, taken as given",
        )
    if runway.grooved:
        yield Assumption(
            field=f"{icao} runway {runway.ident} grooves",
            value="smooth",
            text=f"{icao} runway {runway.ident}: its grooves are given no credit, wet it is taken"
            " for a smooth one",
        )
    if runway.width_m is None:
        width_m = situation.case.aircraft.profile.limits.minimum_runway_width_m
        yield Assumption(
            field=f"{icao} runway {runway.ident} width",
            value=width_m,
            text=f"{icao} runway {runway.ident}: no width is given, {width_m:.0f} m or more",
        )
