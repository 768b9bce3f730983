"""Kind, station, time and flags; what is refused; the month that a report does not say."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision.errors import UnreadableReport
from decision.weather import decode
from decision.weather.normalise import (
    FUTURE_STAMP,
    MAX_CHARACTERS,
    clock_time_after,
    forecast_at,
    stamped_at,
)
from tests.weather.builders import RECEIVED_AT, observed, read

REST = "24005KT 9999 NSC 10/05 Q1013"


@pytest.mark.parametrize(
    ("head", "kind", "auto", "corrected"),
    [
        ("METAR XABC 251150Z", "METAR", False, False),
        ("SPECI XABC 251150Z", "SPECI", False, False),
        ("XABC 251150Z", "METAR", False, False),
        ("METAR SPECI XABC 251150Z", "SPECI", False, False),
        ("METAR METAR XABC 251150Z", "METAR", False, False),
        ("METAR COR XABC 251150Z", "METAR", False, True),
        ("METAR XABC 251150Z COR", "METAR", False, True),
        ("METAR XABC COR 251150Z", "METAR", False, True),
        ("METAR XABC 251150Z AUTO", "METAR", True, False),
        ("METAR XABC 251150Z AUTO COR", "METAR", True, True),
        ("METAR XABC 251150Z CCB", "METAR", False, True),
        ("METAR XABC 251150Z RTD", "METAR", False, True),
        ("METAR XABC 251150", "METAR", False, False),
        ("COR X2BC 251150Z", "METAR", False, True),
    ],
)
def test_a_header_gives_kind_and_flags(head: str, kind: str, auto: bool, corrected: bool) -> None:
    report = read(f"{head} {REST}")

    assert (report.kind.value, report.auto, report.corrected) == (kind, auto, corrected)
    assert report.issued_at == datetime(2026, 11, 25, 11, 50, tzinfo=UTC)
    assert report.unread == ()


@pytest.mark.parametrize(
    ("raw", "problem"),
    [
        ("", "no station and time"),
        ("METAR", "no station and time"),
        ("METAR XABC", "no station and time"),
        ("24005KT 9999", "no station and time"),
        ("METAR AB 251150Z 24005KT", "no station and time"),
        ("METAR XABC 251150Z 24005KT METAR XDEF 251150Z 24005KT", "more than one report"),
        ("METAR XABC METAR XABC 251150Z 24005KT", "no station and time"),
        ("METAR TAF XABC 251150Z 24005KT", "more than one kind"),
        ("METAR XABC 322359Z 24005KT", "no such time"),
        ("METAR XABC 002359Z 24005KT", "no such time"),
        ("METAR XABC 252400Z 24005KT", "no such time"),
        ("METAR XABC 252360Z 24005KT", "no such time"),
        ("METAR XABC 1206/1312 24005KT", "no such time"),
        ("METAR XABC 251150Z 24005KT 9999 \N{DEGREE SIGN}", "outside ASCII"),
        ("METAR XABC 251150Z" + " RMK" * MAX_CHARACTERS, "longer than"),
    ],
)
def test_a_report_without_kind_station_or_time_is_refused(raw: str, problem: str) -> None:
    with pytest.raises(UnreadableReport, match=problem) as caught:
        read(raw)

    assert caught.value.raw == raw


def test_a_time_in_the_remarks_is_no_second_report() -> None:
    assert read(f"METAR XABC 251150Z {REST} RMK OBSD 251140Z").unread == ()


@pytest.mark.parametrize("word", ["NIL", "CNL", "FINO"])
def test_a_report_of_no_data_has_no_elements(word: str) -> None:
    report = read(f"METAR XABC 251150Z AUTO {word}")

    assert (report.nil, report.elements, report.problems) == (True, None, ())
    assert report.cancelled == (word == "CNL")


def test_groups_beside_nil_are_not_credited() -> None:
    report = read(f"METAR XABC 251150Z NIL {REST}")

    assert (report.nil, report.elements) == (True, None)
    assert report.problems == (f"no data, yet groups are given: {REST}",)


def test_time_of_receipt_must_be_in_aware_utc() -> None:
    with pytest.raises(ValueError, match="aware UTC"):
        decode(f"METAR XABC 251150Z {REST}", received_at=datetime(2026, 11, 25, 12))  # noqa: DTZ001
    with pytest.raises(ValueError, match="aware UTC"):
        decode(
            f"METAR XABC 251150Z {REST}",
            received_at=datetime(2026, 11, 25, 12, tzinfo=timezone(timedelta(hours=1))),
        )


@pytest.mark.parametrize(
    ("day", "hour", "received_at", "expected"),
    [
        (25, 11, RECEIVED_AT, datetime(2026, 11, 25, 11, tzinfo=UTC)),
        (25, 13, RECEIVED_AT, datetime(2026, 11, 25, 13, tzinfo=UTC)),
        (26, 11, RECEIVED_AT, datetime(2026, 11, 26, 11, tzinfo=UTC)),
        (26, 13, RECEIVED_AT, datetime(2026, 10, 26, 13, tzinfo=UTC)),
        (31, 11, RECEIVED_AT, datetime(2026, 10, 31, 11, tzinfo=UTC)),
        (31, 23, datetime(2027, 1, 1, tzinfo=UTC), datetime(2026, 12, 31, 23, tzinfo=UTC)),
        (1, 0, datetime(2026, 12, 31, 23, tzinfo=UTC), datetime(2027, 1, 1, tzinfo=UTC)),
        (29, 0, datetime(2026, 3, 1, tzinfo=UTC), datetime(2026, 1, 29, tzinfo=UTC)),
        (29, 0, datetime(2024, 3, 1, tzinfo=UTC), datetime(2024, 2, 29, tzinfo=UTC)),
        (31, 0, datetime(2026, 3, 30, 1, tzinfo=UTC), datetime(2026, 3, 31, tzinfo=UTC)),
    ],
)
def test_the_month_is_the_nearest_that_the_time_of_receipt_allows(
    day: int, hour: int, received_at: datetime, expected: datetime
) -> None:
    assert stamped_at(day=day, hour=hour, minute=0, received_at=received_at) == expected


instants = st.datetimes(
    min_value=datetime(2020, 1, 1),  # noqa: DTZ001 - hypothesis adds the zone
    max_value=datetime(2040, 1, 1),  # noqa: DTZ001
    timezones=st.just(UTC),
).map(lambda at: at.replace(second=0, microsecond=0))


@given(instants, st.timedeltas(timedelta(0), timedelta(days=25)))
def test_a_stamp_of_the_last_weeks_comes_back(issued_at: datetime, age: timedelta) -> None:
    found = stamped_at(
        day=issued_at.day,
        hour=issued_at.hour,
        minute=issued_at.minute,
        received_at=issued_at + age,
    )

    assert found == issued_at


@given(instants, st.integers(1, 31), st.integers(0, 23), st.integers(0, 59))
def test_a_stamp_is_never_further_ahead_than_a_clock_may_be_wrong(
    received_at: datetime, day: int, hour: int, minute: int
) -> None:
    found = stamped_at(day=day, hour=hour, minute=minute, received_at=received_at)

    assert found is not None
    assert found <= received_at + FUTURE_STAMP


@given(instants, st.integers(0, 48))
def test_a_forecast_time_comes_back(reference_at: datetime, hours: int) -> None:
    at = reference_at.replace(minute=0) + timedelta(hours=hours)

    assert forecast_at(day=at.day, hour=at.hour, reference_at=reference_at) == at


@pytest.mark.parametrize(
    ("hour", "minute"), [(25, 0), (24, 30), (12, 60)], ids=["hour-25", "after-24", "minute-60"]
)
def test_a_clock_time_that_does_not_exist_is_none(hour: int, minute: int) -> None:
    assert forecast_at(day=25, hour=hour, minute=minute, reference_at=RECEIVED_AT) is None
    assert clock_time_after(hour=hour, minute=minute, reference_at=RECEIVED_AT) is None


def test_lower_case_and_line_breaks_are_the_same_report() -> None:
    assert observed(REST) == observed(f"\n  {REST.lower()}=\r\n")


def test_nil_in_a_trend_does_not_make_the_observation_nil() -> None:
    report = read(f"METAR XABC 251150Z {REST} BECMG NIL")

    assert not report.nil
    assert report.elements is not None
    assert report.unread == ("NIL",)
