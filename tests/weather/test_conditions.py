"""Windows of published and hand-laid reports: which group governs, and from when to when."""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise

import pytest

from decision.quantities import Bound
from decision.weather import decode
from decision.weather.collect import StationWeather
from decision.weather.conditions import conditions, outlook, timeline
from decision.weather.present import sightings
from decision.weather.readings import CeilingReading, Governing, NotAtHand
from decision.weather.report import CeilingState, Element, Tendency
from decision.weather.spots import SpotObservation, SpotRvr, SpotWind
from decision.weather.use import Reading
from decision.windows import Window
from tests.changing import replace
from tests.weather.conditions_builders import around, at, missed, see, station, window

KPIT = (
    "TAF KPIT 091730Z 0918/1024 15005KT 5SM HZ FEW020 WS010/31022KT"
    " FM091930 30015G25KT 3SM SHRA OVC015 TEMPO 0920/0922 1/2SM +TSRA OVC008CB"
    " FM100100 27008KT 5SM SHRA BKN020 OVC040 PROB30 1004/1007 1SM -RA BR"
    " FM101015 18005KT 6SM -SHRA OVC020 BECMG 1013/1015 P6SM NSW SKC"
)
KORD = (
    "TAF KORD 051130Z 0512/0618 14008KT 5SM BR BKN030 TEMPO 0513/0516 1 1/2SM BR"
    " FM051600 16010KT P6SM SKC FM052300 20013G20KT 4SM SHRA OVC020"
    " PROB40 0600/0606 2SM TSRA OVC008CB BECMG 0606/0608 21015KT P6SM NSW SCT040"
)
YUDO = (
    "TAF YUDO 151800Z 1600/1618 13005MPS 9000 BKN020 BECMG 1606/1608 SCT015CB BKN020"
    " TEMPO 1608/1612 17006G12MPS 1000 TSRA SCT010CB BKN020 FM161230 15004MPS 9999 BKN020"
)
FOG = "TAF XABC 160500Z 1605/1705 24008KT 0050 FG OVC001 BECMG 1608/1610 CAVOK"
FINE = "TAF XABC 091100Z 0912/1012 24008KT 9999 SCT030"
SM = 1609.344


# --- published worked examples ---


@pytest.mark.parametrize(
    ("eta", "metres", "state"),
    [
        pytest.param("161200", 10_000.0, CeilingState.NONE, id="EU-AO-FORECAST-fog-ETA1200"),
        pytest.param("161030", 50.0, CeilingState.VALUE, id="EU-AO-FORECAST-fog-ETA1030"),
        pytest.param("161100", 10_000.0, CeilingState.NONE, id="EU-AO-FORECAST-fog-ETA1100"),
    ],
)
def test_fog_that_is_becoming_clear_holds_to_the_end_of_the_change(
    eta: str, metres: float, state: CeilingState
) -> None:
    seen = see(FOG, as_of="160600", over=around(eta))
    assert seen.visibility.metres == metres
    assert seen.ceiling.state is state


def test_the_deterioration_of_a_change_counts_from_its_start() -> None:
    raw = "TAF XABC 160500Z 1605/1705 24008KT CAVOK BECMG 1608/1610 0050 FG OVC001"
    before = see(raw, as_of="160500", over=window("160700", "160800"))
    during = see(raw, as_of="160500", over=window("160700", "160801"))
    assert (before.visibility.metres, before.ceiling.state) == (10_000.0, CeilingState.NONE)
    assert (during.visibility.metres, during.ceiling.feet) == (50.0, 100.0)
    assert during.visibility.governing.kind == "BECMG"
    assert during.visibility.governing.text == "BECMG 1608/1610 0050 FG OVC001"
    assert "deterioration counts from 0800Z" in during.visibility.governing.why


@pytest.mark.parametrize(
    ("over", "reading", "miles", "ceiling_ft", "group"),
    [
        (("091800", "091930"), "persistent", 5.0, None, "BASE"),
        (("091930", "092000"), "persistent", 3.0, 1500.0, "FM"),
        (("092000", "092200"), "persistent", 3.0, 1500.0, "FM"),
        (("092000", "092200"), "conditional", 0.5, 800.0, "TEMPO"),
        (("092200", "100100"), "conditional", 3.0, 1500.0, "FM"),
        (("100100", "100400"), "persistent", 5.0, 2000.0, "FM"),
        (("100400", "100700"), "persistent", 1.0, 2000.0, "PROB"),
        (("100400", "100700"), "conditional", 1.0, 2000.0, "PROB"),
        (("101015", "101500"), "persistent", 6.0, 2000.0, "FM"),
        (("101500", "102400"), "persistent", 6.0, None, "BECMG"),
    ],
    ids=lambda value: f"FAA-AIM-KPIT-{'-'.join(value)}" if isinstance(value, tuple) else str(value),
)
def test_the_published_periods_of_pittsburgh(
    over: tuple[str, str], reading: str, miles: float, ceiling_ft: float | None, group: str
) -> None:
    end = at("110000") if over[1] == "102400" else at(over[1])
    seen = see(
        KPIT,
        icao="KPIT",
        as_of="091745",
        over=Window(at(over[0]), end),
        reading=Reading(reading),
    )
    assert seen.visibility.metres == pytest.approx(miles * SM)
    assert seen.ceiling.feet == ceiling_ft
    assert seen.visibility.governing.kind == group
    assert seen.visibility.governing.text in KPIT
    assert not seen.unknown


def test_a_storm_at_times_is_disregarded_for_planning_and_said_so() -> None:
    seen = see(KPIT, icao="KPIT", as_of="091745", over=window("092030", "092130"))
    assert seen.thunderstorm is False
    assert seen.transient_thunderstorm
    assert [each.text for each in seen.disregarded if each.thunderstorm] == [
        "TEMPO 0920/0922 1/2SM +TSRA OVC008CB"
    ]
    counted = see(
        KPIT,
        icao="KPIT",
        as_of="091745",
        over=window("092030", "092130"),
        reading=Reading.CONDITIONAL,
    )
    assert counted.thunderstorm
    assert counted.cb
    assert not counted.transient_thunderstorm


def test_the_wind_shear_of_the_first_part_is_kept() -> None:
    over = window("091800", "091930")
    assert see(KPIT, icao="KPIT", as_of="091745", over=over).wind_shear == ("WS010/31022KT",)


@pytest.mark.parametrize(
    ("reading", "ceiling_ft", "miles"),
    [
        pytest.param(Reading.PERSISTENT, 2000.0, 4.0, id="EU-AO-FORECAST-KORD-0430"),
        pytest.param(Reading.CONDITIONAL, 800.0, 2.0, id="FAA-C055-KORD-0430"),
    ],
)
def test_the_two_readings_of_chicago(reading: Reading, ceiling_ft: float, miles: float) -> None:
    over = around("060430", minutes=30)
    seen = see(KORD, icao="KORD", as_of="051200", over=over, reading=reading)
    assert seen.ceiling.feet == ceiling_ft
    assert seen.visibility.metres == pytest.approx(miles * SM)


def test_mist_at_times_is_persistent_and_counts() -> None:
    seen = see(KORD, icao="KORD", as_of="051200", over=around("051430", minutes=15))
    assert seen.visibility.metres == pytest.approx(1.5 * SM)
    assert seen.visibility.governing.kind == "TEMPO"
    assert seen.ceiling.feet == 3000.0


def test_an_improving_change_in_chicago_holds_the_old_weather_to_its_end() -> None:
    during = see(KORD, icao="KORD", as_of="051200", over=around("060700"))
    after = see(KORD, icao="KORD", as_of="051200", over=window("060800", "060900"))
    assert (during.ceiling.feet, after.ceiling.state) == (2000.0, CeilingState.NONE)
    assert during.visibility.metres == pytest.approx(4.0 * SM)
    assert after.visibility.bound is Bound.ABOVE


@pytest.mark.parametrize(
    ("over", "metres", "cb"),
    [
        (("160000", "160600"), 9000.0, False),
        (("160600", "160800"), 9000.0, True),
        (("160800", "161200"), 9000.0, True),
        (("161230", "161800"), 10_000.0, False),
    ],
    ids=["ICAO-ANNEX3-00", "ICAO-ANNEX3-06", "ICAO-ANNEX3-08", "ICAO-ANNEX3-1230"],
)
def test_the_published_forecast_of_the_annex(
    over: tuple[str, str], metres: float, cb: bool
) -> None:
    seen = see(YUDO, icao="YUDO", as_of="151830", over=window(*over))
    assert seen.visibility.metres == metres
    assert seen.ceiling.feet == 2000.0  # a scattered layer never makes a ceiling
    assert seen.cb is cb


def test_a_change_of_cloud_alone_carries_the_rest_over() -> None:
    seen = see(YUDO, icao="YUDO", as_of="151830", over=window("160900", "161000"))
    assert seen.wind.speed_kt == pytest.approx(5.0 * 3600.0 / 1852.0)
    assert seen.wind.governing.kind == "BASE"
    assert seen.ceiling.governing.kind == "BECMG"


# --- persistent and transient ---


@pytest.mark.parametrize(
    ("words", "counts"),
    [
        ("3000 BR BKN006", True),
        ("3000 -RA BKN006", True),
        ("BKN006", True),
        ("3000", True),
        ("3000 SN BKN006", True),
        ("3000 TSRA BKN006CB", False),
        ("3000 SHRA BKN006", False),
        ("3000 +SHSN BKN006", False),
        ("3000 VCTS BKN006", False),
        ("3000 SQ BKN006", False),
        ("BKN006CB", False),
        ("BKN006TCU", False),
        ("SCT010 BKN006CB", False),
        ("FEW020CB BKN006", True),
        ("3000 BKN006CB", True),
        ("VRB20KT BKN006CB", True),
        ("3000 TSRA BR BKN006CB", True),
        ("3000 SHRA FG BKN006", True),
        ("3000 BKN01 TSRA BKN006CB", True),
    ],
)
def test_only_a_wholly_showery_group_is_not_applicable(words: str, counts: bool) -> None:
    for kind in ("TEMPO", "INTER", "PROB30"):
        raw = f"TAF XABC 091100Z 0912/1012 24008KT 9999 BKN040 {kind} 0915/0918 {words}"
        over = window("091600", "091700")
        seen = see(raw, as_of="091130", over=over)
        named = {
            value
            for value, word in ((seen.visibility.metres, "3000"), (seen.ceiling.feet, "006"))
            if word in words
        }
        assert (named <= {3000.0, 600.0}) is counts
        assert (named <= {10_000.0, 4000.0}) is not counts
        worst = see(raw, as_of="091130", over=over, reading=Reading.CONDITIONAL)
        assert "006" not in words or worst.ceiling.feet == 600.0


@pytest.mark.parametrize("kind", ["PROB30 TEMPO", "PROB40 TEMPO", "PROB30 INTER"])
def test_a_probable_temporary_group_is_disregarded_whatever_it_says(kind: str) -> None:
    raw = f"{FINE} {kind} 0915/0918 0300 FG VV001"
    seen = see(raw, as_of="091130", over=window("091600", "091700"))
    assert seen.visibility.metres == 10_000.0
    assert [each.text for each in seen.disregarded] == [f"{kind} 0915/0918 0300 FG VV001"]
    assert "may be disregarded" in seen.disregarded[0].why
    worst = see(raw, as_of="091130", over=window("091600", "091700"), reading=Reading.CONDITIONAL)
    assert (worst.visibility.metres, worst.ceiling.feet) == (300.0, 100.0)


def test_a_disregarded_group_is_listed_only_where_it_would_have_spoken() -> None:
    raw = f"{FINE} TEMPO 0915/0918 3000 SHRA"
    assert see(raw, as_of="091130", over=window("091400", "091500")).disregarded == ()
    listed = see(raw, as_of="091130", over=window("091700", "091900")).disregarded
    assert [(each.text, each.precipitation) for each in listed] == [
        ("TEMPO 0915/0918 3000 SHRA", True)
    ]


@pytest.mark.parametrize("reading", Reading)
def test_a_temporary_improvement_does_not_count_and_is_said_so(reading: Reading) -> None:
    raw = "TAF XABC 091100Z 0912/1012 24008KT 2000 BR BKN006 TEMPO 0915/0918 9999 SCT040"
    seen = see(raw, as_of="091130", over=window("091600", "091700"), reading=reading)
    assert (seen.visibility.metres, seen.ceiling.feet) == (2000.0, 600.0)
    assert [each.why for each in seen.disregarded] == [
        "a temporary improvement of the visibility does not count",
        "a temporary improvement of the cloud does not count",
    ]


def test_an_overlay_that_is_as_bad_as_the_main_body_is_no_improvement() -> None:
    raw = "TAF XABC 091100Z 0912/1012 24008KT 2000 BR BKN006 TEMPO 0915/0918 2000 BKN006"
    assert see(raw, as_of="091130", over=window("091600", "091700")).disregarded == ()


# --- wind ---


def test_a_gust_in_a_forecast_is_reported_and_disregarded_for_planning() -> None:
    raw = "TAF XABC 091100Z 0912/1012 24020G38KT 9999 SCT030"
    planned = see(raw, as_of="091130", over=window("091600", "091700"))
    assert (planned.wind.gust_kt, planned.wind.gust_counts) == (38.0, False)
    assert "gust of 38 kt may be disregarded" in planned.disregarded[0].why
    counted = see(raw, as_of="091130", over=window("091600", "091700"), reading=Reading.CONDITIONAL)
    assert (counted.wind.gust_kt, counted.wind.gust_counts) == (38.0, True)
    assert counted.disregarded == ()


def test_an_observed_gust_counts() -> None:
    raw = "METAR XABC 091150Z 24020G38KT 9999 SCT030 12/08 Q1013"
    seen = see(raw, as_of="091155", over=window("091200", "091215"))
    assert seen.wind.gust_counts


def test_all_winds_of_a_change_are_kept_and_the_strongest_leads() -> None:
    raw = "TAF XABC 091100Z 0912/1012 24008KT 9999 SCT030 BECMG 0914/0916 31025G40KT"
    seen = see(raw, as_of="091130", over=window("091300", "091500"))
    assert [(each.from_true_deg, each.speed_kt) for each in seen.winds] == [
        (310.0, 25.0),
        (240.0, 8.0),
    ]
    assert seen.wind == seen.winds[0]
    after = see(raw, as_of="091130", over=window("091600", "091700"))
    assert [each.from_true_deg for each in after.winds] == [310.0]


def test_a_counted_gust_makes_a_wind_the_strongest() -> None:
    raw = "TAF XABC 091100Z 0912/1012 24010G40KT 9999 SCT030 BECMG 0914/0916 31025KT"
    over = window("091300", "091500")
    assert see(raw, as_of="091130", over=over).wind.speed_kt == 25.0
    worst = see(raw, as_of="091130", over=over, reading=Reading.CONDITIONAL)
    assert worst.wind.gust_kt == 40.0


@pytest.mark.parametrize(
    ("wind", "direction", "variable", "speed_kt"),
    [
        ("VRB04KT", None, True, 4.0),
        ("00000KT", 0.0, False, 0.0),
        ("24008KT 200V280", 240.0, False, 8.0),
    ],
)
def test_what_a_wind_says_of_its_direction(
    wind: str, direction: float | None, variable: bool, speed_kt: float
) -> None:
    raw = f"METAR XABC 091150Z {wind} 9999 SCT030 12/08 Q1013"
    seen = see(raw, as_of="091155", over=window("091200", "091215")).wind
    assert (seen.from_true_deg, seen.variable, seen.speed_kt) == (direction, variable, speed_kt)
    assert not seen.possibly_worse
    assert (seen.variation is not None) is ("V280" in wind)


def test_a_missing_direction_keeps_the_speed_and_is_unknown() -> None:
    raw = "METAR XABC 091150Z ///28KT 9999 SCT030 12/08 Q1013"
    seen = see(raw, as_of="091155", over=window("091200", "091215"))
    assert (seen.wind.from_true_deg, seen.wind.variable, seen.wind.speed_kt) == (None, False, 28.0)
    assert seen.wind.possibly_worse
    assert seen.unknown == {Element.WIND}


def test_a_missing_wind_is_one_unknown_wind() -> None:
    raw = "METAR XABC 091150Z /////KT 9999 SCT030 12/08 Q1013"
    seen = see(raw, as_of="091155", over=window("091200", "091215"))
    assert seen.winds == (seen.wind,)
    assert (seen.wind.speed_kt, seen.wind.possibly_worse) == (None, True)
    assert seen.wind.speed_bound is Bound.UNKNOWN


# --- observation, trend, forecast ---

SEEN = "METAR XABC 091150Z 24008KT 3000 BR BKN006 12/11 Q1013"


@pytest.mark.parametrize(
    ("as_of", "over", "metres"),
    [
        pytest.param("091155", ("091200", "091215"), 3000.0, id="near the present"),
        pytest.param("091155", ("091249", "091304"), 3000.0, id="begins within the hour"),
        pytest.param("091155", ("091255", "091310"), 3000.0, id="an hour from it it stands"),
        pytest.param("091220", ("091319", "091330"), 3000.0, id="growing old lifts nothing"),
        pytest.param("091250", ("091330", "091345"), 3000.0, id="nor does growing older"),
        pytest.param("091155", ("091349", "091404"), 3000.0, id="to two hours from it"),
        pytest.param("091155", ("091350", "091405"), 10_000.0, id="then the forecast governs"),
        pytest.param("091345", ("091349", "091404"), 3000.0, id="at whatever present time"),
    ],
)
def test_how_long_an_observation_is_heard(as_of: str, over: tuple[str, str], metres: float) -> None:
    assert see(SEEN, FINE, as_of=as_of, over=window(*over)).visibility.metres == metres


@pytest.mark.parametrize(
    ("over", "known"),
    [(("091200", "091215"), True), (("091235", "091250"), True), (("091236", "091251"), None)],
    ids=["near", "to an hour from it", "beyond"],
)
@pytest.mark.parametrize("as_of", ["091155", "091219", "091232"])
def test_without_a_forecast_an_observation_makes_known_the_hour_from_its_own_time(
    as_of: str, over: tuple[str, str], known: bool | None
) -> None:
    seen = see(SEEN, as_of=as_of, over=window(*over))
    assert seen.visibility.reaches(3000.0) is known
    assert seen.visibility.reaches(3001.0) is False
    assert NotAtHand.NO_FORECAST in seen.not_at_hand


def test_the_worse_of_observation_and_forecast_wins() -> None:
    bad = "TAF XABC 091100Z 0911/1011 24008KT 0800 FG VV002"
    good = "METAR XABC 091150Z 24008KT 9999 SCT030 12/08 Q1013"
    seen = see(good, bad, as_of="091155", over=window("091200", "091215"))
    assert (seen.visibility.metres, seen.visibility.governing.kind) == (800.0, "BASE")
    assert (seen.ceiling.feet, seen.ceiling.governing.kind) == (200.0, "BASE")


def test_what_an_observation_does_without_is_said() -> None:
    young = see(SEEN, as_of="091219", over=window("091230", "091245"))
    assert not young.unknown
    assert (young.ceiling.governing.kind, young.ceiling.governing.text) == ("METAR", "BKN006")
    assert young.not_at_hand == (NotAtHand.NO_FORECAST,)
    old = see(SEEN, as_of="091220", over=window("091230", "091245"))
    assert not old.unknown
    assert old.not_at_hand == (NotAtHand.OLD_OBSERVATION, NotAtHand.NO_FORECAST)
    late = see(SEEN, as_of="091220", over=window("091245", "091300"))
    assert late.unknown == {Element.WIND, Element.VISIBILITY, Element.CLOUD, Element.WEATHER}


def test_the_age_of_the_observation_is_stated() -> None:
    seen = see(SEEN, FINE, as_of="091219", over=window("091230", "091245"))
    assert seen.observation_age_min == 29.0
    none = see(FINE, as_of="091219", over=window("091230", "091245"))
    assert none.observation_age_min is None
    assert none.not_at_hand == (NotAtHand.NO_OBSERVATION,)


def test_the_wait_for_an_observation_is_over_in_later_windows() -> None:
    assert see(FINE, as_of="091219", over=window("091800", "091815")).not_at_hand == ()


@pytest.mark.parametrize(
    ("over", "metres", "kind"),
    [
        (("091200", "091215"), 3000.0, "METAR"),
        (("091300", "091315"), 800.0, "TREND"),
        (("091330", "091350"), 800.0, "TREND"),
        (("091350", "091405"), 10_000.0, "BASE"),
    ],
)
def test_a_worse_trend_goes_before_the_forecast_for_two_hours(
    over: tuple[str, str], metres: float, kind: str
) -> None:
    raw = f"{SEEN} BECMG FM1230 TL1330 0800 FG VV002"
    seen = see(raw, FINE, as_of="091155", over=window(*over))
    assert (seen.visibility.metres, seen.visibility.governing.kind) == (metres, kind)
    assert seen.visibility.governing.text in f"{raw} {FINE}"


@pytest.mark.parametrize(
    ("trend", "over", "metres"),
    [
        ("BECMG AT1230 9999 NSW SCT030", ("091229", "091244"), 3000.0),
        ("BECMG AT1230 9999 NSW SCT030", ("091230", "091245"), 10_000.0),
        ("BECMG TL1230 9999 NSW SCT030", ("091229", "091244"), 3000.0),
        ("BECMG TL1230 9999 NSW SCT030", ("091230", "091245"), 10_000.0),
        ("BECMG FM1230 9999 NSW SCT030", ("091345", "091400"), 3000.0),
        ("BECMG 9999 NSW SCT030", ("091345", "091400"), 3000.0),
        ("TEMPO TL1230 9999 NSW SCT030", ("091240", "091255"), 3000.0),
        ("BECMG AT1230 SCT030", ("091240", "091255"), 3000.0),
        ("BECMG AT1230 2000 BR", ("091240", "091255"), 2000.0),
        ("BECMG AT1230 9999 BKN01", ("091240", "091255"), 3000.0),
    ],
)
def test_a_named_change_of_the_trend_lifts_what_was_seen_and_nothing_else_does(
    trend: str, over: tuple[str, str], metres: float
) -> None:
    seen = see(f"{SEEN} {trend}", FINE, as_of="091155", over=window(*over))
    assert seen.visibility.metres == metres


def test_no_significant_change_holds_the_observation_for_two_hours_without_a_forecast() -> None:
    held = see(f"{SEEN} NOSIG", as_of="091155", over=window("091330", "091350"))
    assert (held.visibility.metres, held.unknown) == (3000.0, frozenset())
    assert held.visibility.governing.why == "holds with its trend to 1350Z"
    alone = see(SEEN, as_of="091155", over=window("091330", "091350"))
    assert (alone.visibility.reaches(3000.0), alone.visibility.reaches(3001.0)) == (None, False)
    later = see(SEEN, as_of="091155", over=window("091350", "091405"))
    assert later.visibility.metres is None
    assert later.visibility.governing.kind == "NONE"


def test_a_full_set_in_a_trend_replaces_what_was_seen() -> None:
    raw = f"{SEEN} FM1300 24008KT 9999 SCT030"
    seen = see(raw, as_of="091155", over=window("091300", "091340"))
    assert seen.visibility.governing.kind == "TREND"
    assert seen.visibility.metres == 10_000.0
    early = see(
        f"{SEEN} FM1150 24008KT 9999 SCT030", as_of="091155", over=window("091300", "091340")
    )
    assert early.visibility.metres == 10_000.0


def test_a_temporary_storm_in_a_trend_is_transient_like_any_other() -> None:
    raw = f"{SEEN} TEMPO 0600 TSRA"
    seen = see(raw, as_of="091155", over=window("091200", "091215"))
    assert (seen.visibility.metres, seen.transient_thunderstorm) == (3000.0, True)
    worst = see(raw, as_of="091155", over=window("091200", "091215"), reading=Reading.CONDITIONAL)
    assert (worst.visibility.metres, worst.thunderstorm) == (600.0, True)
    assert worst.visibility.governing.kind == "TREND"


def test_an_observation_stamped_a_little_ahead_governs_now() -> None:
    seen = see(SEEN, as_of="091145", over=window("091145", "091155"))
    assert seen.visibility.metres == 3000.0
    assert seen.observation_age_min == -5.0


# --- spot observations ---


def spot(stamp: str = "091152", **said: object) -> SpotObservation:
    return SpotObservation(at=at(stamp), **said)  # type: ignore[arg-type]


def test_a_spot_observation_outranks_an_older_report() -> None:
    seen = see(
        SEEN,
        as_of="091155",
        over=window("091200", "091215"),
        spots=[
            spot(
                visibility_m=6000.0,
                ceiling_ft=1400.0,
                wind=SpotWind(from_true_deg=200.0, speed_kt=12.0, gust_kt=24.0),
                qnh_hpa=1011.0,
            )
        ],
    )
    assert (seen.visibility.metres, seen.visibility.governing.kind) == (6000.0, "SPOT")
    assert seen.visibility.governing.text == "visibility 6000 m at 1152Z"
    assert seen.ceiling.feet == 1400.0
    assert (seen.wind.from_true_deg, seen.wind.gust_kt) == (200.0, 24.0)
    assert seen.wind.governing.text == "wind 200 true 12 kt gusting 24 at 1152Z"
    assert seen.qnh_hpa == 1011.0
    assert seen.phenomena == ("BR",)
    assert [each.why for each in seen.disregarded] == [
        "outranked by visibility 6000 m at 1152Z",
        "outranked by ceiling 1400 ft at 1152Z",
        "outranked by wind 200 true 12 kt gusting 24 at 1152Z",
    ]


def test_a_spot_of_the_same_minute_goes_before_the_report_and_a_later_spot_before_both() -> None:
    seen = see(
        SEEN,
        as_of="091155",
        over=window("091200", "091215"),
        spots=[spot("091153", visibility_m=1500.0), spot("091150", visibility_m=2500.0)],
    )
    assert seen.visibility.metres == 1500.0


def test_a_spot_older_than_the_report_or_from_the_future_has_no_effect() -> None:
    seen = see(
        SEEN,
        as_of="091155",
        over=window("091200", "091215"),
        spots=[spot("091140", visibility_m=9000.0), spot("091211", ceiling_ft=5000.0)],
    )
    assert (seen.visibility.metres, seen.ceiling.feet) == (3000.0, 600.0)
    assert [each.why for each in seen.disregarded] == [
        "older than the report of 091150Z",
        "stamped later than the present time",
    ]


def test_a_spot_stamped_a_little_ahead_is_heard() -> None:
    seen = see(
        SEEN,
        as_of="091155",
        over=window("091200", "091215"),
        spots=[spot("091210", visibility_m=9000.0)],
    )
    assert seen.visibility.metres == 9000.0


def test_a_spot_alone_is_an_observation_of_its_elements_only() -> None:
    wind = SpotWind(from_true_deg=None, speed_kt=6.0)
    seen = see(
        as_of="091155",
        over=window("091200", "091215"),
        spots=[spot(visibility_m=6000.0, wind=wind)],
    )
    assert seen.visibility.metres == 6000.0
    assert (seen.wind.variable, seen.wind.governing.text) == (True, "wind variable 6 kt at 1152Z")
    assert seen.unknown == {Element.CLOUD, Element.WEATHER}
    assert seen.temperature_degc is None


def test_a_worse_forecast_wins_over_a_spot() -> None:
    bad = "TAF XABC 091100Z 0911/1011 24008KT 0800 FG VV002"
    seen = see(
        bad, as_of="091155", over=window("091200", "091215"), spots=[spot(visibility_m=6000.0)]
    )
    assert seen.visibility.metres == 800.0


def test_the_trend_goes_on_from_the_newer_spot() -> None:
    seen = see(
        f"{SEEN} NOSIG",
        as_of="091155",
        over=window("091330", "091345"),
        spots=[spot(visibility_m=6000.0)],
    )
    assert seen.visibility.metres == 6000.0


# --- runway visual range, temperature, pressure ---

LOW = "METAR XABC 091150Z 24003KT 0400 R24L/0550V0900D R24R/P1500N R06L///// FG VV002 M02/M02 Q0998"


def test_runway_visual_ranges_are_kept_with_bounds_and_tendency() -> None:
    seen = see(LOW, as_of="091155", over=window("091200", "091215"))
    low, left, right = seen.rvr
    assert (low.runway, low.low_m, low.reaches(50.0)) == ("06L", None, None)
    assert (left.runway, left.low_m, left.high_m) == ("24L", 550.0, 900.0)
    assert left.tendency is Tendency.DOWN
    assert (left.reaches(550.0), left.reaches(551.0)) == (True, False)
    assert (right.low_m, right.low_bound) == (1500.0, Bound.ABOVE)
    assert left.governing.text == "R24L/0550V0900D"


@pytest.mark.parametrize(
    ("as_of", "over", "verdict"),
    [
        pytest.param("091155", ("091235", "091250"), True, id="to an hour from it"),
        pytest.param("091155", ("091240", "091256"), None, id="reaches beyond"),
        pytest.param("091220", ("091230", "091245"), True, id="whatever its age"),
    ],
)
def test_a_runway_visual_range_meets_a_minimum_in_the_hour_from_its_time(
    as_of: str, over: tuple[str, str], verdict: bool | None
) -> None:
    seen = see(LOW, as_of=as_of, over=window(*over))
    left = next(rvr for rvr in seen.rvr if rvr.runway == "24L")
    assert left.reaches(500.0) is verdict
    assert left.reaches(600.0) is False
    assert not left.bars_only


@pytest.mark.parametrize(
    ("over", "there", "bars_only"),
    [
        (("091249", "091304"), True, False),
        (("091250", "091305"), True, True),
        (("091349", "091404"), True, True),
        (("091350", "091405"), False, False),
    ],
)
def test_after_an_hour_a_range_only_bars_and_after_two_it_is_not_heard(
    over: tuple[str, str], there: bool, bars_only: bool
) -> None:
    seen = see(LOW, FINE, as_of="091155", over=window(*over))
    assert bool(seen.rvr) is there
    assert all(each.bars_only is bars_only for each in seen.rvr)


def test_a_spot_range_replaces_the_older_one_of_its_runway() -> None:
    told = SpotRvr(runway="24L", touchdown_m=800.0, midpoint_m=600.0, stop_end_m=500.0)
    seen = see(LOW, as_of="091155", over=window("091200", "091215"), spots=[spot(rvr=(told,))])
    left = next(rvr for rvr in seen.rvr if rvr.runway == "24L")
    assert (left.low_m, left.midpoint_m, left.stop_end_m) == (800.0, 600.0, 500.0)
    assert left.governing.text == "RVR 24L 800 m at 1152Z"


def test_of_two_ranges_of_one_runway_the_lower_counts() -> None:
    raw = LOW.replace("R24R/P1500N", "R24L/0300N")
    seen = see(raw, as_of="091155", over=window("091200", "091215"))
    assert [rvr.low_m for rvr in seen.rvr if rvr.runway == "24L"] == [300.0]


def test_temperature_and_pressure_hold_for_three_hours() -> None:
    near = see(LOW, FINE, as_of="091155", over=window("091450", "091505"))
    far = see(LOW, FINE, as_of="091155", over=window("091451", "091505"))
    assert (near.temperature_degc, near.qnh_hpa) == (-2.0, 998.0)
    assert (far.temperature_degc, far.qnh_hpa) == (None, None)


@pytest.mark.parametrize("group", ["////", "/////", ""])
def test_a_missing_temperature_or_pressure_is_none(group: str) -> None:
    raw = f"METAR XABC 091150Z 24008KT 9999 SCT030 {group}"
    seen = see(raw, as_of="091155", over=window("091200", "091215"))
    assert (seen.temperature_degc, seen.qnh_hpa) == (None, None)


def test_a_contradicted_pressure_leaves_the_one_given_by_voice() -> None:
    raw = "METAR XABC 091150Z 24008KT 9999 SCT030 12/08 Q1013 A2900"
    over = window("091200", "091215")
    assert see(raw, as_of="091155", over=over).qnh_hpa is None
    assert see(raw, as_of="091155", over=over, spots=[spot(qnh_hpa=1012.0)]).qnh_hpa == 1012.0


# --- visibility and ceiling in detail ---


@pytest.mark.parametrize(
    ("body", "metres", "bound", "met", "not_known"),
    [
        ("3000 1200NE", 1200.0, Bound.EXACT, 1200.0, None),
        ("9999", 10_000.0, Bound.AT_LEAST, 10_000.0, None),
        ("P6SM", 6 * SM, Bound.ABOVE, 6 * SM, None),
        ("M1/4SM", SM / 4, Bound.BELOW, None, 100.0),
    ],
)
def test_a_visibility_counts_at_its_conservative_figure(
    body: str, metres: float, bound: Bound, met: float | None, not_known: float | None
) -> None:
    raw = f"METAR XABC 091150Z 24008KT {body} BR BKN030 12/08 Q1013"
    seen = see(raw, as_of="091155", over=window("091200", "091215")).visibility
    assert seen.metres == pytest.approx(metres)
    assert seen.bound is bound
    assert met is None or seen.reaches(met) is True
    assert not_known is None or seen.reaches(not_known) is None
    assert seen.reaches(metres + 0.1) is False
    assert (seen.reaches(metres) is False) is (bound is Bound.BELOW)


def test_prevailing_and_minimum_visibility_are_both_kept() -> None:
    raw = "METAR XABC 091150Z 24008KT 3000 1200NE BR BKN030 12/08 Q1013"
    seen = see(raw, as_of="091155", over=window("091200", "091215")).visibility
    assert (seen.prevailing_metres, seen.minimum_metres) == (3000.0, 1200.0)


@pytest.mark.parametrize("cloud", ["VV///", "BKN///", "//////", "", "///010"])
def test_a_ceiling_that_cannot_be_told_is_unknown(cloud: str) -> None:
    raw = f"METAR XABC 091150Z 24008KT 5000 BR {cloud} 12/11 Q1013"
    seen = see(raw, as_of="091155", over=window("091200", "091215"))
    assert seen.ceiling.state is CeilingState.UNKNOWN
    assert seen.ceiling.feet is None
    assert seen.ceiling.reaches(100.0) is None
    assert seen.unknown == {Element.CLOUD}
    assert any("cloud" in reason for reason in seen.unknown_reasons)
    assert seen.cb is None


def test_a_known_layer_bounds_an_unknown_ceiling_from_above() -> None:
    raw = "METAR XABC 091150Z 24008KT 5000 BR BKN/// OVC020 12/11 Q1013"
    seen = see(raw, as_of="091155", over=window("091200", "091215")).ceiling
    assert (seen.state, seen.feet, seen.possibly_worse) == (CeilingState.VALUE, 2000.0, True)
    assert (seen.reaches(2001.0), seen.reaches(2000.0)) == (False, None)


@pytest.mark.parametrize("cloud", ["SKC", "NSC", "NCD", "SCT003", "FEW001 SCT080"])
def test_no_ceiling_meets_every_minimum(cloud: str) -> None:
    raw = f"METAR XABC 091150Z 24008KT 9999 {cloud} 12/08 Q1013"
    seen = see(raw, as_of="091155", over=window("091200", "091215")).ceiling
    assert (seen.state, seen.reaches(20_000.0)) == (CeilingState.NONE, True)


@pytest.mark.parametrize(
    ("cloud", "remark", "possible_ft"),
    [
        pytest.param("SCT008 BKN022", "SCT008 V BKN", 800.0, id="FAA-AIM-layer-that-grows"),
        pytest.param("SCT008 BKN022", "SCT V BKN", 800.0, id="layer of no stated height"),
        pytest.param("FEW002 SCT008", "SCT V BKN", 800.0, id="but not a layer of another amount"),
        pytest.param("BKN009", "CIG 005V010", 500.0, id="FAA-AIM-variable-ceiling"),
        pytest.param("BKN009", "CIG 002 RWY11", 200.0, id="FAA-AIM-second-site"),
        pytest.param("FEW008 BKN022", "FEW008 V SCT", None, id="never a ceiling"),
        pytest.param("BKN009", "AO2", None, id="no such remark"),
    ],
)
def test_a_lower_ceiling_that_remarks_speak_of_is_possible(
    cloud: str, remark: str, possible_ft: float | None
) -> None:
    raw = f"METAR KABC 091150Z 24008KT 2SM BR {cloud} 12/11 A2992 RMK AO2 {remark}"
    seen = see(raw, icao="KABC", as_of="091155", over=window("091200", "091215"))
    assert seen.ceiling.possible_ceiling_ft == possible_ft
    assert not seen.ceiling.possibly_worse


@pytest.mark.parametrize(
    ("remark", "possible_m"),
    [("VIS 1/2V2", SM / 2), ("TWR VIS 1", SM), ("SFC VIS 1/4", SM / 4), ("CIG 005V010", None)],
)
def test_a_lower_visibility_that_remarks_speak_of_is_possible(
    remark: str, possible_m: float | None
) -> None:
    raw = f"METAR KABC 091150Z 24008KT 2SM BR OVC030 12/11 A2992 RMK AO2 {remark}"
    seen = see(raw, icao="KABC", as_of="091155", over=window("091200", "091215")).visibility
    assert seen.possible_metres == (None if possible_m is None else pytest.approx(possible_m))
    assert seen.metres == pytest.approx(2 * SM)


def test_a_remark_stays_possible_where_the_visibility_itself_is_missing() -> None:
    raw = "METAR KABC 091150Z 24008KT ////SM OVC030 12/11 A2992 RMK AO2 TWR VIS 1"
    seen = see(raw, icao="KABC", as_of="091155", over=window("091200", "091215")).visibility
    assert seen.metres is None
    assert seen.possible_metres == pytest.approx(SM)
    assert seen.governing.kind == "METAR"


# --- weather ---


def weather(body: str, *, temperature: str = "12/11", remarks: str = "", auto: str = "AUTO") -> str:
    return (
        f"METAR KABC 091150Z {auto} 24008KT 2SM {body} OVC030 {temperature} A2992 RMK AO2 {remarks}"
    )


@pytest.mark.parametrize(
    ("raw", "storm", "freezing"),
    [
        pytest.param(weather("BR"), False, False, id="neither"),
        pytest.param(weather("TSRA"), True, False, id="storm"),
        pytest.param(weather("VCTS"), True, False, id="in the vicinity"),
        pytest.param(weather("FZRA"), False, True, id="freezing rain"),
        pytest.param(weather("FZFG"), False, False, id="freezing fog is no precipitation"),
        pytest.param(weather("BR", remarks="TSNO"), None, False, id="FAA-AIM-TSNO"),
        pytest.param(weather("BR", remarks="TSNO", auto=""), False, False, id="an observer sees"),
        pytest.param(weather("TSRA", remarks="TSNO"), True, False, id="seen all the same"),
        pytest.param(weather("BR", remarks="FZRANO"), False, None, id="FAA-AIM-FZRANO"),
        pytest.param(weather("FZDZ", remarks="FZRANO"), False, True, id="freezing all the same"),
        pytest.param(weather("BR", remarks="PWINO"), None, None, id="FAA-AIM-PWINO"),
        pytest.param(weather("UP"), False, False, id="unknown precipitation in warmth"),
        pytest.param(weather("UP", temperature="M01/M02"), False, True, id="in frost"),
        pytest.param(weather("UP", temperature=""), False, None, id="at unknown temperature"),
        pytest.param(weather("//"), None, None, id="weather missing"),
    ],
)
def test_storms_and_freezing_precipitation_are_seen_or_unknown(
    raw: str, storm: bool | None, freezing: bool | None
) -> None:
    seen = see(raw, icao="KABC", as_of="091155", over=window("091200", "091215"))
    assert (seen.thunderstorm, seen.freezing_precipitation) == (storm, freezing)


@pytest.mark.parametrize(
    ("cloud", "body", "cb"),
    [
        ("OVC030", "RA", False),
        ("OVC030CB", "RA", True),
        ("OVC030TCU", "RA", False),
        ("OVC030///", "RA", None),
        ("OVC030", "TSRA", True),
        ("OVC030", "//", None),
    ],
)
def test_cumulonimbus_is_seen_or_unknown(cloud: str, body: str, cb: bool | None) -> None:
    raw = f"METAR XABC 091150Z AUTO 24008KT 9000 {body} {cloud} 12/08 Q1013"
    assert see(raw, as_of="091155", over=window("091200", "091215")).cb is cb


def test_icing_and_recent_weather_are_listed_once() -> None:
    raw = "METAR XABC 091150Z 24008KT 2000 FZRA BR OVC030 M01/M02 Q1013 RESN NOSIG"
    seen = see(raw, as_of="091155", over=window("091200", "091215"))
    assert seen.icing_phenomena == ("FZRA",)
    assert seen.phenomena == ("FZRA", "BR")
    assert [group.raw for group in seen.recent] == ["RESN"]


# --- what nobody says ---


def test_a_window_without_any_report_is_unknown_with_reasons() -> None:
    seen = see(as_of="091155", over=window("091200", "091215"))
    assert (seen.visibility.metres, seen.ceiling.state) == (None, CeilingState.UNKNOWN)
    assert (seen.wind.speed_kt, seen.thunderstorm, seen.cb) == (None, None, None)
    assert seen.freezing_precipitation is None
    assert seen.unknown == {Element.WIND, Element.VISIBILITY, Element.CLOUD, Element.WEATHER}
    assert "nothing in force tells the visibility from 1200Z to 1215Z" in seen.unknown_reasons
    assert seen.visibility.governing.kind == "NONE"
    assert seen.not_at_hand == (NotAtHand.NO_OBSERVATION, NotAtHand.NO_FORECAST)
    assert seen.changes_at == ()


@pytest.mark.parametrize(
    "over", [("091130", "091230"), ("101130", "101230")], ids=["before it begins", "after its end"]
)
def test_a_window_partly_outside_the_validity_is_unknown(over: tuple[str, str]) -> None:
    seen = see(FINE, as_of="091100", over=window(*over))
    assert seen.visibility.metres == 10_000.0
    assert seen.visibility.reaches(100.0) is None
    assert seen.ceiling.state is CeilingState.UNKNOWN
    assert len(seen.unknown) == 4


def test_known_bad_weather_fails_even_where_the_rest_is_unknown() -> None:
    raw = "TAF XABC 091100Z 0912/1012 24008KT 0300 FG VV001"
    seen = see(raw, as_of="091100", over=window("101130", "101230"))
    assert (seen.visibility.reaches(550.0), seen.ceiling.reaches(200.0)) == (False, False)
    assert seen.visibility.possibly_worse


def test_an_unreadable_group_in_an_overlay_makes_its_window_unknown() -> None:
    raw = f"{FINE} TEMPO 0915/0918 4000 BKN01"
    inside = see(raw, as_of="091130", over=window("091600", "091700"))
    assert inside.visibility.metres == 4000.0
    assert (inside.visibility.reaches(4001.0), inside.visibility.reaches(1.0)) == (False, None)
    assert inside.ceiling.state is CeilingState.UNKNOWN
    assert any("BKN01" in reason for reason in inside.unknown_reasons)
    assert inside.unread == ("BKN01",)
    outside = see(raw, as_of="091130", over=window("091800", "091900"))
    assert not outside.unknown


def test_an_unreadable_change_leaves_everything_unknown_after_it() -> None:
    raw = f"{FINE} BECMG 0915/0917 BKN01 FM092000 24008KT 9999 SCT030"
    before = see(raw, as_of="091130", over=window("091400", "091500"))
    after = see(raw, as_of="091130", over=window("091800", "091900"))
    renewed = see(raw, as_of="091130", over=window("092000", "092100"))
    assert not before.unknown
    assert (after.visibility.metres, len(after.unknown)) == (None, 4)
    assert after.visibility.governing.kind == "BECMG"
    assert not renewed.unknown


def test_an_overlay_without_a_readable_time_may_speak_at_any_time() -> None:
    raw = f"{FINE} TEMPO 0999/0918 0300 FG"
    for over in (window("091300", "091400"), window("101000", "101100")):
        seen = see(raw, as_of="091130", over=over)
        assert seen.visibility.reaches(500.0) is not True


def test_an_element_that_the_main_body_does_not_name_is_unknown() -> None:
    seen = see("TAF XABC 091100Z 0912/1012 24008KT 9999", as_of="091130", over=around("091600"))
    assert seen.unknown == {Element.CLOUD}
    assert seen.visibility.reaches(9999.0) is True


def test_the_preceding_forecast_fills_the_time_until_the_newest_begins() -> None:
    earlier = "TAF XABC 090500Z 0906/1006 24008KT 4000 BR BKN010"
    seen = see(earlier, FINE, as_of="091120", over=window("091130", "091145"))
    assert (seen.visibility.metres, seen.unknown) == (4000.0, frozenset())
    after = see(earlier, FINE, as_of="091120", over=window("091200", "091215"))
    assert after.visibility.metres == 10_000.0
    gap = see(
        "TAF XABC 090500Z 0906/0911 24008KT 4000 BR BKN010",
        FINE,
        as_of="091030",
        over=window("091100", "091130"),
    )
    assert gap.visibility.metres is None
    none = see(
        "TAF XABC 091000Z 0913/1006 24008KT 4000 BR BKN010",
        FINE,
        as_of="091120",
        over=window("091200", "091215"),
    )
    assert none.visibility.metres == 10_000.0


def test_groups_of_the_preceding_forecast_end_where_the_newest_begins() -> None:
    earlier = (
        "TAF XABC 090500Z 0906/1006 24008KT 4000 BR BKN010"
        " TEMPO 0914/0918 0300 FG VV001 FM091300 24008KT 0200 FG VV001"
    )
    seen = see(earlier, FINE, as_of="091120", over=window("091200", "091600"))
    assert seen.visibility.metres == 10_000.0
    assert seen.visibility.governing.text in FINE


def test_words_outside_every_group_leave_the_whole_forecast_in_doubt() -> None:
    report = replace(decode(FINE, received_at=at("091130")), unread=("@@@",))
    weather = StationWeather(station="XABC", forecast=report)
    seen = conditions(
        weather, window=around("091600"), as_of=at("091130"), reading=Reading.PERSISTENT
    )
    assert seen.visibility.metres == 10_000.0
    assert seen.visibility.reaches(100.0) is None
    assert seen.unknown_reasons == ("@@@ in the forecast cannot be read",)


def test_a_trend_that_changes_at_once_leaves_nothing_of_the_observation_to_continue() -> None:
    raw = f"{SEEN} BECMG AT1150 9999 NSW SCT030"
    seen = see(raw, as_of="091155", over=window("091300", "091340"))
    assert (seen.visibility.metres, seen.visibility.governing.kind) == (10_000.0, "TREND")


def test_a_change_inside_a_longer_one_does_not_end_it() -> None:
    raw = (
        "TAF XABC 091100Z 0912/1012 24008KT 9999 SCT030"
        " BECMG 0914/0918 0800 FG BECMG 0915/0916 5000 BR"
    )
    running = see(raw, as_of="091130", over=window("091630", "091700"))
    settled = see(raw, as_of="091130", over=window("091800", "091900"))
    assert (running.visibility.metres, settled.visibility.metres) == (800.0, 5000.0)


def test_an_overlay_alone_does_not_make_the_weather_known() -> None:
    whole = decode(f"{FINE} TEMPO 0915/0918 4000 BR BKN010", received_at=at("091130"))
    weather = StationWeather(station="XABC", forecast=replace(whole, periods=whole.periods[1:]))
    seen = conditions(
        weather,
        window=window("091600", "091700"),
        as_of=at("091130"),
        reading=Reading.PERSISTENT,
    )
    assert (seen.visibility.reaches(4001.0), seen.visibility.reaches(100.0)) == (False, None)
    assert (seen.ceiling.reaches(1001.0), seen.ceiling.reaches(100.0)) == (False, None)


@pytest.mark.parametrize("doubtful", [False, True])
def test_no_ceiling_in_doubt_meets_nothing(doubtful: bool) -> None:
    reading = CeilingReading(
        state=CeilingState.NONE,
        feet=None,
        possibly_worse=doubtful,
        possible_ceiling_ft=None,
        governing=Governing(kind="BASE", text="SCT030", why="laid out by hand"),
    )
    assert reading.reaches(200.0) is (None if doubtful else True)


# --- time ---


def test_the_timeline_is_cut_where_groups_begin_and_end() -> None:
    weather = station(KPIT, icao="KPIT", as_of="091745")
    within = window("091900", "101600")
    segments = timeline(weather, within, as_of=at("091745"), reading=Reading.PERSISTENT)
    starts = [f"{each.window.start_at:%d%H%M}" for each in segments]
    assert starts == [
        "091900", "091930", "092000", "092200", "100100",
        "100400", "100700", "101015", "101300", "101500",
    ]  # fmt: skip
    assert segments[0].window.start_at == within.start_at
    assert segments[-1].window.end_at == within.end_at
    assert all(a.window.end_at == b.window.start_at for a, b in pairwise(segments))
    clear = [each for each in segments if each.conditions.ceiling.state is CeilingState.NONE]
    assert [f"{each.window.start_at:%d%H%M}" for each in clear] == ["091900", "101500"]


def test_changes_ahead_name_the_moments_at_which_weather_turns() -> None:
    seen = see(KPIT, icao="KPIT", as_of="091745", over=window("091800", "091815"))
    assert [f"{each:%d%H%M}" for each in seen.changes_at] == ["091930", "092000"]


def test_asking_twice_gives_the_same_answer_from_memory() -> None:
    weather = station(FINE, as_of="091130")
    over = window("091300", "091400")
    asked = [
        conditions(weather, window=over, as_of=at("091130"), reading=Reading.PERSISTENT)
        for _ in range(2)
    ]
    assert asked[0] is asked[1]
    fresh = outlook(weather, as_of=at("091130"), reading=Reading.PERSISTENT).meets(over)
    assert fresh == asked[0]


def test_windows_that_meet_the_same_share_one_value_until_something_begins_or_ends() -> None:
    forecast = "TAF XABC 091100Z 0912/1012 24010KT 9999 SCT030 TEMPO 0914/0916 3000 RA"
    weather = station(SEEN, forecast, as_of="091155")
    here = outlook(weather, as_of=at("091155"), reading=Reading.PERSISTENT)
    first = here.meets(window("091201", "091216"))
    assert here.meets(window("091202", "091217")) is first
    assert here.meets(window("091344", "091359")) is not first  # what comes next is told, too
    assert here.meets(window("091358", "091413")) != first


def test_the_present_time_changes_nothing_about_what_was_seen() -> None:
    weather = station(SEEN, as_of="091155")
    over = window("091240", "091250")
    answers = [
        conditions(
            weather,
            window=over,
            as_of=at("091155") + timedelta(minutes=later),
            reading=Reading.PERSISTENT,
        )
        for later in (0, 40)
    ]
    assert [each.visibility.reaches(3000.0) for each in answers] == [True, True]
    assert [each.observation_age_min for each in answers] == [5.0, 45.0]
    assert missed(answers[0].visibility) == missed(answers[1].visibility)


def test_a_report_without_elements_has_seen_nothing() -> None:
    nothing = decode("METAR XABC 091150Z NIL", received_at=at("091155"))
    assert nothing.elements is None
    assert sightings([nothing], (), as_of=at("091155")) == ()


def test_what_each_group_of_a_forecast_says_of_the_ceiling_is_told_though_disregarded() -> None:
    taf = (
        "TAF XABC 091100Z 0912/1012 24008KT 9999 SCT030 TEMPO 0912/0914 3000 BR BKN006"
        " BECMG 0913/0914 OVC012 FM091500 24008KT CAVOK"
    )
    seen = see(taf, as_of="091155", over=window("091230", "091545"), reading=Reading.CONDITIONAL)
    found = {
        (each.kind, each.from_at, each.until_at, each.ceiling.state, each.ceiling.feet)
        for each in seen.foretold_ceilings
    }
    assert found == {
        ("BASE", at("091200"), at("091400"), CeilingState.NONE, None),
        ("TEMPO", at("091200"), at("091400"), CeilingState.VALUE, 600.0),
        ("BECMG", at("091300"), at("091500"), CeilingState.VALUE, 1200.0),  # may come at once
        ("FM", at("091500"), at("101200"), CeilingState.NONE, None),
    }
