"""One look at a watch: its case decided anew, as it is now, and what is to be written of that.

The same as `POST /v1/decisions/{id}/again` does, from the latest recorded decision of the watch. A
state that was given counts from the moment at which it was given, so each is decided for that
moment and recorded, since all that follows is carried on from it. Otherwise only what is told is
recorded.
"""

from __future__ import annotations

import logging
import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final

from decision.again import case_anew
from decision.answer.changed import changed
from decision.answer.old import of_now
from decision.case import Lack, Library
from decision.errors import InvalidCase, OutOfRange
from service.bounds import Overtime
from service.clock import Clock, Entropy, utc_now
from service.engine import Engine
from service.identifiers import RANDOM_BYTES, decision_id
from service.jsontext import read_json, write_finite, write_json
from service.store import Draft
from service.store.events import NewEvent, SendFirst
from service.store.leases import Claimed, Settled
from service.store.sql import IN_HASTE, Packed, packed_for
from service.store.watching import Due, Ended, GivenState
from service.watching.moments import again_at, next_look_at
from service.watching.standing import is_worse, moved, standing_of
from service.watching.told import WatchEventKind, changed_of_watch, event_text

LOG: Final = logging.getLogger("service.watching")
TOLD_AFTER: Final = 3  # [ASSUMED] failures in a row: seconds of trouble are told to nobody
RECENT: Final = 0.2  # [ASSUMED] weight of the last look among those before it
HALF: Final = 0.5
NOTHING_CAME: Final = "no report of it has come for the watch"
OF_THE_CASE: Final = (InvalidCase, OutOfRange)

Body = dict[str, Any]


@dataclass(slots=True, kw_only=True)
class Expectation:
    """Whether the last looks have changed something: then the next one may as well.

    What has not changed shows in figures alone, for three fifths of the work; what has is then
    decided once more, with all that is told.
    """

    share: float = 0.0

    def note(self, *, changed: bool) -> None:
        """Take a look in."""
        self.share += RECENT * (float(changed) - self.share)

    @property
    def is_to_change(self) -> bool:
        """Whether more changes than not are to be expected."""
        return self.share > HALF


@dataclass(frozen=True, slots=True, kw_only=True)
class Looker:
    """What a look needs."""

    engine: Engine
    library: Library
    clock: Clock = utc_now
    entropy: Entropy = os.urandom
    tendency: Expectation = field(default_factory=Expectation)

    def look(self, claimed: Claimed) -> Settled:
        """Decide anew. Whatever is wrong is a result: the other watches must go on."""
        try:
            if claimed.told is None:
                return self._not_had(claimed)
            return _Looking(looker=self, claimed=claimed).settled()
        except Exception as error:
            return self._failed(claimed, error)

    def new_id(self, at: datetime) -> str:
        """An id of a decision or of an event."""
        return decision_id(at=at, random=self.entropy(RANDOM_BYTES))

    def event(
        self,
        claimed: Claimed,
        kind: WatchEventKind,
        *,
        at: datetime,
        first: SendFirst = SendFirst.WORSE,
        **told: Any,  # noqa: ANN401 - as `event_text` has them
    ) -> NewEvent:
        """An event about to be written."""
        watch, event_id = claimed.watch, self.new_id(at)
        given = {"standing": watch.standing, **told}
        return NewEvent(
            event_id=event_id,
            at=at,
            watch_id=watch.watch_id,
            flight_id=watch.flight_id,
            kind=kind.value,
            body=event_text(watch, kind, event_id=event_id, at=at, **given),
            urgency=first,
            webhook=watch.webhook,
        )

    def _not_had(self, claimed: Claimed) -> Settled:
        """There is no decision to go on from."""
        if claimed.ended is None:
            return self._failure(claimed, claimed.why)
        at = self.clock()
        return Settled(
            watch_id=claimed.watch.watch_id,
            seen=claimed.watch.stirred,
            at=at,
            due_at=at,
            due_because=Due(claimed.watch.due_because),
            ended=Ended.PURGED,
            event=self.event(claimed, WatchEventKind.ENDED, at=at, problem=claimed.why),
        )

    def _failed(self, claimed: Claimed, error: Exception) -> Settled:
        known = isinstance(error, (*OF_THE_CASE, Overtime))
        if not known:
            LOG.error("watch failed", exc_info=error)
        why = str(error) if known else "the service has failed; its log has the cause"
        return self._failure(claimed, why, of_the_case=isinstance(error, OF_THE_CASE))

    def _failure(self, claimed: Claimed, why: str, *, of_the_case: bool = False) -> Settled:
        """Try again later; tell it the third time, and at once where states make a case that is
        none: they are given up.
        """
        at, watch = self.clock(), claimed.watch
        given_up = len(watch.states) if of_the_case else 0
        tell = watch.failures + 1 == TOLD_AFTER or given_up > 0
        problem = f"the state that was given makes no case: {why}" if given_up else why
        return Settled(
            watch_id=watch.watch_id,
            seen=watch.stirred,
            at=at,
            due_at=again_at(watch.failures, now=at),
            due_because=Due.TRY_AGAIN,
            states_done=given_up,
            failure=problem,
            event=self.event(claimed, WatchEventKind.FAILING, at=at, problem=problem)
            if tell
            else None,
        )


@dataclass(slots=True, kw_only=True)
class _Looking:
    """A look on its way: the case, what was sent and all that was computed, as recorded last."""

    looker: Looker
    claimed: Claimed
    stored: Body = field(init=False)
    sent: Mapping[str, Any] = field(init=False)
    whole: Mapping[str, Any] = field(init=False)
    packed: list[Packed] = field(default_factory=list)

    def __post_init__(self) -> None:
        told = self.claimed.told
        assert told is not None  # noqa: S101 - its caller has looked
        stored = read_json(told.request)
        sent = read_json(told.response)
        whole = sent if told.whole is None else read_json(told.whole)
        self.stored, self.sent, self.whole = stored, {**sent, "id": told.decision_id}, of_now(whole)

    def settled(self) -> Settled:
        """Decide for each state that waits, else for the present; what has come of it."""
        watch, now = self.claimed.watch, self.looker.clock()
        told, tendency = watch.standing, self.looker.tendency
        why: list[str] = []
        for given in watch.states or (GivenState(at=now, patch={}),):
            body = self._case(given)
            if not watch.states and not tendency.is_to_change and self._is_same(body):
                tendency.note(changed=False)
                return self._left(body, now=now)
            answer: Body = {**self.looker.engine.whole(body), "id": self.looker.new_id(now)}
            what = moved(told, answer)
            if given.patch or what:
                why.append(self._recorded(body, answer, now=now))
        tendency.note(changed=bool(what))
        standing = standing_of(self.sent, told=None if what else told) if self.packed else None
        due_at, because = next_look_at(body, answer, now=now)
        return Settled(
            watch_id=watch.watch_id,
            seen=watch.stirred,
            at=now,
            due_at=due_at,
            due_because=because,
            states_done=len(watch.states),
            decisions=tuple(self.packed),
            standing=None if standing is None else write_json(standing).decode(),
            event=self._event(what, standing, why=" ".join(why), at=now),
        )

    def _case(self, given: GivenState) -> Body:
        """The case as it is with a state, or now."""
        body = case_anew(
            self.stored,
            self.whole,
            patch=given.patch,
            reports=self.claimed.reports,
            at=given.at,
            library=self.looker.library,
        )
        engine = self.looker.engine
        return with_what_is_lacking(dict(engine.written_out(body)), engine)

    def _is_same(self, body: Body) -> bool:
        """Whether nothing that is told has changed, by the figures alone."""
        return not moved(self.claimed.watch.standing, self.looker.engine.row(body))

    def _left(self, body: Body, *, now: datetime) -> Settled:
        """Nothing has changed: when to look next goes by the decision that is recorded."""
        watch = self.claimed.watch
        stands = {**watch.standing, "as_of": body["as_of"]}
        due_at, because = next_look_at(body, stands, now=now)
        return Settled(
            watch_id=watch.watch_id,
            seen=watch.stirred,
            at=now,
            due_at=due_at,
            due_because=because,
            event=self._event((), None, why="", at=now),
        )

    def _recorded(self, body: Body, answer: Body, *, now: datetime) -> str:
        """Have a decision recorded, from which the next one goes on; why it differs."""
        sent = self.looker.engine.sent(answer)
        differs = changed(self.sent, sent, request_before=self.stored, request_after=body)
        more = {"previous": self.sent["id"], "changed": differs}
        draft = Draft(
            decision_id=answer["id"],
            flight_id=body["flight_id"],
            as_of=body["as_of"],
            verdict=answer["verdict"],
            created_at=now,
            request=write_json(body),
            whole=write_json({**answer, **more}),
            response=write_finite({**sent, **more}),  # a part of the whole
            caller=self.claimed.watch.caller,
        )
        self.packed.append(packed_for(draft, level=IN_HASTE))
        self.stored, self.sent, self.whole = body, sent, answer
        return str(differs["why"])

    def _event(
        self, what: tuple[str, ...], standing: Body | None, *, why: str, at: datetime
    ) -> NewEvent | None:
        watch = self.claimed.watch
        if what and standing is not None:
            worse = is_worse(watch.standing, self.sent, what=what)
            return self.looker.event(
                self.claimed,
                WatchEventKind.CHANGED,
                at=at,
                first=SendFirst.WORSE if worse else SendFirst.OTHER,
                standing=standing,
                worse=worse,
                what=what,
                changed=changed_of_watch(watch.standing, self.sent, why=why),
            )
        if watch.failures >= TOLD_AFTER:
            return self.looker.event(
                self.claimed, WatchEventKind.RECOVERED, at=at, first=SendFirst.OTHER
            )
        return None


def with_what_is_lacking(body: Body, engine: Engine) -> Body:
    """The case with a note of each report that it asks to be fetched and that has not come.

    A watch fetches by itself, for all watches together; nothing is fetched for one decision.
    """
    weather: Body = body["weather"]
    lacks = engine.lacking(body) if weather.get("fetch") else None
    if lacks is None:
        return body
    return {**body, "weather": {**weather, "fetched": [_note(each) for each in lacks]}}


def _note(lack: Lack) -> Body:
    return {
        "icao": lack.icao,
        "kind": lack.kind.value,
        "at": None,
        "age_s": None,
        "stale": False,
        "problem": NOTHING_CAME,
    }
