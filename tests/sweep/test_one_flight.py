"""One flight swept: rows as those of the cases by themselves, minutes where they say."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from msgspec import to_builtins

from decision.again import case_anew
from decision.answer import plain
from decision.case import case_from_mapping, installed_library
from decision.errors import InvalidCase
from decision.recommend import recommend_answer, recommend_row, row_of
from decision.sweep import Shift, SweepRow, SweepScope, rows_of_flight, summary_of
from decision.sweep.asked import LONGEST_MIN
from decision.sweep.flight import none_left
from decision.sweep.told import NoneLeft
from decision.systems import Failure
from tests.case.builders import demo, with_changes
from tests.sweep.flights import FEW, flight

LIBRARY = installed_library()
SOME = tuple(Failure(id=each) for each in FEW)


def swept(body: dict[str, Any], **asked: Any) -> list[SweepRow]:
    return list(rows_of_flight(0, body, SweepScope(**asked), library=LIBRARY))


def alone(body: dict[str, Any], *failures: str, **changes: Any) -> Any:
    """The row of the case with these failures, by itself."""
    failed = {**body, "failures": [*body["failures"], *({"id": each} for each in failures)]}
    return recommend_row(case_from_mapping(with_changes(failed, changes)))


def row_in_plain(row: SweepRow) -> Any:
    assert row.row is not None
    return plain(row.row)


def test_every_failure_of_the_profile_has_a_row_that_is_that_of_the_case_by_itself() -> None:
    body = flight()
    rows = swept(body)
    catalogue = LIBRARY.profile("xtj150").systems.catalogue
    assert [row.named for row in rows] == list(catalogue)
    decided = [row for row in rows if row.contradicted is None]
    assert len(decided) >= 85
    for row in decided[::6]:
        [failed] = (to_builtins(each) for each in row.failures)
        given = {name: value for name, value in failed.items() if value is not None}
        case = case_from_mapping({**body, "failures": [given]})
        assert row_in_plain(row) == recommend_row(case), row.named


def test_what_the_state_contradicts_is_told_and_not_decided() -> None:
    [row] = swept(flight(), failures=(Failure(id="gear-alternate-extension-used"),))
    assert row.row is None
    assert row.contradicted is not None
    assert "gear" in row.contradicted
    assert (row.none_left, row.from_minute) == (None, None)


def test_pairs_are_every_two_and_what_the_flight_has_is_left_out() -> None:
    body = {**flight(), "failures": [{"id": "engine-1"}]}
    rows = swept(body, failures=SOME, pairs=True)
    new = [each for each in FEW if each != "engine-1"]
    assert [row.named for row in rows[: len(new)]] == new
    assert len(rows) == len(new) + len(new) * (len(new) - 1) // 2
    assert row_in_plain(rows[-1]) == alone(body, new[-2], new[-1])


def test_a_shift_is_the_case_with_that_fuel_and_hold() -> None:
    body = flight()
    shift = Shift(delay_min=7.0, fuel_kg=-400.0)
    plainly, shifted = swept(body, failures=SOME[:1], shifts=(shift,))
    assert plainly.shift is None
    changes = {
        "/fuel/on_board_kg": body["fuel"]["on_board_kg"] - 400.0,
        "/aircraft/mass_kg": body["aircraft"]["mass_kg"] - 400.0,
        "/plan/hold_min": (body.get("plan") or {}).get("hold_min", 0) + 7.0,
    }
    assert row_in_plain(plainly) == alone(body, FEW[0])
    assert row_in_plain(shifted) == alone(body, FEW[0], **changes)


def test_more_headwind_leaves_no_course_more_room() -> None:
    calm, windy = swept(flight(), failures=SOME[:1], shifts=(Shift(headwind_kt=40.0),))
    before, after = (
        {each["course"]: each["margin_kg"] for each in row_in_plain(row)["margins"]}
        for row in (calm, windy)
    )
    assert all(after[name] <= before[name] for name in after.keys() & before.keys())
    assert after["divert_now:XTOR"] < before["divert_now:XTOR"]


@pytest.mark.parametrize("more_kg", [0.0, 300.0])
def test_the_minute_told_leaves_none_and_the_one_before_it_leaves_one(more_kg: float) -> None:
    body = flight(track_nm=220.0, more_kg=more_kg)
    rows = swept(body, failures=SOME, from_minute=True)
    answer = plain(recommend_answer(case_from_mapping(body), whole=True))
    as_of = case_from_mapping(body).as_of
    assert rows[0].looked_to_minute is not None
    assert 10 < rows[0].looked_to_minute <= LONGEST_MIN

    def after(minute: int, failure: str) -> Any:
        later = case_anew(
            body,
            answer,
            patch={},
            reports=(),
            at=as_of + timedelta(minutes=minute),
            library=LIBRARY,
        )
        later.pop("carried", None)
        return alone(later, failure)

    told = [row for row in rows if row.from_minute]
    assert told
    for row in told:
        assert row.from_minute is not None
        assert after(row.from_minute, row.named)["diversions"] == []
        assert after(row.from_minute - 1, row.named)["diversions"] != []


def test_a_failure_that_leaves_none_now_does_so_from_minute_0() -> None:
    [row] = swept(flight(), failures=(Failure(id="fuel-leak"),), from_minute=True)
    assert row.none_left is row.from_because is not None
    assert row.from_minute == 0


def test_a_row_has_the_one_place_that_is_left() -> None:
    rows = swept(flight())
    assert rows
    for row in rows:
        places = () if row.row is None else row.row.diversions
        assert row.only_place == (places[0] if len(places) == 1 else None)
        assert (row.none_left is None) is (bool(places) or row.row is None)


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("nothing-legal", NoneLeft.BROKEN),
        ("alternate-weather-missing", NoneLeft.NOT_KNOWN),
        ("clean", None),
    ],
)
def test_why_none_is_left_is_told_apart(name: str, why: NoneLeft | None) -> None:
    assert none_left(row_of(case_from_mapping(demo(name)))) is why


def test_the_summary_has_what_leaves_none_soonest_first() -> None:
    rows = swept(flight(track_nm=220.0, more_kg=0.0), failures=SOME, from_minute=True)
    summary = summary_of(rows)
    minutes = [each.from_minute for each in summary.leave_none]
    assert minutes
    assert None not in minutes
    assert minutes == sorted(minutes, key=lambda minute: minute or 0)
    assert summary.first_minute == minutes[0]
    assert summary.rows == len(rows)
    named = {each.failures[0] for each in summary.leave_none}
    assert named == {row.named for row in rows if row.from_because is not None}


def test_a_flight_that_is_no_case_is_refused_with_its_faults() -> None:
    with pytest.raises(InvalidCase) as raised:
        swept({**flight(), "rulebook": "none"})
    assert [each.pointer for each in raised.value.faults] == ["/rulebook"]
