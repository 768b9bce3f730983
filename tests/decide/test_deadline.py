"""The deadline of a diversion: for an aircraft that flies on, and beside it for one that waits."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest

from decision.case import case_from_mapping
from decision.flight.approach import departure_of
from decision.flight.leave_later import leave_after, longest_fly_on_min
from decision.flight.situation import situation_of
from tests.case.builders import NAMES, REMOVED, demo, with_changes
from tests.decide.builders import judged_ways
from tests.decide.by_hand import told

PRESSING = ("TIME_CRITICAL", "NEAREST_SUITABLE")  # it is begun at once


def at(text: str) -> datetime:
    return datetime.fromisoformat(text)


def minutes(answer: dict[str, Any]) -> float:
    return (at(answer["action"]["latest_at"]) - at(answer["as_of"])).total_seconds() / 60.0


@pytest.mark.parametrize("name", NAMES)
def test_only_leaving_and_holding_have_a_deadline_and_it_names_its_place(name: str) -> None:
    answer = told(name)
    action, deadline = answer["action"], answer["deadline"]
    if action["do"] in ("APPROACH", "COMMIT") or answer["basis"] in PRESSING:
        assert deadline is None
        assert action["latest_at"] is None
        return
    (chosen,) = [each for each in answer["courses"] if each["course"] == action["course"]]
    if action["do"] == "DIVERT" and chosen["legal"] is not True:
        assert deadline is None, "what is not legal now has no last legal moment"
        return
    assert deadline is not None, "every legal diversion and every hold of a demo case has one"
    assert action["latest_at"] == deadline["at"]
    assert deadline["what"]
    assert deadline["aerodrome"] == action["course"].split(":")[1]
    assert at(answer["as_of"]) <= at(deadline["at"])


@pytest.mark.parametrize("name", ["gear-stuck", "choice", "widebody-gear-stays-down"])
def test_it_ends_at_the_last_clean_point_where_a_step_for_good_is_ahead(name: str) -> None:
    answer = told(name)
    point, deadline = answer["last_clean_diversion"], answer["deadline"]
    assert deadline["what"] == "last clean point"
    assert at(deadline["at"]) == at(point["at"])
    assert deadline["distance_to_go_nm"] == point["distance_to_go_nm"]
    assert deadline["fuel_kg"] == pytest.approx(point["fuel_kg"], abs=0.01)


def legal_after(body: dict[str, Any], icao: str, after_min: float) -> bool:
    """Whether the diversion is legal after flying on so long, asked of the courses themselves."""
    situation = situation_of(case_from_mapping(body))
    departure = departure_of(situation)
    later = judged_ways(situation, leave_after(situation, departure, after_min))
    return any(each.legal is True for each in later if each.course.icao == icao)


SHORT = {"/fuel/on_board_kg": 2240, "/aircraft/mass_kg": 59_090}


def test_with_fuel_that_does_not_last_to_the_point_it_is_the_last_legal_minute_before_it() -> None:
    """A minute later the diversion is no longer legal; at the moment told it still is."""
    body = with_changes(demo("gear-stuck"), SHORT)
    answer = told("gear-stuck", **SHORT)
    assert answer["action"]["do"] == "DIVERT"
    deadline = answer["deadline"]
    assert deadline["what"] == "last legal moment for XTOR"
    assert (deadline["distance_to_go_nm"], deadline["fuel_kg"]) == (None, None)
    told_min = minutes(answer)
    departure = departure_of(situation_of(case_from_mapping(body)))
    assert told_min < longest_fly_on_min(departure)
    assert legal_after(body, "XTOR", told_min)
    assert not legal_after(body, "XTOR", told_min + 1.1)


def test_less_fuel_never_makes_it_later() -> None:
    latest = [
        minutes(told("gear-stuck", **{"/fuel/on_board_kg": kg, "/aircraft/mass_kg": 56_850 + kg}))
        for kg in (2120, 2240, 2360, 3450)
    ]
    assert latest == sorted(latest)
    assert latest[0] < latest[-1]


def test_more_minutes_of_checklists_never_make_it_later() -> None:
    """They are run on the way, so that the moment stays or comes nearer."""
    latest = [minutes(told("gear-stuck", **{"/plan/checklist_min": each})) for each in (0, 3, 6)]
    assert latest == sorted(latest, reverse=True)
    assert latest[0] - latest[-1] < 1.0


def test_where_waiting_here_lasts_longer_than_flying_on_both_are_told() -> None:
    answer = told("gear-stuck")
    deadline, holding = answer["deadline"], answer["holding"]["clean_diversion"]
    assert deadline["holding_until"] == holding["until"]
    assert at(deadline["holding_until"]) > at(deadline["at"])


def test_without_a_way_to_run_the_time_for_waiting_is_what_there_is() -> None:
    answer = told("clean", **{"/destination/track_nm": REMOVED, "/aircraft/position": REMOVED})
    deadline, holding = answer["deadline"], answer["holding"]["clean_diversion"]
    assert at(deadline["at"]) == at(holding["until"])
    assert deadline["what"].startswith("last legal moment for XTOR: fuel for XTOR")


def test_a_diversion_that_is_not_legal_has_no_last_legal_moment() -> None:
    """Nothing is legal: the least bad is begun now."""
    answer = told("nothing-legal")
    assert (answer["action"]["do"], answer["action"]["latest_at"]) == ("DIVERT", None)


def test_a_hold_says_when_it_ends_and_what_ends_it() -> None:
    answer = told("wait-for-fog")
    deadline = answer["deadline"]
    assert deadline["what"] == f"holding ends: {answer['holding']['limited_by']}"
    assert deadline["at"] == answer["holding"]["until"]


def test_past_the_point_the_way_on_leaves_no_time() -> None:
    """The gear is out already, the fog is here: each mile on is flown back with the gear."""
    fog = "METAR XKAL 140600Z 26004KT 0250 R27R/0300N R09L/0300N FG VV001 08/08 Q1013"
    answer = told(
        "gear-stuck",
        **{
            "/aircraft/gear": "down",
            "/aircraft/pressure_altitude_ft": 3_000,
            "/destination/track_nm": 4,
            "/fuel/on_board_kg": 3900,
            "/aircraft/mass_kg": 60_750,
            "/weather/reports/0": fog,
        },
    )
    assert (answer["action"]["do"], answer["basis"]) == ("DIVERT", "APPROACH_BARRED")
    assert minutes(answer) == pytest.approx(0.0, abs=1.0)


def test_the_answer_is_not_valid_beyond_its_deadline() -> None:
    for name in ("gear-stuck", "wait-for-fog", "leak-ends-the-hold"):
        answer = told(name)
        end = at(answer["valid_until"]["at"])
        assert end <= at(answer["action"]["latest_at"]) + timedelta(seconds=1)


def test_for_the_nearest_suitable_place_the_aircraft_does_not_fly_on() -> None:
    """Half an hour on it would no longer be the nearer place that the answer rests on."""
    answer = told("engine-out-nearer-place")
    assert answer["basis"] == "NEAREST_SUITABLE"
    assert answer["action"]["latest_at"] is None
