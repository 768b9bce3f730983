"""A day of reports, fetched from a source on loopback as they are issued, and heard by a watch.

What a watch stands at is compared with what the same case gets that is decided from scratch.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from decision.windows import instant_text
from service.fetching.fetcher import opened_fetcher
from service.fetching.template import Template
from service.watching.fetches import Fetches
from tests.case.builders import demo
from tests.counts import PROPERTY_CASES, QUICK
from tests.watch.source import Day, Played, hours, played, source_of
from tests.watch.world import START, World, opened
from tests.weather.builders import corpus

STATE = ("aircraft", "fuel")
ARCHIVED = ("ESSA 30", "KSEA 27")  # a station and a day of which the archive has most reports

# Fog that comes, thickens, lifts and comes back: visibility in metres and the rest of the report.
WEATHER = (
    ("9999", "FEW040 08/02"),
    ("6000", "SCT020 08/05"),
    ("2500", "BR BKN008 08/06"),
    ("0800", "FG OVC003 08/07"),
    ("0300", "FG VV001 08/08"),
    ("0150", "FG VV/// 08/08"),
    ("1200", "BR BKN004 08/08"),
    ("5000", "BKN012 09/07"),
    ("9999", "SCT030 10/05"),
    ("9999", "FEW040 11/04"),
)


def drawn_day(start: datetime, count: int) -> list[Played]:
    """Half-hourly reports of the destination, drawn up for this test."""
    made = []
    for number, at in enumerate(hours(start, count)):
        visibility, rest = WEATHER[number % len(WEATHER)]
        text = f"METAR XKAL {at:%d%H%M}Z 26004KT {visibility} {rest} Q1013"
        made.append(Played(at=at, station="XKAL", text=text))
    return made


def with_good_alternates(reports: Sequence[Played]) -> list[Played]:
    """The same, with a good report of each alternate a minute before each of them."""
    good = [
        Played(
            at=each.at - timedelta(minutes=1),
            station=station,
            text=f"METAR {station} {each.at - timedelta(minutes=1):%d%H%M}Z"
            " 26008KT 9999 FEW040 08/02 Q1013",
        )
        for each in reports
        for station in ("XBRE", "XTOR")
    ]
    return sorted([*reports, *good], key=lambda each: each.at)


def archived_day(station: str, day: str) -> list[Played]:
    """An archived day as one of the destination. Skips without the archive."""
    texts = [
        line
        for line in corpus("metar.txt")
        if f"{station} {day}" in line and not line.startswith("TAF")
    ]
    return played(texts, station="XKAL", day=START)


def state() -> dict[str, Any]:
    """The state of the demo case given anew: its flight has not come any further."""
    case = demo("clean")
    return {
        **{name: case[name] for name in STATE},
        "destination": {"track_nm": case["destination"]["track_nm"]},
    }


def play(world: World, reports: Sequence[Played]) -> list[str]:
    """Play a day over a watch; the verdicts that it stood at, report by report."""
    day = Day(reports=with_good_alternates(reports), clock=world.clock)
    with source_of(day) as address:
        fetcher = opened_fetcher(Template(address), hosts=(), deadline_s=5, clock=world.clock)
        fetches = Fetches(world.store, fetcher, came=lambda _: None, clock=world.clock)
        stood = [_step(world, fetches, each) for each in reports]
        fetcher.close()
    assert len(day.asked) >= len(reports)
    return stood


def _step(world: World, fetches: Fetches, report: Played) -> str:
    """One report is issued, fetched and heard."""
    world.clock.at = report.at + timedelta(minutes=6)  # when it can be expected to have come
    (watch,) = world.client.get("/v1/watches").get_json()["watches"]
    given = {"patch": state()}
    answer = world.client.post(f"/v1/watches/{watch['id']}/state", json=given)
    assert answer.status_code == 202, answer.text
    assert fetches.round() == 3, report.text  # of the alternates, too
    world.look()
    standing = world.watch(watch["id"])["standing"]
    assert standing["as_of"] == instant_text(world.clock())
    assert standing["verdict"] == _from_scratch(world, standing["decision"])
    return str(standing["verdict"])


def _from_scratch(world: World, decision: str) -> str:
    """The verdict on the same case, decided by itself."""
    case = world.client.get(f"/v1/decisions/{decision}/request").get_json()
    answer = world.client.post("/v1/decisions?record=false", json=case)
    assert answer.status_code == 200, answer.text
    return str(answer.get_json()["verdict"])


@pytest.fixture
def watching(tmp_path: Path) -> Any:
    """A watch of a day, begun before its first report."""
    with opened(f"sqlite:///{tmp_path / 'decisions.sqlite3'}") as world:
        world.watched(hours=24)
        yield world


def test_a_day_of_reports_is_heard_as_it_comes(watching: World) -> None:
    count = 48 if PROPERTY_CASES > QUICK else 10
    stood = play(watching, drawn_day(START + timedelta(minutes=10), count))
    events = watching.events()
    verdicts = [each["standing"]["verdict"] for each in events if "verdict" in each["what"]]
    changes = [now for was, now in zip(["GO", *stood], stood, strict=False) if was != now]
    assert verdicts == changes
    assert {"GO", "NO_GO"} <= {*stood}
    assert all(each["worse"] == (each["standing"]["verdict"] != "GO") for each in events[:1])


@pytest.mark.parametrize("archived", ARCHIVED)
def test_an_archived_day_is_heard_as_it_comes(watching: World, archived: str) -> None:
    station, day = archived.split()
    reports = [each for each in archived_day(station, day) if each.at > START]
    assert len(reports) > 10
    stood = play(watching, reports if PROPERTY_CASES > QUICK else reports[:8])
    told = [each["standing"]["verdict"] for each in watching.events() if "verdict" in each["what"]]
    assert told == [now for was, now in zip(["GO", *stood], stood, strict=False) if was != now]
