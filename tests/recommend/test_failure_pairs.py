"""Every pair of failures through a whole decision: decided, explained, no nearer to go than either.

The weather is observed and forecast alike, so that arriving later meets nothing else, and there is
one alternate. A sample of the pairs, the same every time, is drawn for an ordinary run; all of them
run with HYPOTHESIS_PROFILE=nightly, in about three quarters of a minute.
"""

from __future__ import annotations

import json
import os
from functools import cache
from itertools import combinations
from random import Random
from typing import Any

import pytest

from decision.case import case_from_mapping
from decision.quantities import GearPosition
from decision.recommend import recommend_mapping
from tests.case.builders import demo, with_changes
from tests.recommend.generated import FAILURE_IDS, PROFILE, by_label, metar, places, taf
from tests.recommend.test_laws import assert_legality_never_rises, assert_no_nearer_to_go

STEADY = "26010KT 9999 SCT030"
ALL_PAIRS = list(combinations(FAILURE_IDS, 2))
SAMPLE = 400
SEED = 20_260_314
IN_PARTS = 20  # tests to spread the pairs over, so that a fault names a few of them
PAIRS = (
    ALL_PAIRS
    if os.environ.get("HYPOTHESIS_PROFILE") == "nightly"
    else Random(SEED).sample(ALL_PAIRS, SAMPLE)  # noqa: S311
)
Pair = tuple[str, str]
Answer = dict[str, Any]


@cache
def base() -> dict[str, Any]:
    body = demo("clean")
    body["alternates"] = [leg for leg in body["alternates"] if leg["icao"] == "XTOR"]
    body["weather"]["reports"] = [
        line for icao in places(body) for line in (metar(icao, STEADY), taf(icao, STEADY))
    ]
    return body


def reported(id_: str) -> dict[str, Any]:
    """A complete report: flaps and slats that are in, where it has to say where they are."""
    entry = PROFILE.systems.catalogue[id_]
    detent = {"detent": "0"} if entry.needs_detent else {}
    position = {"position": "in"} if entry.needs_position else {}
    return {"id": id_, **detent, **position}


def gear_of(*ids: str) -> GearPosition:
    """The first gear position in which all of these failures can be reported; there always is."""
    entries = [PROFILE.systems.catalogue[id_] for id_ in ids]
    return next(each for each in GearPosition if all(each in entry.gear for entry in entries))


def decided(*ids: str, gear: GearPosition) -> Answer:
    changes = {"/failures": [reported(id_) for id_ in ids], "/aircraft/gear": gear.value}
    return recommend_mapping(case_from_mapping(with_changes(base(), changes)))


@cache
def alone(id_: str, gear: GearPosition) -> Answer:
    return decided(id_, gear=gear)


def assert_explained(told: Answer, pair: Pair) -> None:
    """Every figure is one, every lost function leads back to a report, every course is judged."""
    json.dumps(told, allow_nan=False)
    left = told["capability"]
    paths = [each["because"] for each in (*left["lost"], *left["irreversible"])]
    for path in paths:
        assert path, pair
        assert path[0] in pair, path
    assert all(limit["because"].split(" ")[0] in pair for limit in left["limits"]), left["limits"]
    assert told["headline"].endswith(".")
    assert told["courses"]
    for course in told["courses"]:
        codes = [each["rule"] for each in course["findings"]]
        assert codes, course["course"]
        assert all(each["text"] and each["citation"] for each in course["findings"])
        assert course["legal"] is not True or course["limited_by"] is None


def assert_not_better(told: Answer, single: Answer, *, other: Answer) -> None:
    """No nearer to go; and a no is only taken back by what the other failure makes unknown."""
    assert_no_nearer_to_go(single, told)
    if single["verdict"] == "NO_GO":
        unknown = told["verdict"] == "INSUFFICIENT_DATA" and bool(told["unknowns"])
        assert told["verdict"] == "NO_GO" or unknown, other["verdict"]
    if told["capability"]["gear"]["extension"] != "none":  # gear that stays up costs no fuel
        assert_legality_never_rises(single, told)


@pytest.mark.parametrize("part", range(IN_PARTS))
def test_every_pair_is_decided_explained_and_no_better_than_either(part: int) -> None:
    for pair in PAIRS[part::IN_PARTS]:
        gear = gear_of(*pair)
        told = decided(*pair, gear=gear)
        assert_explained(told, pair)
        singles = [alone(id_, gear) for id_ in pair]
        for single, other in (singles, singles[::-1]):
            assert_not_better(told, single, other=other)


def test_a_landing_that_no_figure_covers_is_never_go() -> None:
    """Without gear, without a leg, without controls: an ordinary landing distance says nothing."""
    for pair in (
        ("gear-gravity-release", "gear-normal-extension"),
        ("gear-gravity-release", "hydraulic-1"),
        ("hydraulic-1", "hydraulic-2"),
        ("autobrake", "gear-main-leg-stuck"),
        ("autobrake", "gear-nose-leg-stuck"),
    ):
        told = decided(*pair, gear=GearPosition.UP)
        assert told["verdict"] in {"INSUFFICIENT_DATA", "NO_GO"}, pair
        assert all(course["legal"] is not True for course in told["courses"]), pair
        assert told["emergency"]["level"] == "DISTRESS", pair
        assert any("operator's manual" in each for each in told["unknowns"]), pair


def test_a_runway_too_short_for_an_ordinary_landing_is_too_short_for_an_unsafe_one() -> None:
    body = base() | {"failures": [reported("gear-nose-leg-stuck")]}
    runway = {"ident": "09", "true_bearing_deg": 90, "lda_m": 900}
    body["alternates"] = [
        body["alternates"][0]
        | {
            "elevation_ft": 100,
            "runways": [runway],
            "approaches": [{"id": "A", "runway": "09", "kind": "3D-B", "dh_ft": 200, "rvr_m": 550}],
        }
    ]
    course = by_label(recommend_mapping(case_from_mapping(body)))["divert_now:XTOR"]
    found = {each["rule"]: each["outcome"] for each in course["findings"]}
    assert found["LD-01"] == "FAIL"


def test_the_case_leaves_room_for_a_pair_to_be_better_or_worse() -> None:
    verdicts = [
        alone(id_, gear_of(id_))["verdict"] for id_ in ("autobrake", "reverser-1", "hydraulic-1")
    ]
    assert verdicts == ["GO_WITH_CAUTION", "GO_WITH_CAUTION", "NO_GO"]
