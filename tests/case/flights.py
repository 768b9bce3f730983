"""Flights that are larger than a demo: five alternates, every failure, all that a case may have.

Bodies as a caller sends them, fresh for each caller to change.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from typing import Any, Final

from decision.case import Library, case_from_mapping, installed_library
from decision.case.library import AERODROMES
from decision.errors import InvalidCase
from decision.profile import load_profile
from tests.case.builders import demo

LIKE: Final = "XTOR"  # the alternate of the demo flight that the others are like
EVERYTHING: Final = ("flip_points", "uncertainty", "steps", "findings", "ahead")
NOT_SENT: Final = frozenset({"source", "version"})  # members of an aerodrome's file alone


def described(icao: str) -> dict[str, Any]:
    """A demo aerodrome as a case would tell it itself."""
    text = (AERODROMES / f"{icao}.toml").read_text(encoding="utf-8")
    return {name: value for name, value in tomllib.loads(text).items() if name not in NOT_SENT}


def five_alternates() -> dict[str, Any]:
    """The demo flight with five alternates, each with its reports, and nothing extra asked."""
    body = demo("gear-stuck")
    for number in range(3):
        icao = f"XZ{number:02d}"
        tracks = {"track_nm": 100 + 5 * number, "track_from_present_nm": 110 + 5 * number}
        body["alternates"].append(
            {**described(LIKE), "minimum_level_ft": 3000, **tracks, "icao": icao}
        )
    body["weather"]["reports"] += [
        report.replace(LIKE, alternate["icao"])
        for report in body["weather"]["reports"]
        for alternate in body["alternates"][2:]
        if LIKE in report
    ]
    body["include"] = []
    return body


FIVE: Final = five_alternates()


def each_failure(body: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """The flight with each failure of its aircraft alone, as it may be reported in this state.

    Those that the state contradicts are left out: gear that is still up cannot be stuck down.
    """
    profile = load_profile(body["aircraft"]["profile"])
    library: Library = installed_library()
    for entry in profile.systems.catalogue.values():
        report: dict[str, Any] = {"id": entry.id}
        if entry.needs_detent:
            report["detent"] = profile.detents[0].id
        if entry.needs_position:
            report["position"] = "in"
        changed = {**body, "failures": [report]}
        try:
            case_from_mapping(changed, library=library)
        except InvalidCase:
            continue
        yield changed


def place(icao: str, approaches: int) -> dict[str, Any]:
    """The demo's destination by another name, its approaches over and over."""
    usual = described("XKAL")
    usual["approaches"] = [
        each | {"id": f"{each['id']} {i}"}
        for i in range(approaches)
        for each in (usual["approaches"][i % len(usual["approaches"])],)
    ]
    return usual | {"icao": icao}


def reports(places: list[str], number: int) -> list[str]:
    """Observations and forecasts of all the places in turn, each of another minute."""
    told = []
    for i in range(number):
        icao, turn = places[i % len(places)], i // len(places)
        if turn % 2:
            told.append(
                f"TAF {icao} 140500Z 1406/1506 26012KT 9999 BKN0{14 + turn % 20} "
                "TEMPO 1407/1410 3000 RA BKN008 PROB30 1408/1411 1200 FG FM141600 27010KT 8000"
            )
        else:
            told.append(f"METAR {icao} 1405{turn % 60:02d}Z 26011KT 9999 BKN014 08/07 Q1013")
    return told


def large(
    *, alternates: int, approaches: int, number: int, winds: int = 40, **asked: Any
) -> dict[str, Any]:
    """The demo with many alternates, each with many approaches and reports, and winds aloft."""
    names = [f"X{chr(65 + i // 26)}{chr(65 + i % 26)}Z" for i in range(alternates)]
    body = demo("gear-stuck") | {
        "destination": place("XKAL", approaches) | {"track_nm": 42},
        "alternates": [
            place(name, approaches) | {"track_nm": 90 + 3 * i, "track_from_present_nm": 110 + 3 * i}
            for i, name in enumerate(names)
        ],
        "weather": {"reports": reports(["XKAL", *names], number)},
        "winds_aloft": [
            {"pressure_altitude_ft": 1000 * i, "from_true_deg": 20 * i % 360, "speed_kt": 5 + i}
            for i in range(winds)
        ],
    }
    return {key: value for key, value in body.items() if key != "plan"} | asked
