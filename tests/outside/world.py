"""Bodies of invented places, and what is read from an answer: JSON in, JSON out, nothing between.

The builder knows the published request only. Places lie on a plain: a destination and as many
alternates as are named, each with two runway ends and an instrument approach to either.
"""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

from tests.answer.told import told

Body = dict[str, Any]
Answer = dict[str, Any]

BODIES = Path(__file__).parent / "bodies"
AS_OF = "2026-03-14T06:10:00Z"
FAIR = "27010KT 9999 SCT030"
FOG = "00000KT 0300 R09/0300N R27/0300N FG VV001"
LOW = "26008KT 1500 BR OVC004"  # above a category I minimum, below what a commitment asks
AFTER_FOG = "00000KT 0300 FG VV001 FM140640 27008KT 9999 SCT020"
STORM = "27012KT 6000 TSRA SCT020CB"
ORDER = ("GO", "GO_WITH_CAUTION", "INSUFFICIENT_DATA", "NO_GO")  # best first
RULEBOOKS = ("icao", "easa", "faa-121")
LEVELS = ("NONE", "URGENCY", "DISTRESS")


def body_of(name: str) -> Body:
    """One of the stored bodies."""
    loaded: Body = json.loads((BODIES / f"{name}.json").read_text(encoding="utf-8"))
    return loaded


def decide(body: Body) -> Answer:
    """The whole answer; the body is left as it was."""
    return told(copy.deepcopy(body))


def runway(ident: str, *, lda_m: float = 3000, code: int | None = 6, **more: Any) -> Body:
    """One runway end; its bearing is that of its name."""
    row = {
        "ident": ident,
        "true_bearing_deg": int(ident[:2]) * 10,
        "lda_m": lda_m,
        "width_m": 45,
        "slope_percent": 0,
        **more,
    }
    return row if code is None else {**row, "condition_code": code}


def ils(ident: str, *, elevation_ft: float = 200, **more: Any) -> Body:
    """A category I approach to a runway end."""
    return {
        "id": f"ILS {ident}",
        "runway": ident,
        "kind": "3D-B",
        "needs": ["ILS"],
        "dh_ft": 200,
        "rvr_m": 550,
        "lights": "FALS",
        "missed_gradient_percent": 2.5,
        "missed_altitude_ft": elevation_ft + 3800,
        **more,
    }


def place(
    icao: str,
    track_nm: float,
    from_present_nm: float | None = None,
    *,
    elevation_ft: float = 200,
    ends: tuple[str, ...] = ("09", "27"),
    lda_m: float = 3000,
    code: int | None = 6,
    minimum_level_ft: float = 3000,
    at: tuple[float, float] = (47.0, -35.0),
    approach: Body | None = None,
    **more: Any,
) -> Body:
    """An aerodrome with its leg."""
    body = {
        "icao": icao,
        "elevation_ft": elevation_ft,
        "position": {"latitude_deg": at[0], "longitude_deg": at[1]},
        "rescue_category": 9,
        "runways": [runway(end, lda_m=lda_m, code=code) for end in ends],
        "approaches": [ils(end, elevation_ft=elevation_ft, **(approach or {})) for end in ends],
        "separate_runways": True,
        "track_nm": track_nm,
        "minimum_level_ft": minimum_level_ft,
        **more,
    }
    if from_present_nm is not None:
        body["track_from_present_nm"] = from_present_nm
    return body


HOME = place("XDES", 40)
EAST = place("XEAS", 110, 125, elevation_ft=400, at=(45.6, -33.2))
NORD = place("XNOR", 100, 120, elevation_ft=60, at=(48.4, -37.0))

WINDS = [
    {"pressure_altitude_ft": 2000, "from_true_deg": 270, "speed_kt": 12, "temperature_degc": 9},
    {"pressure_altitude_ft": 10000, "from_true_deg": 270, "speed_kt": 25, "temperature_degc": -6},
    {"pressure_altitude_ft": 20000, "from_true_deg": 270, "speed_kt": 40, "temperature_degc": -25},
    {"pressure_altitude_ft": 34000, "from_true_deg": 270, "speed_kt": 60, "temperature_degc": -54},
]
CALM = [
    {"pressure_altitude_ft": 2000, "from_true_deg": 270, "speed_kt": 0, "temperature_degc": 11},
    {"pressure_altitude_ft": 34000, "from_true_deg": 270, "speed_kt": 0, "temperature_degc": -52},
]
SMALL = {"profile": "xtj150", "mass_kg": 60000}
WIDE = {"profile": "xtwide", "mass_kg": 165000}


def weather(*rows: tuple[str, str | None, str | None], ends: str = "12/08 Q1013") -> list[str]:
    """A report of 06:00 and a forecast of 05:00 for each place; None: there is none."""
    reports = []
    for icao, observed, forecast in rows:
        if observed is not None:
            reports.append(f"METAR {icao} 140600Z {observed} {ends}")
        if forecast is not None:
            reports.append(f"TAF {icao} 140500Z 1406/1506 {forecast}")
    return reports


def case(
    *failures: str | Body,
    fuel_kg: float = 6000,
    home: Body = HOME,
    others: tuple[Body, ...] = (EAST, NORD),
    reports: list[str] | None = None,
    here: str | tuple[str | None, str | None] = FAIR,
    there: str = FAIR,
    aircraft: Body | None = None,
    level_ft: float = 9000,
    rulebook: str = "icao",
    winds: list[Body] | None = None,
    **more: Any,
) -> Body:
    """A case: the weather of `here` at the destination and of `there` at every other place."""
    now = here if isinstance(here, tuple) else (here, here)
    rows = [(home["icao"], *now), *((each["icao"], there, there) for each in others)]
    fuel = {"on_board_kg": fuel_kg, **more.pop("fuel", {})}
    state = {**SMALL, "gear": "up", "flap": "0", **(aircraft or {})}
    return {
        "flight_id": "ALDER 21",
        "as_of": AS_OF,
        "rulebook": rulebook,
        "aircraft": {
            "pressure_altitude_ft": level_ft,
            "position": {"latitude_deg": 47.2, "longitude_deg": -35.9},
            "anti_ice": False,
            **state,
        },
        "fuel": fuel,
        "failures": [{"id": each} if isinstance(each, str) else each for each in failures],
        "destination": home,
        "alternates": list(others),
        "winds_aloft": WINDS if winds is None else winds,
        "weather": {"reports": weather(*rows) if reports is None else reports, "fetch": False},
        **more,
    }


def with_(body: Body, **changes: Any) -> Body:
    """A copy with other members; `fuel__on_board_kg=...` reaches one level down."""
    changed = copy.deepcopy(body)
    for name, value in changes.items():
        outer, _, inner = name.partition("__")
        if inner:
            changed.setdefault(outer, {})[inner] = value
        else:
            changed[outer] = value
    return changed


def with_report(body: Body, station: str, kind: str, text: str | None) -> Body:
    """A copy in which one report of a place is another one, or none."""
    changed = copy.deepcopy(body)
    reports = changed["weather"]["reports"]
    kept = [each for each in reports if not each.startswith(f"{kind} {station} ")]
    changed["weather"]["reports"] = kept if text is None else [*kept, text]
    return changed


# ------------------------------------------------------------------------------- what is answered


def did(answer: Answer) -> tuple[str, str, str]:
    """Verdict, what to do, where."""
    return answer["verdict"], answer["action"]["do"], answer["action"]["aerodrome"]


def place_of_landing(answer: Answer) -> str:
    """Where the action goes."""
    icao: str = answer["action"]["aerodrome"]
    return icao


def courses(answer: Answer, kind: str, icao: str | None = None) -> list[Body]:
    """The courses of a kind, best first; from the present position where a diversion is meant."""
    return [
        each
        for each in answer["courses"]
        if each["kind"] == kind
        and icao in (None, each["aerodrome"])
        and (kind != "divert_now" or each["from"] == "present")
    ]


def chosen(answer: Answer) -> Body:
    """The course of the action."""
    name = answer["action"]["course"]
    (found,) = (each for each in answer["courses"] if each["course"] == name)
    return dict(found)


def minutes_to(answer: Answer, icao: str) -> float:
    """Minutes to the earliest touchdown at a place, without holding or a miss before it."""
    kinds = ("divert_now", "commit_to_land")
    found = [
        each["minutes_to_touchdown"]
        for kind in kinds
        for each in courses(answer, kind, icao)
        if each["minutes_to_touchdown"] is not None
    ]
    return float(min(found))


def breaches(course: Body) -> set[str]:
    """What the course breaks, as published names."""
    return {each["breach"] for each in course["breaks"]}


def cautions(answer: Answer) -> dict[str, Body]:
    """Cautions by code; the first of a code."""
    found: dict[str, Body] = {}
    for each in answer["cautions"]:
        found.setdefault(each["code"], each)
    return found


def caution_words(answer: Answer) -> str:
    """All cautions as one text."""
    return " | ".join(f"{each['text']} {' '.join(each['because'])}" for each in answer["cautions"])


def level(answer: Answer) -> str:
    """The emergency level."""
    word: str = answer["emergency"]["level"]
    return word


def message(answer: Answer, to: str) -> str:
    """All that is said to one receiver."""
    return " ".join(each["text"] for each in answer["messages"] if each["to"] == to)


def worse_or_equal(after: Answer, before: Answer) -> bool:
    """Whether the verdict after is no better than before."""
    return ORDER.index(after["verdict"]) >= ORDER.index(before["verdict"])
