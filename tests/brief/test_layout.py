"""Figures are rounded against the aircraft, and cautions stand in the order of their danger."""

from __future__ import annotations

from typing import Any

import pytest

from decision.brief.cautions import CONFIGURATION, DANGER, REPORTS, Place, cautions_told, place_of
from decision.brief.layout import (
    above_reserve,
    clock_down,
    clock_up,
    counted,
    down,
    kg_down,
    kg_up,
    level_text,
    shortened,
    tenth_down,
    tenth_up,
    up,
)


@pytest.mark.parametrize(
    ("instant", "arrival", "deadline"),
    [
        ("2026-03-14T06:41:00Z", "06:41Z", "06:41Z"),
        ("2026-03-14T06:41:01Z", "06:42Z", "06:41Z"),
        ("2026-03-14T06:41:59Z", "06:42Z", "06:41Z"),
        ("2026-03-14T23:59:30Z", "00:00Z", "23:59Z"),
        (None, "-", "-"),
    ],
)
def test_an_arrival_is_rounded_up_to_the_minute_and_a_deadline_down(
    instant: str | None, arrival: str, deadline: str
) -> None:
    assert clock_up(instant) == arrival
    assert clock_down(instant) == deadline


@pytest.mark.parametrize(
    ("kg", "there", "needed"),
    [(1229.9, "1220 kg", "1230 kg"), (1220.0, "1220 kg", "1220 kg"), (None, "-", "-")],
)
def test_fuel_that_is_there_is_rounded_down_and_fuel_that_is_needed_up(
    kg: float | None, there: str, needed: str
) -> None:
    assert kg_down(kg) == there
    assert kg_up(kg) == needed


@pytest.mark.parametrize(
    ("landing_kg", "final_reserve_kg", "words"),
    [
        (2419.0, 1191.2, "1220 kg above final reserve"),
        (1191.2, 1191.2, "0 kg above final reserve"),
        (1191.1, 1191.2, "10 kg under final reserve"),
        (1544.0, 1592.2, "60 kg under final reserve"),
        (-4.0, 1190.0, "1200 kg under final reserve"),
    ],
)
def test_room_is_rounded_down_and_what_is_missing_is_what_the_shown_figures_differ_by(
    landing_kg: float, final_reserve_kg: float, words: str
) -> None:
    margin_kg = landing_kg - final_reserve_kg
    fuel = {
        "landing_kg": landing_kg,
        "final_reserve_kg": final_reserve_kg,
        "margin_kg": margin_kg,
    }
    assert above_reserve(fuel) == words


def test_needs_go_up_and_what_there_is_goes_down_by_steps() -> None:
    assert (up(979.3, "m", 10), down(2459.0, "m", 10)) == ("980 m", "2450 m")
    assert (up(11.01, "kt"), down(8.99, "kt")) == ("12 kt", "8 kt")
    assert (up(None, "m"), down(None, "m")) == ("-", "-")
    assert (tenth_down(2.59), tenth_up(2.51)) == ("2.5", "2.6")


@pytest.mark.parametrize(
    ("level_ft", "words"), [(9000.0, "9000 ft"), (10_000.0, "FL100"), (35_000.0, "FL350")]
)
def test_high_levels_have_names_and_low_ones_are_altitudes(level_ft: float, words: str) -> None:
    assert level_text(level_ft) == words


def test_a_text_that_is_cut_says_so_and_others_are_whole() -> None:
    text = "one two three four five six seven eight nine ten eleven twelve"
    assert shortened(text, width=30, most=1) == ["one two three (more below)"]
    assert " ".join(shortened(text, width=30, most=9)) == text
    assert shortened("", width=30, most=1) == [""]
    assert counted(["a", "b", "c"], 2) == ["a", "b", "and 1 more"]
    assert counted(["a", "b"], 2) == ["a", "b"]


def caution(code: str, weight: str, text: str, *because: str) -> dict[str, Any]:
    return {"code": code, "weight": weight, "text": text, "because": list(because)}


def test_what_can_kill_comes_first_then_configuration_then_reports() -> None:
    answer = {
        "weather": {"XKAL": {}, "XTOR": {}},
        "cautions": [
            caution("REPORTS_DIFFER", "warning", "Reports of XKAL differ."),
            caution("GEAR_STAYS_DOWN", "warning", "Gear stays down.", "gear-retraction"),
            caution("HAZARD_THUNDERSTORM", "caution", "Thunderstorm at XKAL.", "METAR TS"),
            caution("SOMETHING_NEW", "warning", "Something new.", "new"),
            caution("SOMETHING_MILD", "info", "Something mild.", "mild"),
        ],
    }
    told = cautions_told(answer)
    assert [each.marked for each in told] == [
        "WARNING: Something new.",
        "CAUTION: Thunderstorm at XKAL.",
        "WARNING: Gear stays down.",
        "NOTE: Something mild.",
        "WARNING: Reports of XKAL differ.",
    ]


def test_cautions_of_one_cause_are_one_line_with_the_heaviest_mark() -> None:
    answer = {
        "weather": {"XKAL": {}, "XTOR": {}},
        "cautions": [
            caution("IRREVERSIBLE_STEP", "caution", "Cannot be undone.", "gear-retraction"),
            caution("GEAR_STAYS_DOWN", "warning", "Gear stays down.", "gear-retraction"),
            caution("NO_REPORT", "info", "No usable weather report for XTOR."),
            caution("WEATHER_NOT_COMPLETE", "caution", "XTOR: no report is at hand."),
            caution("NO_FORECAST", "warning", "XKAL: no forecast is in force."),
        ],
    }
    assert [each.marked for each in cautions_told(answer)] == [
        "WARNING: Gear stays down. Cannot be undone.",
        "WARNING: XKAL: no forecast is in force.",
        "CAUTION: XTOR: no report is at hand. No usable weather report for XTOR.",
    ]


def test_every_code_has_one_place() -> None:
    assert not DANGER & CONFIGURATION
    assert not DANGER & REPORTS
    assert not REPORTS & CONFIGURATION
    for codes, place in (
        (DANGER, Place.DANGER),
        (CONFIGURATION, Place.CONFIGURATION),
        (REPORTS, Place.REPORTS),
    ):
        assert codes
        for code in codes:
            assert place_of(caution(code, "warning", "-")) is place
