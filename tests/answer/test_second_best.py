"""The second-best course, and what it costs or breaks beside the chosen one."""

from __future__ import annotations

from datetime import datetime

import pytest

from decision.answer.second_best import instead_told
from decision.answer.types import SecondBest
from decision.decide.decision import Decision
from decision.decide.judge import JudgedCourse
from decision.decide.rank import second_best
from decision.rules.row import Breach
from tests.case.builders import NAMES
from tests.decide.by_hand import (
    broken,
    decision,
    landing_here,
    leaving,
    situation,
    told,
    way_out,
)

A = leaving("XAAA", landing_kg=2000.0, minutes=30.0)
B = leaving("XBBB", landing_kg=1500.0, minutes=42.0)


def instead_of(made: Decision, courses: tuple[JudgedCourse, ...]) -> SecondBest | None:
    """The second-best course, chosen and told."""
    return instead_told(second_best(made, courses, situation()), made, courses)


def price(instead: SecondBest | None) -> tuple[str, tuple[str, ...], tuple[str, ...]]:
    assert instead is not None
    return instead.aerodrome, instead.costs, instead.breaks


def test_it_is_the_next_place_in_order_with_minutes_and_fuel() -> None:
    found = instead_of(decision(A), (A, B, landing_here()))
    assert price(found) == ("XBBB", ("12 min later", "500 kg less on landing"), ())


def test_what_is_earlier_and_leaves_more_costs_nothing_but_what_it_breaks() -> None:
    short = broken("LD-01", Breach.LANDING_FACTOR, what="runway too short for the factor")
    here = landing_here(short, landing_kg=2500.0, minutes=9.0)
    found = instead_of(decision(B), (B, here))
    assert price(found) == ("XKAL", (), ("runway too short for the factor",))


def test_minutes_and_kilograms_are_rounded_against_it() -> None:
    other = leaving("XBBB", landing_kg=1991.0, minutes=30.2)
    found = instead_of(decision(A), (A, other))
    assert price(found)[1] == ("1 min later", "10 kg less on landing")


def test_a_second_approach_or_a_later_clean_point_is_no_other_way() -> None:
    again = landing_here(origin="missed_approach")
    later = leaving("XBBB", origin="last_clean_point")
    figure = way_out("XCCC")
    assert instead_of(decision(A), (A, later, figure)) is None
    assert price(instead_of(decision(A), (A, later, again)))[0] == "XKAL"


def test_beside_an_approach_it_is_to_leave_and_its_price_is_counted_from_the_landing_here() -> None:
    here = landing_here(landing_kg=2600.0, minutes=12.0)
    chosen = way_out("XAAA", landing_kg=1400.0, minutes=55.0)
    found = instead_of(decision(chosen, "APPROACH"), (chosen, here, A))
    assert price(found) == ("XAAA", ("18 min later", "600 kg less on landing"), ())


def test_a_landing_of_which_no_figures_are_known_costs_what_nobody_knows() -> None:
    blind = leaving("XBBB", ledger=None, arrive_at=None)
    assert price(instead_of(decision(A), (A, blind))) == ("XBBB", (), ())


def test_where_there_is_no_other_way_there_is_none() -> None:
    assert instead_of(decision(A), (A,)) is None


@pytest.mark.parametrize("name", NAMES)
def test_the_second_best_of_a_demo_case_is_another_landing_than_the_action(name: str) -> None:
    answer = told(name)
    instead = answer["instead"]
    if instead is None:
        straight = [
            each
            for each in answer["courses"]
            if each["kind"] in ("divert_now", "commit_to_land")
            and each["course"] != answer["action"]["course"]
            and each["from"] != "last_clean_point"
        ]
        assert len(straight) <= 1, "there was another way to land"
        return
    assert instead["course"] != answer["action"]["course"]
    (course,) = [each for each in answer["courses"] if each["course"] == instead["course"]]
    assert course["kind"] in ("divert_now", "commit_to_land")
    if not course["legal"]:
        assert instead["breaks"] or course["legal"] is None


def test_beside_an_urgent_landing_it_is_the_next_place_by_touchdown() -> None:
    answer = told("smoke-nearer-runway")
    arrives = {
        each["aerodrome"]: datetime.fromisoformat(each["time"]["arrive_at"])
        for each in answer["courses"]
        if each["course"] in ("commit_to_land:XKAL", "divert_now:XTOR", "divert_now:XBRE")
    }
    assert answer["action"]["aerodrome"] == min(arrives, key=lambda icao: arrives[icao]) == "XBRE"
    others = {icao: at for icao, at in arrives.items() if icao != "XBRE"}
    assert answer["instead"]["course"].split(":")[1] == min(others, key=lambda icao: others[icao])
