"""Hazardous weather: which words are one, how heavily it weighs, and how long it stands."""

from __future__ import annotations

from pathlib import Path

import pytest

from decision.errors import DataError
from decision.tables import TABLES
from decision.weather.hazards import FILE, kinds, read_kinds
from decision.weather.readings import Hazard, HazardWeight
from decision.weather.report import Element
from decision.weather.spots import SpotObservation, SpotWind
from decision.weather.use import Reading
from decision.windows import Window
from tests.weather.conditions_builders import at, see, window

BAR, WARNING, CAUTION = HazardWeight
NEAR = window("091200", "091215")
FINE = "TAF XABC 091100Z 0912/1012 24008KT 9999 SCT030"


def metar(weather: str = "", *, wind: str = "24008KT", tail: str = "") -> str:
    words = f"METAR XABC 091150Z {wind} 9999 {weather} SCT030 12/08 Q1013 {tail}"
    return " ".join(words.split())


def hazards(
    *raws: str, over: Window = NEAR, as_of: str = "091155", reading: Reading = Reading.PERSISTENT
) -> tuple[Hazard, ...]:
    return see(*raws, as_of=as_of, over=over, reading=reading).hazards


def named(*raws: str, over: Window = NEAR) -> list[tuple[str, HazardWeight]]:
    return [(each.phenomenon, each.weight) for each in hazards(*raws, over=over)]


CODED = [
    ("FC", "funnel_cloud", BAR),
    ("+FC", "funnel_cloud", BAR),
    ("VCFC", "funnel_cloud", BAR),
    ("VA", "volcanic_ash", BAR),
    ("FZRA", "freezing_precipitation", BAR),
    ("FZDZ", "freezing_precipitation", BAR),
    ("+FZDZ", "freezing_precipitation", BAR),
    ("FZRASN", "freezing_precipitation", BAR),
    ("FZUP", "freezing_precipitation", BAR),
    ("TSGR", "thunderstorm_hail", WARNING),
    ("+TSRAGR", "thunderstorm_hail", WARNING),
    ("GR", "hail", WARNING),
    ("SHGR", "hail", WARNING),
    ("SQ", "squall", WARNING),
    ("-FZRA", "light_freezing_precipitation", WARNING),
    ("-FZDZ", "light_freezing_precipitation", WARNING),
    ("+SN", "heavy_snow", WARNING),
    ("+SHSN", "heavy_snow", WARNING),
    ("SS", "sand_or_dust_storm", WARNING),
    ("DS", "sand_or_dust_storm", WARNING),
    ("+DS", "sand_or_dust_storm", WARNING),
    ("TS", "thunderstorm", CAUTION),
    ("TSRA", "thunderstorm", CAUTION),
    ("VCTS", "thunderstorm", CAUTION),
    ("+TSRA", "thunderstorm", CAUTION),
]
HARMLESS = ["FZFG", "SN", "SHSN", "+RA", "BLSN", "+BLSN", "DRSN", "SHRA", "GS", "BR", "PL", "DU"]


@pytest.mark.parametrize(("weather", "phenomenon", "weight"), CODED, ids=str)
def test_each_kind_of_hazardous_weather_has_its_weight(
    weather: str, phenomenon: str, weight: HazardWeight
) -> None:
    assert named(metar(weather), FINE) == [(phenomenon, weight)]
    told = hazards(metar(weather), FINE)[0]
    assert (told.kind, told.text, told.from_at, told.until_at) == (
        "METAR",
        weather,
        at("091150"),
        None,
    )


@pytest.mark.parametrize("weather", HARMLESS)
def test_other_weather_is_no_hazard(weather: str) -> None:
    assert named(metar(weather), FINE) == []


def test_cumulonimbus_without_a_thunderstorm_is_none() -> None:
    assert named(metar().replace("SCT030", "BKN030CB"), FINE) == []


@pytest.mark.parametrize(
    ("wind", "met"),
    [
        ("24010G24KT", False),
        ("24010G25KT", True),
        ("24035G58KT", True),
        ("24005G12MPS", False),
        ("24005G13MPS", True),
        ("24040KT", False),
    ],
)
def test_gusts_of_fifteen_knots_above_the_mean_are_a_caution(wind: str, met: bool) -> None:
    assert named(metar(wind=wind), FINE) == ([("gust_spread", CAUTION)] if met else [])


def test_a_gust_by_word_is_one_too_and_goes_before_the_older_report() -> None:
    gusty = SpotObservation(
        at=at("091152"), wind=SpotWind(from_true_deg=240.0, speed_kt=20.0, gust_kt=36.0)
    )
    told = see(metar(), FINE, as_of="091155", over=NEAR, spots=[gusty]).hazards
    assert [(each.phenomenon, each.kind) for each in told] == [("gust_spread", "SPOT")]
    steady = SpotObservation(at=at("091152"), wind=SpotWind(from_true_deg=240.0, speed_kt=20.0))
    wild = metar(wind="24010G40KT")
    assert see(wild, FINE, as_of="091155", over=NEAR, spots=[steady]).hazards == ()


@pytest.mark.parametrize("reading", Reading)
@pytest.mark.parametrize(
    ("group", "kind", "over", "met"),
    [
        ("TEMPO 0914/0916 TSGR", "TEMPO", ("091500", "091515"), True),
        ("TEMPO 0914/0916 TSGR", "TEMPO", ("091600", "091615"), False),
        ("TEMPO 0914/0916 TSGR", "TEMPO", ("091345", "091400"), False),
        ("PROB30 0914/0916 TSGR", "PROB", ("091500", "091515"), True),
        ("PROB40 TEMPO 0914/0916 TSGR", "PROB TEMPO", ("091500", "091515"), True),
        ("BECMG 0914/0916 TSGR", "BECMG", ("091400", "091415"), True),
        ("BECMG 0914/0916 TSGR", "BECMG", ("092000", "092015"), True),
        ("FM091430 24008KT 9999 TSGR SCT030", "FM", ("091430", "091445"), True),
        ("FM091430 24008KT 9999 TSGR SCT030", "FM", ("091415", "091430"), False),
    ],
)
def test_a_forecast_group_counts_whatever_a_rulebook_disregards(
    reading: Reading, group: str, kind: str, over: tuple[str, str], met: bool
) -> None:
    told = hazards(f"{FINE} {group}", over=window(*over), reading=reading)
    assert [(each.phenomenon, each.kind, each.text) for each in told] == (
        [("thunderstorm_hail", kind, group)] if met else []
    )


def test_the_trend_counts_to_its_own_end() -> None:
    raw = metar(tail="TEMPO FM1200 TL1230 FZRA")
    told = hazards(raw, FINE, over=window("091220", "091235"))
    assert [(each.phenomenon, each.kind) for each in told] == [("freezing_precipitation", "TREND")]
    assert hazards(raw, FINE, over=window("091230", "091245")) == ()


@pytest.mark.parametrize(
    ("forecast", "over", "met"),
    [
        pytest.param(FINE, ("091349", "091404"), True, id="a base says nothing of its end"),
        pytest.param(FINE, ("091350", "091405"), False, id="after two hours the forecast governs"),
        pytest.param(f"{FINE} FM091230 24008KT 9999 SCT030", ("091230", "091245"), False, id="FM"),
        pytest.param(
            f"{FINE} FM091230 24008KT 9999 +TSRA SCT030", ("091230", "091245"), False, id="other"
        ),
        pytest.param(
            f"{FINE} FM091230 24008KT 9999 SQ SCT030", ("091230", "091245"), True, id="the same"
        ),
        pytest.param(f"{FINE} BECMG 0912/0913 NSW", ("091259", "091314"), True, id="runs"),
        pytest.param(f"{FINE} BECMG 0912/0913 NSW", ("091300", "091315"), False, id="BECMG"),
        pytest.param(f"{FINE} BECMG 0912/0913 3000", ("091300", "091315"), True, id="of others"),
        pytest.param(f"{FINE} TEMPO 0911/0913 SQ", ("091259", "091314"), True, id="TEMPO runs"),
        pytest.param(f"{FINE} TEMPO 0911/0913 SQ", ("091300", "091315"), False, id="TEMPO ends"),
        pytest.param(f"{FINE} TEMPO 0911/0913 TSRA", ("091300", "091315"), True, id="of another"),
        pytest.param(f"{FINE} PROB40 0911/0913 SQ", ("091300", "091315"), True, id="PROB"),
        pytest.param(
            "TAF XABC 091100Z 0912/1012 24008KT 9999 SQ SCT030 TEMPO 0911/0913 SQ",
            ("091300", "091315"),
            True,
            id="over a base that has it",
        ),
    ],
)
def test_a_hazard_that_was_seen_stands_until_something_named_ends_it(
    forecast: str, over: tuple[str, str], met: bool
) -> None:
    raw = metar("SQ")
    found = {phenomenon for phenomenon, _ in named(raw, forecast, over=window(*over))}
    assert ("squall" in found) is met


@pytest.mark.parametrize("age_min", [0, 20, 35, 59, 80])
def test_growing_old_ends_no_hazard(age_min: int) -> None:
    as_of = f"09{(11 * 60 + 50 + age_min) // 60:02d}{(50 + age_min) % 60:02d}"
    told = hazards(metar("FC"), FINE, as_of=as_of, over=window("091330", "091345"))
    assert [each.phenomenon for each in told] == ["funnel_cloud"]


def test_a_newer_observation_ends_it() -> None:
    newer = metar().replace("091150Z", "091154Z")
    assert hazards(metar("FC"), newer, FINE) == ()


def test_of_two_reports_of_one_minute_each_hazard_counts() -> None:
    assert named(metar("FC"), metar("TS"), FINE) == [
        ("funnel_cloud", BAR),
        ("thunderstorm", CAUTION),
    ]


# --- wind shear, words ---


@pytest.mark.parametrize(
    ("group", "runway"),
    [("WS R27", "27"), ("WS RWY09L", "09L"), ("WS ALL RWY", None)],
)
@pytest.mark.parametrize(
    ("over", "phenomenon"),
    [
        (("091155", "091204"), "wind_shear"),
        (("091204", "091219"), "wind_shear"),
        (("091205", "091220"), "wind_shear_earlier"),
        (("091349", "091404"), "wind_shear_earlier"),
        (("091350", "091405"), None),
    ],
)
def test_reported_wind_shear_bars_for_a_quarter_of_an_hour_and_is_then_a_caution(
    group: str, runway: str | None, over: tuple[str, str], phenomenon: str | None
) -> None:
    told = hazards(metar(tail=group), FINE, over=window(*over))
    gravest = told[0] if told else None
    assert (gravest and gravest.phenomenon) == phenomenon
    assert all(each.runway == runway for each in told)
    if gravest is not None:
        assert gravest.weight is (BAR if phenomenon == "wind_shear" else CAUTION)


def test_a_trend_that_ends_it_at_once_leaves_nothing_to_stand() -> None:
    raw = metar("SQ", tail="BECMG AT1150 NSW")
    assert hazards(raw, FINE, over=window("091200", "091215")) == ()
    assert named(raw.replace("AT1150", "AT1210"), FINE)[0] == ("squall", WARNING)


def test_forecast_wind_shear_is_a_caution() -> None:
    raw = "TAF XABC 091100Z 0912/1012 24008KT 9999 SCT030 WS020/31045KT"
    assert named(raw) == [("wind_shear_forecast", CAUTION)]


@pytest.mark.parametrize(
    ("tail", "phenomenon"),
    [
        ("RMK MBST APCH RWY27", "microburst"),
        ("RMK MICROBURST", "microburst"),
        ("RMK AO2 TORNADO B13 6 NE", "funnel_cloud"),
        ("RMK FUNNEL CLOUD B13 DSNT W", "funnel_cloud"),
        ("RMK WATERSPOUT B24E26B30", "funnel_cloud"),
        ("RMK TORNADO B13E25", None),
        ("RMK WATERSPOUTING", None),
        ("RMK FU AREA", None),
    ],
)
def test_hazards_in_the_words_of_remarks(tail: str, phenomenon: str | None) -> None:
    assert named(metar(tail=tail), FINE) == ([(phenomenon, BAR)] if phenomenon else [])


@pytest.mark.parametrize("word", ["MBST", "MICROBURST"])
def test_a_microburst_in_plain_language_is_one(word: str) -> None:
    assert ("microburst", BAR) in named(metar(tail=word), FINE)


# --- ends that are stated ---


def test_the_end_of_a_temporary_hazard_over_a_base_free_of_it_is_a_named_improvement() -> None:
    raw = f"{FINE} TEMPO 0912/0914 TSGR"
    seen = see(metar(), raw, as_of="091155", over=window("091230", "091245"))
    found = [(each.kind, each.at, each.elements) for each in seen.improvements]
    assert found == [("TEMPO", at("091400"), frozenset({Element.WEATHER}))]
    harmless = f"{FINE} TEMPO 0912/0914 0300 FG VV001"
    assert see(metar(), harmless, as_of="091155", over=NEAR).improvements == ()
    lasting = "TAF XABC 091100Z 0912/1012 24008KT 9999 TSGR SCT030 TEMPO 0912/0914 TSGR"
    assert see(metar(), lasting, as_of="091155", over=NEAR).improvements == ()


# --- the table ---


def test_every_row_of_the_table_is_met_by_some_words() -> None:
    by_letters = {phenomenon for _, phenomenon, _ in CODED}
    otherwise = {"microburst", "wind_shear", "wind_shear_earlier", "wind_shear_forecast"}
    assert {each.phenomenon for each in kinds()} == by_letters | otherwise | {"gust_spread"}


@pytest.mark.parametrize(
    ("old", "new", "complaint"),
    [
        (",bar,", ",fatal,", "must be one of"),
        ("caution,,,ASSUMED", "bar,,,ASSUMED", "the gravest come first"),
        (",light,", ",slight,", "must be one of"),
        (",15,caution", ",many,caution", "not a number"),
    ],
)
def test_a_malformed_table_is_refused(tmp_path: Path, old: str, new: str, complaint: str) -> None:
    text = (TABLES / FILE).read_text(encoding="utf-8")
    assert old in text
    (tmp_path / FILE).write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(DataError, match=complaint):
        read_kinds(tmp_path)
