"""Figures tell the numbers of the answer: each is drawn of every demo case that has them."""

from __future__ import annotations

import re
from copy import deepcopy
from math import ceil, floor
from xml.etree.ElementTree import fromstring

import pytest

from service.page.figures import PageFigure
from service.page.figures.climb import climb_figure
from service.page.figures.fuel import FuelHere, FuelNeeded, crossing_nm, fuel_figure
from service.page.figures.lost import lost_figure
from service.page.figures.margins import course_name, margins_figure
from service.page.figures.runway import runway_figure
from service.page.figures.touchdown import touchdown_figure
from service.page.figures.windows import windows_figure
from tests.page.pages import NAMES, page_of, read, whole

FIGURES = {
    "fuel": fuel_figure,
    "margins": margins_figure,
    "windows": windows_figure,
    "runway": runway_figure,
    "climb": climb_figure,
    "lost": lost_figure,
    "touchdown": touchdown_figure,
}


def drawn(name: str, kind: str) -> PageFigure:
    found = FIGURES[kind](read(name))
    assert found is not None
    return found


@pytest.mark.parametrize("kind", FIGURES)
def test_each_figure_is_drawn_for_some_demo_and_says_its_numbers(kind: str) -> None:
    found = [figure for name in NAMES if (figure := FIGURES[kind](read(name))) is not None]
    assert found
    for figure in found:
        assert re.search(r"\d", figure.said) or kind == "lost"
        assert figure.table.rows
        assert all(len(row) == len(figure.table.heads) for row in figure.table.rows)
        for drawing in figure.drawings:
            root = fromstring(drawing)  # noqa: S314 - our own
            assert root.get("role") == "img"
            assert root.get("aria-label") == figure.said


@pytest.mark.parametrize("name", NAMES)
def test_no_drawing_leaves_its_ground_or_has_a_style_or_a_number_that_is_none(name: str) -> None:
    page = page_of(name)
    figures = [each for each in (page.first, page.margins, *page.figures) if each is not None]
    assert figures
    for figure in figures:
        for drawing in figure.drawings:
            root = fromstring(drawing)  # noqa: S314 - our own
            width, height = float(root.get("width", "0")), float(root.get("height", "0"))
            for each in root.iter():
                assert each.get("style") is None
                for key in ("x", "x1", "cx"):
                    if each.get(key) is not None:
                        assert -1.0 <= float(each.get(key, "0")) <= width + 1.0, figure.name
                for key in ("y", "cy"):
                    if each.get(key) is not None:
                        assert -1.0 <= float(each.get(key, "0")) <= height + 1.0, figure.name
            assert "nan" not in drawing
            assert "None" not in drawing


@pytest.mark.parametrize("name", NAMES)
def test_margins_of_the_figure_are_those_of_the_answer_rounded_against_the_aircraft(
    name: str,
) -> None:
    answer = read(name)
    rows = {(row[0], row[1]): row for row in drawn(name, "margins").table.rows}
    assert rows
    for course in answer["courses"]:
        row = next(each for key, each in rows.items() if key[0] == course_name(course))
        if not course["fuel"]:
            assert row[2] == "not known"
            continue
        fuel = course["fuel"]
        shown = (
            floor(fuel["margin_kg"] / 10) * 10
            if fuel["margin_kg"] >= 0.0
            else floor(fuel["landing_kg"] / 10) * 10 - ceil(fuel["final_reserve_kg"] / 10) * 10
        )
        same = [key for key in rows if key[0] == course_name(course)]
        if len(same) == 1:
            assert int(row[2]) == shown


@pytest.mark.parametrize("name", NAMES)
def test_fuel_of_the_figure_is_that_of_the_answer_on_both_sides_of_the_step(name: str) -> None:
    figure = fuel_figure(read(name))
    points = [each for each in whole(name)["fuel_ahead"] if each["planned_kg"] is not None]
    assert points
    if figure is None:
        assert not any(place["need_kg"] for point in points for place in point["places"])
        return
    assert len(figure.table.rows) == len(points)
    heads = figure.table.heads
    for row, point in zip(figure.table.rows, points, strict=True):
        told = dict(zip(heads, row, strict=True))
        assert float(told["NM to go"]) == pytest.approx(point["distance_to_go_nm"], abs=0.05)
        assert int(told["on board, kg"]) == floor(point["planned_kg"] / 10) * 10
        for place in point["places"]:
            if place["need_kg"] is not None:
                need = told[f"{place['aerodrome']} needs, kg"]
                assert int(need) == ceil(place["need_kg"] / 10) * 10


def test_the_need_jumps_where_the_gear_goes_down_and_crosses_only_later() -> None:
    """The step and the crossing are two things: just after it XTOR is still within reach."""
    rows = [row for row in drawn("gear-stuck", "fuel").table.rows if row[0] == "5.0"]
    (_, clean, *_), (_, stuck, *_) = rows
    assert (clean, stuck) == ("gear up, flap 0", "gear down, flap 0")
    figure = drawn("gear-stuck", "fuel")
    assert "last clean point 5.0 NM to go" in figure.said
    crossing = re.search(r"from (\d+\.\d) NM to go on the need is more", figure.said)
    assert crossing is not None
    assert 0.0 < float(crossing[1]) < 5.0


@pytest.mark.parametrize(
    ("rooms", "crossing"),
    [([100.0, 50.0], None), ([100.0, -100.0], 5.0), ([-1.0, -2.0], None), ([30.0, -10.0], 2.5)],
)
def test_the_crossing_is_where_the_need_passes_what_is_on_board(
    rooms: list[float], crossing: float | None
) -> None:
    points = [
        FuelHere(
            to_go_nm=to_go_nm,
            planned_kg=1000.0,
            configuration="",
            stuck=False,
            needs=(
                FuelNeeded(aerodrome="XTOR", need_kg=1000.0 - room, p95_kg=None, reserve_kg=0.0),
            ),
        )
        for to_go_nm, room in zip((10.0, 0.0), rooms, strict=True)
    ]
    assert crossing_nm(points, "XTOR") == crossing


def test_a_fuel_figure_without_points_ahead_has_those_that_every_answer_has() -> None:
    answer = {**read("gear-stuck"), "fuel_ahead": None}
    figure = fuel_figure(answer)
    assert figure is not None
    assert [row[0] for row in figure.table.rows] == ["42.0", "5.0", "0.0"]
    ahead = drawn("gear-stuck", "fuel").table
    for row in figure.table.rows:
        assert any(row[2:4] == each[2:4] for each in ahead.rows)


def test_a_runway_that_is_too_short_is_hatched_beyond_its_end_and_says_so() -> None:
    figure = drawn("flaps-jammed-short-wet", "runway")
    assert "580 m too long" in figure.said
    assert all("overrun" in drawing for drawing in figure.drawings)
    assert all("overrun" not in each for each in drawn("gear-stuck", "runway").drawings)


def test_windows_quote_what_governs_and_cross_what_is_not_legal() -> None:
    figure = drawn("wait-for-fog", "windows")
    assert "FM140630 26010KT 9999 SCT030" in figure.drawings[-1]
    legal = {(row[0], row[1]): row[-1] for row in figure.table.rows}
    assert legal["XKAL", "approach now"] == "no"
    assert legal["XKAL", "hold, then approach"] == "yes"


def test_windows_show_of_visibility_and_ceiling_what_comes_nearer_to_its_minimum() -> None:
    figure = drawn("planning-minima", "windows")
    told = {(icao, element, minimum) for icao, _, _, _, element, minimum, _, _ in figure.table.rows}
    assert told == {
        ("XKAL", "visibility or RVR", "550 m"),  # 4000 m is nearer than its ceiling
        ("XBRE", "ceiling", "400 ft"),  # 300 ft
        ("XTOR", "ceiling", "400 ft"),
    }
    assert figure.drawings[-1].count("minimum 400 ft</text>") == 2 * 2  # beside its name, and on it


def test_a_ceiling_with_a_minimum_is_nearest_if_not_known_and_farthest_if_there_is_none() -> None:
    for state, shown in (("unknown", "ceiling"), ("none", "visibility or RVR")):
        answer = deepcopy(dict(read("planning-minima")))
        for place in answer["reports"].values():
            for each in place["ceiling_by_time"]:
                each.update(state=state, feet=None)
        figure = windows_figure(answer)
        assert figure is not None
        told = {row[0]: row[4] for row in figure.table.rows}
        assert told == {"XKAL": "visibility or RVR", "XBRE": shown, "XTOR": shown}
        assert ("ceiling not known" in figure.drawings[-1]) is (state == "unknown")


def test_a_climb_is_drawn_where_it_is_short_or_close_and_not_where_it_is_ample() -> None:
    figure = drawn("engine-out-gradient", "climb")
    assert "4.6 % flown, 5.0 % required" in figure.said
    assert "low at" in figure.said
    assert climb_figure(read("gear-stuck")) is None


def test_what_is_lost_is_drawn_from_three_functions_on() -> None:
    assert lost_figure(read("gear-stuck")) is None
    rows = drawn("engine-out-gradient", "lost").table.rows
    assert len(rows) == len(whole("engine-out-gradient")["capability"]["lost"])
    assert {row[0] for row in rows} == {"engine 1"}


def test_touchdown_has_the_earliest_place_first() -> None:
    rows = drawn("time-critical", "touchdown").table.rows
    minutes = [int(row[2]) for row in rows]
    assert rows[0][0] == "XKAL"
    assert minutes == sorted(minutes)
