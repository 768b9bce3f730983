"""The approach ban: what is reported, what is only forecast, and which side of the gate it finds.

Whole reports are read here, and each claim is the sentence of the semantics that it tests. Minima
are those of the builders: 200 ft, RVR 550 m, full lights, by day. A visibility is doubled at most,
so that 250 m are never enough, and 800 m are always.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from decision.attempt.attempt import Attempt, Role
from decision.rules.against_minima import reported_at, seen_at
from decision.rules.approach import approach_ban, barred, may_be_barred
from decision.rules.finding import Outcome
from decision.rules.registry import Context
from decision.weather.collect import collect, read_heap
from decision.weather.conditions import conditions
from decision.weather.readings import Reported
from decision.weather.spots import SpotObservation, SpotRvr
from decision.windows import Window
from tests.changing import replace
from tests.rules.builders import attempt, context, drawn, rvr, seen, visibility

PASS, FAIL = Outcome.PASS, Outcome.FAIL
UNKNOWN, NOT_APPLICABLE = Outcome.UNKNOWN, Outcome.NOT_APPLICABLE
BOOKS = ("icao", "easa", "faa-121")
AS_OF = datetime(2026, 3, 14, 6, 10, tzinfo=UTC)
BODY = "26008KT {} SCT030 08/07 Q1013"
GOOD, BAD = "9999", "0200 FG"
FINE = "TAF XKAL 140500Z 1406/1506 26008KT 9999 SCT030"
FOUL = "TAF XKAL 140500Z 1406/1506 26008KT 0200 FG VV001"


def metar(visibility: str, *, at: str = "0600", trend: str = "", ranges: str = "") -> str:
    body = BODY.format(f"{visibility} {ranges}".strip())
    return f"METAR XKAL 14{at}Z {body} {trend}".strip()


def clock(text: str) -> datetime:
    return datetime(2026, 3, 14, int(text[:2]), int(text[2:]), tzinfo=UTC)


def met(
    *reports: str,
    book: str = "icao",
    over: tuple[str, str] = ("0630", "0645"),
    as_of: datetime = AS_OF,
    spots: tuple[SpotObservation, ...] = (),
) -> tuple[Attempt, Context]:
    """An attempt in the weather of these reports, over a window of that day."""
    where = context(book)
    heap = read_heap(reports, received_at=as_of)
    assert not heap.unreadable
    window = Window(clock(over[0]), clock(over[1]))
    told = conditions(
        collect(heap.reports, station="XKAL", as_of=as_of),
        window=window,
        as_of=as_of,
        reading=where.rulebook.reading,
        spots=spots,
    )
    return drawn(attempt(weather=told, window=window, at=window.start_at), where), where


def ban(*reports: str, **changes: Any) -> Outcome:
    return approach_ban(*met(*reports, **changes)).outcome


def maybe(*reports: str, **changes: Any) -> list[str]:
    return [each.text for each in may_be_barred(*met(*reports, **changes))]


# --- reported values only ---


@pytest.mark.parametrize("book", BOOKS)
@pytest.mark.parametrize(
    ("reports", "group"),
    [
        pytest.param((metar(GOOD), f"{FINE} TEMPO 1406/1410 0200 FG VV001"), "TEMPO", id="tempo"),
        pytest.param((metar(GOOD), f"{FINE} PROB40 1406/1408 0150 FG"), "PROB40", id="prob"),
        pytest.param(
            (metar(GOOD), f"{FINE} PROB30 TEMPO 1406/1408 0150 FG"), "PROB30 TEMPO", id="prob tempo"
        ),
        pytest.param((metar(GOOD), f"{FINE} FM140620 26008KT 0200 FG VV001"), "FM", id="from"),
        pytest.param((metar(GOOD), f"{FINE} BECMG 1406/1407 0200 FG"), "BECMG", id="becoming"),
        pytest.param((metar(GOOD), FOUL), "26008KT 0200", id="base"),
        pytest.param((metar(GOOD, trend="TEMPO 0200 FG"), FINE), "TEMPO", id="trend tempo"),
        pytest.param((metar(GOOD, trend="BECMG 0200 FG"), FINE), "BECMG", id="trend becoming"),
        pytest.param((metar(GOOD), f"{FINE} TEMPO 1406/1410 0200 TSRA"), "TEMPO", id="transient"),
        pytest.param((metar(GOOD), f"{FINE} TEMPO 1406/1410 0O00 FG"), "TEMPO", id="unreadable"),
    ],
)
def test_a_forecast_group_below_the_minimum_may_bar_and_fails_nothing(
    book: str, reports: tuple[str, ...], group: str
) -> None:
    assert ban(*reports, book=book) is PASS
    said = maybe(*reports, book=book)
    assert len(said) == 1
    assert said[0].startswith(group)


@pytest.mark.parametrize("book", BOOKS)
@pytest.mark.parametrize(
    "report",
    [
        metar(BAD),
        metar(GOOD, ranges="R27R/0300N"),
        metar("3000", ranges="R27R/0500N R27L/1500N"),
        metar(BAD).replace("METAR", "SPECI"),
        metar("1500 0200E"),
    ],
    ids=["visibility", "rvr", "rvr of the runway", "speci", "directional minimum"],
)
def test_a_report_below_the_minimum_bars_whatever_is_forecast(book: str, report: str) -> None:
    reports = report, f"{FINE} TEMPO 1406/1410 0200 FG"
    assert ban(*reports, book=book) is FAIL
    assert barred(*met(*reports, book=book)) is True
    assert maybe(*reports, book=book) == []


def test_the_range_of_another_runway_does_not_bar_this_one() -> None:
    assert ban(metar("3000", ranges="R09/0300N"), FINE) is PASS


def test_a_good_range_goes_before_the_visibility_of_its_own_report() -> None:
    assert ban(metar(BAD, ranges="R27R/0800N"), FINE) is PASS


def test_a_range_that_cannot_be_read_is_no_range_above_the_minimum() -> None:
    assert ban(metar("1500", ranges="R27R/O300"), FINE) is UNKNOWN


def test_a_ceiling_never_bars() -> None:
    low = "METAR XKAL 140600Z 26008KT 3000 BR OVC001 08/07 Q1013"
    assert ban(low, FINE) is PASS
    assert barred(*met(low, FINE)) is False


@pytest.mark.parametrize("order", [1, -1])
@pytest.mark.parametrize(
    "other",
    [metar(BAD), metar("0250 FG"), metar(GOOD, ranges="R27R/0400"), metar("//// FG")],
    ids=["worse visibility", "another", "worse range", "visibility missing"],
)
def test_of_two_reports_of_one_minute_the_worse_decides(order: int, other: str) -> None:
    fine = metar(GOOD, ranges="R27R/1500N")
    both = (fine, other)[::order]
    assert ban(*both, FINE) in (FAIL, UNKNOWN)
    assert ban(*both, FINE) is (UNKNOWN if "////" in other else FAIL)
    assert ban(fine, FINE) is PASS


def test_a_spot_goes_before_an_older_report_and_not_before_a_newer_one() -> None:
    low = SpotObservation(at=AS_OF, rvr=(SpotRvr(runway="27R", touchdown_m=300.0),))
    assert ban(metar(GOOD), FINE, spots=(low,)) is FAIL
    assert ban(metar(GOOD), FINE, spots=(replace(low, visibility_m=200.0, rvr=()),)) is FAIL
    assert ban(metar(GOOD), FINE, spots=(replace(low, at=clock("0555")),)) is PASS
    high = SpotObservation(at=AS_OF, rvr=(SpotRvr(runway="27R", touchdown_m=800.0),))
    assert ban(metar(BAD), FINE, spots=(high,)) is PASS


# --- no observation, later windows ---


@pytest.mark.parametrize("forecast", [FINE, FOUL])
def test_without_an_observation_the_forecast_stands_in_and_the_ban_is_not_known(
    forecast: str,
) -> None:
    at, where = met(forecast)
    judged = approach_ban(at, where)
    assert judged.outcome is UNKNOWN
    assert judged.value == {FINE: 10_000.0, FOUL: 400.0}[forecast]
    assert barred(at, where) is None


def test_without_an_observation_a_temporary_group_may_still_bar() -> None:
    assert maybe(f"{FINE} TEMPO 1406/1410 0200 FG") == ["TEMPO 1406/1410 0200 FG"]


@pytest.mark.parametrize(
    ("forecast", "over", "outcome"),
    [
        pytest.param(FOUL, ("0700", "0715"), PASS, id="within the hour only the report"),
        pytest.param(FOUL, ("0701", "0716"), FAIL, id="later the prevailing forecast"),
        pytest.param(FINE, ("0701", "0716"), PASS, id="later and fine"),
        pytest.param(f"{FINE} FM140710 26008KT 0200 FG", ("0701", "0716"), FAIL, id="from"),
        pytest.param(f"{FINE} BECMG 1407/1408 0200 FG", ("0701", "0716"), FAIL, id="becoming"),
        pytest.param(f"{FINE} TEMPO 1406/1410 0200 FG", ("0701", "0716"), PASS, id="tempo"),
        pytest.param(f"{FINE} PROB40 1406/1410 0200 FG", ("0701", "0716"), PASS, id="prob"),
    ],
)
@pytest.mark.parametrize("book", BOOKS)
def test_a_window_more_than_an_hour_after_the_report_meets_the_prevailing_forecast(
    book: str, forecast: str, over: tuple[str, str], outcome: Outcome
) -> None:
    reports = metar(GOOD), forecast
    assert ban(*reports, over=over, book=book) is outcome
    assert barred(*met(*reports, over=over, book=book)) is (outcome is FAIL)
    below = "0200" in forecast
    assert bool(maybe(*reports, over=over, book=book)) is (below and outcome is PASS)


@pytest.mark.parametrize(
    ("reports", "over", "outcome"),
    [
        pytest.param((metar(GOOD),), ("0645", "0700"), PASS, id="to the hour it stands in"),
        pytest.param((metar(GOOD),), ("0646", "0701"), UNKNOWN, id="not a minute longer"),
        pytest.param((metar(GOOD, trend="NOSIG"),), ("0745", "0800"), PASS, id="in its trend"),
        pytest.param((metar(GOOD, trend="NOSIG"),), ("0746", "0801"), UNKNOWN, id="after it"),
        pytest.param((metar(BAD),), ("0646", "0701"), FAIL, id="a bar stands all the same"),
        pytest.param(
            (metar(GOOD, ranges="R27R/0800N", trend="NOSIG"),), ("0730", "0745"), PASS, id="range"
        ),
    ],
)
def test_without_a_forecast_the_report_stands_in_for_an_hour_or_for_its_trend(
    reports: tuple[str, ...], over: tuple[str, str], outcome: Outcome
) -> None:
    assert ban(*reports, over=over) is outcome
    assert ban(*reports, over=over, as_of=clock("0642")) is outcome, "whatever its age"


# --- a bar that was reported ---


@pytest.mark.parametrize(
    ("report", "forecast", "over", "outcome"),
    [
        pytest.param(metar(BAD), FINE, ("0745", "0800"), FAIL, id="age lifts nothing"),
        pytest.param(metar(BAD), FINE, ("0759", "0814"), FAIL, id="to two hours"),
        pytest.param(metar(BAD), FINE, ("0800", "0815"), PASS, id="then the forecast governs"),
        pytest.param(
            metar("3000", ranges="R27R/0300N"), FINE, ("0745", "0800"), FAIL, id="a range, too"
        ),
        pytest.param(
            metar("3000", ranges="R27R/0800N"), FINE, ("0745", "0800"), PASS, id="no bar, none left"
        ),
        pytest.param(
            metar(BAD, ranges="R27R/0800N"), FINE, ("0745", "0800"), PASS, id="nor its visibility"
        ),
        pytest.param(
            metar(BAD), f"{FINE} FM140640 26008KT 9999 SCT030", ("0640", "0655"), PASS, id="FM"
        ),
        pytest.param(
            metar(BAD), f"{FINE} FM140640 26008KT 9999 SCT030", ("0639", "0654"), FAIL, id="before"
        ),
        pytest.param(
            metar(BAD),
            f"{FOUL} BECMG 1406/1407 9999 NSW SCT030",
            ("0700", "0715"),
            PASS,
            id="BECMG",
        ),
        pytest.param(
            metar(BAD), f"{FOUL} BECMG 1406/1407 9999 NSW SCT030", ("0659", "0714"), FAIL, id="runs"
        ),
        pytest.param(metar(BAD, trend="BECMG AT0630 3000"), FINE, ("0630", "0645"), PASS, id="AT"),
        pytest.param(metar(BAD, trend="BECMG TL0630 3000"), FINE, ("0630", "0645"), PASS, id="TL"),
        pytest.param(
            metar(BAD, trend="BECMG FM0630 3000"), FINE, ("0645", "0700"), FAIL, id="FM, no end yet"
        ),
        pytest.param(
            metar(BAD), f"{FINE} TEMPO 1406/1408 9999", ("0700", "0715"), FAIL, id="TEMPO"
        ),
        pytest.param(
            metar(BAD), f"{FINE} PROB40 1406/1408 9999", ("0700", "0715"), FAIL, id="PROB"
        ),
        pytest.param(
            metar(BAD), f"{FINE} BECMG 1406/1407 SCT010", ("0700", "0715"), FAIL, id="of cloud only"
        ),
        pytest.param(
            metar(BAD), f"{FINE} FM140640 26008KT 0250 FG", ("0640", "0655"), FAIL, id="not enough"
        ),
        pytest.param(
            metar(BAD),
            f"{FINE} FM140640 26008KT 3000 BR FM140700 26008KT 0200 FG",
            ("0705", "0720"),
            FAIL,
            id="and worse again",
        ),
        pytest.param(
            metar("3000", ranges="R27R/0300N"),
            f"{FOUL} BECMG 1406/1407 2000 BR",
            ("0700", "0715"),
            FAIL,
            id="no more than was seen beside the range",
        ),
        pytest.param(
            metar("3000", ranges="R27R/0300N"),
            f"{FOUL} BECMG 1406/1407 5000 BR",
            ("0700", "0715"),
            PASS,
            id="more than was seen beside the range",
        ),
    ],
)
def test_what_was_reported_stands_until_a_named_group_improves_on_it(
    report: str, forecast: str, over: tuple[str, str], outcome: Outcome
) -> None:
    assert ban(report, forecast, over=over) is outcome


@pytest.mark.parametrize("age_min", [10, 25, 29, 31, 45, 59])
def test_the_bar_of_an_old_range_does_not_lapse_by_its_age(age_min: int) -> None:
    as_of = clock("0600") + timedelta(minutes=age_min)
    report = metar("0800 FG", ranges="R27R/0500N")
    assert ban(report, FINE, over=("0715", "0730"), as_of=as_of) is FAIL


def test_the_same_report_issued_again_bars_no_shorter() -> None:
    first, again = metar(BAD), metar(BAD, at="0620")
    forecast = f"{FINE} FM140615 26008KT 9999 SCT030"
    assert ban(first, forecast, over=("0630", "0645"), as_of=clock("0625")) is PASS
    assert ban(again, forecast, over=("0630", "0645"), as_of=clock("0625")) is FAIL
    assert ban(first, again, forecast, over=("0630", "0645"), as_of=clock("0625")) is FAIL


def test_two_forecasts_of_one_minute_lift_a_bar_only_together() -> None:
    improving = f"{FINE} FM140640 26008KT 9999 SCT030"
    over = ("0700", "0715")
    assert ban(metar(BAD), improving, over=over) is PASS
    assert ban(metar(BAD), improving, FINE, over=over) is FAIL
    later = f"{FINE} FM140710 26008KT 9999 SCT030"
    assert ban(metar(BAD), improving, later, over=over) is FAIL
    assert ban(metar(BAD), improving, later, over=("0710", "0725")) is PASS


def test_where_a_bar_is_lifted_and_nothing_is_forecast_the_ban_is_not_known() -> None:
    """The trend mends what was seen and ends with its two hours: of later, nothing speaks."""
    lifted = metar(BAD, trend="BECMG TL0630 3000")
    judged = approach_ban(*met(lifted, over=("0815", "0830")))
    assert judged.outcome is UNKNOWN
    assert "nothing in force tells the visibility from 0815Z to 0830Z" in judged.what
    assert barred(*met(lifted, over=("0815", "0830"))) is None
    assert ban(lifted, FINE, over=("0815", "0830")) is PASS


def test_minima_without_an_approach_are_nobody_s() -> None:
    at, where = met(metar(GOOD), FINE)
    with pytest.raises(ValueError, match="no minima without an approach"):
        list(reported_at(replace(at, approach=None), where))


# --- past the gate ---

# Height above the aerodrome, track miles, and seconds since the gate by hand: 130 kt of calibrated
# airspeed are 131.7 kt true at 900 ft, less 8 kt of headwind 123.7 kt over ground, 0.0344 NM/s; a
# path of three degrees falls 318.4 ft/NM. (1000 - 682) / 318.4 = 1.0 NM = 29.1 s.
HEIGHT_FT, TRACK_NM, SINCE_S = 682.0, 2.0, 29.1
FIX_SINCE_S = 87.3  # (5 - 2) NM


def low(
    book: str,
    *,
    before_s: float,
    height_ft: float = HEIGHT_FT,
    track_nm: float | None = TRACK_NM,
    qnh_hpa: float | None = 1013.25,
    **weather: Any,
) -> Outcome:
    """The ban on an aircraft on final; the report below minima came so long before the present."""
    at = attempt()
    report = Reported(at=AS_OF - timedelta(seconds=before_s), visibility=visibility(100.0), rvr=())
    told = seen(**{"reported": (report,), "qnh_hpa": qnh_hpa} | weather)
    level_ft = at.leg.aerodrome.elevation_ft + height_ft
    where = context(book, **{"/aircraft/pressure_altitude_ft": level_ft})
    at = replace(
        at,
        leg=replace(at.leg, track_nm=track_nm),
        weather=told,
        at=where.case.as_of + timedelta(minutes=1),
    )
    return approach_ban(drawn(at, where), where).outcome


@pytest.mark.parametrize(
    ("book", "since_s"),
    [("icao", SINCE_S), ("easa", SINCE_S), ("faa-121", FIX_SINCE_S)],
)
def test_past_the_gate_only_a_report_that_came_after_it_lets_the_approach_go_on(
    book: str, since_s: float
) -> None:
    assert low(book, before_s=since_s - 1.0) is NOT_APPLICABLE
    assert low(book, before_s=since_s + 1.0) is FAIL
    assert low(book, before_s=600.0) is FAIL


@pytest.mark.parametrize(
    ("changes", "outcome"),
    [
        pytest.param({}, NOT_APPLICABLE, id="past it"),
        pytest.param({"height_ft": 1001.0}, FAIL, id="above the gate"),
        pytest.param({"track_nm": 4.1}, FAIL, id="too far out"),
        pytest.param({"track_nm": None}, FAIL, id="distance not known"),
        pytest.param({"qnh_hpa": 1025.0}, FAIL, id="QNH puts it 320 ft higher"),
        pytest.param({"qnh_hpa": 1001.0}, NOT_APPLICABLE, id="QNH puts it lower"),
        pytest.param({"qnh_hpa": None}, UNKNOWN, id="QNH not known"),
        pytest.param({"qnh_high_hpa": 1025.0}, FAIL, id="the higher of two QNH"),
    ],
)
@pytest.mark.parametrize("book", ["icao", "easa"])
def test_the_gate_is_passed_by_true_height(
    book: str, changes: dict[str, Any], outcome: Outcome
) -> None:
    assert low(book, before_s=0.0, **changes) is outcome


@pytest.mark.parametrize(
    ("changes", "outcome"),
    [
        pytest.param({"height_ft": 1500.0, "track_nm": 4.7}, NOT_APPLICABLE, id="past the fix"),
        pytest.param({"height_ft": 1500.0, "track_nm": 5.1}, FAIL, id="before it"),
        pytest.param({"height_ft": 1600.0, "track_nm": 4.7}, FAIL, id="above the path there"),
        pytest.param({"qnh_hpa": None}, UNKNOWN, id="QNH not known"),
    ],
)
def test_where_the_gate_is_a_fix_it_is_taken_to_be_five_miles_out(
    changes: dict[str, Any], outcome: Outcome
) -> None:
    assert low("faa-121", before_s=0.0, **changes) is outcome


def test_a_range_counts_by_its_own_time() -> None:
    spoken = rvr(300.0, at=AS_OF - timedelta(seconds=60.0))
    report = Reported(at=AS_OF, visibility=visibility(9999.0), rvr=(spoken,))
    assert low("easa", before_s=0.0, reported=(report,)) is FAIL
    after = replace(spoken, at=AS_OF)
    assert low("easa", before_s=0.0, reported=(replace(report, rvr=(after,)),)) is NOT_APPLICABLE


@pytest.mark.parametrize(
    ("before_m", "outcome"),
    [(9999.0, NOT_APPLICABLE), (200.0, FAIL), (None, FAIL)],
    ids=["above until then", "below already", "not known to be above"],
)
def test_a_report_that_was_below_already_did_not_go_below_past_the_gate(
    before_m: float | None, outcome: Outcome
) -> None:
    earlier = Reported(at=AS_OF - timedelta(minutes=20), visibility=visibility(before_m), rvr=())
    assert low("easa", before_s=0.0, reported_before=(earlier,)) is outcome


def test_the_report_before_the_newest_is_kept_for_that() -> None:
    at, _ = met(metar("0400 FG", at="0530"), metar(BAD, ranges="R27R/0200"), FINE)
    kept = at.weather.reported_before
    assert [each.visibility and each.visibility.metres for each in kept] == [400.0]
    ranged, _ = met(metar(GOOD, at="0530", ranges="R27R/0300"), metar(BAD), FINE)
    assert [each.rvr[0].low_m for each in ranged.weather.reported_before] == [300.0]
    assert met(metar(BAD), FINE)[0].weather.reported_before == ()


def test_an_approach_after_a_hold_is_not_past_the_gate() -> None:
    where = context("easa", **{"/aircraft/pressure_altitude_ft": 800.0})
    at = drawn(attempt(), where)
    report = Reported(at=AS_OF, visibility=visibility(100.0), rvr=())
    at = replace(at, leg=replace(at.leg, track_nm=2.0), weather=seen(reported=(report,)))
    late = replace(at, at=AS_OF + timedelta(minutes=20))
    assert approach_ban(late, where).outcome is FAIL
    assert approach_ban(replace(at, at=AS_OF), where).outcome is NOT_APPLICABLE


def test_an_unknown_wind_leaves_it_open_when_the_gate_was_passed() -> None:
    where = context("easa", **{"/aircraft/pressure_altitude_ft": 800.0})
    at = drawn(attempt(), where)
    report = Reported(at=AS_OF, visibility=visibility(100.0), rvr=())
    at = replace(at, leg=replace(at.leg, track_nm=2.0), weather=seen(reported=(report,)), wind=None)
    assert approach_ban(replace(at, at=AS_OF), where).outcome is UNKNOWN


# --- the bar of an alternate takes the worse of report and forecast ---


@pytest.mark.parametrize(
    ("reports", "reached"),
    [
        pytest.param((metar(GOOD, ranges="R27R/1500N"), FINE), True, id="both good"),
        pytest.param((metar(GOOD, ranges="R27R/0400N"), FINE), False, id="range bad"),
        pytest.param((metar(GOOD, ranges="R27R/1500N"), FOUL), False, id="forecast bad"),
        pytest.param(
            (metar(GOOD, ranges="R27R/1500N"), f"{FINE} TEMPO 1406/1410 0200 FG"),
            False,
            id="lasting TEMPO",
        ),
        pytest.param(
            (metar(GOOD, ranges="R27R/1500N"), f"{FINE} TEMPO 1406/1410 0200 TSRA"),
            True,
            id="showery TEMPO",
        ),
        pytest.param((FINE,), True, id="forecast alone"),
        pytest.param((metar(GOOD),), True, id="report alone"),
        pytest.param((), None, id="nothing"),
    ],
)
def test_an_alternate_needs_what_is_reported_and_what_is_forecast(
    reports: tuple[str, ...], reached: bool | None
) -> None:
    at, where = met(*reports)
    at = replace(at, role=Role.ALTERNATE)
    found = seen_at(at, where)
    assert found is not None
    assert found.reached is reached
