"""The rows of one flight: decided with each failure now, and where it would leave nothing later."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from copy import deepcopy
from datetime import timedelta
from functools import cached_property
from itertools import combinations
from typing import Any, Final

import msgspec

from decision.again import case_anew
from decision.answer import RowTold, plain
from decision.answer.row import DIVERTING
from decision.case import Case, Library, case_from_mapping
from decision.decide.work import Work
from decision.errors import InvalidCase, told
from decision.flight.tried import WhatIf
from decision.profile.types import Profile
from decision.quantities import SlatPosition
from decision.recommend import recommend_answer, row_of
from decision.sweep.asked import LONGEST_MIN, Shift, SweepScope
from decision.sweep.told import NoneLeft, SweepRow, shift_told, would_fail
from decision.systems import Failure
from decision.turning import Probe, last_good, middle, turn

Body = dict[str, Any]
Failures = tuple[Failure, ...]
AS_GIVEN: Final = Shift()
NOT_ASKED: Final = ("include", "compare_rulebooks")  # they are no part of a row


def rows_of_flight(
    number: int,
    body: Mapping[str, Any],
    asked: SweepScope,
    *,
    library: Library,
    only: slice = slice(None),
    work: Callable[[], Work] = Work,
) -> Iterator[SweepRow]:
    """A row for each shift and each failure, in that order; of them the `only` ones.

    `work`: what counts the operations of each decision.
    Raises: InvalidCase where the flight itself is none.
    """
    case = case_from_mapping(body, library=library)
    failing = failures_asked(case, asked)
    wanted = [(shift, each) for shift in (None, *asked.shifts) for each in failing][only]
    ways: dict[Shift | None, _Way] = {}
    for shift, failures in wanted:
        if shift not in ways:
            ways[shift] = _Way(_shifted(body, shift or AS_GIVEN), shift, library, work)
        yield _row(number, ways[shift], failures, looking=asked.from_minute)


def count_of_rows(body: Mapping[str, Any], asked: SweepScope, *, library: Library) -> int:
    """How many rows a flight has. Raises: InvalidCase where it is none."""
    failing = failures_asked(case_from_mapping(body, library=library), asked)
    return len(failing) * (1 + len(asked.shifts))


def failures_asked(case: Case, asked: SweepScope) -> list[Failures]:
    """What fails in each row: nothing, one of those asked for or of the profile, each two of them.

    What the flight has already is left out.
    """
    named = asked.failures or _each(case.aircraft.profile, case)
    has = {each.id for each in case.failures}
    new = [each for each in named if each.id not in has]
    pairs = combinations(new, 2) if asked.pairs else ()
    nothing: list[Failures] = [()] if asked.as_it_is else []
    return nothing + [(each,) for each in new] + [two for two in pairs if two[0].id != two[1].id]


def _each(profile: Profile, case: Case) -> list[Failure]:
    """Every failure of the profile; what jams does so where it is."""
    flap, slats = case.aircraft.flap, case.aircraft.slats
    if slats is None:
        out = profile.slats_out_with_lever(flap)
        slats = SlatPosition.OUT if out else SlatPosition.IN
    return [
        Failure(
            id=entry.id,
            detent=flap if entry.needs_detent else None,
            position=slats if entry.needs_position else None,
        )
        for entry in profile.systems.catalogue.values()
    ]


def _shifted(body: Mapping[str, Any], shift: Shift) -> Body:
    """The case with more or less fuel, and a longer hold; nothing besides is asked of it."""
    made = {name: deepcopy(value) for name, value in body.items() if name not in NOT_ASKED}
    if shift.fuel_kg:
        made["fuel"]["on_board_kg"] += shift.fuel_kg
        made["aircraft"]["mass_kg"] += shift.fuel_kg
    if shift.delay_min:
        plan = made.setdefault("plan", {})
        plan["hold_min"] = (plan.get("hold_min") or 0) + shift.delay_min
    return made


class _Way:
    """A flight as it goes on without any more failures, minute by minute as far as is looked at."""

    def __init__(
        self, body: Body, shift: Shift | None, library: Library, work: Callable[[], Work]
    ) -> None:
        self.shift, self._body, self._library, self._work = shift, body, library, work
        self._what_if = WhatIf(headwind_kt=0.0 if shift is None else shift.headwind_kt)
        self._at: dict[int, Body] = {0: body}

    @property
    def flight_id(self) -> str:
        return str(self._body["flight_id"])

    def row(self, failures: Failures, *, minute: int = 0) -> RowTold:
        """What is decided if these fail after so many minutes. Raises: InvalidCase."""
        body = self._after(minute)
        has = body.get("failures") or []
        failed = {**body, "failures": [*has, *map(_written, failures)]}
        case = case_from_mapping(failed, library=self._library)
        return row_of(case, what_if=self._what_if, work=self._work())

    def none_left(self, failures: Failures, *, minute: int) -> NoneLeft | None:
        """Why there is no diversion then; None too where the flight cannot have them by then."""
        try:
            return none_left(self.row(failures, minute=minute))
        except InvalidCase:
            return None

    @cached_property
    def last_minute(self) -> int:
        """The last minute at which it is still known where it is and how: before the approach."""

        def is_known(minute: float) -> bool:
            return self._carried_to(round(minute)) is not None

        if is_known(LONGEST_MIN):
            return LONGEST_MIN
        return round(last_good(is_known, good=0, bad=LONGEST_MIN, step=1.0, between=middle))

    def _after(self, minute: int) -> Body:
        body = self._carried_to(minute)
        if body is None:
            raise ValueError(f"minute {minute} is after the approach has begun")
        return body

    def _carried_to(self, minute: int) -> Body | None:
        """The case after so many minutes; None where its state is not known any more.

        It is a supposition and no report: that its state is carried is not held against it.
        """
        if minute in self._at:
            return self._at[minute]
        at = case_from_mapping(self._body, library=self._library).as_of + timedelta(minutes=minute)
        body = case_anew(
            self._body, self._answer, patch={}, reports=(), at=at, library=self._library
        )
        carried = body.pop("carried", None) or {}
        if "lost" in carried:
            return None
        self._at[minute] = body
        return body

    @cached_property
    def _answer(self) -> dict[str, Any]:
        case = case_from_mapping(self._body, library=self._library)
        return plain(recommend_answer(case, whole=True, work=self._work()))


def none_left(row: RowTold) -> NoneLeft | None:
    """Why a row has no diversion; None: it has one."""
    if row.diversions:
        return None
    diverting = tuple(f"{kind}:" for kind in DIVERTING)
    known = all(each.legal is not None for each in row.margins if each.course.startswith(diverting))
    return NoneLeft.BROKEN if known else NoneLeft.NOT_KNOWN


def _row(number: int, way: _Way, failures: Failures, *, looking: bool) -> SweepRow:
    row, why = None, None
    try:
        row = way.row(failures)
    except InvalidCase as error:
        why = "; ".join(f"{each.pointer}: {each.message}" for each in told(error.faults))
    now = None if row is None else none_left(row)
    looks = looking and row is not None
    minute, because = None, None
    if looks:
        minute, because = (0, now) if now is not None else _first_without(way, failures)
    diversions = () if row is None else row.diversions
    return SweepRow(
        flight=number,
        flight_id=way.flight_id,
        failures=tuple(map(would_fail, failures)),
        shift=shift_told(way.shift),
        row=row,
        none_left=now,
        only_place=diversions[0] if len(diversions) == 1 else None,
        from_minute=minute,
        from_because=because,
        looked_to_minute=way.last_minute if looks else None,
        contradicted=why,
    )


def _first_without(way: _Way, failures: Failures) -> tuple[int | None, NoneLeft | None]:
    """The minute at which no diversion is left and a minute before there is one, and why.

    Found by halving; nothing where the last minute that is looked at has one.
    """

    def left(minute: float) -> NoneLeft | None:
        return way.none_left(failures, minute=round(minute))

    def has_one(seen: NoneLeft | None) -> bool:
        return seen is None

    now: Probe[NoneLeft | None] = Probe(value=0, seen=None)
    last = Probe(value=way.last_minute, seen=left(way.last_minute))
    if has_one(last.seen):
        return None, None
    _, first = turn(left, has_one, now, last, step=1.0, between=middle)
    return round(first.value), first.seen


def _written(failure: Failure) -> Body:
    """As a case has it."""
    return {
        name: value for name, value in msgspec.to_builtins(failure).items() if value is not None
    }
