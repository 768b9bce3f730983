"""A watch hears what comes, decides anew, records and tells what has changed, and nothing else."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from sqlalchemy import func, select

from service.store.engines import reading
from service.store.proof import proof_of
from service.store.tables import DECISIONS
from service.watching.look import Expectation
from tests.watch.world import FINE, FOG, START, World


def recorded(world: World) -> int:
    with reading(world.store) as connection:
        return connection.scalar(select(func.count()).select_from(DECISIONS)) or 0


def test_a_report_of_fog_makes_the_verdict_worse_and_is_told(anywhere: World) -> None:
    world = anywhere
    watch = world.watched()
    world.clock.put_on(4)
    assert world.report(FOG)["watches_touched"] == 1
    assert world.look() == {"recorded": 1}
    (event,) = world.events()
    assert event["kind"] == "changed"
    assert event["worse"] is True
    assert "verdict" in event["what"]
    assert (event["watch_id"], event["flight_id"]) == (watch["id"], watch["flight_id"])
    assert event["because"] == "report"
    assert event["changed"]["verdict"] == {"from": "GO", "to": event["standing"]["verdict"]}
    assert FOG in event["changed"]["why"]
    told = world.watch(watch["id"])
    assert told["standing"] == event["standing"]
    assert told["standing"]["decision"] != watch["standing"]["decision"]


def test_what_is_recorded_is_a_decision_like_any_other(world: World) -> None:
    watch = world.watched()
    world.clock.put_on(4)
    world.report(FOG)
    world.look()
    (event,) = world.events()
    answer = world.client.get(f"/v1/decisions/{event['standing']['decision']}").get_json()
    assert answer["previous"] == watch["standing"]["decision"]
    assert answer["as_of"] == "2026-03-14T06:14:00Z"
    assert {"what": "came", "report": FOG} in answer["changed"]["weather"]
    with reading(world.store) as connection:
        proof = proof_of(connection, sign=None)
    assert (proof.breaks, proof.decisions) == ((), 2)


def test_it_decides_as_again_does(world: World) -> None:
    watch = world.watched()
    world.clock.put_on(4)
    first = watch["standing"]["decision"]
    again = world.client.post(f"/v1/decisions/{first}/again", json={"add_reports": [FOG]})
    world.report(FOG)
    world.look()
    (event,) = world.events()
    answer = world.client.get(f"/v1/decisions/{event['standing']['decision']}").get_json()
    apart = {"id"}
    told = again.get_json()
    assert {name: each for name, each in told.items() if name not in apart} == {
        name: each for name, each in answer.items() if name not in apart
    }


def test_a_look_that_changes_nothing_records_nothing_and_says_when_it_looks_next(
    world: World,
) -> None:
    watch = world.watched()
    before = recorded(world)
    world.clock.put_on(1)
    assert world.report(FINE)["watches_touched"] == 1
    assert world.watch(watch["id"])["due_at"] == "2026-03-14T06:11:00.000000Z"
    assert world.look() == {"same": 1}
    assert (recorded(world), world.events()) == (before, [])
    told = world.watch(watch["id"])
    assert told["looked"] == 2
    assert told["due_at"] > "2026-03-14T06:11"
    assert told["standing"] == watch["standing"]


def test_a_report_of_another_place_stirs_nothing(world: World) -> None:
    world.watched()
    assert world.report("METAR XZZZ 140612Z 26008KT 9999 FEW040 08/02 Q1013") == {
        "accepted": [
            {
                "index": 0,
                "kind": "METAR",
                "station": "XZZZ",
                "issued_at": "2026-03-14T06:12:00Z",
                "unread": [],
            }
        ],
        "already_known": [],
        "unread": [],
        "watches_touched": 0,
    }
    assert world.look() == {}


def test_what_came_between_the_decision_and_its_watch_is_heard(world: World) -> None:
    decision = world.decided()
    world.clock.put_on(4)
    world.report(FOG)
    body = {"decision_id": decision["id"], "until": "2026-03-14T08:00:00Z"}
    assert world.client.post("/v1/watches", json=body).status_code == 201
    assert world.look() == {"recorded": 1}
    (event,) = world.events()
    assert event["because"] == "begun"
    assert "verdict" in event["what"]


def test_state_that_nobody_tells_any_more_is_asked_for_in_time(world: World) -> None:
    watch = world.watched()
    due = world.watch(watch["id"])["due_at"]
    while not (events := world.events()):
        assert world.clock() < START.replace(minute=25), "it was not told in time"
        world.clock.put_on(0.5)
        world.look()
    (event,) = events
    assert due < event["at"]
    assert event["standing"]["verdict"] == "INSUFFICIENT_DATA"
    assert event["worse"] is True
    given, limit = datetime.fromisoformat(watch["standing"]["as_of"]), timedelta(minutes=10)
    late = datetime.fromisoformat(event["at"]) - given - limit
    assert late <= timedelta(minutes=1)
    assert world.watch(watch["id"])["due_at"] > event["at"]


def test_a_state_that_is_given_is_recorded_for_its_moment_though_nothing_changes(
    world: World,
) -> None:
    watch = world.watched()
    world.clock.put_on(2)
    patch = {"aircraft": {"anti_ice": True}, "destination": {"track_nm": 38}}
    answer = world.client.post(f"/v1/watches/{watch['id']}/state", json={"patch": patch})
    assert answer.status_code == 202, answer.text
    assert answer.get_json()["states_waiting"] == 1
    world.clock.put_on(0.5)  # the look comes later than the state
    assert world.look() == {"recorded": 1}
    told = world.watch(watch["id"])
    assert told["states_waiting"] == 0
    assert told["standing"]["as_of"] == "2026-03-14T06:12:00Z"
    asked = world.client.get(f"/v1/decisions/{told['standing']['decision']}/request").get_json()
    assert asked["destination"]["track_nm"] == 38
    assert asked["aircraft"]["anti_ice"] is True


def test_states_are_decided_in_the_order_in_which_they_were_given(world: World) -> None:
    watch = world.watched()
    for minute in (1, 2):
        world.clock.put_on(1)
        patch = {"destination": {"track_nm": 45 - 5 * minute}}
        given = world.client.post(f"/v1/watches/{watch['id']}/state", json={"patch": patch})
        assert given.status_code == 202
    before = recorded(world)
    world.look()
    assert recorded(world) == before + 2
    told = world.watch(watch["id"])
    asked = world.client.get(f"/v1/decisions/{told['standing']['decision']}/request").get_json()
    assert (asked["destination"]["track_nm"], asked["as_of"]) == (35, "2026-03-14T06:12:00Z")


def test_a_decision_for_a_moment_that_has_passed_is_made_anew_at_once(world: World) -> None:
    watch = world.watched()
    world.clock.put_on(1)
    patch = {"destination": {"track_nm": 40}}
    world.client.post(f"/v1/watches/{watch['id']}/state", json={"patch": patch})
    world.clock.put_on(5)  # nobody looked
    assert world.look() == {"recorded": 1}
    assert world.watch(watch["id"])["due_at"] == "2026-03-14T06:16:00.000000Z"
    world.clock.put_on(0)
    assert sum(world.look().values()) == 1
    assert world.watch(watch["id"])["due_at"] > "2026-03-14T06:16:01"


@pytest.mark.parametrize(
    ("patch", "pointer"),
    [
        ({"flight_id": "XA 2"}, "/patch/flight_id"),
        ({"as_of": "2026-03-14T06:12:00Z"}, "/patch/as_of"),
        ({"fuel": {"on_board_kg": -1}}, "/patch/fuel/on_board_kg"),
    ],
)
def test_a_state_that_makes_no_case_is_refused_where_it_is_given(
    world: World, patch: object, pointer: str
) -> None:
    watch = world.watched()
    answer = world.client.post(f"/v1/watches/{watch['id']}/state", json={"patch": patch})
    assert answer.status_code == 422
    assert [each["pointer"] for each in answer.get_json()["errors"]] == [pointer]
    assert world.look() == {}


@pytest.mark.parametrize("share", [0.0, 1.0])
def test_what_is_told_does_not_depend_on_what_was_expected(world: World, share: float) -> None:
    """By the figures first, or with all that is told at once."""
    watch = world.watched()
    world.looker.tendency.share = share
    world.clock.put_on(1)
    world.report(FINE)
    assert world.look() == {"same": 1}
    world.looker.tendency.share = share
    world.clock.put_on(3)
    world.report(FOG)
    assert world.look() == {"recorded": 1}
    (event,) = world.events()
    assert (event["worse"], event["standing"]["as_of"]) == (True, "2026-03-14T06:14:00Z")
    assert world.watch(watch["id"])["looked"] == 3


@pytest.mark.parametrize(
    ("changed", "expected"), [((True,) * 4, True), ((True,) * 4 + (False,) * 4, False)]
)
def test_looks_that_change_something_let_more_of_them_be_expected(
    changed: tuple[bool, ...], expected: bool
) -> None:
    tendency = Expectation()
    for each in changed:
        tendency.note(changed=each)
    assert tendency.is_to_change is expected
