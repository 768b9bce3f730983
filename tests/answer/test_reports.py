"""The JSON shape of a decoded report."""

from __future__ import annotations

import json
from dataclasses import fields
from typing import Any

import msgspec

from decision.answer.reports import decoded
from decision.weather.report import Elements, Report
from tests.weather.builders import read

METAR = (
    "METAR XABC 251150Z AUTO 24005G15KT 200V280 3000 1200NE R12/P1500U -RA BKN005CB 10/05 Q1013"
    " RETSRA WS R12 R12/290050 TEMPO 0500 RMK TSNO PK WND 28045/1133 SCT008 V BKN"
)
TAF = "TAF XABC 251100Z 2512/2618 24005KT CAVOK TX30/2514Z PROB30 TEMPO 2514/2516 0500 FG VV///"

REPORT_KEYS = {"raw", "kind", "station", "issued_at", "auto", "corrected", "amended", "nil"} | {
    "cancelled",
    "valid",
    "unread",
    "problems",
}
OF_OBSERVATIONS = {"elements", "trend", "nosig"}
OF_FORECASTS = {"periods", "extremes", "amendments_not_scheduled"}
ELEMENT_KEYS = {"wind", "visibility", "ceiling", "clouds", "rvr", "weather", "recent"} | {
    "temperature_degc",
    "dewpoint_degc",
    "temperature_raw",
    "qnh_hpa",
    "qnh_unit_reported",
    "qnh_raw",
    "cavok",
    "runway_state",
    "wind_shear",
    "remarks",
    "set_aside",
    "unknown",
}


def report_to_mapping(report: Report) -> Any:
    return json.loads(msgspec.json.encode(decoded(report)))


def test_an_observation_has_the_fields_of_the_contract() -> None:
    mapping = report_to_mapping(read(METAR))

    assert set(mapping) == REPORT_KEYS | OF_OBSERVATIONS | OF_FORECASTS
    assert {name for name in OF_FORECASTS if mapping[name] is not None} == set()
    assert set(mapping["elements"]) == ELEMENT_KEYS
    assert mapping["elements"]["wind"] == {
        "from_true_deg": 240.0,
        "variable": False,
        "speed_kt": 5.0,
        "speed_bound": "=",
        "gust_kt": 15.0,
        "gust_bound": "=",
        "variation": [200.0, 280.0],
        "unit_reported": "KT",
        "raw": "24005G15KT 200V280",
    }
    assert mapping["elements"]["visibility"] == {
        "metres": 3000.0,
        "bound": "=",
        "minimum_metres": 1200.0,
        "minimum_direction": "NE",
        "no_directional_variation": False,
        "unit_reported": "m",
        "raw": "3000 1200NE",
    }
    assert mapping["elements"]["ceiling"] == {"state": "value", "feet": 500.0, "raw": "BKN005CB"}
    assert mapping["elements"]["clouds"] == [
        {
            "amount": "BKN",
            "base_ft": 500.0,
            "convective": "CB",
            "type_unknown": False,
            "raw": "BKN005CB",
        }
    ]
    assert mapping["elements"]["rvr"] == [
        {
            "runway": "12",
            "low_m": 1500.0,
            "low_bound": ">",
            "high_m": None,
            "high_bound": None,
            "tendency": "U",
            "unit_reported": "m",
            "raw": "R12/P1500U",
        }
    ]


def test_a_forecast_has_the_fields_of_the_contract() -> None:
    mapping = report_to_mapping(read(TAF))

    assert set(mapping) == REPORT_KEYS | OF_OBSERVATIONS | OF_FORECASTS
    assert {name for name in OF_OBSERVATIONS if mapping[name] is not None} == set()
    assert mapping["valid"] == {"start": "2026-11-25T12:00:00Z", "end": "2026-11-26T18:00:00Z"}
    base, change = mapping["periods"]
    assert set(base) == ELEMENT_KEYS | {"kind", "probability", "start", "end", "unread", "raw"}
    assert (change["kind"], change["probability"]) == ("PROB TEMPO", 30)
    assert (change["start"], change["end"]) == ("2026-11-25T14:00:00Z", "2026-11-25T16:00:00Z")
    assert change["ceiling"] == {"state": "unknown", "feet": None, "raw": "VV///"}
    assert change["unknown"] == ["cloud"]
    assert change["wind"] is None
    assert mapping["extremes"][0]["at"] == "2026-11-25T14:00:00Z"


def test_no_element_is_left_out_of_the_mapping() -> None:
    named = {field.name for field in fields(Elements)} - {"temperature", "pressure"}

    assert named <= set(report_to_mapping(read(METAR))["elements"])


def test_every_element_of_a_mapping_quotes_its_groups() -> None:
    elements = report_to_mapping(read(METAR))["elements"]

    for name in ("wind", "visibility", "ceiling"):
        assert elements[name]["raw"]
    for name in ("clouds", "rvr", "weather", "recent", "runway_state", "wind_shear", "remarks"):
        assert all(part["raw"] for part in elements[name]), name
        assert elements[name], name
