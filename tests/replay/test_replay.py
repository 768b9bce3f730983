"""A season replayed: the archive, the flights made of it, what the rows come to, the page."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from decision.case import case_from_mapping, installed_library
from decision.decide.decision import Verdict
from decision.recommend import row_of
from decision.sweep import Shift, SweepRow, SweepScope, rows_of_flight
from decision.weather import decode
from service.documents import FIGURES, FOLDER
from service.replay.__main__ import FAILURES, FUELS_KG, PAGE, asked_of_each, main
from service.replay.archive import Archive, Archived, read_archive
from service.replay.invented import STATES, invented_season
from service.replay.network import cases_of, planned_kg, read_network
from service.replay.tally import NOTHING, enough_kg, tallied
from tests.counts import long_tier

LIBRARY = installed_library()
NETWORK = read_network()
BEGIN = datetime(2025, 12, 1, tzinfo=UTC)
Case = dict[str, Any]


def season(days: int = 2, seed: int = 7) -> list[Archived]:
    return list(invented_season(NETWORK.places, begin=BEGIN, days=days, seed=seed))


# --- weather ---


def test_every_invented_report_is_read_whole() -> None:
    reports = season(days=30)
    assert len(reports) > 1000
    seen = {state.name: 0 for state in STATES}
    for each in reports:
        read = decode(each.report, received_at=each.at + timedelta(minutes=1))
        assert not read.unread, each.report
        for state in STATES:
            seen[state.name] += f" {state.clouds} " in f"{each.report} "
    assert all(seen.values()), seen


def test_the_same_seed_is_the_same_season_and_another_is_another() -> None:
    assert season() == season()
    assert season(seed=8) != season()


def test_an_archive_is_a_moment_and_a_report_a_line(tmp_path: Path) -> None:
    reports = season(days=1)
    file = tmp_path / "archive.txt"
    lines = [f"{each.at.isoformat()} {each.report}\n" for each in reversed(reports)]
    file.write_text("# a comment\n" + "".join(lines))
    assert sorted(read_archive(file), key=str) == sorted(reports, key=str)


@pytest.mark.parametrize("line", ["yesterday METAR XKAL", "2025-12-01T00:00:00 METAR XKAL"])
def test_a_line_that_is_none_is_named(tmp_path: Path, line: str) -> None:
    file = tmp_path / "archive.txt"
    file.write_text(f"# first\n{line}\n")
    with pytest.raises(ValueError, match="line 2"):
        read_archive(file)


def test_at_hand_are_the_last_observations_and_forecast_that_were_to_be_had() -> None:
    archive = Archive(season())
    at = BEGIN + timedelta(hours=13, minutes=20)
    observed, again, forecast = archive.at_hand(["XKAL"], at)
    assert observed.startswith("METAR XKAL 011200Z")
    assert again.startswith("METAR XKAL 011300Z")
    assert forecast.startswith("TAF XKAL 011200Z")
    assert archive.at_hand(["XKAL"], BEGIN - timedelta(minutes=1)) == []
    assert archive.at_hand(["XOOO"], at) == []


def test_a_forecast_is_at_hand_however_many_observations_came_since() -> None:
    often = [
        Archived(at=BEGIN + timedelta(minutes=minute), report=f"METAR XKAL 01{minute // 60:02}00Z")
        for minute in range(300)
    ]
    forecast = Archived(at=BEGIN, report="TAF XKAL 010000Z")
    at = BEGIN + timedelta(hours=5)
    assert Archive([forecast, *often]).at_hand(["XKAL"], at)[-1] == forecast.report


# --- flights ---


@pytest.fixture(scope="module")
def cases() -> list[Case]:
    archive = Archive(season())
    return list(cases_of(NETWORK, archive, begin=BEGIN, days=2, library=LIBRARY))


def test_each_flight_of_each_day_is_a_case_with_its_reports(cases: list[Case]) -> None:
    assert len(cases) == 2 * len(NETWORK.flights)
    for body in cases:
        case = case_from_mapping(body, library=LIBRARY)
        assert case.aircraft.mass_kg == NETWORK.zero_fuel_kg + case.fuel.on_board_kg
        assert {report.split()[1] for report in body["weather"]["reports"]} == {
            body["destination"]["icao"],
            *(each["icao"] for each in body["alternates"]),
        }


def test_in_fair_weather_a_flight_has_its_reserve_after_a_miss() -> None:
    planned = NETWORK.flights[0]
    fuel_kg = planned_kg(NETWORK, planned, library=LIBRARY)
    clear = [
        Archived(at=BEGIN + timedelta(hours=hour), report=text)
        for hour in range(0, 24, 6)
        for place in NETWORK.places
        for text in (
            f"METAR {place} 01{hour:02}00Z 26008KT 9999 FEW030 12/06 Q1013",
            f"TAF {place} 01{hour:02}00Z 01{hour:02}/0218 26008KT 9999 FEW030",
        )
    ]
    [body, *_] = cases_of(NETWORK, Archive(clear), begin=BEGIN, days=1, library=LIBRARY)
    assert body["fuel"]["on_board_kg"] == fuel_kg
    row = row_of(case_from_mapping(body, library=LIBRARY))
    best_kg = max(
        each.margin_kg or 0.0
        for each in row.margins
        if each.course.startswith("approach_then_divert:")
    )
    assert best_kg == pytest.approx(NETWORK.reserve_kg, abs=15)  # fuel is to 10 kg


# --- rows ---


@pytest.fixture(scope="module")
def rows(cases: list[Case]) -> list[SweepRow]:
    some = SweepScope(
        as_it_is=True,
        failures=FAILURES[2:4],
        shifts=(Shift(fuel_kg=600.0),),
    )
    return [
        row
        for number, body in enumerate(cases[:4])
        for row in rows_of_flight(number, body, some, library=LIBRARY)
    ]


def test_shares_count_each_row_once_by_failure_and_fuel(
    rows: list[SweepRow], cases: list[Case]
) -> None:
    destinations = [case["destination"]["icao"] for case in cases[:4]]
    told = tallied(rows, destinations)
    assert told.failures[0] == NOTHING
    assert {*told.failures} == {NOTHING, "gear-retraction", "flaps-jammed"}
    assert told.fuels_kg == [0.0, 600.0]
    for name in told.failures:
        for fuel_kg in told.fuels_kg:
            share = told.by_failure[name, fuel_kg]
            mine = [
                row.row
                for row in rows
                if (row.named or NOTHING) == name
                and (0.0 if row.shift is None else row.shift.fuel_kg) == fuel_kg
                and row.row is not None
            ]
            assert share.flights == len(mine) == 4
            assert share.no_way_out == sum(each.ways_out == 0 for each in mine)
            assert share.verdicts[Verdict.NO_GO] == sum(
                each.verdict is Verdict.NO_GO for each in mine
            )
    by_place = sum(told.by_place[NOTHING, each].flights for each in {*destinations})
    assert by_place == 4


def test_enough_is_the_least_fuel_with_which_the_share_of_what_weather_allows_is_reached(
    rows: list[SweepRow], cases: list[Case]
) -> None:
    told = tallied(rows, [case["destination"]["icao"] for case in cases[:4]])
    most = told.by_failure[NOTHING, told.fuels_kg[-1]].with_way_out
    assert most > 0
    assert enough_kg(told, NOTHING, share=1.0) is not None
    for name in told.failures:
        counts = [(kg, told.by_failure[name, kg].with_way_out) for kg in told.fuels_kg]
        reached = [kg for kg, count in counts if count >= 0.95 * most]
        assert enough_kg(told, name, share=0.95) == (reached[0] if reached else None)


# --- the page ---


def test_a_replay_is_the_same_page_again_and_resumes(tmp_path: Path) -> None:
    words = ["--days", "1", "--processes", "1", "--seed", "3"]
    assert main([str(tmp_path / "sweep"), *words, "--pages", str(tmp_path / "one")]) == 0
    parts = {each: each.stat().st_mtime_ns for each in (tmp_path / "sweep/parts").iterdir()}
    assert main([str(tmp_path / "sweep"), *words, "--pages", str(tmp_path / "two")]) == 0
    assert {each: each.stat().st_mtime_ns for each in parts} == parts
    one, two = (tmp_path / each for each in ("one", "two"))
    assert (one / PAGE).read_text() == (two / PAGE).read_text()
    figures = sorted(each.name for each in (one / "figures").iterdir())
    assert figures == [
        "replay-go.svg",
        "replay-way-out.svg",
    ]
    rows_of_all = [
        json.loads(line) for line in (tmp_path / "sweep/rows.ndjson").read_text().splitlines()
    ]
    count = len(NETWORK.flights) * (1 + len(FAILURES)) * (1 + len(FUELS_KG))
    assert len(rows_of_all) == count
    assert len(asked_of_each().failures) == len(FAILURES)


def test_the_committed_page_says_that_its_data_are_invented_and_shows_its_figures() -> None:
    page = (FOLDER / PAGE).read_text(encoding="utf-8")
    assert "invented, drawn from seed" in page
    assert "Network: invented" in page
    assert "Advice only" in page
    for name in ("replay-go.svg", "replay-way-out.svg"):
        assert f"figures/{name}" in page
        assert (FIGURES / name).exists()


@long_tier
def test_the_committed_page_is_what_the_replay_makes(tmp_path: Path) -> None:
    assert main([str(tmp_path / "sweep"), "--pages", str(tmp_path)]) == 0
    assert (tmp_path / PAGE).read_text() == (FOLDER / PAGE).read_text()
