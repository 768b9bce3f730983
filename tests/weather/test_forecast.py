"""Forecasts: header, validity, groups, what clears what, and spans that cannot be known."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from decision.errors import UnreadableReport
from decision.weather import CeilingState, Element, Period
from tests.weather.builders import read

HEAD = "TAF XABC 251100Z 2512/2618"
BASE = f"{HEAD} 24005KT 9999 NSC"


def at(day: int, hour: int, minute: int = 0, month: int = 11) -> datetime:
    return datetime(2026, month, day, hour, minute, tzinfo=UTC)


def spans(raw: str) -> list[tuple[str, datetime | None, datetime | None]]:
    return [(p.kind.value, p.start_at, p.end_at) for p in read(raw).periods]


def last(raw: str) -> Period:
    return read(raw).periods[-1]


@pytest.mark.parametrize(
    ("group", "kind", "probability"),
    [
        ("BECMG", "BECMG", None),
        ("TEMPO", "TEMPO", None),
        ("INTER", "INTER", None),
        ("PROB30", "PROB", 30),
        ("PROB40", "PROB", 40),
        ("PROB30 TEMPO", "PROB TEMPO", 30),
        ("PROB40 INTER", "PROB INTER", 40),
    ],
)
def test_a_change_group_has_kind_probability_and_span(
    group: str, kind: str, probability: int | None
) -> None:
    period = last(f"{BASE} {group} 2514/2516 0500 FG VV001")

    assert (period.kind.value, period.probability) == (kind, probability)
    assert (period.start_at, period.end_at) == (at(25, 14), at(25, 16))
    assert period.elements.ceiling is not None
    assert period.elements.ceiling.feet == 100.0
    assert period.unread == ()


def test_base_and_from_groups_run_to_the_next_from_or_the_end() -> None:
    raw = f"{BASE} FM251430 24005KT 9999 NSC TEMPO 2515/2516 0500 FM260200 24005KT 9999 NSC"

    assert spans(raw) == [
        ("BASE", at(25, 12), at(25, 14, 30)),
        ("FM", at(25, 14, 30), at(26, 2)),
        ("TEMPO", at(25, 15), at(25, 16)),
        ("FM", at(26, 2), at(26, 18)),
    ]


def test_hour_24_is_the_end_of_the_day() -> None:
    report = read("TAF XABC 241100Z 2412/2424 24005KT 9999 NSC BECMG 2422/2424 5000")

    assert report.valid is not None
    assert report.valid.end_at == at(25, 0)
    assert report.periods[1].end_at == at(25, 0)


def test_days_roll_over_the_end_of_the_month_and_of_the_year() -> None:
    report = read(
        "TAF XABC 312300Z 0100/0206 24005KT 9999 NSC FM010300 24005KT 9999 NSC",
        datetime(2027, 1, 1, 1, tzinfo=UTC),
    )

    assert report.issued_at == datetime(2026, 12, 31, 23, tzinfo=UTC)
    assert report.valid is not None
    assert report.valid.start_at == datetime(2027, 1, 1, 0, tzinfo=UTC)
    assert report.periods[1].start_at == datetime(2027, 1, 1, 3, tzinfo=UTC)


@pytest.mark.parametrize(
    ("header", "flag"),
    [
        ("TAF AMD XABC 251100Z 2512/2618", "amended"),
        ("TAF XABC 251100Z AMD 2512/2618", "amended"),
        ("TAF COR XABC 251100Z 2512/2618", "corrected"),
        ("TAF XABC COR 251100Z 2512/2618", "corrected"),
        ("TAF XABC 251100Z CCA 2512/2618", "corrected"),
    ],
)
def test_amended_and_corrected_forecasts_say_so(header: str, flag: str) -> None:
    report = read(f"{header} 24005KT 9999 NSC")

    assert {name for name in ("amended", "corrected") if getattr(report, name)} == {flag}


@pytest.mark.parametrize(
    ("raw", "nil", "cancelled"),
    [
        ("TAF XABC 251100Z NIL", True, False),
        ("TAF XABC 251100Z 2512/2618 NIL", True, False),
        ("TAF AMD XABC 251100Z 2512/2618 CNL", False, True),
        ("TAF XABC 251100Z 2512/2618 FCST NOT AVBL DUE NO OBS", True, False),
        ("TAF XABC 251100Z NIL 13005MPS 9000 BKN020", True, False),
    ],
)
def test_a_forecast_without_data_has_no_periods(raw: str, nil: bool, cancelled: bool) -> None:
    report = read(raw)

    assert (report.nil, report.cancelled, report.periods) == (nil, cancelled, ())


def test_a_forecast_without_time_of_issue_stands_at_its_start_or_at_receipt() -> None:
    early = read("TAF XABC 2506/2618 24005KT 9999 NSC")
    late = read("TAF XABC 2518/2618 24005KT 9999 NSC")

    assert (early.issued_at, late.issued_at) == (at(25, 6), at(25, 12))


def test_a_validity_tells_a_forecast_without_its_name() -> None:
    assert read("XABC 251100Z 2512/2618 24005KT 9999 NSC").kind.value == "TAF"


@pytest.mark.parametrize("validity", ["251812", "2512/2512", "2618/2512", "0012/1318", "2512/26"])
def test_a_validity_that_cannot_be_read_leaves_no_period(validity: str) -> None:
    report = read(f"TAF XABC 251100Z {validity} 24005KT 9999 NSC")

    assert (report.valid, report.periods) == (None, ())
    assert "the validity of the forecast cannot be read" in report.problems
    assert report.unread[0] == validity


def test_a_bare_header_without_readable_validity_is_refused() -> None:
    with pytest.raises(UnreadableReport, match="neither a time of issue nor a validity"):
        read("TAF XABC 9912/9918 24005KT 9999 NSC")


@pytest.mark.parametrize(
    ("word", "state"), [("NSC", "none"), ("SKC", "none"), ("CAVOK", "none"), ("VV///", "unknown")]
)
def test_clear_sky_words_clear_the_ceiling(word: str, state: str) -> None:
    ceiling = last(f"{HEAD} 24005KT 3000 BKN004 BECMG 2514/2516 {word}").elements.ceiling

    assert ceiling is not None
    assert ceiling.state.value == state


@pytest.mark.parametrize("word", ["NSW", "CAVOK"])
def test_words_that_end_the_weather_give_an_empty_tuple(word: str) -> None:
    assert last(f"{HEAD} 24005KT 3000 RA BKN004 BECMG 2514/2516 {word}").elements.weather == ()


def test_what_a_change_group_does_not_name_is_none() -> None:
    elements = last(f"{BASE} BECMG 2514/2516 27010KT").elements

    assert elements.wind is not None
    assert (elements.visibility, elements.ceiling, elements.clouds, elements.weather) == (
        None,
        None,
        None,
        None,
    )


@pytest.mark.parametrize("text", ["1 1/2SM", "11/2SM"])
def test_joined_and_split_fractions_are_one_and_a_half_miles(text: str) -> None:
    visibility = read(f"{HEAD} 24005KT {text} BR OVC005").periods[0].elements.visibility

    assert visibility is not None
    assert visibility.metres == pytest.approx(2414.0, abs=0.1)
    assert visibility.raw == text


@pytest.mark.parametrize(
    ("group", "maximum", "degc", "expected_at"),
    [
        ("TX30/2514Z", True, 30.0, at(25, 14)),
        ("TNM02/2606Z", False, -2.0, at(26, 6)),
        ("T18/2517Z", None, 18.0, at(25, 17)),
        ("TX30/2799Z", True, 30.0, None),
    ],
)
def test_extreme_temperatures_have_a_time(
    group: str, maximum: bool | None, degc: float, expected_at: datetime | None
) -> None:
    (extreme,) = read(f"{BASE} {group}").extremes

    assert (extreme.maximum, extreme.temperature_degc, extreme.at) == (maximum, degc, expected_at)


def test_pressure_icing_and_turbulence_figures_are_read() -> None:
    elements = read(f"{BASE} QNH2981INS 620304 520009").periods[0].elements

    assert elements.pressure is not None
    assert elements.pressure.qnh_hpa == pytest.approx(1009.5, abs=0.05)
    assert elements.set_aside == ("620304", "520009")


@pytest.mark.parametrize(
    "note",
    [
        "RMK NXT FCST BY 251800Z",
        "AMD NOT SKED",
        "AMD NOT SKED AFT 2518",
        "AMD LTD TO CLD VIS AND WIND",
        "LAST NO AMDS AFT 2518 NEXT 2606",
        "ISSUED BY XXXX",
        "BY XETG",
        "AMD",
        "AMD 251200Z",
    ],
)
def test_notes_of_the_forecaster_are_not_weather(note: str) -> None:
    report = read(f"{BASE} {note}")

    assert report.unread == ()
    assert report.periods == read(BASE).periods
    assert report.amendments_not_scheduled == ("NOT SKED" in note)


def test_a_change_group_behind_a_note_is_a_change_group() -> None:
    report = read(f"{BASE} RMK PGU BECMG 2514/2516 0300 FG")

    assert [period.kind.value for period in report.periods] == ["BASE", "BECMG"]


def test_a_variation_under_the_word_for_wind_belongs_to_the_wind() -> None:
    wind = read(f"{HEAD} 11014KT 9999 BKN050 QNH2979INS WND 060V140").periods[0].elements.wind

    assert wind is not None
    assert wind.variation == (60.0, 140.0)


@pytest.mark.parametrize("word", ["BKN01", "+SNSH", "SCT18CB", "08005G10MP"])
def test_a_word_that_cannot_be_read_stays_with_its_group(word: str) -> None:
    report = read(f"{BASE} TEMPO 2514/2516 5000 {word} BECMG 2516/2518 9999")

    assert [period.unread for period in report.periods] == [(), (word,), ()]
    assert report.unread == (word,)


@pytest.mark.parametrize(
    ("words", "start_at", "end_at"),
    [
        ("BEMMG 2514/2516", at(25, 14), at(26, 18)),
        ("BECXG2514/2516", at(25, 14), at(26, 18)),
        ("TENMPO 2514/2516", at(25, 14), at(26, 18)),
        ("PROB50 2514/2516", at(25, 14), at(26, 18)),
        ("RPOB30", None, None),
        ("FM", None, None),
        ("GIBBERISH", None, None),
    ],
)
def test_a_mistyped_keyword_makes_everything_from_its_start_unknown(
    words: str, start_at: datetime | None, end_at: datetime | None
) -> None:
    report = read(f"{BASE} TEMPO 2513/2514 3000 {words} 0200 FG VV001")
    period = report.periods[2]

    assert (period.start_at, period.end_at) == (start_at, end_at)
    assert period.unread == (words,)
    assert report.periods[1].elements.visibility is not None
    assert report.periods[1].elements.visibility.metres == 3000.0


@pytest.mark.parametrize(
    "group",
    [
        "TEMPO 3000",
        "TEMPO 2409/2415 3000",
        "BECMG 2516/2514 3000",
        "PROB30 2599/2601 3000",
        "BECMG",
    ],
)
def test_a_group_without_readable_span_has_no_start(group: str) -> None:
    period = last(f"{BASE} {group}")

    assert (period.start_at, period.end_at) == (None, None)
    assert len(period.unread) == 1


@pytest.mark.parametrize("word", ["FM256300", "FM300000", "FM251000"])
def test_a_from_group_outside_the_validity_has_no_start(word: str) -> None:
    period = last(f"{BASE} {word} 24005KT 9999 NSC")

    assert period.start_at is None
    assert period.unread == (word,)


def test_a_lonely_span_opens_a_change_of_unknown_kind() -> None:
    report = read(f"{BASE} TEMPO 2513/2514 3000 2515/2516 0300 FG")

    assert report.periods[-1].start_at == at(25, 15)
    assert report.unread == ("2515/2516",)


@pytest.mark.parametrize(
    ("body", "missing"),
    [
        ("", {Element.WIND, Element.VISIBILITY, Element.CLOUD}),
        ("24005KT", {Element.VISIBILITY, Element.CLOUD}),
        ("24005KT 9999", {Element.CLOUD}),
        ("24005KT CAVOK", set()),
    ],
)
def test_a_prevailing_group_lacks_what_it_does_not_give(body: str, missing: set[Element]) -> None:
    for raw in (f"{HEAD} {body}", f"{BASE} FM251500 {body}"):
        elements = last(raw).elements
        assert elements.unknown == missing
        assert elements.ceiling is not None
        assert (elements.ceiling.state is CeilingState.UNKNOWN) == (Element.CLOUD in missing)


def test_station_identifiers_that_hold_keywords_are_not_split() -> None:
    report = read("TAF XDFM 251100Z 2512/2618 24005KT 9999 NSC FM251500 24005KT 9999 NSC")

    assert report.station == "XDFM"
    assert len(report.periods) == 2


@pytest.mark.parametrize(
    ("slip", "meant"),
    [
        ("FM 251500 24005KT 0300 FG VV001", "FM251500 24005KT 0300 FG VV001"),
        ("BECMG2515/2517 0300 FG", "BECMG 2515/2517 0300 FG"),
        ("PROB30 TEMPO2515/2517 0300 FG", "PROB30 TEMPO 2515/2517 0300 FG"),
        ("TEMPO TEMPO 2515/2517 0300 FG", "TEMPO 2515/2517 0300 FG"),
    ],
)
def test_a_slip_that_leaves_one_meaning_is_read_as_meant_and_told(slip: str, meant: str) -> None:
    mended, plain = read(f"{BASE} {slip}"), read(f"{BASE} {meant}")

    assert mended.periods == plain.periods
    assert any("mistyped and read as meant" in problem for problem in mended.problems)
    assert plain.problems == ()
