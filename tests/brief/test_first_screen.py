"""The first screen: in its order, within its lines, without a code, and nothing lost by a cut."""

from __future__ import annotations

import json
import re
from math import ceil, floor
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings

from decision.brief import RULER, SCREEN_LINES, WIDTH, brief
from decision.brief.first import LABEL, PARTS, cut_short
from decision.brief.layout import CUT
from decision.case import case_from_mapping
from tests.answer.told import told_of
from tests.case.builders import NAMES, REMOVED, demo, with_changes
from tests.recommend.generated import answered, flights

OLDER = sorted((Path(__file__).parent / "older").glob("*.json"))
ORDER = (
    "TOUCHDOWN",
    "ACTION",
    "LEAVE BY",
    "HOLD",
    "BECAUSE",
    "DANGER",
    "PLACES",
    "APPROACH",
    "LANDING",
    "RUNWAY",
    "FUEL STATE",
    "SAY",
    "INSTEAD",
    "ASK",
    "NEXT LOOK",
)
ALWAYS = {"ACTION", "BECAUSE", "DANGER", "APPROACH", "LANDING", "FUEL STATE", "SAY", "NEXT LOOK"}
WHO = "The operator's manuals and the licensed crew decide."


def answer_of(name: str, /, **changes: Any) -> Any:
    body = with_changes(demo(name), changes)
    return json.loads(json.dumps(told_of(case_from_mapping(body))))


def first_of(answer: dict[str, Any]) -> str:
    return brief(answer).split(RULER)[0]


def parts_of(answer: dict[str, Any]) -> dict[str, str]:
    """The lines of the first screen by their label, each on one line, in their order."""
    parts: dict[str, str] = {}
    label = ""
    for line in first_of(answer).splitlines()[1:]:
        if line.startswith(WHO):
            break
        label = line[:LABEL].strip() or label
        if line:
            parts[label] = f"{parts.get(label, '')} {line[LABEL:]}".strip()
    return parts


def check_screen(answer: dict[str, Any]) -> None:
    first = first_of(answer).splitlines()
    assert len(first) + 1 <= SCREEN_LINES == 24
    assert max(map(len, first)) <= WIDTH == 80
    assert first[-1].startswith(WHO)
    labels = list(parts_of(answer))
    assert labels == [label for label in ORDER if label in labels]
    assert re.search(r"\b[A-Z]{2}-\d\d\b", "\n".join(first[1:])) is None
    assert not re.search(r"\[[A-Z]", "\n".join(first[1:]))
    assert "headwind -" not in "\n".join(first)


@pytest.mark.parametrize("name", NAMES)
def test_the_first_screen_of_a_demo_case_has_its_order_its_size_and_no_code(name: str) -> None:
    answer = answer_of(name)
    check_screen(answer)
    assert set(parts_of(answer)) >= ALWAYS


@given(flights(failures=3))
@settings(max_examples=60)
def test_the_first_screen_of_any_answer_has_its_order_its_size_and_no_code(
    body: dict[str, Any],
) -> None:
    answer = answered(body)
    check_screen(answer)
    for label, text in cut_short(answer):
        assert CUT.strip() in parts_of(answer)[label or "PLACES"]
        below = " ".join(brief(answer).split(RULER, 1)[1].split())
        assert " ".join(text.split()) in below


@pytest.mark.parametrize("name", NAMES)
def test_the_action_its_place_and_the_verdict_on_the_approach_are_said(name: str) -> None:
    answer = answer_of(name)
    parts, action = parts_of(answer), answer["action"]
    assert parts["ACTION"] == f"{action['do']} {action['aerodrome']} runway {action['runway']}"
    assert re.match(rf"{answer['verdict']}\b", parts["APPROACH"])


def test_a_diversion_says_by_when_where_with_what_and_what_not_to_do_until_then() -> None:
    answer = answer_of("gear-stuck")
    deadline, told = answer["deadline"], parts_of(answer)["LEAVE BY"]
    assert told.startswith(f"{deadline['at'][11:16]}Z, last clean point, 5.0 NM to go, ")
    assert f"{int(deadline['fuel_kg'] / 10) * 10} kg on board" in told
    assert f"or by {deadline['holding_until'][11:16]}Z holding here" in told
    assert told.endswith("Until then do not extend the gear.")


def test_without_a_deadline_the_gear_stays_up_on_the_way() -> None:
    told = parts_of(answer_of("nothing-legal"))["LEAVE BY"]
    assert told == "now. On the way do not extend the gear."


def test_a_deadline_of_this_minute_is_now() -> None:
    answer = answer_of("gear-stuck")
    answer["deadline"]["at"] = answer["as_of"]
    assert parts_of(answer)["LEAVE BY"].startswith("now, 06:10Z, last clean point")


@pytest.mark.parametrize("name", ["clean", "only-runway"])
def test_an_approach_and_a_committed_landing_carry_no_deadline(name: str) -> None:
    assert "LEAVE BY" not in parts_of(answer_of(name))


def test_a_hold_says_how_long_what_for_and_its_end_at_the_latest() -> None:
    answer = answer_of("wait-for-fog")
    parts = parts_of(answer)
    assert re.match(r"\d+ min, then approach; leave the hold at the latest by", parts["HOLD"])
    assert answer["deadline"]["at"][11:16] in parts["HOLD"]
    (chosen,) = (
        course for course in answer["courses"] if course["course"] == answer["action"]["course"]
    )
    assert chosen["rests_on"] in parts["BECAUSE"]
    assert parts["LANDING"].startswith("hold ")
    unknown_end = {**answer, "deadline": None, "action": {**answer["action"], "latest_at": None}}
    assert parts_of(unknown_end)["HOLD"].endswith("at the latest by not known.")


def test_a_hold_for_what_is_missing_says_what_landing_without_it_leaves() -> None:
    answer = answer_of("alternate-weather-missing")
    parts = parts_of(answer)
    assert answer["action"]["do"] == "HOLD"
    assert parts["HOLD"].startswith("leave the hold at the latest by")
    assert parts["LANDING"].startswith("without a hold XKAL ")
    assert "no way out known after a missed approach" in parts["APPROACH"]
    assert parts["ASK"]


def test_what_the_chosen_course_breaks_is_the_reason_and_told_once_for_one_cause() -> None:
    answer = answer_of("nothing-legal")
    (chosen,) = (
        course for course in answer["courses"] if course["course"] == answer["action"]["course"]
    )
    assert len(chosen["breaks"]) == 2  # two rules of one reserve, which is the same for both
    assert parts_of(answer)["BECAUSE"] == f"breaks only: {chosen['breaks'][0]['text']}"
    chosen["breaks"][1]["text"] = "something else 5 kg, limit 6 kg"
    assert parts_of(answer)["BECAUSE"].startswith("breaks: ")


def test_urgent_places_stand_beside_one_another_with_their_minutes() -> None:
    answer = answer_of("time-critical")
    parts = parts_of(answer)
    here = next(each for each in answer["courses"] if each["kind"] == "commit_to_land")
    first_min = ceil(here["minutes_to_touchdown"])
    assert parts["TOUCHDOWN"].startswith(f"{first_min} min, 06:")
    minutes = [int(found) for found in re.findall(r": (\d+) min", parts["PLACES"])]
    assert len(minutes) == 3
    assert minutes == sorted(minutes)
    assert minutes[0] == first_min
    assert parts["PLACES"].startswith("XKAL 27R: ")
    assert "XTOR 32" in parts["PLACES"]
    assert "least" not in parts["LANDING"]  # fuel to start with a way out is no question now


def test_the_nearest_suitable_place_is_the_reason_with_the_minutes_of_the_others() -> None:
    answer = answer_of("engine-out-nearer-place")
    assert answer["basis"] == "NEAREST_SUITABLE"
    found = re.fullmatch(
        r"the failure asks for the nearest suitable place: "
        r"XBRE in (\d+) min, XKAL in (\d+) min, XTOR in (\d+) min",
        parts_of(answer)["BECAUSE"],
    )
    assert found is not None
    assert int(found[1]) < int(found[2]) < int(found[3])
    assert parts_of(answer)["LEAVE BY"] == "now."


def test_a_sound_aircraft_without_an_alternate_says_that_it_may_come_so() -> None:
    told = parts_of(answer_of("no-alternate"))
    assert told["BECAUSE"].startswith("a sound aircraft that may come without an alternate; ")
    assert told["APPROACH"] == "GO_WITH_CAUTION: no way out after a missed approach"


def test_of_many_places_the_chosen_and_the_best_legal_one_are_shown() -> None:
    answer = answer_of("time-critical")
    direct = next(
        each
        for each in answer["courses"]
        if each["kind"] == "divert_now" and each["from"] == "present"
    )
    broken = {
        "rule": "LD-01",
        "at": "XZZZ",
        "text": "XZZZ landing distance 2000 m, limit 1000 m",
        "breach": "CANNOT_STOP",
        "endangers": True,
    }
    nearer = [
        {**direct, "aerodrome": f"XZZ{row}", "course": f"divert_now:XZZ{row}", "legal": False}
        | {"touchdown_at": f"2026-03-14T06:11:0{row}Z", "breaks": [broken]}
        for row in range(4)
    ]
    answer["courses"] += nearer
    places = parts_of(answer)["PLACES"]
    assert "XKAL 27R: " in places
    assert "XZZ0" in places
    assert "XZZ3" not in places
    assert "breaks XZZZ landing distance 2000 m, limit 1000 m" in places


def test_a_place_of_which_not_all_is_known_says_so() -> None:
    answer = answer_of("time-critical")
    for course in answer["courses"]:
        course["legal"], course["breaks"] = None, []
    assert "not all is known" in parts_of(answer)["PLACES"]


def test_stopping_that_is_not_known_is_a_danger() -> None:
    answer = answer_of("gear-stuck", **{"/weather/reports/2": "-", "/weather/reports/3": "-"})
    for course in answer["courses"]:
        for finding in course["findings"]:
            if finding["rule"] == "LD-01":
                finding["outcome"] = "UNKNOWN"
    assert "whether it stops is not known" in parts_of(answer)["DANGER"]


def test_without_a_danger_that_is_said() -> None:
    assert parts_of(answer_of("clean"))["DANGER"] == "none found in what was given"


def test_what_makes_a_go_one_with_caution_is_said_where_nothing_is_a_danger() -> None:
    answer = answer_of("escape-thin")
    assert parts_of(answer)["DANGER"] == "none found in what was given"
    caution = {"code": "NO_AUTOPILOT", "weight": "info", "text": "Flown by hand.", "because": []}
    answer["cautions"] = [caution]
    assert parts_of(answer)["DANGER"] == "none found in what was given"
    caution["weight"] = "caution"
    told = "none found in what was given; with caution for: Flown by hand."
    assert parts_of(answer)["DANGER"] == told
    answer["verdict"] = "NO_GO"
    assert parts_of(answer)["DANGER"] == "none found in what was given"


def test_a_way_out_that_is_none_says_what_it_lacks_or_breaks() -> None:
    assert "kg under final reserve" in parts_of(answer_of("gear-stuck"))["APPROACH"]
    told = parts_of(answer_of("later-into-fog"))["APPROACH"]
    assert "breaks XTOR converted visibility" in told


def test_fuel_of_which_not_all_is_known_is_at_most() -> None:
    answer = answer_of("clean")
    for course in answer["courses"]:
        course["unknown"] = ["rate of the fuel leak"]
    parts = parts_of(answer)
    chosen = answer["courses"][0]["fuel"]
    lands, over = (floor(chosen[each] / 10) * 10 for each in ("landing_kg", "margin_kg"))
    assert f"at most {lands} kg, at most {over} kg above final reserve" in parts["LANDING"]
    assert "to start the approach" not in parts["LANDING"]
    known = answer_of("clean")
    for course in known["courses"]:
        course["fuel"]["at_most"] = True
    assert f"at most {lands} kg" in parts_of(known)["LANDING"]


def test_a_course_that_is_not_flown_has_neither_time_nor_fuel() -> None:
    answer = answer_of("gear-stuck")
    for course in answer["courses"]:
        course["fuel"] = None
        course["touchdown_at"] = course["time"]["arrive_at"] = None
        course["minutes_to_touchdown"] = None
    assert "XTOR: touchdown and fuel on landing not known" in parts_of(answer)["LANDING"]


def test_a_tailwind_is_a_tailwind_and_never_a_negative_headwind() -> None:
    answer = answer_of("gear-stuck")
    for course in answer["courses"]:
        for attempt in course["attempts"]:
            attempt["headwind_kt"], attempt["tailwind_kt"] = -9.2, 11.4
    runway = parts_of(answer)["RUNWAY"]
    assert "tailwind 12 kt" in runway
    assert "headwind" not in runway
    for course in answer["courses"]:
        for attempt in course["attempts"]:
            attempt["headwind_kt"] = None
            attempt["landing_distance_m"] = None
    runway = parts_of(answer)["RUNWAY"]
    assert "wind on the runway not known" in runway
    assert "landing distance not known, of 2450 m" in runway


def test_the_second_best_course_has_its_price_and_what_it_breaks() -> None:
    answer = answer_of("nothing-legal")
    told = parts_of(answer)["INSTEAD"]
    assert told.startswith("divert to XBRE: 1 min later, ")
    assert "breaks fuel on landing at XBRE" in told
    assert "committed" not in parts_of(answer_of("later-into-fog"))["INSTEAD"]
    answer["courses"] = [each for each in answer["courses"] if each["aerodrome"] != "XBRE"]
    assert parts_of(answer)["INSTEAD"].startswith("XBRE: 1 min later, ")
    assert "INSTEAD" not in parts_of({**answer, "instead": None})


def test_a_second_best_course_without_a_price_says_what_is_given_up() -> None:
    answer = answer_of("clean")
    answer["instead"]["costs"] = []
    assert parts_of(answer)["INSTEAD"].endswith("no less fuel on landing, but not at XKAL.")
    left = answer_of("gear-stuck")
    left["instead"]["costs"] = []
    assert parts_of(left)["INSTEAD"] == "divert to XBRE: not later, and no less fuel on landing."


def test_the_price_of_leaving_an_approach_is_counted_against_landing_from_it() -> None:
    """Not against the diversion after a missed approach, beside which leaving costs nothing."""
    answer = answer_of("clean")
    here, there = (
        next(each for each in answer["courses"] if each["course"] == label)
        for label in ("commit_to_land:XKAL", "divert_now:XTOR")
    )
    later_min = there["minutes_to_touchdown"] - here["minutes_to_touchdown"]
    less_kg = here["fuel"]["landing_kg"] - there["fuel"]["landing_kg"]
    assert later_min > 15.0
    told = parts_of(answer)["INSTEAD"]
    found = re.fullmatch(r"divert to XTOR: (\d+) min later, (\d+) kg less on landing\.", told)
    assert found is not None
    assert later_min <= int(found[1]) < later_min + 1.0
    assert less_kg <= int(found[2]) < less_kg + 10.0


def test_words_for_an_assigned_hold_stand_under_what_to_ask() -> None:
    answer = answer_of("clean")
    answer["remedies"] = [
        {"kind": "refuse_hold", "text": "refuse it.", "say": "Unable to hold."},
        {"kind": "burn_off", "text": "burn off.", "say": "Request to hold."},
    ]
    assert parts_of(answer)["ASK"] == "air traffic control: 'Unable to hold.'."
    assert "burn off: burn off. Say: 'Request to hold.'" in " ".join(brief(answer).split())


@pytest.mark.parametrize("path", OLDER, ids=lambda path: path.stem)
def test_an_answer_stored_by_an_older_engine_reads_without_what_it_lacks(path: Path) -> None:
    """Written by those engines; findings that passed, steps and weather are left out of them."""
    answer = json.loads(path.read_text(encoding="utf-8"))
    assert "deadline" not in answer
    first, parts = first_of(answer).splitlines(), parts_of(answer)
    assert len(first) < SCREEN_LINES
    assert max(map(len, brief(answer).splitlines())) <= WIDTH
    assert "None" not in brief(answer)
    labels = list(parts)
    assert labels == [label for label in ORDER if label in labels]
    assert "INSTEAD" not in parts
    assert "way out" not in parts["APPROACH"] + parts.get("ASK", "")


def test_an_older_answer_does_not_call_a_broken_course_whole() -> None:
    answer = json.loads(OLDER[0].read_text(encoding="utf-8"))
    assert answer["basis"] == "TIME_CRITICAL"
    broken = next(each for each in answer["courses"] if each["kind"] == "divert_now")
    assert "breaks nothing" in parts_of(answer)["PLACES"]
    broken["findings"].append(
        {**broken["findings"][0], "outcome": "FAIL", "rule": "FU-01", "text": "too little fuel"}
    )
    assert "breaks too little fuel" in parts_of(answer)["PLACES"]
    broken["findings"][-1]["rule"] = "CM-01"  # a condition that does not count when urgent
    assert "too little fuel" not in parts_of(answer)["PLACES"]


def test_every_part_of_the_screen_is_in_its_order() -> None:
    assert len(PARTS) == len(set(PARTS)) == 12


def test_without_a_runway_the_place_alone_is_named() -> None:
    answer = answer_of("gear-stuck", **{"/winds_aloft": REMOVED})
    answer["action"]["runway"] = None
    assert parts_of(answer)["ACTION"] == "DIVERT XTOR"
