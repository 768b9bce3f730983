"""What weighs on a decision from notices: those in force, those not read, reports grown old."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from decision.attempt.noticed import Noticed
from decision.decide.concerns.concern import Concern, attempts_of
from decision.decide.judge import JudgedCourse
from decision.flight.situation import Situation
from decision.notices import NoticeEffect, ReadNotice
from decision.systems import Weight
from decision.weather.runway import both_ends
from decision.windows import Window, around


def unread(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """Notices that may be in force at an arrival and of which something is open."""
    for each in open_notices(situation, courses):
        yield Concern(
            code="NOTICE_NOT_READ",
            weight=Weight.CAUTION,
            at=(each.icao,),
            quotes=(each.notice.id, *each.why),
        )


class OpenNotice(NamedTuple):
    """A notice of which something is open, the first place that it may be of, and what is open."""

    icao: str
    notice: ReadNotice
    why: tuple[str, ...]


def open_notices(situation: Situation, courses: Sequence[JudgedCourse]) -> tuple[OpenNotice, ...]:
    """Each notice that may matter to an arrival and of which something is open, once."""
    found: dict[int, OpenNotice] = {}
    for icao, at_place in situation.notices.at.items():
        windows = [each.window for each in attempts_of(courses) if each.icao == icao]
        for notice in at_place.notices:
            why = (*notice.problems, *notice.unread, *_of_unknown_runways(notice, situation, icao))
            if why and id(notice) not in found and _may_matter(notice, windows, situation):
                found[id(notice)] = OpenNotice(icao, notice, why)
    return tuple(found.values())


def _may_matter(notice: ReadNotice, windows: Sequence[Window], situation: Situation) -> bool:
    """Whether it may be in force at an arrival there, or now where there is none."""
    if notice.conditions:
        return True
    now = around(situation.case.as_of, before_min=0.0, after_min=1.0)
    return any(notice.in_force(window) for window in windows or [now])


def _of_unknown_runways(notice: ReadNotice, situation: Situation, icao: str) -> tuple[str, ...]:
    """Runways that it names where the case has none of them: one of the two may be mistyped."""
    if not notice.runways or notice.effect is NoticeEffect.NONE:
        return ()
    place = next(leg.aerodrome for leg in situation.legs if leg.aerodrome.icao == icao)
    known = {name for each in place.runways for name in both_ends(each.ident)}
    if not known.isdisjoint(notice.runways):
        return ()
    return (f"the case has no runway {' or '.join(notice.runways)} there",)


def places_noticed(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[Noticed]:
    """The places as notices leave them for the arrivals of the courses; of most cases none."""
    if not situation.notices.at:
        return ()
    every = (attempt.noticed for attempt in attempts_of(courses))
    return {id(noticed): noticed for noticed in every if noticed is not None}.values()


def in_force(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """The notices that an arrival meets and that do something, once a place."""
    met: dict[str, dict[str, str]] = {}
    for noticed in places_noticed(situation, courses):
        for notice in noticed.notices:
            if notice.effect not in (NoticeEffect.NONE, NoticeEffect.UNKNOWN):
                met.setdefault(noticed.aerodrome.icao, {})[notice.id] = does(notice)
    for icao, notices in met.items():
        yield Concern(
            code="NOTICES_IN_FORCE",
            weight=Weight.INFO,
            at=(icao,),
            quotes=tuple(f"{name}: {what}" for name, what in notices.items()),
        )


def does(notice: ReadNotice) -> str:
    """What a notice does, in words."""
    if notice.subject is None:
        return "not read"
    words = f"{notice.subject.replace('_', ' ')}"
    if notice.runways:
        words = f"{words} {'/'.join(notice.runways)}"
    if notice.distances:
        told = ", ".join(f"{each.runway} {each.lda_m:g} m" for each in notice.distances)
        return f"{words}, landing distance {told}"
    if notice.category is not None:
        return f"{words} category {notice.category}"
    said = {NoticeEffect.NONE: "without effect", NoticeEffect.CHANGED: "reported"}
    return f"{words} {said.get(notice.effect, notice.effect.value)}"


def reports_grown_old(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """Condition reports that are not in force for all of an arrival."""
    old = dict.fromkeys(
        (noticed.aerodrome.icao, each.notice, each.report.runway)
        for noticed in places_noticed(situation, courses)
        for each in noticed.reported
        if not each.holds
    )
    for icao, notice, runway in old:
        yield Concern(
            code="RUNWAY_REPORT_OLD", weight=Weight.CAUTION, at=(icao,), quotes=(notice, runway)
        )


def elsewhere(situation: Situation, _courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """Notices of places that are not in the case."""
    for notice in situation.notices.elsewhere:
        yield Concern(
            code="NOTICE_NOT_USED",
            weight=Weight.INFO,
            quotes=(notice.id, ", ".join(notice.places)),
        )
