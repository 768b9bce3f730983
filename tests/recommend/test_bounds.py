"""However large a case is, its answer is worked out within bounds, the same on every machine."""

from __future__ import annotations

import json
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from decision.case import case_from_mapping
from decision.case.library import AERODROMES
from decision.case.types import MAX_ALTERNATES, MAX_REPORTS
from decision.decide import work
from decision.decide.attempts import JudgedAttempts
from decision.decide.work import MOST, Work
from decision.errors import InvalidCase
from decision.flight.tried import AS_IT_IS
from decision.recommend import decide_varied, recommend, recommend_mapping
from decision.what_if.flip import flip_points
from decision.what_if.vary import INPUTS
from tests.case.builders import demo

INCLUDES = ("flip_points", "uncertainty", "steps", "findings", "ahead")
MOST_APPROACHES = 40
MOST_BYTES = 1_000_000


def place(icao: str, approaches: int) -> dict[str, Any]:
    """The demo's destination by another name, its approaches over and over."""
    described = tomllib.loads((Path(AERODROMES) / "XKAL.toml").read_text(encoding="utf-8"))
    usual = described["approaches"]
    described["approaches"] = [
        usual[i % len(usual)] | {"id": f"{usual[i % len(usual)]['id']} {i}"}
        for i in range(approaches)
    ]
    return {key: value for key, value in described.items() if key not in {"source", "version"}} | {
        "icao": icao
    }


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


def large(*, alternates: int, approaches: int, number: int, **asked: Any) -> dict[str, Any]:
    """The demo with many alternates, each with many approaches and reports."""
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
            for i in range(40)
        ],
    }
    return {key: value for key, value in body.items() if key != "plan"} | asked


@cache
def largest() -> dict[str, Any]:
    """The largest case that is accepted, with everything that can be asked for."""
    body = large(
        alternates=MAX_ALTERNATES,
        approaches=MOST_APPROACHES,
        number=MAX_REPORTS,
        include=list(INCLUDES),
        compare_rulebooks=True,
    )
    return recommend_mapping(case_from_mapping(body))


def left_out(answer: dict[str, Any]) -> str:
    """What the answer says that it does not have."""
    return " ".join(each["text"] for each in answer["cautions"] if each["code"] == "LEFT_OUT")


def test_the_largest_case_is_answered_and_says_what_it_leaves_out() -> None:
    answer = largest()
    assert answer["verdict"]
    assert answer["rulebooks_compared"] is None
    assert "rulebooks compared" in left_out(answer)
    assert "flip point of destination temperature degc" in left_out(answer)
    assert len(answer["flip_points"]) < len(INPUTS)
    assert len(json.dumps(answer, separators=(",", ":"))) <= MOST_BYTES


def test_what_is_left_out_weighs_nothing() -> None:
    weights = {each["weight"] for each in largest()["cautions"] if each["code"] == "LEFT_OUT"}
    assert weights == {"info"}


def test_of_an_ordinary_case_nothing_is_left_out() -> None:
    body = demo("gear-stuck") | {"include": list(INCLUDES), "compare_rulebooks": True}
    answer = recommend_mapping(case_from_mapping(body))
    assert left_out(answer) == ""
    assert [each["input"] for each in answer["flip_points"]] == [each.name for each in INPUTS]
    assert len(answer["rulebooks_compared"]) == 3


@pytest.mark.parametrize(
    ("alternates", "approaches", "number", "pointer"),
    [
        (MAX_ALTERNATES + 1, 2, 0, "/alternates"),
        (2, MOST_APPROACHES + 1, 0, "/destination/approaches"),
        (2, 2, MAX_REPORTS + 1, "/weather/reports"),
    ],
)
def test_a_larger_case_is_refused(
    alternates: int, approaches: int, number: int, pointer: str
) -> None:
    body = large(alternates=alternates, approaches=approaches, number=number)
    with pytest.raises(InvalidCase) as refused:
        case_from_mapping(body)
    assert pointer in {fault.pointer for fault in refused.value.faults}


def test_the_count_is_the_same_however_often_the_case_was_seen_before() -> None:
    counts = []
    for _ in range(2):
        attempts = JudgedAttempts()
        decide_varied(case_from_mapping(demo("choice")), AS_IT_IS, attempts=attempts)
        counts.append(attempts.work.done)
    assert counts[0] == counts[1] > 0


def test_what_is_found_within_the_bound_is_what_is_found_without(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    given = recommend(case_from_mapping(demo("gear-stuck")))
    free = flip_points(given, decide_varied)
    probes = iter(range(1000))
    bound = flip_points(given, decide_varied, lambda: next(probes) < 12)
    assert free.left_out == ()
    assert 0 < len(bound.found) < len(INPUTS)
    assert bound.found == free.found[: len(bound.found)]
    assert bound.left_out == tuple(each.name for each in INPUTS[len(bound.found) :])
    monkeypatch.setattr(work, "MOST", 10)
    counted = Work()
    counted.flown(2)
    assert counted.has_room_for(1)
    assert not counted.has_room_for(2)
    counted.judged(2)
    assert not counted.has_room_for()
    assert MOST > 1000
