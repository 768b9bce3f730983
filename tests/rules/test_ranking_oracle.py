"""The order of courses against a plain oracle: the one permutation in which each pair is in order.

The oracle knows a course only by what was drawn for it and asks three tables in turn: the limits
that it breaks, what is preferred among those that break as much, and its name. It compares two
courses criterion by criterion and tries every permutation, so it shares nothing with the product
but the meaning of the tables. The least bad has an oracle of its own: the one that no other beats.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import timedelta
from functools import cache
from itertools import pairwise, permutations
from random import Random
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision.attempt.attempt import Attempt
from decision.course import Course, CourseKind
from decision.decide.judge import JudgedCourse, judged_course
from decision.decide.rank import LEAST_BAD, LIMITS, PREFERENCES, least_bad, ranked
from decision.flight.situation import Situation
from decision.rulebooks.rulebook import Force
from decision.rules.finding import Finding, Judgement, Outcome, Sense
from decision.rules.row import Breach
from decision.systems import Urgency
from tests.changing import replace
from tests.decide.builders import situation
from tests.decide.by_hand import stated_as
from tests.rules.builders import T0, attempt, course, ledger

RESERVE_KG = 1200.0  # of the ledgers laid out by hand
WANTED_KG = 200.0  # what the policy wants above it
KIND_FIRST = (
    "approach_then_divert",
    "hold_then_approach",
    "divert_now",
    "commit_to_land",
    "second_approach",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """A course by what its place in the order may depend on.

    `breach` None: it breaks nothing, and is legal unless a question is open. `missed_by`: how far,
    as part of the limit; None: the breach compares no figures.
    """

    name: str
    open_questions: int
    advised_against: bool
    breach: Breach | None
    missed_by: float | None
    margin_kg: float | None
    minutes: int | None
    kind: str
    not_known: int
    weather_room: float
    runway_room: float
    wind_room: float
    exposed_min: int | None


# --- the oracle ---


def limits(drawn: Drawn) -> tuple[Any, ...]:
    """First table: no mere figure, legal, not advised against, what it breaks and by how much."""
    figure = drawn.kind == "second_approach"
    if drawn.breach is None:
        return (figure, 1 if drawn.open_questions else 0, drawn.advised_against, 0, 0.0)
    return (figure, 2, drawn.advised_against, *badness(drawn))


def badness(drawn: Drawn) -> tuple[int, float]:
    """How grave the breach of a course is, and how far its limit is missed."""
    if drawn.breach is None:
        return (0, 0.0)
    gravity = len(Breach) - list(Breach).index(drawn.breach)
    return (gravity, math.inf if drawn.missed_by is None else drawn.missed_by)


def preferences(drawn: Drawn, *, urgent: bool) -> tuple[Any, ...]:
    """Second table: enough fuel, soon when urgent, kind, questions, room, exposure, fuel left."""
    return (
        drawn.margin_kg is None or drawn.margin_kg < WANTED_KG,
        (drawn.minutes or 0) if urgent else 0,
        KIND_FIRST.index(drawn.kind),
        drawn.open_questions + drawn.not_known,
        drawn.weather_room < 0.2,
        drawn.runway_room < 0.1 or drawn.wind_room < 0.2,
        (drawn.exposed_min or 0) // 10 if drawn.minutes is not None else 0,
        math.inf if drawn.margin_kg is None else -drawn.margin_kg,
    )


def before(one: Drawn, other: Drawn, *, urgent: bool) -> bool:
    """Whether a course is placed before another: the first criterion that tells them apart."""
    tables = (
        (limits(one), limits(other)),
        (preferences(one, urgent=urgent), preferences(other, urgent=urgent)),
        ((one.name,), (other.name,)),
    )
    for mine, theirs in tables:
        for first, second in zip(mine, theirs, strict=True):
            if first != second:
                return bool(first < second)
    raise AssertionError("two courses of one name")


def in_order(drawn: list[Drawn], *, urgent: bool) -> tuple[Drawn, ...]:
    """The only permutation in which every course comes before every later one."""
    (found,) = [
        order
        for order in permutations(drawn)
        if all(
            before(one, other, urgent=urgent)
            for place, one in enumerate(order)
            for other in order[place + 1 :]
        )
    ]
    return found


# --- the same courses for the product ---


def finding(
    rule: str,
    outcome: Outcome,
    room: float | None,
    *,
    breach: Breach = Breach.LANDING_MASS,
    force: Force = Force.RULE,
) -> Finding:
    """A finding with a limit of 100 and that much room, or without figures."""
    figures: dict[str, Any] = {}
    if room is not None:
        figures = {"value": 100.0 + 100.0 * room, "limit": 100.0, "sense": Sense.AT_LEAST}
    return Finding(
        stated=stated_as(rule, breach=breach, force=force),
        at="XAAA",
        judgement=Judgement(outcome=outcome, what="laid out by hand", **figures),
    )


def laid_out(drawn: Drawn) -> JudgedCourse:
    kept = [
        finding("WX-01", Outcome.PASS, drawn.weather_room),
        finding("LD-01", Outcome.PASS, drawn.runway_room),
        finding("WD-01", Outcome.PASS, drawn.wind_room),
    ]
    asked = [finding("AP-01", Outcome.UNKNOWN, None)] * drawn.open_questions
    room = None if drawn.missed_by is None else -drawn.missed_by
    failed = []
    if drawn.breach is not None:
        failed.append(finding("AD-03", Outcome.FAIL, room, breach=drawn.breach))
    if drawn.advised_against:
        failed.append(
            finding("AD-05", Outcome.FAIL, None, breach=Breach.GUIDANCE, force=Force.GUIDANCE)
        )
    lands = None if drawn.margin_kg is None else ledger(RESERVE_KG + drawn.margin_kg)
    arrives = None if drawn.minutes is None else T0 + timedelta(minutes=drawn.minutes)
    missed = None
    if drawn.exposed_min is not None:
        missed = (arrives or T0) - timedelta(minutes=drawn.exposed_min)
    plain, plain_course = by_hand()
    blind = replace(plain, unknown=("figure",) * drawn.not_known)
    leg = replace(plain_course.leg, aerodrome=replace(plain_course.leg.aerodrome, icao=drawn.name))
    made = replace(
        plain_course,
        kind=CourseKind(drawn.kind),
        ledger=lands,
        arrive_at=arrives,
        missed_at=missed,
        attempts=(blind,),
        leg=leg,
    )
    return judged_course(made, kept[:1], [*kept[1:], *asked, *failed], ())


@cache
def by_hand() -> tuple[Attempt, Course]:
    return attempt(), course()


@cache
def here(*, urgent: bool) -> Situation:
    seen = situation("clean", **{"/policy/margin_kg": WANTED_KG})
    urgency = Urgency.NEAREST_SUITABLE if urgent else Urgency.NONE
    return replace(seen, capability=replace(seen.capability, urgency=urgency))


# Few values each, so that courses tie on one criterion after another; names always differ.
ROOMS = st.sampled_from([0.0, 0.09, 0.1, 0.19, 0.2, 3.0])
COURSES = st.lists(
    st.builds(
        Drawn,
        name=st.sampled_from(["XAAA", "XBBB", "XCCC", "XDDD", "XEEE"]),
        open_questions=st.integers(0, 2),
        advised_against=st.booleans(),
        breach=st.sampled_from([None, None, None, *Breach]),
        missed_by=st.sampled_from([None, 0.1, 0.5]),
        margin_kg=st.sampled_from([None, -100.0, 199.0, 200.0, 900.0]),
        minutes=st.sampled_from([None, 20, 30]),
        kind=st.sampled_from(KIND_FIRST),
        not_known=st.integers(0, 1),
        weather_room=ROOMS,
        runway_room=ROOMS,
        wind_room=ROOMS,
        exposed_min=st.sampled_from([None, 0, 9, 10, 25]),
    ),
    min_size=1,
    max_size=5,
    unique_by=lambda drawn: (drawn.name, drawn.kind),
)


def order_of(drawn: list[Drawn], *, urgent: bool) -> list[str]:
    made = [laid_out(each) for each in drawn]
    return [each.course.label for each in ranked(made, here(urgent=urgent))]


def labels(drawn: tuple[Drawn, ...]) -> list[str]:
    return [laid_out(each).course.label for each in drawn]


@given(COURSES, st.booleans())
def test_the_order_is_the_only_one_in_which_every_pair_is_in_order(
    drawn: list[Drawn], urgent: bool
) -> None:
    assert order_of(drawn, urgent=urgent) == labels(in_order(drawn, urgent=urgent))


@given(COURSES, st.booleans(), st.integers(0, 1000))
def test_the_order_is_total_whatever_the_courses_stood_in(
    drawn: list[Drawn], urgent: bool, seed: int
) -> None:
    first = order_of(drawn, urgent=urgent)
    assert len(set(first)) == len(first)
    Random(seed).shuffle(drawn)  # noqa: S311
    assert order_of(drawn, urgent=urgent) == first


@given(COURSES, st.booleans())
def test_no_preference_outvotes_a_limit(drawn: list[Drawn], urgent: bool) -> None:
    """The best that can be preferred, given to whatever breaks most, moves it past no other."""
    worst = max(drawn, key=limits)
    praised = replace(
        worst,
        margin_kg=9000.0,
        minutes=1,
        kind=KIND_FIRST[0],
        not_known=0,
        weather_room=9.0,
        runway_room=9.0,
        wind_room=9.0,
        exposed_min=0,
    )
    others = [each for each in drawn if (each.name, each.kind) != (praised.name, praised.kind)]
    order = order_of([praised, *others], urgent=urgent)
    by_label = {laid_out(each).course.label: each for each in (praised, *others)}
    for one, other in pairwise(order):
        assert limits(by_label[one]) <= limits(by_label[other])


BASE = Drawn(
    name="XAAA",
    open_questions=0,
    advised_against=False,
    breach=None,
    missed_by=None,
    margin_kg=900.0,
    minutes=20,
    kind="divert_now",
    not_known=0,
    weather_room=3.0,
    runway_room=3.0,
    wind_room=3.0,
    exposed_min=0,
)
ILLEGAL = replace(BASE, breach=Breach.WIND_LIMIT, missed_by=0.1)


@pytest.mark.parametrize(
    ("better", "worse"),
    [
        (BASE, replace(BASE, open_questions=1)),
        (replace(BASE, open_questions=1), ILLEGAL),
        (BASE, replace(BASE, advised_against=True, minutes=1)),
        (replace(BASE, advised_against=True), replace(BASE, open_questions=1)),
        (ILLEGAL, replace(BASE, kind="second_approach", margin_kg=9000.0)),
        (ILLEGAL, replace(ILLEGAL, breach=Breach.BELOW_MINIMA)),
        (ILLEGAL, replace(ILLEGAL, missed_by=0.2)),
        (ILLEGAL, replace(ILLEGAL, missed_by=None)),
        (replace(BASE, margin_kg=200.0), replace(BASE, margin_kg=199.0, weather_room=9.0)),
        (replace(BASE, margin_kg=-900.0), replace(BASE, margin_kg=None)),
        (BASE, replace(BASE, minutes=21)),
        (replace(BASE, kind="approach_then_divert", margin_kg=300.0), BASE),
        (replace(BASE, not_known=1), replace(BASE, not_known=2, margin_kg=5000.0)),
        (replace(BASE, weather_room=0.2), replace(BASE, weather_room=0.19, margin_kg=5000.0)),
        (replace(BASE, runway_room=0.1), replace(BASE, runway_room=0.09, margin_kg=5000.0)),
        (replace(BASE, wind_room=0.2), replace(BASE, wind_room=0.19, margin_kg=5000.0)),
        (replace(BASE, exposed_min=9), replace(BASE, exposed_min=10, margin_kg=5000.0)),
        (BASE, replace(BASE, margin_kg=890.0)),
        (BASE, BASE),
    ],
    ids=[
        "known before a question",
        "a question before a breach",
        "not advised against",
        "advised against before a question",
        "a second approach is never before another",
        "graver breach",
        "missed by more",
        "missed without a figure",
        "enough fuel",
        "fuel that is known",
        "sooner when urgent",
        "kind of course",
        "fewer figures lacking",
        "room in weather",
        "room on the runway",
        "room in wind",
        "shorter after a miss",
        "more fuel left",
        "name",
    ],
)
def test_each_line_of_the_three_tables_decides_when_all_before_it_are_alike(
    better: Drawn, worse: Drawn
) -> None:
    first, second = replace(better, name="XBBB"), replace(worse, name="XCCC")
    assert order_of([second, first], urgent=True) == labels((first, second))
    if (better, worse) != (BASE, BASE):
        first, second = replace(better, name="XCCC"), replace(worse, name="XBBB")
        assert order_of([second, first], urgent=True) == labels((first, second))


def test_the_tables_are_as_long_as_the_oracle_has_lines() -> None:
    assert len(LIMITS) == len(limits(BASE))
    assert len(PREFERENCES) == len(preferences(BASE, urgent=False))


# --- the least bad ---

TRADE_MIN = 5
ENDANGERING = Breach.WIND_FAR_BEYOND  # and all that are worse


def beats(one: Drawn, other: Drawn) -> bool:
    """Worst broken item first, then by amount, then fuel on landing, then what is not known."""
    tables = (
        (*badness(one), -kept_kg(one), one.open_questions + one.not_known, laid_out_label(one)),
        (
            *badness(other),
            -kept_kg(other),
            other.open_questions + other.not_known,
            laid_out_label(other),
        ),
    )
    return tables[0] < tables[1]


def kept_kg(drawn: Drawn) -> float:
    return -math.inf if drawn.margin_kg is None else drawn.margin_kg


def laid_out_label(drawn: Drawn) -> str:
    return laid_out(drawn).course.label


def least(drawn: list[Drawn], *, urgent: bool) -> Drawn:
    """The one that no other beats, among those that may be chosen at all."""
    straight = [each for each in drawn if each.kind in ("divert_now", "commit_to_land")] or drawn
    if urgent:
        safe = [
            each
            for each in straight
            if (each.breach is None or each.breach > ENDANGERING) and each.minutes is not None
        ]
        first = min((each.minutes or 0 for each in safe), default=0)
        straight = [each for each in safe if (each.minutes or 0) <= first + TRADE_MIN] or straight
    (found,) = [
        one for one in straight if all(one is other or beats(one, other) for other in straight)
    ]
    return found


@given(COURSES, st.booleans())
def test_the_least_bad_is_the_one_that_no_other_beats(drawn: list[Drawn], urgent: bool) -> None:
    found = least_bad([laid_out(each) for each in drawn], here(urgent=urgent))
    assert found is not None
    assert found.course.label == laid_out_label(least(drawn, urgent=urgent))


def bad(breach: Breach | None, **changes: Any) -> Drawn:
    return replace(BASE, breach=breach, **changes)


@pytest.mark.parametrize(
    ("better", "worse", "urgent"),
    [
        pytest.param(
            bad(Breach.UNDER_RESERVE, missed_by=0.2, margin_kg=-240.0),
            bad(Breach.BELOW_MINIMA, missed_by=0.5, kind="commit_to_land", margin_kg=2000.0),
            False,
            id="24 minutes of fuel at a good aerodrome beat RVR 250",
        ),
        pytest.param(
            bad(Breach.LANDING_FACTOR, missed_by=0.06, kind="commit_to_land"),
            bad(Breach.FUEL_NEARLY_GONE, missed_by=0.7, margin_kg=-900.0),
            False,
            id="stopping in 1930 m of 2100 m beats landing with less than 10 minutes of fuel",
        ),
        pytest.param(
            bad(Breach.WIND_LIMIT, missed_by=0.1, margin_kg=-200.0),
            bad(Breach.WIND_LIMIT, missed_by=0.2, margin_kg=2000.0),
            False,
            id="by the amount",
        ),
        pytest.param(
            bad(Breach.WIND_LIMIT, missed_by=0.1, margin_kg=300.0),
            bad(Breach.WIND_LIMIT, missed_by=0.1, margin_kg=200.0),
            False,
            id="by fuel on landing",
        ),
        pytest.param(
            bad(Breach.LANDING_MASS, missed_by=0.1, minutes=40),
            bad(Breach.WIND_LIMIT, missed_by=0.1, minutes=20),
            False,
            id="whatever the time where nothing presses",
        ),
        pytest.param(
            bad(Breach.WIND_LIMIT, missed_by=0.1, minutes=20),
            bad(Breach.LANDING_MASS, missed_by=0.1, minutes=26),
            True,
            id="by touchdown where a failure presses",
        ),
        pytest.param(
            bad(Breach.LANDING_MASS, missed_by=0.1, minutes=25),
            bad(Breach.WIND_LIMIT, missed_by=0.1, minutes=20),
            True,
            id="within the trade by the breach",
        ),
        pytest.param(
            bad(Breach.WIND_LIMIT, missed_by=0.1, minutes=50),
            bad(Breach.BELOW_MINIMA, missed_by=0.1, minutes=20),
            True,
            id="never an earlier one that endangers",
        ),
    ],
)
def test_the_least_bad_goes_by_the_worst_item_and_under_pressure_by_touchdown(
    better: Drawn, worse: Drawn, urgent: bool
) -> None:
    for first, second in (("XBBB", "XCCC"), ("XCCC", "XBBB")):
        good, bad_one = replace(better, name=first), replace(worse, name=second)
        found = least_bad([laid_out(bad_one), laid_out(good)], here(urgent=urgent))
        assert found is not None
        assert found.course.icao == first


def test_without_any_course_there_is_no_least_bad() -> None:
    assert least_bad([], here(urgent=False)) is None


def test_a_second_approach_is_the_least_bad_only_where_there_is_nothing_else() -> None:
    """It stands last among the courses, and is no way to land now."""
    again = laid_out(replace(BASE, kind="second_approach"))
    worse = laid_out(bad(Breach.CANNOT_STOP))
    found = least_bad([again, worse], here(urgent=False))
    assert found is worse


def test_the_least_bad_has_as_many_terms_as_the_oracle() -> None:
    assert len(LEAST_BAD) == len(badness(BASE)) + 2
