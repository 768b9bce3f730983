"""The board: recent flights, what is to be done for each, and how long that holds.

Made from `GET /v1/flights` and the service's clock alone. Every row has what it says while its
answer holds and what it says once that ran out: which of the two is shown is one class of the row,
so that a page whose service has gone silent still turns an answer old at its time.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Any, Final

from msgspec import Struct

from decision.brief.layout import clock_down, counted, room_kg
from decision.decide.decision import Distress, Do, Verdict
from decision.legible import all_on_one_line
from service.page.minutes import left_min, passed_min, span

Data = Mapping[str, Any]

FOLDED_AFTER: Final = timedelta(hours=2)  # [ASSUMED] an answer that ran out: most have landed
NEW_FOR: Final = timedelta(minutes=5)  # [ASSUMED] of a flight that is decided for the first time
MOVED_FOR: Final = timedelta(minutes=30)  # [ASSUMED] for who asks what has moved
LATE: Final = timedelta(minutes=1)  # [ASSUMED] a look that is later than that did not come
SILENT_AFTER_S: Final = 30  # two heartbeats of the stream that did not come
LOOK_EACH_S: Final = 20  # [ASSUMED] what nobody watches comes as no event
MOST_CAUSES: Final = 2
LEAST_DIGITS: Final = 2  # one digit has no order
AXIS_MIN: Final = 60
AXIS_PX: Final = 122
AXIS_START_PX: Final = 10
TICKS_MIN: Final = (0, 15, 30, 45, 60)
DO: Final = {
    Do.DIVERT.value: ("DIVERT", "to "),
    Do.HOLD.value: ("HOLD", "for "),
    Do.APPROACH.value: ("APPROACH", ""),
    Do.COMMIT.value: ("LAND", "at "),
}
STILL: Final = "looked at by its watch: nothing has changed"


class Shown(StrEnum):
    """Which flights a board is asked for; those in distress are on every one."""

    ALL = "all"
    MOVED = "moved"
    """Of the last half hour."""
    WATCHED = "watched"


class RowStage(StrEnum):
    """How a row is to be read while its answer holds."""

    DISTRESS = "distress"
    NOW = "now"
    """To be done at once, without a time until which it could wait."""
    COUNTED = "counted"
    """Something ends at a time."""
    WATCHED = "watched"
    """Nothing ends: a watch has found the answer as it was."""


class BoardRow(Struct, frozen=True, kw_only=True):
    """A flight on the board."""

    flight: str
    decision: str
    destination: str
    alike: tuple[str, ...]
    stage: RowStage
    distress: str
    ends_at: datetime | None
    what: str
    later: str
    old_at: datetime
    do: str
    where: str
    was: str
    because: str
    until_then: str
    moved: str
    moved_at: datetime | None
    verdict: Verdict
    decided_at: datetime
    room: str
    room_unit: str
    watch: str
    is_watched: bool

    @property
    def standing(self) -> str:
        """What is told of when it becomes another."""
        return f"{self.verdict}: {self.do} {self.where}"

    def count(self, now: datetime) -> tuple[str, str]:
        """The large figure while the answer holds, and its unit."""
        if self.stage in (RowStage.DISTRESS, RowStage.NOW):
            return "NOW", ""
        if self.ends_at is None:
            return "-", "no end"
        return span(left_min(self.ends_at, now))

    def gone(self, now: datetime) -> tuple[str, str]:
        """For how long the answer has been old."""
        return span(passed_min(self.old_at, now))

    def age(self, now: datetime) -> str:
        """For how long it has been decided."""
        return " ".join(span(passed_min(self.decided_at, now)))

    def mark_px(self, now: datetime) -> float | None:
        """Where its end stands on the axis; None without one."""
        if self.ends_at is None or self.stage is RowStage.DISTRESS:
            return None
        return axis_px(left_min(self.ends_at, now))

    def is_beyond(self, now: datetime) -> bool:
        """Whether it ends after the axis does."""
        return self.ends_at is not None and left_min(self.ends_at, now) > AXIS_MIN

    def is_old(self, now: datetime) -> bool:
        """Whether the answer has run out."""
        return now >= self.old_at

    def is_folded(self, now: datetime) -> bool:
        """Whether it ran out so long ago that it is shown apart."""
        return not self.is_watched and now >= self.old_at + FOLDED_AFTER

    def order(self, now: datetime) -> tuple[int, float, float]:
        """Distress; then what ran out, the last first; then what ends soonest."""
        ends_s = float("inf") if self.ends_at is None else self.ends_at.timestamp()
        decided_s = self.decided_at.timestamp()
        if self.stage is RowStage.DISTRESS:
            return 0, ends_s, -decided_s
        if self.is_old(now):
            return 1, -self.old_at.timestamp(), -decided_s
        if self.stage is RowStage.NOW:
            return 2, float("-inf"), decided_s
        return 2, ends_s, -decided_s


class Board(Struct, frozen=True, kw_only=True):
    """The rows in their order, and what stands around them."""

    now: datetime
    rows: tuple[BoardRow, ...]
    folded: tuple[BoardRow, ...]
    hidden: int
    damaged: int
    is_full: bool
    shown: Shown
    silent_after_s: int = SILENT_AFTER_S
    look_each_s: int = LOOK_EACH_S


def board_page(
    flights: Sequence[Data], *, now: datetime, shown: Shown, damaged: int, is_full: bool
) -> Board:
    """The board at a moment of the service's clock (UTC)."""
    others = alike([each["flight_id"] for each in flights])
    rows = sorted(
        (_row(each, others[each["flight_id"]], now) for each in flights),
        key=lambda row: row.order(now),
    )
    asked = [row for row in rows if _is_asked_for(row, shown, now)]
    return Board(
        now=now,
        rows=tuple(row for row in asked if not row.is_folded(now)),
        folded=tuple(row for row in asked if row.is_folded(now)),
        hidden=len(rows) - len(asked),
        damaged=damaged,
        is_full=is_full,
        shown=shown,
    )


def alike(flights: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """For each flight those that have its digits in whatever order: they are mistaken for it."""
    of_digits: dict[str, list[str]] = defaultdict(list)
    for each in dict.fromkeys(flights):
        of_digits[_digits(each)].append(each)
    return {
        each: tuple(other for other in same if other != each and len(digits) >= LEAST_DIGITS)
        for digits, same in of_digits.items()
        for each in same
    }


def _digits(flight: str) -> str:
    return "".join(sorted(each for each in flight if each in "0123456789"))


def _is_asked_for(row: BoardRow, shown: Shown, now: datetime) -> bool:
    if shown is Shown.ALL or row.stage is RowStage.DISTRESS:
        return True
    if shown is Shown.WATCHED:
        return row.is_watched
    return row.moved_at is not None and now - row.moved_at <= MOVED_FOR


def _row(flight: Data, others: tuple[str, ...], now: datetime) -> BoardRow:
    flight = all_on_one_line(flight)
    old_at, confirmed = _old_at(flight)
    stage, ends_at, what, later = _what_ends(flight, now, confirmed=confirmed)
    do, where = _action(flight)
    room, unit = _room(flight)
    emergency = flight["emergency"] or {}
    moved = flight["moved"]
    return BoardRow(
        flight=flight["flight_id"],
        decision=flight["id"],
        destination=flight["destination"],
        alike=others,
        stage=stage,
        distress=f"distress: {emergency['reason']}" if stage is RowStage.DISTRESS else "",
        ends_at=ends_at,
        what=what,
        later=later,
        old_at=old_at,
        do=do,
        where=where,
        was=_was(flight),
        because=_because(flight),
        until_then="; ".join(flight["until_then"]),
        moved=_moved(flight, now),
        moved_at=None if moved is None else _at(moved["at"]),
        verdict=Verdict(flight["verdict"]),
        decided_at=_at(flight["as_of"]),
        room=room,
        room_unit=unit,
        watch=_watch(flight["watch"]),
        is_watched=flight["watch"] is not None,
    )


def _old_at(flight: Data) -> tuple[datetime, bool]:
    """When the answer is old, and whether that is since its watch has found it as it was.

    What has neither an end nor a deadline is old at once: nothing says how long it holds.
    """
    deadline, valid, watch = flight["deadline"], flight["valid_until"], flight["watch"]
    ends = [_at(each["at"]) for each in (deadline, valid) if each is not None]
    old_at = min(ends, default=_at(flight["as_of"]))
    if watch is None or not _confirms(flight, watch):
        return old_at, False
    looked_until = _at(watch["due_at"]) + LATE
    if deadline is not None:
        looked_until = min(looked_until, _at(deadline["at"]))
    return max(old_at, looked_until), looked_until > old_at


def _confirms(flight: Data, watch: Data) -> bool:
    """Whether its last look found what was decided last, and the next is to come."""
    return (
        watch["decision"] == flight["id"]
        and watch["failures"] == 0
        and watch["last_looked_at"] is not None
        and watch["due_at"] is not None
    )


def _what_ends(
    flight: Data, now: datetime, *, confirmed: bool
) -> tuple[RowStage, datetime | None, str, str]:
    """What ends first, when, and what ends after it."""
    deadline, emergency = flight["deadline"], flight["emergency"]
    if emergency is not None and emergency["level"] == Distress.DISTRESS:
        at = None if deadline is None else _at(deadline["at"])
        return RowStage.DISTRESS, at, _leaving(flight), ""
    if deadline is None and flight["action"]["do"] == Do.DIVERT:
        return RowStage.NOW, None, "leave at once", ""
    return _counted(flight, now, confirmed=confirmed)


def _counted(
    flight: Data, now: datetime, *, confirmed: bool
) -> tuple[RowStage, datetime | None, str, str]:
    """The same of what can wait: its deadline, or that the answer ends before."""
    deadline, valid = flight["deadline"], flight["valid_until"]
    leave_at = None if deadline is None else _at(deadline["at"])
    if valid is None:
        told = _leaving(flight) or "an answer of an older format"
        return RowStage.COUNTED, leave_at or _at(flight["as_of"]), told, ""
    until = _at(valid["at"])
    went_on = confirmed and until <= now
    if leave_at is None and went_on:
        return RowStage.WATCHED, None, STILL, ""
    if leave_at is not None and (went_on or leave_at <= until):
        return RowStage.COUNTED, leave_at, _leaving(flight), STILL if went_on else ""
    later = "" if leave_at is None else f"{moment(leave_at, now)} {_leaving(flight)}"
    return RowStage.COUNTED, until, _validity(valid["why"]), later


def _leaving(flight: Data) -> str:
    """What ends with the deadline; empty without one."""
    if flight["deadline"] is None:
        return ""
    what = str(flight["deadline"]["what"])
    if flight["action"]["do"] != Do.DIVERT:
        return what
    return f"leave for {flight['action']['aerodrome']}: {what}"


def _validity(why: str) -> str:
    return f"answer then {why}" if why.startswith("older") else why


def _action(flight: Data) -> tuple[str, str]:
    """What to do, and where; what is to be asked first, where too little is known."""
    if flight["verdict"] == Verdict.INSUFFICIENT_DATA and flight["ask"]:
        return "ASK", f"for {flight['ask'][0]['what']}"
    do, to = DO[flight["action"]["do"]]
    return do, f"{to}{_place(flight)}"


def _place(flight: Data) -> str:
    action = flight["action"]
    return f"{action['aerodrome']}, {_runway(action)}"


def _runway(action: Data) -> str:
    return "runway not known" if action["runway"] is None else f"runway {action['runway']}"


def _was(flight: Data) -> str:
    do, to = DO[flight["action"]["do"]]
    return f"{do} {to}{_place(flight)}"


def _because(flight: Data) -> str:
    """Why; until what is asked for is known, what to do as well."""
    told = str(flight["because"] or flight["headline"])
    if flight["verdict"] == Verdict.INSUFFICIENT_DATA and flight["ask"]:
        return f"Until then {_was(flight)}: {told}"
    return told


def _moved(flight: Data, now: datetime) -> str:
    moved = flight["moved"]
    if moved is not None:
        was = f"was {moved['verdict']}, {moved['action']}"
        causes = counted(moved["causes"], MOST_CAUSES) or ["nothing but the time differs"]
        return f"MOVED {clock_down(moved['at'])}: {was}. {'; '.join(causes)}"
    is_new = flight["decisions"] == 1 and now - _at(flight["created_at"]) <= NEW_FOR
    return "NEW" if is_new else ""


def _room(flight: Data) -> tuple[str, str]:
    """Kilograms over or under the final reserve on landing; of what is not known enough nothing."""
    fuel = flight["fuel"]
    if fuel is None or flight["verdict"] == Verdict.INSUFFICIENT_DATA:
        return "?", "not known"
    if fuel["landing_kg"] <= 0.0:
        return "0", "tanks empty"
    room = room_kg(fuel)
    at_most = "at most, " if fuel["at_most"] else ""
    return f"{abs(room)}", f"kg {at_most}{'under' if room < 0 else 'over'}"


def _watch(watch: Data | None) -> str:
    if watch is None:
        return ""
    until = f"under watch until {clock_down(watch['until'])}"
    if watch["failures"]:
        return f"{until}, but it cannot be decided: {watch['last_failure']}"
    looked = watch["last_looked_at"]
    return until if looked is None else f"{until}, looked at {clock_down(looked)}"


def _at(text: str) -> datetime:
    return datetime.fromisoformat(text)


def moment(at: datetime, now: datetime) -> str:
    """Hour and minute, rounded down, and the date where it is another."""
    return f"{at:%H:%MZ}" if at.date() == now.date() else f"{at:%H:%MZ %d %b}"


def axis_px(minutes: float) -> float:
    """Where a number of minutes stands on the axis of an hour; what is later stands at its end."""
    return AXIS_START_PX + AXIS_PX * min(minutes, AXIS_MIN) / AXIS_MIN
