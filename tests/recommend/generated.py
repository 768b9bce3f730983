"""Cases drawn by chance around the demo cases: fuel, mass, miles, winds, failures and weather.

A drawn body may contradict itself (a failure against the state of the aircraft); `decided` gives
None for it, and `answered` turns it down so that another one is drawn.
"""

from __future__ import annotations

from typing import Any

from hypothesis import reject
from hypothesis import strategies as st

from decision.case import case_from_mapping
from decision.errors import InvalidCase
from decision.profile import load_profile
from tests.answer.told import told_of
from tests.case.builders import NAMES, REMOVED, demo, with_changes

PROFILE = load_profile("xtj150")
FAILURE_IDS = sorted(entry.id for entry in PROFILE.systems.catalogue.values())
NEEDS = {"flaps-jammed": {"detent": "0"}, "slats-jammed": {"position": "in"}}
RULEBOOKS = st.sampled_from(["icao", "easa", "faa-121"])

# Good weather stands more than once, so that the ways out are not all closed in most of the cases.
GOOD = ("26011KT 9999 SCT030", "27009KT 9999 BKN020", "25012KT 7000 BKN015", "26010KT CAVOK")
STEADY = (
    *GOOD,
    *GOOD,
    "26012KT 1800 BR BKN004",
    "26025G38KT 6000 RA BKN012",
    "VRB03KT 0250 FG VV001",
    "09018KT 3000 -SN OVC006",
    "26010KT 9999 FEW040CB SCT050",
    "35030KT CAVOK",
)
OBSERVED = (*STEADY, "26011KT //// BR BKN004", "26011KT 0600 R27R/0800N FG OVC002")
FORECAST = (
    *STEADY,
    "26004KT 0300 FG VV001 FM140630 26010KT 9999 SCT030",
    "26012KT 9999 SCT030 BECMG 1406/1407 0300 FG VV001",
    "26012KT 9999 SCT030 TEMPO 1406/1410 0800 +TSRA BKN004CB",
)


def failure(id_: str) -> dict[str, Any]:
    """A failure as reported, with what its kind needs."""
    return {"id": id_, **NEEDS.get(id_, {})}


def metar(icao: str, groups: str, *, temperatures: str = "08/07") -> str:
    """A routine report of ten minutes before the decision."""
    return f"METAR {icao} 140600Z {groups} {temperatures} Q1013"


def taf(icao: str, groups: str) -> str:
    """A forecast of an hour before the decision."""
    return f"TAF {icao} 140500Z 1406/1506 {groups}"


def places(body: dict[str, Any]) -> list[str]:
    """Destination and alternates."""
    return [body["destination"]["icao"], *(leg["icao"] for leg in body["alternates"])]


@st.composite
def changing_weather(draw: st.DrawFn, body: dict[str, Any]) -> list[str]:
    """A report and a forecast for most places, which need not agree."""
    reports = []
    for icao in places(body):
        if draw(st.integers(0, 7)):
            reports.append(metar(icao, draw(st.sampled_from(OBSERVED))))
        if draw(st.integers(0, 7)):
            reports.append(taf(icao, draw(st.sampled_from(FORECAST))))
    return reports


@st.composite
def steady_weather(draw: st.DrawFn, body: dict[str, Any]) -> list[str]:
    """Weather that is observed and forecast alike, so that no window is better than another."""
    reports = []
    for icao in places(body):
        groups = draw(st.sampled_from(STEADY))  # in the report and, unchanged, in the forecast
        reports += [metar(icao, groups), taf(icao, groups)]
    return reports


@st.composite
def flights(draw: st.DrawFn, *, steady: bool = False, failures: int = 2) -> dict[str, Any]:
    """A complete request; `steady`: weather that stays; `failures`: at most so many."""
    body = demo(draw(st.sampled_from(NAMES)))
    fuel_kg = draw(st.one_of(st.integers(1200, 4000), st.integers(4000, 8000)))
    body["fuel"]["on_board_kg"] = fuel_kg
    body["aircraft"]["mass_kg"] = draw(st.integers(50_000, 60_000)) + fuel_kg
    body["aircraft"]["pressure_altitude_ft"] = draw(st.integers(2000, 16_000))
    body["aircraft"]["gear"] = draw(st.sampled_from(["up", "up", "up", "down"]))
    body["rulebook"] = draw(RULEBOOKS)
    body["destination"]["track_nm"] = draw(st.integers(6, 90))
    for leg in body["alternates"]:
        leg["track_nm"] = draw(st.integers(30, 260))
        leg["track_from_present_nm"] = draw(st.integers(30, 280))
    body["failures"] = [
        failure(id_)
        for id_ in draw(st.lists(st.sampled_from(FAILURE_IDS), max_size=failures, unique=True))
    ]
    wind_share = draw(st.sampled_from([0.0, 0.5, 1.0, 2.0]))
    turned_deg = draw(st.sampled_from([0, 90, 180, 270]))
    for wind in body["winds_aloft"]:
        wind["speed_kt"] = round(wind["speed_kt"] * wind_share)
        wind["from_true_deg"] = (wind["from_true_deg"] + turned_deg) % 360
    weather = steady_weather(body) if steady else changing_weather(body)
    body["weather"]["reports"] = draw(weather)
    planned = "approach" in body.get("plan", {})
    removed = draw(st.booleans()) and planned
    return with_changes(body, {"/plan/approach": REMOVED} if removed else {})


def decided(body: dict[str, Any]) -> dict[str, Any] | None:
    """The answer, or None when the body contradicts itself."""
    try:
        return told_of(case_from_mapping(body))
    except InvalidCase:
        return None


def answered(body: dict[str, Any]) -> dict[str, Any]:
    """The answer; a body that contradicts itself is drawn again."""
    return decided(body) or reject()


def with_flaps_of(body: dict[str, Any], other: dict[str, Any]) -> dict[str, Any]:
    """The request with a landing planned at the flap setting that another answer lands with.

    A jam with the flaps up spares the time with flaps out, above all where a slow drive would bring
    them in after a miss. That is no gain by a failure: such a landing can be planned without it.
    """
    flaps = {attempt["flap"] for course in other["courses"] for attempt in course["attempts"]}
    flaps.discard(None)
    assert len(flaps) <= 1
    return with_changes(body, {"/plan/landing_flap": flaps.pop()} if flaps else {})


def by_label(answer: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """The courses by their label."""
    return {each["course"]: each for each in answer["courses"]}
