"""Published example reports decode to the values that their publishers print."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from decision import units
from decision.weather import CeilingState, Elements, Period, Report
from decision.weather.report import Remark, RemarkKind
from tests.weather.builders import read

Expected = dict[str, Any]


def _sm(miles: float) -> float:
    return units.statute_miles_to_m(miles)


def facts(report: Report) -> Expected:
    """The facts of an observation under short names, for comparison with a printed decode."""
    elements = report.elements
    assert elements is not None
    return {
        "station": report.station,
        "stamp": report.issued_at.strftime("%d%H%MZ"),
        "auto": report.auto,
        "corrected": report.corrected,
        **_element_facts(elements),
        "rvr": [
            (r.runway, round(units.m_to_ft(r.low_m)) if r.unit_reported == "ft" else r.low_m)
            for r in elements.rvr
            if r.low_m is not None
        ],
        "temperature": elements.temperature
        and (elements.temperature.temperature_degc, elements.temperature.dewpoint_degc),
        "qnh": elements.pressure and elements.pressure.qnh_hpa,
        "recent": [w.raw for w in elements.recent],
        "nosig": report.nosig,
        "unread": report.unread,
    }


def _element_facts(elements: Elements) -> Expected:
    wind, visibility, ceiling = elements.wind, elements.visibility, elements.ceiling
    return {
        "from": wind and wind.from_true_deg,
        "variable": bool(wind and wind.variable),
        "speed": wind and wind.speed_kt,
        "gust": wind and wind.gust_kt,
        "variation": wind and wind.variation,
        "visibility": visibility and visibility.metres,
        "bound": visibility and visibility.bound.value,
        "minimum": visibility and visibility.minimum_metres,
        "ceiling": ceiling and (ceiling.feet if ceiling.feet is not None else ceiling.state.value),
        "weather": None if elements.weather is None else [w.raw for w in elements.weather],
        "cavok": elements.cavok,
        "cb": [layer.raw for layer in elements.clouds or () if layer.convective == "CB"],
    }


OBSERVATIONS = {
    "FAA-AIM-7-1-28-KPIT": (
        "METAR KPIT 091955Z COR 22015G25KT 3/4SM R28L/2600FT TSRA OVC010CB 18/16 A2992"
        " RMK SLP045 T01820159",
        {"station": "KPIT", "stamp": "091955Z", "corrected": True, "from": 220, "speed": 15}
        | {"gust": 25, "visibility": _sm(0.75), "bound": "=", "rvr": [("28L", 2600)]}
        | {"weather": ["TSRA"], "ceiling": 1000, "cb": ["OVC010CB"], "temperature": (18, 16)}
        | {"qnh": units.inhg_to_hpa(29.92)},
    ),
    "FAA-AIM-7-1-29-KBNA": (
        "METAR KBNA 281250Z 33018KT 290V360 1/2SM R31/2700FT SN BLSN FG VV008 00/M03 A2991"
        " RMK RAE42SNB42",
        {"from": 330, "speed": 18, "gust": None, "variation": (290, 360), "visibility": _sm(0.5)}
        | {"rvr": [("31", 2700)], "weather": ["SN", "BLSN", "FG"], "ceiling": 800}
        | {"temperature": (0, -3), "qnh": units.inhg_to_hpa(29.91)},
    ),
    "FAA-AIM-7-1-29-KSFO": (
        "METAR KSFO 041453Z AUTO VRB02KT 3SM BR CLR 15/12 A3012 RMK AO2",
        {"auto": True, "variable": True, "from": None, "speed": 2, "visibility": _sm(3)}
        | {"weather": ["BR"], "ceiling": "none", "temperature": (15, 12)}
        | {"qnh": units.inhg_to_hpa(30.12)},
    ),
    "FAA-AIM-7-1-29-KCVG": (
        "SPECI KCVG 152224Z 28024G36KT 3/4SM +TSRA BKN008 OVC020CB 28/23 A3000"
        " RMK TSRAB24 TS W MOV E",
        {"stamp": "152224Z", "from": 280, "speed": 24, "gust": 36, "visibility": _sm(0.75)}
        | {"weather": ["+TSRA"], "ceiling": 800, "cb": ["OVC020CB"], "temperature": (28, 23)},
    ),
    "ICAO-ANNEX3-YUDO-METAR": (
        "METAR YUDO 221630Z 24004MPS 0600 R12/1000U DZ FG SCT010 OVC020 17/16 Q1018"
        " BECMG TL1700 0800 FG BECMG AT1800 9999 NSW",
        {"from": 240, "speed": units.mps_to_kt(4.0), "visibility": 600, "rvr": [("12", 1000)]}
        | {"weather": ["DZ", "FG"], "ceiling": 2000, "temperature": (17, 16), "qnh": 1018},
    ),
    "ICAO-ANNEX3-YUDO-SPECI": (
        "SPECI YUDO 151115Z 05025G37KT 3000 1200NE +TSRA BKN005CB 25/22 Q1008"
        " TEMPO TL1200 0600 BECMG AT1200 8000 NSW NSC",
        {"from": 50, "speed": 25, "gust": 37, "visibility": 3000, "minimum": 1200}
        | {"weather": ["+TSRA"], "ceiling": 500, "cb": ["BKN005CB"], "temperature": (25, 22)}
        | {"qnh": 1008},
    ),
    "ICAO-ANNEX3-UUEE": (
        "METAR UUEE 270830Z 02006MPS 2100 -SN OVC009 M04/M06 Q1008 R06L/590230 R06R/590230"
        " TEMPO 1000 SHSN BKN012CB R06L/590330",
        {"from": 20, "speed": units.mps_to_kt(6.0), "visibility": 2100, "weather": ["-SN"]}
        | {"ceiling": 900, "temperature": (-4, -6), "qnh": 1008},
    ),
    "ICAO-ANNEX3-ULLI": (
        "METAR ULLI 261230Z 32003MPS 280V360 CAVOK M02/M16 Q1008 R88/190055 NOSIG",
        {"from": 320, "speed": units.mps_to_kt(3.0), "variation": (280, 360), "cavok": True}
        | {"visibility": 10_000, "bound": ">=", "ceiling": "none", "weather": []}
        | {"temperature": (-2, -16), "qnh": 1008, "nosig": True},
    ),
    "ICAO-ANNEX3-ZGSZ": (
        "METAR ZGSZ 141230Z 03002MPS 010V070 9999 -SHRA FEW010 FEW020CB BKN033 24/23 Q1011"
        " RESHRA NOSIG",
        {"from": 30, "speed": units.mps_to_kt(2.0), "variation": (10, 70), "visibility": 10_000}
        | {"bound": ">=", "weather": ["-SHRA"], "ceiling": 3300, "cb": ["FEW020CB"]}
        | {"temperature": (24, 23), "recent": ["RESHRA"], "nosig": True},
    ),
    "FAA-AIM-KEWR": (
        "KEWR 160128Z 18008KT 2 1/2SM R04R/4500VP6000FT RA BR SCT008 BKN022 OVC038 22/21 A3001"
        " RMK AO2 RAB20E51 SCT008 V BKN P0008",
        {"visibility": _sm(2.5), "rvr": [("04R", 4500)], "weather": ["RA", "BR"]}
        | {"ceiling": 2200},
    ),
    "FAA-AIM-KBIL": (
        "KBIL 162256Z 29017G27KT 10SM FEW070 SCT085 BKN110 M02/M02 A2961 RMK AO2"
        " PK WND 29027/2250 WSHFT 2241 SLP205 70033 T10171022 11006 21017 53016",
        {"from": 290, "speed": 17, "gust": 27, "visibility": _sm(10), "ceiling": 11_000},
    ),
    "FAA-AIM-KGTF": (
        "KGTF 170322Z 33014KT 1 3/4SM -SN BR OVC005 A2991 RMK AO2 RAE17SNB17 P0004",
        {"visibility": _sm(1.75), "ceiling": 500, "temperature": None},
    ),
    "FAA-AIM-KABQ": (
        "KABQ 100156Z 32010KT 280V340 10SM TS FEW033 BKN075CB OVC100 19/14 A2999 RMK AO2"
        " TSB09RAB09E56 SLP085 FREQ LTGCCCGIC OHD TS OHD MOV NE",
        {"weather": ["TS"], "ceiling": 7500, "cb": ["BKN075CB"]},
    ),
    "ICAO-ANNEX3-SVVA": (
        "SVVA 171100Z 00000KT 9999 FEW016 BKN250 21/19 Q1013 NOSIG",
        {"from": 0, "speed": 0, "visibility": 10_000, "bound": ">=", "ceiling": 25_000}
        | {"nosig": True},
    ),
    "FAA-AIM-KMEM": (
        "KMEM 230853Z AUTO 18014G18KT 10SM CLR 16/M02 A3008 RMK AO2 SLP117 T01561022 TSNO $",
        {"from": 180, "speed": 14, "gust": 18, "ceiling": "none", "temperature": (16, -2)},
    ),
}


@pytest.mark.parametrize(("raw", "expected"), OBSERVATIONS.values(), ids=OBSERVATIONS.keys())
def test_published_observation_decodes_to_the_printed_values(raw: str, expected: Expected) -> None:
    found = facts(read(raw))

    assert {key: found[key] for key in expected} == expected
    assert found["unread"] == ()


def _remarks(key: str, kind: RemarkKind) -> list[Remark]:
    elements = read(OBSERVATIONS[key][0]).elements
    assert elements is not None
    return [remark for remark in elements.remarks if remark.kind is kind]


def test_variable_sky_remark_of_the_published_example_names_the_layer_that_may_be_a_ceiling() -> (
    None
):
    (remark,) = _remarks("FAA-AIM-KEWR", RemarkKind.VARIABLE_SKY)

    assert (remark.low_ft, remark.amounts) == (800.0, ("SCT", "BKN"))


def test_peak_wind_and_wind_shift_of_the_published_example_are_dated() -> None:
    (peak,) = _remarks("FAA-AIM-KBIL", RemarkKind.PEAK_WIND)
    (shift,) = _remarks("FAA-AIM-KBIL", RemarkKind.WIND_SHIFT)

    assert (peak.from_true_deg, peak.speed_kt) == (290.0, 27.0)
    assert peak.at == datetime(2026, 11, 16, 22, 50, tzinfo=UTC)
    assert shift.at == datetime(2026, 11, 16, 22, 41, tzinfo=UTC)


@pytest.mark.parametrize(
    ("key", "expected"),
    [
        ("FAA-AIM-7-1-28-KPIT", (18.2, 15.9)),
        ("FAA-AIM-KBIL", (-1.7, -2.2)),
        ("FAA-AIM-KMEM", (15.6, -2.2)),
    ],
)
def test_temperature_remark_of_the_published_examples_gives_tenths(
    key: str, expected: tuple[float, float]
) -> None:
    (remark,) = _remarks(key, RemarkKind.PRECISE_TEMPERATURE)

    assert (remark.temperature_degc, remark.dewpoint_degc) == expected


def test_sensor_status_and_maintenance_flag_of_the_published_example_are_kept() -> None:
    (sensor,) = _remarks("FAA-AIM-KMEM", RemarkKind.SENSOR_STATUS)

    assert sensor.where == "TSNO"
    assert len(_remarks("FAA-AIM-KMEM", RemarkKind.MAINTENANCE)) == 1


def test_thunderstorm_remark_of_the_published_example_keeps_its_movement() -> None:
    assert "TS W MOV E" in [
        remark.raw for remark in _remarks("FAA-AIM-7-1-29-KCVG", RemarkKind.THUNDERSTORM)
    ]


def test_trend_of_the_published_metar_has_its_times() -> None:
    report = read(OBSERVATIONS["ICAO-ANNEX3-YUDO-METAR"][0])
    first, second = report.trend

    assert (first.kind, first.start_at, first.end_at) == (
        "BECMG",
        datetime(2026, 11, 22, 16, 30, tzinfo=UTC),
        datetime(2026, 11, 22, 17, 0, tzinfo=UTC),
    )
    assert first.elements.visibility is not None
    assert first.elements.visibility.metres == 800.0
    assert second.start_at == second.end_at == datetime(2026, 11, 22, 18, 0, tzinfo=UTC)
    assert second.elements.weather == ()


def test_runway_states_of_the_published_metar_are_read() -> None:
    elements = read(OBSERVATIONS["ICAO-ANNEX3-UUEE"][0]).elements
    assert elements is not None

    assert [
        (s.runway, s.deposit, s.extent_percent, s.depth_mm, s.friction_coefficient)
        for s in elements.runway_state
    ] == [("06L", "wet snow", 100.0, 2.0, 0.3), ("06R", "wet snow", 100.0, 2.0, 0.3)]


# --- forecasts ---

FORECASTS = {
    "FAA-AIM-7-1-28-KPIT": (
        "TAF KPIT 091730Z 0918/1024 15005KT 5SM HZ FEW020 WS010/31022KT"
        " FM091930 30015G25KT 3SM SHRA OVC015 TEMPO 0920/0922 1/2SM +TSRA OVC008CB"
        " FM100100 27008KT 5SM SHRA BKN020 OVC040 PROB30 1004/1007 1SM -RA BR"
        " FM101015 18005KT 6SM -SHRA OVC020 BECMG 1013/1015 P6SM NSW SKC",
        [
            ("BASE", None, "091800", "091930", {"speed": 5, "visibility": _sm(5)}),
            ("FM", None, "091930", "100100", {"gust": 25, "ceiling": 1500}),
            ("TEMPO", None, "092000", "092200", {"visibility": _sm(0.5), "ceiling": 800}),
            ("FM", None, "100100", "101015", {"from": 270, "ceiling": 2000}),
            ("PROB", 30, "100400", "100700", {"visibility": _sm(1), "weather": ["-RA", "BR"]}),
            ("FM", None, "101015", "110000", {"from": 180, "ceiling": 2000}),
            (
                "BECMG",
                None,
                "101300",
                "101500",
                {"visibility": _sm(6), "bound": ">", "weather": [], "ceiling": "none"},
            ),
        ],
    ),
    "FAA-AIM-7-1-29-KORD": (
        "TAF KORD 051130Z 0512/0618 14008KT 5SM BR BKN030 TEMPO 0513/0516 1 1/2SM BR"
        " FM051600 16010KT P6SM SKC FM052300 20013G20KT 4SM SHRA OVC020"
        " PROB40 0600/0606 2SM TSRA OVC008CB BECMG 0606/0608 21015KT P6SM NSW SCT040",
        [
            ("BASE", None, "051200", "051600", {"visibility": _sm(5), "ceiling": 3000}),
            ("TEMPO", None, "051300", "051600", {"visibility": _sm(1.5), "ceiling": None}),
            ("FM", None, "051600", "052300", {"bound": ">", "ceiling": "none"}),
            ("FM", None, "052300", "061800", {"gust": 20, "ceiling": 2000}),
            ("PROB", 40, "060000", "060600", {"ceiling": 800, "cb": ["OVC008CB"]}),
            ("BECMG", None, "060600", "060800", {"weather": [], "ceiling": "none"}),
        ],
    ),
    "ICAO-ANNEX3-YUDO": (
        "TAF YUDO 151800Z 1600/1618 13005MPS 9000 BKN020 BECMG 1606/1608 SCT015CB BKN020"
        " TEMPO 1608/1612 17006G12MPS 1000 TSRA SCT010CB BKN020 FM161230 15004MPS 9999 BKN020",
        [
            ("BASE", None, "160000", "161230", {"visibility": 9000, "ceiling": 2000}),
            ("BECMG", None, "160600", "160800", {"ceiling": 2000, "cb": ["SCT015CB"]}),
            (
                "TEMPO",
                None,
                "160800",
                "161200",
                {"gust": units.mps_to_kt(12.0), "visibility": 1000, "ceiling": 2000},
            ),
            ("FM", None, "161230", "161800", {"visibility": 10_000, "bound": ">="}),
        ],
    ),
}


def _period_facts(period: Period, wanted: Expected) -> Expected:
    found = _element_facts(period.elements)
    return {key: found[key] for key in wanted}


@pytest.mark.parametrize(("raw", "expected"), FORECASTS.values(), ids=FORECASTS.keys())
def test_published_forecast_decodes_to_the_printed_periods(
    raw: str, expected: list[tuple[str, int | None, str, str, Expected]]
) -> None:
    report = read(raw)

    found = [
        (
            period.kind.value,
            period.probability,
            period.start_at and period.start_at.strftime("%d%H%M"),
            period.end_at and period.end_at.strftime("%d%H%M"),
            _period_facts(period, wanted[-1]),
        )
        for period, wanted in zip(report.periods, expected, strict=True)
    ]
    assert found == expected
    assert report.unread == ()


def test_forecast_wind_shear_of_the_published_example_has_height_and_wind() -> None:
    (shear,) = read(FORECASTS["FAA-AIM-7-1-28-KPIT"][0]).periods[0].elements.wind_shear

    assert (shear.height_ft, shear.from_true_deg, shear.speed_kt) == (1000.0, 310.0, 22.0)


def test_scattered_cloud_makes_no_ceiling_in_the_published_example() -> None:
    last = read(FORECASTS["FAA-AIM-7-1-29-KORD"][0]).periods[-1].elements

    assert last.ceiling is not None
    assert last.ceiling.state is CeilingState.NONE
