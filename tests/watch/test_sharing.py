"""Watches are shared out: nobody works on what somebody has, and nothing is written twice."""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import timedelta

from sqlalchemy import update

from service.clock import rfc3339
from service.settings import ROOT
from service.store.engines import reading, writing
from service.store.leases import LEASE, Settled, backlog, release, settle
from service.store.owners import owners_for
from service.store.tables import DECISIONS, WATCHES
from service.store.watching import Due
from tests.watch.world import FINE, FOG, World

OTHER = "process 2 2 nowhere"


def test_what_one_has_claimed_nobody_else_gets_until_the_lease_ends(anywhere: World) -> None:
    world = anywhere
    watch = world.watched()
    world.clock.put_on(4)
    world.report(FOG)
    assert world.claimed() == [watch["id"]]
    assert world.claimed(owner=OTHER) == []
    world.clock.at += LEASE
    assert world.claimed(owner=OTHER) == [watch["id"]]


def test_what_is_given_back_is_free_at_once(world: World) -> None:
    watch = world.watched()
    world.report(FINE)
    ids = world.claimed()
    release(world.store, ids, owner=OTHER)  # of whom it is not
    assert world.claimed(owner=OTHER) == []
    release(world.store, ids, owner=world.owner)
    assert world.claimed(owner=OTHER) == [watch["id"]]


def test_whoever_has_lost_a_watch_writes_nothing_of_it(anywhere: World) -> None:
    world = anywhere
    watch = world.watched()
    world.clock.put_on(4)
    world.report(FOG)
    ids = world.claimed()
    world.clock.at += LEASE + timedelta(seconds=1)
    assert world.claimed(owner=OTHER) == ids
    assert world.look_at(ids).outcomes == {"lost": 1}
    assert (world.events(), world.watch(watch["id"])["looked"]) == ([], 1)
    assert world.look_at(ids, owner=OTHER).outcomes["recorded"] == 1
    assert len(world.events()) == 1


def test_a_look_that_is_overtaken_while_it_decides_is_not_written(world: World) -> None:
    watch = world.watched()
    world.clock.put_on(1)
    world.report(FINE)
    (identity,) = world.claimed()
    late = Settled(
        watch_id=identity,
        seen=2,
        at=world.clock(),
        due_at=world.clock(),
        due_because=Due.ROUTINE,
        failure="late",
    )
    world.clock.at += LEASE + timedelta(seconds=1)
    world.claimed(owner=OTHER)
    assert settle(world.store, [late], owner=world.owner, sign=None) == frozenset()
    assert world.watch(watch["id"])["failures"] == 0


def test_news_that_comes_during_a_look_keeps_the_watch_due(anywhere: World) -> None:
    world = anywhere
    watch = world.watched()
    world.clock.put_on(1)
    world.report(FINE)
    ids = world.claimed()
    (identity,) = ids
    told = world.watch(identity)
    late = Settled(
        watch_id=identity,
        seen=0,  # it knew of no news
        at=world.clock(),
        due_at=world.clock() + timedelta(minutes=5),
        due_because=Due.ROUTINE,
    )
    assert settle(world.store, [late], owner=world.owner, sign=None) == {watch["id"]}
    after = world.watch(identity)
    assert (after["due_at"], after["due_because"]) == (told["due_at"], "report")


def test_nothing_is_told_of_a_watch_that_ends_during_a_look(world: World) -> None:
    watch = world.watched()
    world.clock.put_on(4)
    world.report(FOG)
    ids = world.claimed()
    ended = world.client.delete(f"/v1/watches/{watch['id']}").get_json()
    assert ended["ended_because"] == "deleted"
    assert world.look_at(ids).outcomes == {"lost": 1}
    assert world.events() == []


def test_what_a_dead_process_had_is_taken_over_at_once(anywhere: World) -> None:
    """The other claims in a process of its own, which then ends without giving anything back."""
    world = anywhere
    watch = world.watched()
    world.clock.put_on(1)
    world.report(FINE)
    claims = f"""
import datetime
from service.store.engines import engine_for
from service.store.leases import claim
from service.store.owners import owners_for
import os
store = engine_for({str(world.store.url.render_as_string(hide_password=False))!r}, timeout_s=5)
owners = owners_for(store)
at = datetime.datetime.fromisoformat({world.clock().isoformat()!r})
print(claim(store, owners, owner=owners.me(), at=at, limit=9), flush=True)
input()
os._exit(1)
"""
    process = subprocess.Popen(
        [sys.executable, "-c", claims],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
    )
    assert process.stdout is not None
    assert watch["id"] in process.stdout.readline().decode()
    assert world.claimed() == []
    process.kill()
    process.communicate()
    assert world.claimed() == [watch["id"]]


def test_how_much_there_is_to_do_is_told(world: World) -> None:
    world.watched()
    with reading(world.store) as connection:
        assert backlog(connection, at=world.clock()).due == 0
    world.report(FINE)
    at = world.clock()
    world.clock.put_on(1)
    with reading(world.store) as connection:
        found = backlog(connection, at=world.clock())
    assert (found.open, found.due, found.first_due_at) == (1, 1, rfc3339(at))


def test_a_watch_of_a_decision_that_is_gone_ends_and_says_so(world: World) -> None:
    watch = world.watched()
    with writing(world.store) as connection:
        connection.execute(DECISIONS.delete())
    world.report(FINE)
    assert world.look() == {"ended": 1}
    (event,) = world.events()
    assert (event["kind"], event["worse"]) == ("ended", False)
    assert "has been removed" in event["problem"]
    assert world.watch(watch["id"])["ended_because"] == "purged"
    world.clock.put_on(10)
    assert world.look() == {}


def test_a_watch_that_fails_is_tried_again_later_and_told_the_third_time(world: World) -> None:
    watch = world.watched()
    before = world.watch(watch["id"])["standing"]["decision"]
    with writing(world.store) as connection:
        connection.execute(update(WATCHES).values(decision_id="d-none"))
    world.report(FINE)
    events = []
    for _ in range(4):
        assert world.look() == {"failed": 1}
        assert world.look() == {}, "not at once"
        events.append(len(world.events()))
        world.clock.put_on(5)
    assert events == [0, 0, 1, 0]
    told = world.watch(watch["id"])
    assert (told["failures"], told["ended_at"]) == (4, None)
    assert "not in the store" in told["last_failure"]
    with writing(world.store) as connection:
        connection.execute(update(WATCHES).values(decision_id=before))
    world.look()
    assert world.watch(watch["id"])["failures"] == 0
    assert [each["kind"] for each in world.events()] in (["recovered"], ["changed"])
    owners_for(world.store).close()
