"""The board: its order, what ends, what ran out, and flights that are mistaken for each other."""

from __future__ import annotations

from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.page.board import (
    FOLDED_AFTER,
    Board,
    BoardRow,
    RowStage,
    Shown,
    alike,
    board_page,
)
from service.page.minutes import left_min, passed_min, span
from tests.page.flights import NOW, at, flight, watch


def shown(*flights: dict[str, Any], show: Shown = Shown.ALL, now: datetime = NOW) -> Board:
    return board_page(flights, now=now, shown=show, damaged=0, is_full=False)


def row(**changes: Any) -> BoardRow:
    [found] = [*shown(flight(**changes)).rows, *shown(flight(**changes)).folded]
    return found


MINUTES = st.integers(-400, 400)


@st.composite
def flights(draw: st.DrawFn) -> list[dict[str, Any]]:
    """Flights of every kind, whenever decided."""
    made = []
    for number in range(draw(st.integers(0, 8))):
        deadline = draw(st.none() | MINUTES)
        valid = draw(st.none() | MINUTES)
        looked = draw(st.none() | MINUTES)
        made.append(
            flight(
                f"TERN {number}",
                as_of=at(draw(st.integers(-500, 0))),
                action={
                    "do": draw(st.sampled_from(["DIVERT", "HOLD", "APPROACH", "COMMIT"])),
                    "aerodrome": "XTOR",
                    "runway": None,
                },
                emergency=draw(
                    st.none()
                    | st.sampled_from(["NONE", "URGENCY", "DISTRESS"]).map(
                        lambda level: {"level": level, "reason": "smoke"}
                    )
                ),
                deadline=None if deadline is None else {"at": at(deadline), "what": "fuel"},
                valid_until=None if valid is None else {"at": at(valid), "why": "weather"},
                watch=None
                if looked is None
                else watch(
                    decision=f"id of TERN {number}",
                    due_at=at(looked),
                    failures=draw(st.integers(0, 1)),
                ),
            )
        )
    return made


@given(flights())
def test_distress_comes_first_then_what_ran_out_then_the_soonest_end(
    found: list[dict[str, Any]],
) -> None:
    rows = shown(*found).rows

    def group(row: BoardRow) -> int:
        return 0 if row.stage is RowStage.DISTRESS else 1 if row.is_old(NOW) else 2

    for before, after in pairwise(rows):
        assert group(before) <= group(after)
        if group(before) == group(after) == 1:
            assert before.old_at >= after.old_at
        if group(before) == group(after) == 2 and before.stage is not RowStage.NOW:
            assert after.stage is not RowStage.NOW
            assert before.ends_at is not None or after.ends_at is None
            if before.ends_at is not None and after.ends_at is not None:
                assert before.ends_at <= after.ends_at


@given(flights())
def test_every_flight_is_on_the_board_once(found: list[dict[str, Any]]) -> None:
    board = shown(*found)
    assert sorted(each.flight for each in (*board.rows, *board.folded)) == [
        each["flight_id"] for each in found
    ]
    assert all(each.old_at + FOLDED_AFTER <= NOW for each in board.folded)


@given(flights(), st.sampled_from(Shown))
def test_no_choice_of_flights_hides_one_in_distress(
    found: list[dict[str, Any]], show: Shown
) -> None:
    board = shown(*found, show=show)
    told = (*board.rows, *board.folded)
    assert len(told) + board.hidden == len(found)
    distressed = {
        each["flight_id"]
        for each in found
        if each["emergency"] is not None and each["emergency"]["level"] == "DISTRESS"
    }
    assert distressed <= {each.flight for each in told}


@given(flights())
def test_an_answer_is_old_from_its_deadline_on_whatever_a_watch_says(
    found: list[dict[str, Any]],
) -> None:
    for each in found:
        if each["deadline"] is not None and datetime.fromisoformat(each["deadline"]["at"]) <= NOW:
            told = shown(each)
            assert (*told.rows, *told.folded)[0].is_old(NOW)


@given(st.integers(0, 20_000))
def test_time_left_is_never_told_longer_and_time_passed_never_shorter(seconds: int) -> None:
    then = NOW + timedelta(seconds=seconds)
    assert left_min(then, NOW) * 60 <= seconds
    assert passed_min(NOW, then) * 60 >= seconds
    figure, unit = span(left_min(then, NOW))
    assert int(figure) * {"min": 1, "h": 60, "days": 1440}[unit] * 60 <= seconds


def test_the_first_end_is_told_with_what_ends_and_what_ends_after_it() -> None:
    told = row(
        action={"do": "HOLD", "aerodrome": "XKAL", "runway": "27R"},
        deadline={"at": at(79), "what": "holding ends: fuel for XTOR"},
        valid_until={"at": at(18), "why": "the weather that governs at XKAL changes"},
    )
    assert told.count(NOW) == ("18", "min")
    assert told.what == "the weather that governs at XKAL changes"
    assert told.later == "07:31Z holding ends: fuel for XTOR"
    assert (told.do, told.where) == ("HOLD", "for XKAL, runway 27R")


def test_a_time_of_another_day_has_its_date() -> None:
    told = row(
        action={"do": "HOLD", "aerodrome": "XKAL", "runway": "27R"},
        deadline={"at": at(18 * 60), "what": "holding ends"},
        valid_until={"at": at(18), "why": "older than a fuel check"},
    )
    assert told.what == "answer then older than a fuel check"
    assert told.later == "00:12Z 15 Mar holding ends"


def test_a_diversion_says_for_where_to_leave_and_what_must_not_be_done() -> None:
    told = row()
    assert told.count(NOW) == ("9", "min")
    assert told.what == "leave for XTOR: last clean point"
    assert told.until_then == "do not extend the gear"
    assert (told.room, told.room_unit) == ("1350", "kg over")


def test_a_diversion_without_a_deadline_is_to_be_begun_now() -> None:
    told = row(deadline=None)
    assert told.count(NOW) == ("NOW", "")
    assert told.stage is RowStage.NOW


def test_what_ran_out_names_the_old_action_as_old() -> None:
    told = row(valid_until={"at": at(-2.5), "why": "older than a fuel check"})
    assert told.is_old(NOW)
    assert told.gone(NOW) == ("3", "min")
    assert told.was == "DIVERT to XTOR, runway 32"


def test_an_answer_without_any_end_is_old_at_once() -> None:
    assert row(deadline=None, valid_until=None, emergency=None).is_old(NOW)


def test_a_watch_that_finds_nothing_changed_keeps_an_answer_until_its_next_look() -> None:
    valid = {"at": at(-5), "why": "older than a fuel check"}
    here = {"do": "APPROACH", "aerodrome": "XKAL", "runway": "27R"}
    kept = row(valid_until=valid, deadline=None, action=here, watch=watch())
    assert not kept.is_old(NOW)
    assert kept.stage is RowStage.WATCHED
    assert kept.is_old(NOW + timedelta(minutes=2))  # the look that was due did not come
    for wrong in ({"failures": 1}, {"decision": "another"}, {"last_looked_at": None}):
        told = row(valid_until=valid, deadline=None, action=here, watch=watch(**wrong))
        assert told.is_old(NOW), wrong


def test_too_little_known_is_asked_for_before_anything_else() -> None:
    told = row(
        verdict="INSUFFICIENT_DATA",
        action={"do": "HOLD", "aerodrome": "XKAL", "runway": "27R"},
        ask=[{"what": "the latest report of XBRE", "whom": "dispatch", "by_at": at(20)}],
    )
    assert (told.do, told.where) == ("ASK", "for the latest report of XBRE")
    assert told.because.startswith("Until then HOLD for XKAL, runway 27R: ")
    assert (told.room, told.room_unit) == ("?", "not known")


def test_a_shortfall_is_the_difference_of_the_figures_shown() -> None:
    fuel = {"landing_kg": 599.0, "final_reserve_kg": 1151.0, "margin_kg": -552.0, "at_most": True}
    told = row(fuel=fuel)
    assert (told.room, told.room_unit) == ("570", "kg at most, under")
    assert row(fuel={**fuel, "landing_kg": 0.0}).room_unit == "tanks empty"
    assert row(fuel=None).room == "?"


def test_a_move_says_from_what_when_and_for_which_causes() -> None:
    moved = {
        "at": at(-4),
        "verdict": "GO",
        "action": "APPROACH XKAL runway 27R",
        "why": "",
        "causes": ["a", "b", "c", "d"],
    }
    assert row(moved=moved).moved == (
        "MOVED 06:08Z: was GO, APPROACH XKAL runway 27R. a; b; and 2 more"
    )
    assert row(moved={**moved, "causes": []}).moved.endswith(". nothing but the time differs")
    assert row(decisions=1).moved == "NEW"
    assert row(decisions=1, created_at=at(-20)).moved == ""


@pytest.mark.parametrize(
    ("names", "mistaken"),
    [
        (("VENTO 318", "VENTO 381"), True),
        (("VENTO 318", "TERN 138"), True),
        (("VENTO 318", "VENTO 319"), False),
        (("VENTO 318", "VENTO 3181"), False),
        (("VENTO 1", "TERN 1"), False),
        (("VENTO", "TERN"), False),
    ],
)
def test_flights_whose_digits_are_permuted_name_each_other(
    names: tuple[str, str], mistaken: bool
) -> None:
    one, other = names
    assert alike(names) == {
        one: (other,) if mistaken else (),
        other: (one,) if mistaken else (),
    }


@given(st.lists(st.text("0123 AB", min_size=1, max_size=6), max_size=12))
def test_who_names_another_is_named_by_it(names: list[str]) -> None:
    found = alike(names)
    assert found.keys() == {*names}
    assert all(one in found[other] for one, others in found.items() for other in others)
    assert all(one not in others for one, others in found.items())
