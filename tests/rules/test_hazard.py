"""Hazards at the place of an attempt: whose runway they concern, what they mean, the gravest."""

from __future__ import annotations

from datetime import datetime

import pytest

from decision.attempt.attempt import Attempt, Role
from decision.rules.finding import Outcome
from decision.rules.hazard import gravest_hazard, hazards_of, quoted, span_text
from decision.rules.policy import lightened, policy_faults
from decision.rules.row import Breach
from decision.weather.readings import Hazard, HazardWeight
from tests.changing import replace
from tests.rules.builders import RUNWAY, T0, attempt, context, finding, seen

BAR, WARNING, CAUTION = HazardWeight


def hazard(weight: HazardWeight = BAR, *, runway: str | None = None, kind: str = "METAR") -> Hazard:
    return Hazard(
        phenomenon="wind_shear",
        words="wind shear",
        weight=weight,
        kind=kind,
        text="WS R27R",
        from_at=T0,
        until_at=None,
        runway=runway,
    )


def at(*hazards: Hazard, ident: str | None = "27R", role: Role = Role.MISSED) -> Attempt:
    runway = None if ident is None else replace(RUNWAY, ident=ident)
    return attempt(role=role, runway=runway, weather=seen(hazards=hazards))


@pytest.mark.parametrize(
    ("reported", "ident", "concerned"),
    [
        (None, "27R", True),
        ("27R", "27R", True),
        ("27L", "27R", False),
        ("27", "27R", True),
        ("09L", "27R", False),
        ("27R", "27", False),
        ("27R", None, True),
    ],
)
def test_wind_shear_concerns_the_runway_that_it_is_reported_for(
    reported: str | None, ident: str | None, concerned: bool
) -> None:
    """What is reported for another runway of the place is said, as a caution."""
    subject = at(hazard(runway=reported), ident=ident)
    weights = [each.weight for each in hazards_of(subject, context())]
    assert weights == [BAR if concerned else CAUTION]
    assert (finding("HZ-01", subject, context()).outcome is Outcome.FAIL) is concerned


@pytest.mark.parametrize("role", Role)
@pytest.mark.parametrize("book", ["icao", "easa", "faa-121"])
def test_a_bar_binds_and_endangers_and_a_warning_is_advice_at_every_place(
    role: Role, book: str
) -> None:
    bar = finding("HZ-01", at(hazard(BAR), role=role), context(book))
    assert (bar.outcome, bar.breach, bar.binds) == (Outcome.FAIL, Breach.HAZARD, True)
    warning = finding("HZ-02", at(hazard(WARNING), role=role), context(book))
    assert (warning.outcome, warning.breach, warning.binds) == (
        Outcome.FAIL,
        Breach.GUIDANCE,
        False,
    )


def test_a_warning_that_the_operator_adopts_binds() -> None:
    where = context("icao", **{"/policy/adopt": ["HZ-02"]})
    assert finding("HZ-02", at(hazard(WARNING)), where).binds


def test_the_gravest_hazard_is_the_heaviest_that_concerns_the_runway() -> None:
    other, here = hazard(BAR, runway="09"), hazard(WARNING)
    assert gravest_hazard(at(other, here), context()) is here
    alone = gravest_hazard(at(other), context())
    assert alone is not None
    assert (alone.weight, alone.runway) == (CAUTION, "09")
    graver = hazard(BAR)
    assert gravest_hazard(at(here, graver), context()) is graver
    assert gravest_hazard(at(), context()) is None


def rated(weight: str, phenomenon: str = "wind_shear") -> dict[str, str]:
    return {"phenomenon": phenomenon, "weight": weight}


@pytest.mark.parametrize(
    ("ratings", "rule", "weight"),
    [
        ([rated("bar")], "HZ-01", BAR),
        ([rated("warning")], "HZ-02", WARNING),
        ([rated("warning"), rated("bar")], "HZ-01", BAR),
        ([rated("bar", "squall")], None, CAUTION),
        ([], None, CAUTION),
    ],
)
def test_the_operator_may_weigh_a_hazard_more_gravely(
    ratings: list[dict[str, str]], rule: str | None, weight: HazardWeight
) -> None:
    where, subject = context("icao", **{"/policy/hazard_weights": ratings}), at(hazard(CAUTION))
    gravest = gravest_hazard(subject, where)
    assert gravest is not None
    assert gravest.weight is weight
    for each in ("HZ-01", "HZ-02"):
        failed = finding(each, subject, where).outcome is Outcome.FAIL
        assert failed is (each == rule)


def test_a_lighter_hazard_does_not_stay_before_a_graver_one() -> None:
    ratings = {"/policy/hazard_weights": [rated("caution")]}
    shear, squall = hazard(BAR), replace(hazard(WARNING), phenomenon="squall", words="squall")
    assert gravest_hazard(at(shear, squall), context("icao", **ratings)) is squall


@pytest.mark.parametrize(
    ("weight", "reason", "faults"),
    [
        ("bar", None, []),
        ("warning", None, ["/policy/hazard_weights/0/weight"]),
        ("warning", "  ", ["/policy/hazard_weights/0/weight"]),
        ("warning", "ash that was measured", []),
    ],
)
def test_weighing_a_hazard_lighter_needs_a_reason(
    weight: str, reason: str | None, faults: list[str]
) -> None:
    changes = {"/policy/hazard_weights": [rated(weight, "volcanic_ash")]}
    if reason is not None:
        changes |= {"/policy/deviation_reason": reason}  # type: ignore[dict-item]
    where = context("icao", **changes)
    assert [each.pointer for each in policy_faults(where.case.policy, where.rulebook)] == faults
    said = [each.text for each in lightened(where.case.policy)]
    usual = "policy weighs volcanic ash as warning, usual is bar"
    given = (reason or "").strip() or "no reason given"
    assert said == ([] if weight == "bar" else [f"{usual}: {given}"])


@pytest.mark.parametrize(
    ("kind", "words"),
    [("METAR", "METAR WS R27R"), ("BASE", "TAF WS R27R"), ("TEMPO", "WS R27R")],
)
def test_a_hazard_is_quoted_with_who_says_it_and_when(kind: str, words: str) -> None:
    assert quoted(hazard(kind=kind)) == f"{words}, from 06:30Z, no end is told"


def test_a_span_names_the_day_where_it_is_another_one() -> None:
    assert span_text(T0, T0.replace(hour=8)) == "from 06:30Z to 08:30Z"
    morning: datetime = T0.replace(day=15)
    assert span_text(T0, morning) == "from 06:30Z to 06:30Z on day 15"
