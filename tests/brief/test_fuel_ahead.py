"""The table of fuel to the threshold: short, on its own lines, never flattering."""

from __future__ import annotations

import re
from math import ceil, floor
from typing import Any

from decision.brief import brief
from decision.brief.layout import WIDTH
from tests.answer.told import told
from tests.case.builders import REMOVED, demo, with_changes
from tests.case.flights import FIVE

HEADING = "FUEL TO THE THRESHOLD"
ROW = re.compile(r" +([\d.-]+) NM +(\S+) +(\d+ kg|-) .*")


def asked(name: str, **changes: Any) -> dict[str, Any]:
    return told(with_changes(demo(name), {"/include": ["ahead"], **changes}))


def table(answer: dict[str, Any]) -> list[str]:
    """Its lines without the heading."""
    return brief(answer).split(HEADING)[1].split("\n\n")[0].splitlines()[1:]


def rows(answer: dict[str, Any]) -> list[str]:
    return [line for line in table(answer) if ROW.match(line)]


def tens(kg: float, rounded: Any) -> str:
    return f"{rounded(kg / 10) * 10} kg"


def test_it_stands_there_only_where_it_was_included() -> None:
    assert HEADING in brief(asked("gear-stuck"))
    assert HEADING not in brief(told({**demo("gear-stuck"), "include": []}))
    before_it_was = {**asked("gear-stuck")}
    del before_it_was["fuel_ahead"]
    assert HEADING not in brief(before_it_was)


def test_the_ends_both_sides_of_the_step_and_where_fuel_runs_short_are_told() -> None:
    answer = asked("gear-stuck")
    distances = [ROW.sub(r"\1", row) for row in rows(answer)]
    assert distances == ["42.0", "5.0", "5.0", "2.0", "0.0"]
    assert [row.endswith("after the step") for row in rows(answer)] == [0, 0, 1, 0, 0]


def test_what_is_on_board_is_rounded_down_and_what_is_needed_up_and_a_time_down() -> None:
    answer = asked("gear-stuck")
    point, row = answer["fuel_ahead"][-1], rows(answer)[-1]
    assert ROW.sub(r"\2", row) == f"{point['at'][11:16]}Z"
    assert ROW.sub(r"\3", row) == tens(point["planned_kg"], floor)
    for place in point["places"]:
        assert f" {tens(place['need_kg'], ceil)}" in row


def test_a_need_above_what_is_on_board_is_marked_and_the_mark_explained() -> None:
    short = asked("gear-stuck")
    assert [row.count("*") for row in rows(short)] == [0, 0, 0, 1, 2]
    assert any(line.strip() == "* more than is on board there" for line in table(short))
    assert "*" not in "".join(table(asked("clean")))


def test_a_figure_that_is_missing_is_a_dash_with_its_reason_told_once() -> None:
    lines = table(asked("gear-stuck", **{"/failures": [{"id": "fuel-leak"}]}))
    assert [line.strip() for line in lines[-3:]] == [
        "no figure for what is on board: rate of the fuel leak",
        "no figure for XBRE: rate of the fuel leak",
        "no figure for XTOR: rate of the fuel leak",
    ]
    assert re.search(r"42\.0 NM +06:10Z +- +- +-", lines[1])


def test_without_the_distance_to_run_the_present_has_none() -> None:
    answer = asked(
        "gear-stuck", **{"/destination/track_nm": REMOVED, "/aircraft/position": REMOVED}
    )
    [row] = rows(answer)
    assert row.startswith("       - NM  06:10Z   3450 kg")


def test_more_than_three_alternates_are_counted_and_no_line_is_too_long() -> None:
    answer = told({**FIVE, "include": ["ahead"]})
    lines = table(answer)
    assert any(line.strip() == "and 2 more places; see the full answer" for line in lines)
    assert max(map(len, brief(answer).splitlines())) <= WIDTH
    shown = [each["aerodrome"] for each in answer["fuel_ahead"][0]["places"][:3]]
    assert lines[0].split()[-3:] == shown
