"""From the notices of a case to what stands at each of its places.

A NOTAM that replaces or cancels another ends it at its own beginning, if all of it was read: one
that cannot be read takes nothing away. Of condition reports the newest of a runway counts, and one
that cannot be read comes after all others.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from functools import lru_cache
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from decision.notices.condition_report import looks_like_condition_report, read_condition_report
from decision.notices.notam import looks_like_notam, read_notam
from decision.notices.types import (
    DistanceLeft,
    Notice,
    NoticeAction,
    NoticeEffect,
    NoticeItem,
    NoticeKind,
    NoticeSubject,
    ReadNotice,
)

TEXTS_KEPT: Final = 1024  # read lately; a flight asks again and again with the same ones


class NoticesAtPlace(Struct, frozen=True, kw_only=True, gc=False):
    """The notices of a place, in their order, those of no readable place among them."""

    notices: tuple[ReadNotice, ...] = ()


class StandingNotices(Struct, frozen=True, kw_only=True, gc=False):
    """All notices of a case. `elsewhere`: of places that are not in it."""

    at: dict[str, NoticesAtPlace]
    elsewhere: tuple[ReadNotice, ...] = ()


NOTHING_STANDS: Final = NoticesAtPlace()


def read_notices(notices: Sequence[Notice], *, received_at: datetime) -> tuple[ReadNotice, ...]:
    """Each notice by itself, in their order: which of them ends another is not heeded."""
    return tuple(
        read_notice(each, number=number, received_at=received_at)
        for number, each in enumerate(notices, start=1)
    )


def read_notice(notice: Notice, *, number: int, received_at: datetime) -> ReadNotice:
    """A notice as it is read; `number`: where it stands, from 1, for a name if it has none."""
    name = notice.id or f"no. {number}"
    if notice.raw is not None:
        return _read_text(notice.raw, name, received_at)
    distances: tuple[DistanceLeft, ...] = ()
    if notice.runway is not None and notice.lda_m is not None:
        distances = (DistanceLeft(runway=notice.runway, lda_m=notice.lda_m),)
    return ReadNotice(
        id=name,
        kind=NoticeKind.STRUCTURED,
        places=() if notice.place is None else (notice.place,),
        subject=notice.subject,
        effect=notice.effect or NoticeEffect.UNKNOWN,
        runways=() if notice.runway is None else (notice.runway,),
        from_at=notice.from_at,
        until_at=notice.until_at,
        estimated=bool(notice.until_estimated),
        permanent=notice.until_at is None,
        category=notice.category,
        distances=distances,
        unread=("what it does",) if notice.effect is NoticeEffect.UNKNOWN else (),
    )


@lru_cache(maxsize=TEXTS_KEPT)
def _read_text(raw: str, name: str, received_at: datetime) -> ReadNotice:
    text = " ".join(raw.split())
    if looks_like_condition_report(text):
        return read_condition_report(raw, name=name, received_at=received_at)
    if looks_like_notam(text):
        return read_notam(raw, name=name)
    return ReadNotice(
        id=name,
        kind=NoticeKind.UNREADABLE,
        items=(NoticeItem(item="text", raw=text, read=False),) if text else (),
        unread=(text,) if text else (),
        problems=("neither a NOTAM nor a SNOWTAM",),
        raw=raw,
    )


def standing_notices(
    notices: Sequence[Notice], *, places: Iterable[str], received_at: datetime
) -> StandingNotices:
    """What stands at each place that has any; of most cases none has."""
    if not notices:
        return StandingNotices(at={})
    read = read_notices(notices, received_at=received_at)
    left = _newest_reports(_heeding(read))
    wanted = list(places)
    found = {
        place: NoticesAtPlace(
            notices=tuple(each for each in left if not each.places or place in each.places)
        )
        for place in wanted
    }
    return StandingNotices(
        at={place: each for place, each in found.items() if each.notices},
        elsewhere=tuple(
            each for each in left if each.places and not set(each.places).intersection(wanted)
        ),
    )


def closing_notices(notices: Sequence[Notice], *, received_at: datetime) -> tuple[ReadNotice, ...]:
    """Those that close an aerodrome and were not cancelled."""
    return tuple(
        each
        for each in _heeding(read_notices(notices, received_at=received_at))
        if each.effect is NoticeEffect.CLOSED and each.subject is NoticeSubject.AERODROME
    )


def _heeding(read: Sequence[ReadNotice]) -> list[ReadNotice]:
    """Those that were not cancelled, each until it is replaced; what cancels does nothing else."""
    left = list(read)
    for other in read:
        if other.action is NoticeAction.NEW or not _may_end_another(other):
            continue
        left = [each for old in left for each in _ended_by(other, old)]
    return [
        each for each in left if each.action is not NoticeAction.CANCELS or not each.wholly_read
    ]


def _may_end_another(notice: ReadNotice) -> bool:
    """Whether all of it was read; a schedule that is not read keeps both in force."""
    return notice.wholly_read and notice.refers_to is not None and notice.from_at is not None


def _ended_by(other: ReadNotice, old: ReadNotice) -> tuple[ReadNotice, ...]:
    """The old notice until the other begins, which is nothing if it begins no earlier."""
    if old.id != other.refers_to or old is other or not set(old.places) <= set(other.places):
        return (old,)
    if other.from_at is None or not old.places:
        return (old,)
    if old.from_at is not None and other.from_at <= old.from_at:
        return ()
    if old.ends_at is not None and old.ends_at <= other.from_at:
        return (old,)
    return (replace(old, until_at=other.from_at, estimated=False, permanent=False),)


def _newest_reports(notices: Sequence[ReadNotice]) -> list[ReadNotice]:
    """Of the condition reports of a runway at one place only the newest; others as they are."""
    newest: dict[tuple[tuple[str, ...], str], datetime] = {}
    for notice in notices:
        for report in notice.conditions:
            key = notice.places, report.runway
            newest[key] = max(newest.get(key, report.assessed_at), report.assessed_at)
    return [
        replace(
            notice,
            conditions=tuple(
                report
                for report in notice.conditions
                if report.assessed_at == newest[notice.places, report.runway]
            ),
        )
        if notice.conditions
        else notice
        for notice in notices
    ]
