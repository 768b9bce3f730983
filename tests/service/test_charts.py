"""The chart writer of tests/bench: what a figure shows, and what it refuses to draw."""

from __future__ import annotations

import math
import xml.etree.ElementTree as Xml

import pytest

from service.charts import HEIGHT_PX, WIDTH_PX, ChartAxis, Dot, Series, Words, line_chart

X = ChartAxis(name="Distance", unit="NM", low=0.0)
Y = ChartAxis(name="Fuel", unit="kg")
SVG = "{http://www.w3.org/2000/svg}"


def chart(
    *series: Series, x: ChartAxis = X, y: ChartAxis = Y, words: tuple[Words, ...] = ()
) -> Xml.Element:
    return Xml.fromstring(line_chart(title="a < b", x=x, y=y, series=series, words=words))  # noqa: S314  # our own text


def texts(root: Xml.Element) -> list[str]:
    return [found.text or "" for found in root.iter(f"{SVG}text")]


RISING = Series(label="clean & light", points=((0.0, 200.0), (50.0, 450.0), (100.0, 700.0)))


def test_a_chart_is_well_formed_and_names_title_axes_units_and_series() -> None:
    shown = texts(chart(RISING))
    assert {"a < b", "Distance (NM)", "Fuel (kg)", "clean & light"} <= set(shown)


def test_ticks_are_round_and_enclose_the_points() -> None:
    assert {"200", "300", "700", "0", "20", "100"} <= set(texts(chart(RISING)))


def test_points_lie_where_the_axes_say() -> None:
    line = next(chart(RISING).iter(f"{SVG}polyline")).attrib["points"].split()
    across = [float(place.split(",")[0]) for place in line]
    assert across[1] - across[0] == pytest.approx(across[2] - across[1])
    assert across[0] < across[2] < WIDTH_PX


def test_two_series_differ_by_more_than_their_colour() -> None:
    lines = list(chart(RISING, Series(label="other", points=RISING.points)).iter(f"{SVG}polyline"))
    assert lines[0].get("stroke-dasharray") != lines[-1].get("stroke-dasharray")


def test_a_figure_carries_colours_for_a_dark_background() -> None:
    assert "prefers-color-scheme:dark" in line_chart(title="t", x=X, y=Y, series=[RISING])


@pytest.mark.parametrize("marker", [m for m in Dot if m is not Dot.NONE])
def test_markers_alone_are_drawn_once_a_point_and_once_in_the_legend(marker: Dot) -> None:
    dots = Series(label="flown", points=RISING.points, marker=marker, joined=False)
    root = chart(dots)
    assert not list(root.iter(f"{SVG}polyline"))
    marks = [path for path in root.iter(f"{SVG}path") if path.get("class") != "axis"]
    assert len(marks) == len(RISING.points) + 1


def test_words_stand_in_the_plot() -> None:
    assert "limit" in texts(chart(RISING, words=(Words(text="limit", at=(50.0, 300.0)),)))


def test_a_long_legend_takes_more_rows_and_more_paper() -> None:
    many = [Series(label=f"a rather long name {n}", points=RISING.points) for n in range(9)]
    assert int(chart(*many).attrib["height"]) > int(chart(RISING).attrib["height"]) > HEIGHT_PX


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_a_point_that_is_not_finite_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="finite"):
        chart(Series(label="s", points=((0.0, bad),)))


def test_no_points_and_points_beyond_a_fixed_axis_are_refused() -> None:
    with pytest.raises(ValueError, match="needs points"):
        chart(Series(label="s", points=()))
    with pytest.raises(ValueError, match="beyond the axis"):
        chart(Series(label="s", points=((-1.0, 1.0),)))


@pytest.mark.parametrize(("y", "ticks"), [(0.0, {"0.0"}), (-0.25, {"−0.25"}), (3.0, {"3.0"})])
def test_a_single_value_still_has_an_axis(y: float, ticks: set[str]) -> None:
    assert ticks & set(texts(chart(Series(label="s", points=((0.0, y), (1.0, y))))))


def test_the_same_input_gives_the_same_bytes() -> None:
    first, second = (line_chart(title="t", x=X, y=Y, series=[RISING]) for _ in range(2))
    assert first == second
