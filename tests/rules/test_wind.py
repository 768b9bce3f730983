"""Gusts against wind limits: which count, which are for a caution, and what is said of them."""

from __future__ import annotations

from typing import Any

import pytest

from decision.attempt.attempt import Attempt
from decision.attempt.runway_wind import gusts_count, runway_wind
from decision.rulebooks.rulebook import Force
from decision.rules.finding import Outcome
from decision.rules.registry import Context
from decision.rules.row import Breach
from decision.rules.wind import gust_beyond_limit
from decision.systems import Limit, LimitName
from tests.attempt.minima_builders import rulebook_with
from tests.changing import replace
from tests.rules.builders import attempt, context, finding, seen, surface, wind


def under(rulebook: str, *, included: bool) -> Context:
    """The demo aircraft, with or without gusts in its wind limits."""
    what = context(rulebook)
    profile = what.case.aircraft.profile
    limits = replace(profile.wind, gust_included=included)
    aircraft = replace(what.case.aircraft, profile=replace(profile, wind=limits))
    return replace(what, case=replace(what.case, aircraft=aircraft))


def gusting(
    from_true_deg: float, speed_kt: float, gust_kt: float | None, there: Context
) -> Attempt:
    """Runway 27R, wet: crosswind limit 30 kt, tailwind limit 10 kt."""
    blowing = wind(from_true_deg, speed_kt, gust_kt=gust_kt)
    weather = seen(wind=blowing, winds=(blowing,))
    resolved = runway_wind(
        weather,
        true_bearing_deg=270.0,
        with_gusts=gusts_count(there.case.aircraft.profile.wind, there.rulebook),
    )
    return attempt(weather=weather, wind=resolved)


@pytest.mark.parametrize(
    ("rulebook", "included", "outcome", "said"),
    [
        ("easa", False, Outcome.PASS, "mean wind, gusts up to 33 kt do not count [ASSUMED]"),
        ("icao", False, Outcome.PASS, "mean wind, gusts up to 33 kt do not count [ASSUMED]"),
        ("faa-121", False, Outcome.FAIL, "with its gust [FAA-C055] b(3)"),
        ("easa", True, Outcome.FAIL, "gusts count in the limits of this aircraft"),
        ("faa-121", True, Outcome.FAIL, "gusts count in the limits of this aircraft"),
    ],
)
def test_what_a_gust_across_does_is_said_with_who_says_so(
    rulebook: str, included: bool, outcome: Outcome, said: str
) -> None:
    there = under(rulebook, included=included)
    found = finding("WD-01", gusting(0.0, 20.0, 33.0, there), there)
    assert found.outcome is outcome
    assert said in found.text


def test_the_row_decides_and_not_the_name_of_the_rulebook() -> None:
    there = under("easa", included=False)
    strict = replace(there, rulebook=rulebook_with("easa", wind_limits_with_gust=True))
    assert finding("WD-01", gusting(0.0, 20.0, 33.0, there), there).outcome is Outcome.PASS
    assert finding("WD-01", gusting(0.0, 20.0, 33.0, strict), strict).outcome is Outcome.FAIL


@pytest.mark.parametrize("rulebook", ["icao", "easa", "faa-121"])
def test_a_wind_limit_is_one_of_the_flight_manual_and_binds(rulebook: str) -> None:
    there = context(rulebook)
    for code in ("WD-01", "WD-02", "LD-04", "LD-05"):
        found = finding(code, attempt(), there)
        assert found.stated.force is Force.RULE
        assert found.citation == there.rulebook.row("flight_manual_limits").citation


@pytest.mark.parametrize(
    ("from_true_deg", "speed_kt", "gust_kt"), [(0.0, 20.0, None), (270.0, 20.0, 45.0)]
)
def test_a_gust_that_changes_nothing_is_not_spoken_of(
    from_true_deg: float, speed_kt: float, gust_kt: float | None
) -> None:
    there = under("easa", included=True)
    assert (
        "gust" not in finding("WD-01", gusting(from_true_deg, speed_kt, gust_kt, there), there).text
    )


@pytest.mark.parametrize(
    ("from_true_deg", "speed_kt", "gust_kt", "beyond_kt"),
    [
        (0.0, 20.0, 30.0, None),
        (0.0, 20.0, 31.0, 1.0),
        (0.0, 20.0, None, None),
        (90.0, 8.0, 10.0, None),
        (90.0, 8.0, 14.0, 4.0),
        (45.0, 8.0, 45.0, 45.0 * 0.7071068 - 10.0),
        (270.0, 20.0, 60.0, None),
    ],
    ids=["at", "across", "steady", "behind-at", "behind", "the-worse-of-both", "ahead"],
)
def test_a_gust_that_does_not_count_is_beyond_a_limit_by_so_much(
    from_true_deg: float, speed_kt: float, gust_kt: float | None, beyond_kt: float | None
) -> None:
    there = under("easa", included=False)
    beyond = gust_beyond_limit(gusting(from_true_deg, speed_kt, gust_kt, there), there)
    assert beyond == (None if beyond_kt is None else pytest.approx(beyond_kt, abs=1e-5))


@pytest.mark.parametrize(("rulebook", "included"), [("faa-121", False), ("easa", True)])
def test_a_gust_that_counts_is_for_the_rule_and_not_for_a_caution(
    rulebook: str, included: bool
) -> None:
    there = under(rulebook, included=included)
    at = gusting(0.0, 20.0, 60.0, there)
    assert gust_beyond_limit(at, there) is None
    assert finding("WD-01", at, there).breach is Breach.WIND_FAR_BEYOND


@pytest.mark.parametrize(
    ("tailwind_kt", "breach"),
    [(10.0, Breach.WIND_LIMIT), (15.0, Breach.WIND_LIMIT), (15.5, Breach.WIND_FAR_BEYOND)],
)
def test_a_limit_missed_by_five_knots_or_less_endangers_nobody(
    tailwind_kt: float, breach: Breach
) -> None:
    """The limit of the demo aircraft is 10 kt; the five knots are the semantics' own."""
    there = under("easa", included=False)
    found = finding("WD-02", gusting(90.0, tailwind_kt, None, there), there)
    assert found.judgement.limit == 10.0
    assert found.outcome is (Outcome.PASS if tailwind_kt <= 10.0 else Outcome.FAIL)
    assert found.breach is breach


def test_a_limit_that_is_not_known_is_beyond_nothing() -> None:
    there = under("easa", included=False)
    at = gusting(0.0, 20.0, 60.0, there)
    bare: dict[str, Any] = {"runway_condition": None}
    assert gust_beyond_limit(replace(at, **bare), there) is None
    assert gust_beyond_limit(replace(at, runway=None), there) is None
    unread = wind(0.0, None, gust_kt=40.0)
    blind = replace(at, weather=seen(wind=unread, winds=(unread,)))
    assert gust_beyond_limit(blind, there) is None


def test_the_limit_of_a_failure_counts_for_a_gust_too() -> None:
    there = under("easa", included=False)
    at = replace(gusting(0.0, 15.0, 25.0, there), runway_condition=surface(5))
    weak = Limit(name=LimitName.MAX_CROSSWIND_KT, value=19.0, unit="kt", because="rudder")
    failed = replace(at, capability=replace(at.capability, limits=(weak,)))
    assert gust_beyond_limit(at, there) is None
    assert gust_beyond_limit(failed, there) == pytest.approx(6.0)


@pytest.mark.parametrize("code", ["WD-01", "WD-02"])
def test_wind_is_unknown_where_wind_or_surface_is(code: str) -> None:
    there = context()
    assert finding(code, attempt(wind=None), there).outcome is Outcome.UNKNOWN
    bare = finding(code, attempt(runway_condition=None), there)
    assert bare.outcome is (Outcome.UNKNOWN if code == "WD-01" else Outcome.PASS)
