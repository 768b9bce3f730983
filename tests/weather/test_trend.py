"""Trends: periods with their times, and nothing of them in the observation."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from decision.weather import Period, Report
from tests.weather.builders import observed, read

PREFIX = "METAR XABC 251150Z 24005KT 9999 NSC 10/05 Q1013"


def trend_of(text: str) -> tuple[Period, ...]:
    return read(f"{PREFIX} {text}").trend


def at(hour: int, minute: int = 0, day: int = 25) -> datetime:
    return datetime(2026, 11, day, hour, minute, tzinfo=UTC)


@pytest.mark.parametrize(
    ("text", "kind", "probability", "start_at", "end_at"),
    [
        ("BECMG 5000", "BECMG", None, at(11, 50), at(13, 50)),
        ("BECMG FM1230 TL1315 5000", "BECMG", None, at(12, 30), at(13, 15)),
        ("BECMG FM1230 5000", "BECMG", None, at(12, 30), at(13, 50)),
        ("BECMG TL1315 5000", "BECMG", None, at(11, 50), at(13, 15)),
        ("BECMG AT1300 5000", "BECMG", None, at(13), at(13)),
        ("TEMPO 5000", "TEMPO", None, at(11, 50), at(13, 50)),
        ("TEMPO FM1300 5000", "TEMPO", None, at(13), at(13, 50)),
        ("INTER 1230/1430 5000", "INTER", None, at(12, 30), at(14, 30)),
        ("TEMPO 1230/1430 5000", "TEMPO", None, at(12, 30), at(14, 30)),
        ("PROB30 5000", "PROB", 30, at(11, 50), at(13, 50)),
        ("PROB40 TEMPO 1230/1400 5000", "PROB TEMPO", 40, at(12, 30), at(14)),
        ("PROB30 INTER 1230/1400 5000", "PROB INTER", 30, at(12, 30), at(14)),
        ("FM1300 35010KT 5000", "FM", None, at(13), at(13, 50)),
    ],
)
def test_a_trend_group_has_its_kind_and_times(
    text: str, kind: str, probability: int | None, start_at: datetime, end_at: datetime
) -> None:
    (period,) = trend_of(text)

    assert (period.kind.value, period.probability) == (kind, probability)
    assert (period.start_at, period.end_at) == (start_at, end_at)
    assert period.elements.visibility is not None
    assert period.elements.visibility.metres == 5000.0
    assert (period.raw, period.unread) == (text, ())


def test_trend_times_go_over_midnight_and_hour_24_is_midnight() -> None:
    report = read(
        "METAR XABC 242330Z 24005KT 9999 NSC 10/05 Q1013 BECMG TL2400 5000 TEMPO TL0100 BR"
    )

    assert [period.end_at for period in report.trend] == [at(0), at(1)]


@pytest.mark.parametrize("text", ["BECMG FM1380 5000", "BECMG AT2530 5000", "TEMPO 1300/2430 5000"])
def test_a_trend_time_that_does_not_exist_leaves_the_span_unknown(text: str) -> None:
    (period,) = trend_of(text)

    assert (period.start_at, period.end_at) == (None, None)
    assert period.unread != ()


def test_a_trend_that_ends_before_it_starts_leaves_the_span_unknown() -> None:
    (period,) = trend_of("BECMG FM1330 TL1300 5000")

    assert period.start_at is None
    assert period.unread == ("BECMG FM1330",)


def test_no_significant_change_is_said_and_is_no_period() -> None:
    report = read(f"{PREFIX} NOSIG")

    assert (report.nosig, report.trend) == (True, ())


def test_several_groups_keep_their_order() -> None:
    periods = trend_of("TEMPO TL1230 TSRA BKN003CB BECMG AT1245 9999 NSW NSC")

    assert [period.kind.value for period in periods] == ["TEMPO", "BECMG"]
    assert periods[1].elements.weather == ()


@pytest.mark.parametrize(
    "text",
    ["TEMPO 0200 TSRA BKN001CB", "BECMG BLU 26010KT CAVOK", "INTER 1230/1430 0100 FG", "NOSIG"],
)
def test_a_trend_does_not_touch_the_observation(text: str) -> None:
    assert read(f"{PREFIX} {text}").elements == read(PREFIX).elements


@pytest.mark.parametrize(
    ("text", "metres"),
    [("YLO 23010KT 4000 BR BKN006", 4000.0), ("BLU 25008KT 9999 SCT050", 10_000.0)],
)
def test_wind_after_the_colour_state_opens_a_trend_without_keyword(
    text: str, metres: float
) -> None:
    (period,) = trend_of(text)

    assert (period.kind.value, period.start_at, period.end_at) == ("BECMG", at(11, 50), at(13, 50))
    assert period.elements.visibility is not None
    assert period.elements.visibility.metres == metres


@pytest.mark.parametrize("text", ["2000 BR", "CAVOK"])
def test_visibility_after_the_pressure_opens_a_trend_without_keyword(text: str) -> None:
    (period,) = trend_of(text)

    assert period.elements.visibility is not None
    assert read(f"{PREFIX} {text}").elements == read(PREFIX).elements


def test_visibility_after_the_pressure_is_observed_if_there_was_none_before() -> None:
    visibility = observed("24005KT NSC 10/05 Q1013 2000").visibility

    assert visibility is not None
    assert visibility.metres == 2000.0


def test_cloud_after_the_pressure_counts_as_observed() -> None:
    elements = observed("24005KT 9999 FEW030 10/05 Q1013 BKN004")

    assert elements.ceiling is not None
    assert elements.ceiling.feet == 400.0


@pytest.mark.parametrize("word", ["BCECMG", "BEMG", "TRMPO", "ECMG", "MECMG", "NNOSIG", "RPOB30"])
def test_a_mistyped_keyword_leaves_the_span_of_the_trend_unknown(word: str) -> None:
    report = read(f"{PREFIX} {word} TL1300 0300 FG")

    assert report.trend[0].unread[0] == word
    assert word in report.unread
    assert report.elements == read(PREFIX).elements


def test_an_unreadable_word_of_a_trend_stays_with_its_period() -> None:
    periods = trend_of("TEMPO BKN01 BECMG 5000")

    assert [period.unread for period in periods] == [("BKN01",), ()]


def test_unread_words_of_the_body_come_before_those_of_the_trend() -> None:
    report: Report = read("METAR XABC 251150Z 24005KT 9999 KN026 10/05 Q1013 TEMPO BKN01")

    assert report.unread == ("KN026", "BKN01")
