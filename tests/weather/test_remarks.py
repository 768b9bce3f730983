"""Remarks that can matter to a decision."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from decision import units
from decision.weather.report import RemarkKind
from tests.weather.builders import observed

BODY = "24005KT 9999 NSC 10/05 Q1013 RMK"


def _sm(miles: float) -> float:
    return units.statute_miles_to_m(miles)


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        pytest.param(
            "CIG 005V010",
            RemarkKind.VARIABLE_CEILING,
            {"low_ft": 500.0, "high_ft": 1000.0},
            id="FAA-AIM-7-1-29-cig",
        ),
        pytest.param("CIG 008 RWY27C", RemarkKind.CEILING_AT, {"low_ft": 800.0, "where": "RWY27C"}),
        pytest.param("CIG 006V008 NW", RemarkKind.VARIABLE_CEILING, {"where": "NW"}),
        pytest.param(
            "SCT008 V BKN",
            RemarkKind.VARIABLE_SKY,
            {"low_ft": 800.0, "high_ft": 800.0, "amounts": ("SCT", "BKN")},
        ),
        pytest.param("BKN V OVC", RemarkKind.VARIABLE_SKY, {"low_ft": None}),
        pytest.param("TWR VIS 1 1/2", RemarkKind.TOWER_VISIBILITY, {"low_m": _sm(1.5)}),
        pytest.param("SFC VIS 2", RemarkKind.SURFACE_VISIBILITY, {"low_m": _sm(2)}),
        pytest.param(
            "VIS 1V2", RemarkKind.VARIABLE_VISIBILITY, {"low_m": _sm(1), "high_m": _sm(2)}
        ),
        pytest.param(
            "VIS 3/4V1 1/2",
            RemarkKind.VARIABLE_VISIBILITY,
            {"low_m": _sm(0.75), "high_m": _sm(1.5)},
        ),
        pytest.param("VIS NE 2 1/2", RemarkKind.SECTOR_VISIBILITY, {"where": "NE"}),
        pytest.param("VIS NW M1/4", RemarkKind.SECTOR_VISIBILITY, {"low_m": _sm(0.25)}),
        pytest.param("TSNO", RemarkKind.SENSOR_STATUS, {"where": "TSNO"}),
        pytest.param("RVRNO", RemarkKind.SENSOR_STATUS, {"where": "RVRNO"}),
        pytest.param("FZRANO", RemarkKind.SENSOR_STATUS, {"where": "FZRANO"}),
        pytest.param("PWINO", RemarkKind.SENSOR_STATUS, {"where": "PWINO"}),
        pytest.param(
            "PK WND 28045/1133",
            RemarkKind.PEAK_WIND,
            {
                "from_true_deg": 280.0,
                "speed_kt": 45.0,
                "at": datetime(2026, 11, 25, 11, 33, tzinfo=UTC),
            },
            id="FAA-AIM-7-1-29-peak",
        ),
        pytest.param(
            "PK WND 28045/33",
            RemarkKind.PEAK_WIND,
            {"at": datetime(2026, 11, 25, 11, 33, tzinfo=UTC)},
        ),
        pytest.param(
            "PK WND 28045/55",
            RemarkKind.PEAK_WIND,
            {"at": datetime(2026, 11, 25, 10, 55, tzinfo=UTC)},
        ),
        pytest.param(
            "PK WND 28045/2355",
            RemarkKind.PEAK_WIND,
            {"at": datetime(2026, 11, 24, 23, 55, tzinfo=UTC)},
        ),
        pytest.param("PK WND 28045/99", RemarkKind.PEAK_WIND, {"at": None}),
        pytest.param(
            "WSHFT 30 FROPA",
            RemarkKind.WIND_SHIFT,
            {"at": datetime(2026, 11, 25, 11, 30, tzinfo=UTC)},
        ),
        pytest.param(
            "T01820159",
            RemarkKind.PRECISE_TEMPERATURE,
            {"temperature_degc": 18.2, "dewpoint_degc": 15.9},
            id="FAA-AIM-7-1-28-KPIT",
        ),
        pytest.param(
            "T1010",
            RemarkKind.PRECISE_TEMPERATURE,
            {"temperature_degc": -1.0, "dewpoint_degc": None},
        ),
        pytest.param("FRQ LTGICCG NE", RemarkKind.LIGHTNING, {"raw": "FRQ LTGICCG NE"}),
        pytest.param("LTG DSNT SE", RemarkKind.LIGHTNING, {"raw": "LTG DSNT SE"}),
        pytest.param("TSB09E56", RemarkKind.THUNDERSTORM, {"raw": "TSB09E56"}),
        pytest.param("TS OHD MOV NE", RemarkKind.THUNDERSTORM, {"raw": "TS OHD MOV NE"}),
        pytest.param("$", RemarkKind.MAINTENANCE, {"raw": "$"}),
    ],
)
def test_a_remark_is_read_with_its_figures(
    text: str, kind: RemarkKind, expected: dict[str, Any]
) -> None:
    (remark,) = observed(f"{BODY} {text}").remarks

    assert remark.kind is kind
    assert {name: getattr(remark, name) for name in expected} == expected
    assert remark.raw == text


@pytest.mark.parametrize(
    "text", ["VIS 1/0", "CIG", "PK", "TWR", "SCT008", "CONTRAILS", "AO2 SLP045", "T0"]
)
def test_what_is_no_known_remark_stays_text(text: str) -> None:
    assert observed(f"{BODY} {text}").remarks == ()


def test_several_remarks_keep_their_order() -> None:
    remarks = observed(f"{BODY} AO2 TWR VIS 2 CIG 005V010 SLP045 T01820159 TSNO $").remarks

    assert [remark.kind for remark in remarks] == [
        RemarkKind.TOWER_VISIBILITY,
        RemarkKind.VARIABLE_CEILING,
        RemarkKind.PRECISE_TEMPERATURE,
        RemarkKind.SENSOR_STATUS,
        RemarkKind.MAINTENANCE,
    ]


def test_a_remark_is_never_an_element() -> None:
    assert observed("24005KT 9999 NSC 10/05 Q1013 RMK 0200 BKN001 TSRA").unknown == frozenset()
    assert observed("24005KT 9999 NSC 10/05 Q1013 RMK 0200 BKN001 TSRA").weather == ()


def test_the_maintenance_sign_counts_without_the_word_for_remarks() -> None:
    (remark,) = observed("24005KT 9999 NSC 10/05 Q1013 $").remarks

    assert remark.kind is RemarkKind.MAINTENANCE
