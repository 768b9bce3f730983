"""Edges of the rules on which no case of a single rule stands: breaches, shares, the gate."""

from __future__ import annotations

from typing import Any

import pytest

from decision.attempt.attempt import Attempt, Role
from decision.attempt.category import category_of
from decision.case import ApproachKind
from decision.course import Course
from decision.errors import OutOfRange
from decision.performance import Step
from decision.rules import COURSE_RULES
from decision.rules.against_minima import ceiling_of, miss_likely
from decision.rules.climb import charted_percent
from decision.rules.enroute import minutes_above
from decision.rules.finding import (
    SHOWN_STEP,
    Finding,
    Outcome,
    shown,
    shown_down,
)
from decision.rules.registry import Context, judge_course
from decision.rules.row import Breach
from decision.rules.weather import planning_minima_of
from decision.systems import Limit, LimitName
from decision.weather.report import CeilingState
from tests.changing import replace
from tests.rules.builders import (
    PROCEDURE,
    STOP,
    attempt,
    ceiling,
    context,
    course,
    finding,
    ledger,
    seen,
    visibility,
)
from tests.rules.test_rules import PASS, UNKNOWN, Claim, judged


def found(rule: str, at: Attempt | Course, where: Context) -> Finding:
    """What one rule finds, asked as the product asks it."""
    if isinstance(at, Course):
        return next(each for each in judge_course(COURSE_RULES, at, where) if each.rule == rule)
    return finding(rule, at, where)


def landing_with(kg: float | None) -> Course:
    """Ten minutes of holding are 400 kg."""
    return course(ledger=None if kg is None else ledger(kg), holding_flow_kg_per_h=2400.0)


@pytest.mark.parametrize(
    ("kg", "breach"),
    [
        (-1.0, Breach.ENGINES_STOP),
        (0.0, Breach.ENGINES_STOP),
        (0.1, Breach.FUEL_NEARLY_GONE),
        (399.9, Breach.FUEL_NEARLY_GONE),
        (400.0, Breach.UNDER_RESERVE),
    ],
)
@pytest.mark.parametrize("rule", ["FU-01", "FU-02"])
def test_too_little_fuel_is_graver_the_less_is_left(rule: str, kg: float, breach: Breach) -> None:
    short = found(rule, landing_with(kg), context())
    assert (short.outcome, short.breach) == (Outcome.FAIL, breach)


@pytest.mark.parametrize(
    ("feet", "known", "likely", "breach"),
    [
        (199.0, True, True, Breach.OBSTACLES),
        (200.0, True, False, Breach.GRADIENT),
        (None, True, False, Breach.GRADIENT),
        (None, False, None, Breach.OBSTACLES),
    ],
)
def test_a_gradient_weighs_more_where_a_miss_is_likely_or_may_be(
    feet: float | None, known: bool, likely: bool | None, breach: Breach
) -> None:
    climbing = attempt().climb
    assert climbing is not None
    at = attempt(
        weather=seen(ceiling=ceiling(feet, doubtful=not known)),
        climb=replace(climbing, ground_gradient_percent=0.5),
    )
    assert miss_likely(at, context()) is likely
    short = found("MA-01", at, context())
    assert (short.outcome, short.breach) == (Outcome.FAIL, breach)


@pytest.mark.parametrize(
    ("feet", "metres", "breach"),
    [
        (200.0, 800.0, Breach.PLANNING_BAR),
        (199.0, 800.0, Breach.BELOW_MINIMA),
        (200.0, 200.0, Breach.BELOW_MINIMA),
    ],
)
def test_between_operating_and_planning_minima_only_the_planning_bar_is_broken(
    feet: float, metres: float, breach: Breach
) -> None:
    weather = seen(ceiling=ceiling(feet), visibility=visibility(metres))
    planning = context(**{"/policy/alternate_bar": "planning"})
    low = found("WX-02", attempt(weather=weather, role=Role.ALTERNATE), planning)
    assert (low.outcome, low.breach) == (Outcome.FAIL, breach)


def test_ice_without_protection_is_never_a_planning_bar() -> None:
    planning = context(**{"/policy/alternate_bar": "planning"})
    assert found("WX-03", attempt(), planning).breach is Breach.WIND_LIMIT


def flown(*levels_ft: float, minutes: float = 10.0) -> tuple[Step, ...]:
    return tuple(
        Step(
            name="leg",
            distance_nm=30.0,
            time_min=minutes,
            fuel_kg=100.0,
            pressure_altitude_ft=level_ft,
            cas_kt=250.0,
            configuration="clean",
        )
        for level_ft in levels_ft
    )


@pytest.mark.parametrize(
    ("start_ft", "levels_ft", "minutes"),
    [
        (12_000.0, (12_000.0,), 10.0),
        (10_000.0, (10_000.0,), 0.0),
        (9_000.0, (9_000.0,), 0.0),
        (10_000.0, (12_000.0,), 10.0),
        (12_000.0, (10_000.0,), 10.0),
        (9_000.0, (11_000.0,), 5.0),
        (11_000.0, (9_000.0,), 5.0),
        (9_000.0, (13_000.0,), 7.5),
        (8_000.0, (10_000.0,), 0.0),
        (9_000.0, (11_000.0, 11_000.0, 9_000.0), 20.0),
        (12_000.0, (), 0.0),
    ],
)
def test_minutes_above_a_level_are_shares_of_the_steps_that_cross_it(
    start_ft: float, levels_ft: tuple[float, ...], minutes: float
) -> None:
    assert minutes_above(10_000.0, flown(*levels_ft), start_ft) == pytest.approx(minutes)


def remarked(**changes: Any) -> Attempt:
    """A committed landing in weather of which a remark says less."""
    body = replace(visibility(9000.0), possible_metres=changes.pop("metres", None))
    above = replace(ceiling(2200.0), possible_ceiling_ft=changes.pop("feet", None))
    weather = seen(visibility=body, ceiling=above)
    return attempt(role=Role.COMMITTED, weather=weather, **changes)


@pytest.mark.parametrize(
    ("rule", "remark", "outcomes"),
    [
        ("CM-02", {"metres": 1099.0}, {"easa": UNKNOWN, "faa-121": Outcome.FAIL}),
        ("CM-02", {"metres": 1100.0}, {"easa": PASS}),
        ("CM-02", {"metres": 3000.0}, {"easa": PASS, "faa-121": PASS}),
        ("CM-01", {"feet": 699.0}, {"easa": UNKNOWN, "faa-121": Outcome.FAIL}),
        ("CM-01", {"feet": 700.0}, {"easa": PASS, "faa-121": PASS}),
        ("CM-01", {"feet": 3000.0}, {"easa": PASS, "faa-121": PASS}),
        ("AP-02", {"metres": 5000.0}, {"easa": PASS, "faa-121": PASS}),
        ("AP-02", {"metres": 200.0}, {"easa": UNKNOWN, "faa-121": Outcome.FAIL}),
    ],
)
def test_a_remark_counts_against_each_limit_by_itself(
    rule: str, remark: dict[str, float], outcomes: dict[str, Outcome]
) -> None:
    for book, outcome in outcomes.items():
        finding = judged(Claim(rule, "", remarked(**remark), PASS, book))
        assert finding.outcome is outcome, finding.text
        if outcome is UNKNOWN:
            assert "a remark speaks of" in finding.text


@pytest.mark.parametrize(
    ("feet", "remarked_ft", "counts_ft"), [(800.0, 900.0, 800.0), (800.0, 300.0, 300.0)]
)
def test_of_body_and_remark_the_lower_ceiling_counts(
    feet: float, remarked_ft: float, counts_ft: float
) -> None:
    said = replace(ceiling(feet), possible_ceiling_ft=remarked_ft)
    there = ceiling_of(attempt(weather=seen(ceiling=said)), context("faa-121"))
    assert there.feet == counts_ft
    assert ceiling_of(attempt(weather=seen(ceiling=said)), context("easa")) is said


def test_a_remark_makes_a_ceiling_where_the_body_has_none() -> None:
    said = replace(ceiling(None), possible_ceiling_ft=300.0)
    there = ceiling_of(attempt(weather=seen(ceiling=said)), context("faa-121"))
    assert (there.state, there.feet) == (CeilingState.VALUE, 300.0)
    assert said.reaches(301.0) is None
    assert said.reaches(300.0) is True


def limited_by(name: LimitName, value: float) -> Attempt:
    at = attempt()
    limit = Limit(name=name, value=value, unit="", because="failure")
    return replace(at, capability=replace(at.capability, limits=(limit,)))


def test_a_failure_lowers_the_limits_on_wind_and_brakes() -> None:
    calm = attempt().wind
    assert calm is not None
    across = replace(
        limited_by(LimitName.MAX_CROSSWIND_KT, 15.0), wind=replace(calm, crosswind_kt=16.0)
    )
    assert judged(Claim("WD-01", "", across, PASS)).judgement.limit == 15.0
    loose = replace(across, capability=limited_by(LimitName.MAX_CROSSWIND_KT, 90.0).capability)
    assert judged(Claim("WD-01", "", loose, PASS)).judgement.limit == 30.0
    hot = limited_by(LimitName.MAX_BRAKE_ENERGY_RATIO, 0.5)
    assert judged(Claim("LD-04", "", hot, PASS)).judgement.limit == 115.0


def test_a_landing_that_no_figure_covers_and_wind_on_no_runway_are_unknown() -> None:
    uncovered = attempt(landing=replace(STOP, distance_m=None, unknown="no figure for it"))
    finding = judged(Claim("LD-01", "", uncovered, PASS))
    assert (finding.outcome, "no figure for it" in finding.text) == (UNKNOWN, True)
    bare = attempt(runway_condition=None)
    assert judged(Claim("WD-01", "", bare, PASS)).outcome is UNKNOWN
    assert judged(Claim("LD-02", "", bare, PASS)).outcome is UNKNOWN


def test_without_a_procedure_no_gradient_is_charted_and_no_miss_is_likely() -> None:
    assert charted_percent(attempt(approach=None), context()) is None
    assert miss_likely(attempt(approach=None), context()) is None


def test_with_all_engines_the_ordinary_gradient_is_charted_whatever_is_published_for_one() -> None:
    both = replace(PROCEDURE, missed_gradient_percent=2.5, oei_missed_gradient_percent=2.1)
    assert charted_percent(attempt(approach=both), context()) == 2.5


@pytest.mark.parametrize(
    ("subject", "words"),
    [
        (
            course(ledger=None, limited_by="gear altitude limit"),
            "fuel on landing at XBRE: the way cannot be flown",
        ),
        (
            course(ledger=None, unknown=("distance to XBRE",)),
            "fuel on landing at XBRE: distance to XBRE not known",
        ),
    ],
)
def test_fuel_that_cannot_be_judged_says_what_stands_in_the_way(
    subject: Course, words: str
) -> None:
    finding = judged(Claim("FU-01", "", subject, UNKNOWN))
    assert (finding.outcome, finding.text) == (UNKNOWN, words)


def test_a_unit_without_a_step_of_its_own_is_shown_in_ones() -> None:
    assert shown(3.0, "turns") == "3 turns"
    assert shown_down(2.9, "turns") == "2 turns"


def test_a_speed_beyond_every_category_is_refused_with_the_whole_range() -> None:
    """[PANS-OPS-I]: category E ends below 211 kt."""
    with pytest.raises(OutOfRange) as refused:
        category_of(300.0)
    assert (refused.value.low, refused.value.high) == (1.0, 211.0)


def test_breaches_stand_in_their_order_and_none_is_another() -> None:
    """A value given twice would make two breaches one, and a landing under reserve a gradient."""
    assert [breach.value for breach in Breach] == list(range(17))
    assert Breach.FUEL_NEARLY_GONE < Breach.OBSTACLES < Breach.UNDER_RESERVE
    assert [each for each in Breach if each.endangers] == list(Breach)[:8]


@pytest.mark.parametrize(("category", "ceiling_ft"), [("C", 1000.0), ("D", 1100.0), (None, None)])
def test_planning_minima_for_circling_are_those_of_the_category_that_lands(
    category: str | None, ceiling_ft: float | None
) -> None:
    """[EU-AO] 600 ft and 700 ft; [EU-AO-PLANNING] AMC6: 400 ft more."""
    round_about = replace(
        PROCEDURE, kind=ApproachKind.CIRCLING, dh_ft=None, mdh_ft=500.0, visibility_m=1500.0
    )
    at = attempt(category=category)
    place = replace(at.leg.aerodrome, approaches=(round_about,))
    at = replace(at, leg=replace(at.leg, aerodrome=place))
    minima = planning_minima_of(at, context("easa"))
    assert minima.ceiling_ft == ceiling_ft
    assert minima.available is (True if category else None)


def test_each_unit_is_shown_to_what_the_model_can_tell_of_it() -> None:
    told = {unit: shown(1234.56, unit) for unit in SHOWN_STEP}
    assert told == {
        "kg": "1230 kg",
        "m": "1230 m",
        "ft": "1230 ft",
        "percent": "1234.6 percent",
        "min": "1235 min",
        "kt": "1235 kt",
        "NM": "1234.6 NM",
        "MJ": "1235 MJ",
        "code": "1235 code",
        "category": "1235 category",
    }


def test_the_margin_of_a_finding_is_that_of_its_judgement() -> None:
    found = judged(Claim("MA-01", "", attempt(), PASS))
    assert found.margin == found.judgement.margin == pytest.approx(5.5)
