"""Alternates proposed: what is found is told, what cannot help is left, what is there stays."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

import pytest

from decision.answer import plain
from decision.case import Aerodrome, case_from_mapping, installed_library, written_out
from decision.case.library import Library
from decision.case.spec import read_instant
from decision.case.types import MAX_ALTERNATES, Closure, Opening
from decision.case.written import described
from decision.earth import distance_nm
from decision.errors import InvalidCase
from decision.quantities import Position
from decision.recommend import recommend_answer
from tests.case.builders import NAMES, REMOVED, demo, with_changes
from tests.case.loaded import DIGEST, library, place, runway, spread

CLEAN = demo("clean")
HERE = Position(**CLEAN["aircraft"]["position"])
WORLD = library([*installed_library().aerodromes.values(), place("XAAA", 47.3, -35.0)])


def asking(body: dict[str, Any] = CLEAN, **asked: Any) -> dict[str, Any]:
    return with_changes(body, {"/propose_alternates": {"most": 3, **asked}})


def answered(body: dict[str, Any], shelf: Library = WORLD) -> dict[str, Any]:
    return plain(recommend_answer(case_from_mapping(body, library=shelf)))


def proposed(*places: Aerodrome, body: dict[str, Any] = CLEAN, **asked: Any) -> dict[str, Any]:
    """What is told of each place, with the loaded ones that the case itself names left out."""
    shelf = library([*installed_library().aerodromes.values(), *places])
    told = case_from_mapping(asking(body, **asked), library=shelf).proposed
    assert told is not None
    return {each.icao: each for each in told.places if each.icao in {one.icao for one in places}}


def near(icao: str = "XAAA", **changes: Any) -> Aerodrome:
    """A place some thirty miles from the aircraft."""
    return place(icao, HERE.latitude_deg + 0.5, HERE.longitude_deg, **changes)


# --- laws ---


WITH_POSITION = [each for each in NAMES if demo(each)["aircraft"].get("position")]


def courses_of(body: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Courses by label; of a hold without its minutes, which other ways out bound as well."""
    return {each["course"].partition(":hold_")[0]: each for each in answered(body)["courses"]}


def leaves(label: str) -> bool:
    return label.startswith("divert_now")


def judged(course: dict[str, Any]) -> list[list[Any]]:
    """What it breaks and what is open, without the words: some name the safest other way."""
    return [
        [(each["rule"], each["at"], each.get("breach")) for each in course[member]]
        for member in ("breaks", "open")
    ]


@pytest.mark.parametrize("own", [True, False], ids=["beside own alternates", "without any"])
@pytest.mark.parametrize("name", WITH_POSITION)
def test_a_proposal_removes_no_course_and_makes_none_worse(name: str, own: bool) -> None:
    body = {**demo(name), "include": []}
    body |= {} if own else {"alternates": []}
    before, after = courses_of(body), courses_of(asking(body))
    if not own and any(each["legal"] for label, each in after.items() if leaves(label)):
        before.pop("hold_then_approach:XKAL", None)  # on an island alone: none is one any more
    assert before.keys() <= after.keys()
    for label, each in before.items():
        assert after[label]["legal"] == each["legal"], label
        assert judged(after[label]) == judged(each), label
        if not label.startswith("hold"):
            for member in ("touchdown_at", "fuel", "advised_against"):
                assert after[label][member] == each[member], (label, member)


@pytest.mark.parametrize("within_nm", [50.0, 150.0, 400.0, 2999.0])
def test_every_loaded_place_within_the_radius_is_taken_or_left_with_a_reason(
    within_nm: float,
) -> None:
    places = spread(60, seed=7, around=(HERE.latitude_deg, HERE.longitude_deg), reach_deg=12.0)
    shelf = library([*installed_library().aerodromes.values(), *places])
    case = case_from_mapping(asking(within_nm=within_nm, most=4), library=shelf)
    assert case.proposed is not None
    told = {each.icao: each for each in case.proposed.places}
    factor = case.policy.routing_factor
    assert set(told) == {
        icao
        for icao, each in shelf.aerodromes.items()
        if each.position is not None
        and distance_nm(start=HERE, end=each.position) <= within_nm / factor
    }
    assert all(each.why for each in told.values())
    taken = {icao for icao, each in told.items() if each.taken}
    own = [leg.aerodrome.icao for leg in case.alternates][: len(CLEAN["alternates"])]
    assert [each["icao"] for each in CLEAN["alternates"]] == own
    assert {leg.aerodrome.icao for leg in case.alternates} == taken | set(own)
    assert len(taken) <= 4


def test_a_written_out_case_gets_the_same_answer_whatever_is_loaded_later() -> None:
    body = asking()
    kept = deepcopy(body)
    written = written_out(body, library=WORLD)
    assert body == kept
    assert written_out(written, library=WORLD) is written
    bare = library([])
    assert answered(dict(written), bare) == answered(body)
    assert (
        case_from_mapping(written, library=bare).destination
        == case_from_mapping(body, library=WORLD).destination
    )


def test_a_case_that_asks_for_no_places_is_written_out_as_it_is() -> None:
    assert written_out(CLEAN, library=WORLD) is CLEAN


@pytest.mark.parametrize("icao", sorted(installed_library().aerodromes))
def test_a_place_that_is_written_out_is_read_back_as_it_was(icao: str) -> None:
    loaded = installed_library().aerodromes[icao]
    body = with_changes(CLEAN, {"/destination": described(loaded), "/plan": {}, "/alternates": []})
    assert case_from_mapping(body, library=library([])).destination.aerodrome == loaded


def test_the_same_body_gets_the_same_proposals() -> None:
    assert answered(asking()) == answered(asking())


# --- what is taken, what is left ---


def test_a_place_that_lacks_nothing_goes_before_a_sooner_one_that_does() -> None:
    reports = [
        "METAR XAAB 140600Z 29010KT 9999 SCT030 07/04 Q1011",
        "TAF XAAB 140500Z 1406/1506 29011KT 9999 SCT030",
    ]
    body = with_changes(CLEAN, {"/weather/reports": [*CLEAN["weather"]["reports"], *reports]})
    far = place("XAAB", HERE.latitude_deg + 2.0, HERE.longitude_deg)
    told = proposed(near(), far, body=body, most=1)
    assert told["XAAB"].taken
    assert not told["XAAA"].taken
    assert "lack less" in told["XAAA"].why
    assert "not known: observation, forecast" in told["XAAA"].why


def test_the_soonest_of_all_is_taken_whatever_it_lacks() -> None:
    unknown = near("XAAC", approaches=(), runways=(runway(lda_m=None),))
    others = [
        near(
            f"XAA{letter}",
            position=Position(
                latitude_deg=HERE.latitude_deg + 1.0 + index, longitude_deg=HERE.longitude_deg
            ),
        )
        for index, letter in enumerate("DEF")
    ]
    told = proposed(unknown, *others, most=2)
    assert told["XAAC"].taken
    assert "approaches, landing distance available" in told["XAAC"].why


def test_a_report_that_is_to_be_fetched_is_not_lacking() -> None:
    body = with_changes(CLEAN, {"/weather/fetch": True})
    assert "not known" not in proposed(near(), body=body)["XAAA"].why


NOON = "2026-03-14T12:00:00Z"


def moment(text: str) -> Any:
    return read_instant(text)


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"runways": (runway(closed=True),)}, "its runways are closed"),
        ({"runways": (runway(lda_m=700.0),)}, "its longest runway has 700 m, and"),
        ({"runways": (runway(lda_m=None, length_m=800.0),)}, "its longest runway has 800 m, and"),
        ({"runways": (runway(strength_kg=20_000.0),)}, "no open runway is long and strong enough"),
        (
            {"closures": (Closure(from_at=moment(CLEAN["as_of"]), until_at=moment(NOON)),)},
            "it is closed at",
        ),
        (
            {"opening": (Opening(from_at=moment(NOON), until_at=moment("2026-03-14T18:00:00Z")),)},
            "it is closed at",
        ),
    ],
)
def test_a_place_that_cannot_help_is_left_and_says_why(changes: dict[str, Any], why: str) -> None:
    told = proposed(near(**changes))["XAAA"]
    assert not told.taken
    assert why in told.why


@pytest.mark.parametrize(("until_at", "taken"), [(NOON, False), (CLEAN["as_of"], True)])
def test_a_place_that_a_notice_closes_at_touchdown_is_left(until_at: str, taken: bool) -> None:
    notice = {
        "id": "A0009/26",
        "place": "XAAA",
        "subject": "aerodrome",
        "effect": "closed",
        "from_at": "2026-03-14T00:00:00Z",
        "until_at": until_at,
    }
    told = proposed(near(), body=with_changes(CLEAN, {"/notices": [notice]}))["XAAA"]
    assert told.taken is taken
    assert ("closed" in told.why and "A0009/26" in told.why) is not taken


def test_a_runway_of_unknown_length_is_no_reason_to_leave_a_place() -> None:
    assert proposed(near(runways=(runway(lda_m=None),)))["XAAA"].taken


def test_the_destination_and_own_alternates_are_told_to_be_there() -> None:
    told = case_from_mapping(asking(), library=WORLD).proposed
    assert told is not None
    why = {each.icao: each.why for each in told.places if not each.taken}
    assert why["XKAL"].endswith("it is the destination")
    assert why["XTOR"].endswith("it is an alternate of the case already")


def test_minutes_limit_by_the_limit_speed_and_the_wind() -> None:
    told = proposed(
        near(), place("XAAB", HERE.latitude_deg + 3.0, HERE.longitude_deg), within_min=8
    )
    assert told["XAAA"].taken
    assert "XAAB" not in told or told["XAAB"].why.endswith("later than the 8 min asked for")


def test_a_case_has_room_for_so_many_alternates() -> None:
    own = [
        described(each)
        for each in spread(MAX_ALTERNATES - 1, seed=3, around=(40.0, 0.0), reach_deg=1.0)
    ]
    body = with_changes(CLEAN, {"/alternates": own})
    shelf = library(
        [
            *installed_library().aerodromes.values(),
            near("XZAA"),
            near("XZAB"),
        ]
    )
    case = case_from_mapping(asking(body, most=5), library=shelf)
    assert len(case.alternates) == MAX_ALTERNATES
    assert case.proposed is not None
    assert any("no room" in each.why for each in case.proposed.places)


def test_without_a_position_nothing_is_proposed_and_a_fault_says_so() -> None:
    body = with_changes(asking(), {"/aircraft/position": REMOVED})
    with pytest.raises(InvalidCase) as caught:
        case_from_mapping(body, library=WORLD)
    (fault,) = caught.value.faults
    assert (fault.pointer, fault.code) == ("/aircraft/position", "required")


def test_the_nearest_hundred_are_told_and_the_rest_is_counted() -> None:
    places = spread(150, seed=5, around=(HERE.latitude_deg, HERE.longitude_deg), reach_deg=3.0)
    shelf = library([*installed_library().aerodromes.values(), *places])
    body = asking(within_nm=1000.0)
    case = case_from_mapping(body, library=shelf)
    assert case.proposed is not None
    assert len(case.proposed.places) == 100
    assert case.proposed.beyond == 55
    cautions = [each["text"] for each in answered(body, shelf)["cautions"]]
    assert any("55 places within the limits" in each for each in cautions)


# --- what the answer tells ---


def test_the_answer_tells_what_was_proposed_and_of_which_aerodromes() -> None:
    answer = answered(asking())
    assert {each["icao"] for each in answer["alternates_proposed"]} == set(WORLD.aerodromes)
    assert answer["provenance"]["aerodromes"] == {"digest": DIGEST, "count": len(WORLD.aerodromes)}
    assert answered(CLEAN, installed_library())["alternates_proposed"] is None


def test_aerodromes_of_an_operator_stand_in_the_provenance_of_a_case_that_names_them() -> None:
    assert answered(CLEAN)["provenance"]["aerodromes"]["digest"] == DIGEST
    assert answered(CLEAN, installed_library())["provenance"]["aerodromes"] is None


def test_what_is_not_known_of_a_proposed_place_is_unknown_and_asked_for() -> None:
    bare = near(approaches=(), runways=(runway(lda_m=None, length_m=3200.0),))
    reports = [
        "METAR XAAA 140600Z 09010KT 9999 SCT030 07/04 Q1011",
        "TAF XAAA 140500Z 1406/1506 09011KT 9999 SCT030",
        *(each for each in CLEAN["weather"]["reports"] if "XKAL" in each),
    ]
    body = with_changes(
        demo("gear-stuck"), {"/alternates": [], "/weather/reports": reports, "/include": []}
    )
    shelf = library([installed_library().aerodromes["XKAL"], bare])
    answer = answered(asking(body), shelf)
    [now] = [each for each in answer["courses"] if each["course"] == "divert_now:XAAA"]
    assert now["legal"] is None
    assert not now["breaks"]
    assert {each["rule"] for each in now["open"]} >= {"AP-01", "LD-01"}
    asked = {each["what"] for each in answer["ask"]}
    assert "landing distance available of XAAA" in asked
    assert "approaches and their minima of XAAA" in asked


def test_why_a_place_is_taken_has_its_way_and_its_runway() -> None:
    told = proposed(near())["XAAA"]
    assert "NM, about" in told.why
    assert "runway 09 3000 m" in told.why
