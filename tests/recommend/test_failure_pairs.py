"""Every pair of failures through a whole decision: decided, explained, no nearer to go than either.

For each aircraft, with weather that is observed and forecast alike, so that arriving later meets
nothing else, and one alternate. A sample of the pairs, the same every time, is drawn for an
ordinary run; all of them run with HYPOTHESIS_PROFILE=nightly, in about a minute and a half.
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
from decision.profile import load_profile, profile_ids
from decision.quantities import GearPosition
from tests.answer.told import told_of
from tests.case.builders import demo, with_changes
from tests.recommend.generated import by_label, metar, places, taf, with_flaps_of
from tests.recommend.test_laws import assert_legality_never_rises, assert_no_nearer_to_go

STEADY = "26010KT 9999 SCT030"
FLIGHTS = {"xtj150": ("clean", "XTOR"), "xtwide": ("widebody-gear-stays-down", "XBRE")}
SAMPLE = 250  # pairs of each aircraft
SEED = 20_260_314
IN_PARTS = 10  # tests to spread the pairs over, so that a fault names a few of them
Pair = tuple[str, str]
Answer = dict[str, Any]


def pairs_of(profile_id: str) -> list[Pair]:
    """All pairs of the catalogue, or a sample that is the same every time."""
    every = list(combinations(sorted(load_profile(profile_id).systems.catalogue), 2))
    if os.environ.get("HYPOTHESIS_PROFILE") == "nightly":
        return every
    return Random(SEED).sample(every, SAMPLE)  # noqa: S311


@cache
def base(profile_id: str) -> dict[str, Any]:
    """A sound aircraft on its way in good weather, with one alternate."""
    name, alternate = FLIGHTS[profile_id]
    body = demo(name) | {"failures": []}
    body["alternates"] = [leg for leg in body["alternates"] if leg["icao"] == alternate]
    body["weather"]["reports"] = [
        line for icao in places(body) for line in (metar(icao, STEADY), taf(icao, STEADY))
    ]
    return body


def reported(profile_id: str, id_: str) -> dict[str, Any]:
    """A complete report: flaps and slats that are in, where it has to say where they are."""
    profile = load_profile(profile_id)
    entry = profile.systems.catalogue[id_]
    detent = {"detent": profile.flaps_up} if entry.needs_detent else {}
    position = {"position": "in"} if entry.needs_position else {}
    return {"id": id_, **detent, **position}


def gear_of(profile_id: str, *ids: str) -> GearPosition:
    """The first gear position in which all of these failures can be reported; there always is."""
    entries = [load_profile(profile_id).systems.catalogue[id_] for id_ in ids]
    return next(each for each in GearPosition if all(each in entry.gear for entry in entries))


def body_of(profile_id: str, *ids: str, gear: GearPosition = GearPosition.UP) -> Answer:
    reports = [reported(profile_id, id_) for id_ in ids]
    changes = {"/failures": reports, "/aircraft/gear": gear.value}
    return with_changes(base(profile_id), changes)


def decided(profile_id: str, *ids: str, gear: GearPosition = GearPosition.UP) -> Answer:
    return told_of(case_from_mapping(body_of(profile_id, *ids, gear=gear)))


@cache
def alone(profile_id: str, id_: str, gear: GearPosition) -> Answer:
    return decided(profile_id, id_, gear=gear)


def landing_alike(profile_id: str, id_: str, gear: GearPosition, other: Answer) -> Answer:
    """One failure alone, landing at the flap setting of another answer."""
    single = alone(profile_id, id_, gear)
    if flaps_of(single) == flaps_of(other):
        return single
    return told_of(case_from_mapping(with_flaps_of(body_of(profile_id, id_, gear=gear), other)))


def flaps_of(answer: Answer) -> set[str]:
    """The flap settings that an answer lands with."""
    return {attempt["flap"] for course in answer["courses"] for attempt in course["attempts"]}


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
        assert all(each["citation"] for each in course["findings"])
        applying = [each for each in course["findings"] if each["outcome"] != "NOT_APPLICABLE"]
        assert all(each["text"] for each in applying)
        assert course["legal"] is not True or course["limited_by"] is None


def assert_not_better(told: Answer, single: Answer, *, other: Answer) -> None:
    """No nearer to go; and a no is only taken back by what the other failure makes unknown."""
    assert_no_nearer_to_go(single, told)
    if single["verdict"] == "NO_GO":
        unknown = told["verdict"] == "INSUFFICIENT_DATA" and bool(told["unknowns"])
        assert told["verdict"] == "NO_GO" or unknown, other["verdict"]
    if told["capability"]["gear"]["extension"] != "none":  # gear that stays up costs no fuel
        assert_legality_never_rises(single, told)


@pytest.mark.parametrize("profile_id", profile_ids())
@pytest.mark.parametrize("part", range(IN_PARTS))
def test_every_pair_is_decided_explained_and_no_better_than_either(
    part: int, profile_id: str
) -> None:
    pairs = pairs_of(profile_id)[part::IN_PARTS]
    assert pairs
    for pair in pairs:
        gear = gear_of(profile_id, *pair)
        told = decided(profile_id, *pair, gear=gear)
        assert_explained(told, pair)
        singles = [landing_alike(profile_id, id_, gear, told) for id_ in pair]
        for single, other in (singles, singles[::-1]):
            assert_not_better(told, single, other=other)


@pytest.mark.parametrize(
    ("profile_id", "pair", "level"),
    [
        ("xtj150", ("gear-gravity-release", "gear-normal-extension"), "URGENCY"),
        ("xtj150", ("gear-gravity-release", "hydraulic-1"), "URGENCY"),
        ("xtj150", ("hydraulic-1", "hydraulic-2"), "DISTRESS"),
        ("xtj150", ("autobrake", "gear-main-leg-stuck"), "URGENCY"),
        ("xtj150", ("autobrake", "gear-nose-leg-stuck"), "URGENCY"),
        ("xtwide", ("gear-normal-extension", "gear-uplock-release"), "URGENCY"),
    ],
)
def test_a_landing_that_no_figure_covers_is_never_go_and_is_declared(
    profile_id: str, pair: Pair, level: str
) -> None:
    """Without gear, without a leg, without controls: an ordinary landing distance says nothing.

    A hazard of the landing is urgency; controls that are lost ask for the ground at once.
    """
    told = decided(profile_id, *pair)
    assert told["verdict"] in {"INSUFFICIENT_DATA", "NO_GO"}
    assert all(course["legal"] is not True for course in told["courses"])
    assert told["emergency"]["level"] == level
    assert any("operator's manual" in each for each in told["unknowns"])


@pytest.mark.parametrize(
    ("profile_id", "id_"), [("xtj150", "gear-unsafe-indication"), ("xtwide", "gear-unsafe")]
)
def test_a_gear_that_is_only_not_shown_locked_is_landed_on_with_urgency(
    profile_id: str, id_: str
) -> None:
    """Whether it holds nobody knows; if it does, the landing is an ordinary one."""
    told = decided(profile_id, id_, gear=GearPosition.UNSAFE)
    assert told["emergency"]["level"] == "URGENCY"
    assert any(course["legal"] is True for course in told["courses"])
    assert "GEAR_NOT_LOCKED" in {each["code"] for each in told["cautions"]}


def test_a_runway_too_short_for_an_ordinary_landing_is_too_short_for_an_unsafe_one() -> None:
    body = base("xtj150") | {"failures": [reported("xtj150", "gear-nose-leg-stuck")]}
    runway = {"ident": "09", "true_bearing_deg": 90, "lda_m": 900}
    body["alternates"] = [
        body["alternates"][0]
        | {
            "elevation_ft": 100,
            "runways": [runway],
            "approaches": [{"id": "A", "runway": "09", "kind": "3D-B", "dh_ft": 200, "rvr_m": 550}],
        }
    ]
    course = by_label(told_of(case_from_mapping(body)))["divert_now:XTOR"]
    found = {each["rule"]: each["outcome"] for each in course["findings"]}
    assert found["LD-01"] == "FAIL"


def test_the_case_leaves_room_for_a_pair_to_be_better_or_worse() -> None:
    ids = ("autobrake", "reverser-1", "hydraulic-1")
    verdicts = [decided("xtj150", id_)["verdict"] for id_ in ids]
    assert verdicts == ["GO_WITH_CAUTION", "GO_WITH_CAUTION", "NO_GO"]
