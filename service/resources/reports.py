"""`/v1/reports`: raw reports that a caller hands in; watches of their places are looked at anew."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from http import HTTPStatus
from typing import Annotated, Final

from flask import Response
from msgspec import Struct

from decision.case.derive import record_of
from decision.errors import Fault, UnreadableReport
from decision.fields import Instant, about
from decision.weather import decode
from decision.weather.report import ReportKind
from service.address import Address
from service.collaborators import Collaborators
from service.door.door import caller_name
from service.observing import note
from service.problems import UNAVAILABLE, invalid
from service.representation import json_response
from service.scopes import Scope
from service.shapes import ReportsGiven
from service.store.reports import NewReport, take_reports

NOBODY: Final = "a caller"  # on loopback nobody has to say who it is
AHEAD: Final = timedelta(minutes=15)  # [ASSUMED] as far as clocks of senders may be ahead
BEHIND: Final = timedelta(hours=48)  # [ASSUMED] as long as reports are kept


class ReportTaken(Struct, frozen=True, kw_only=True, gc=False):
    """A report that was not known before."""

    index: Annotated[int, about("Its place in the request, from 0.", low=0)]
    kind: Annotated[ReportKind, about("Its kind.")]
    station: Annotated[str, about("The place that it is of.")]
    issued_at: Annotated[Instant, about("When it was issued.")]
    unread: Annotated[tuple[str, ...], about("Groups of it that could not be read.")]


class ReportNotRead(Struct, frozen=True, kw_only=True, gc=False):
    """A report of which not even kind, place and time could be read: nothing is done with it."""

    index: Annotated[int, about("Its place in the request, from 0.", low=0)]
    why: Annotated[str, about("What stands in the way.")]


class ReportsTaken(Struct, frozen=True, kw_only=True, gc=False):
    """What has come of reports that were handed in."""

    accepted: Annotated[tuple[ReportTaken, ...], about("Those that are new, and kept.")]
    already_known: Annotated[
        tuple[int, ...], about("Places in the request of those that had come before.")
    ]
    unread: Annotated[tuple[ReportNotRead, ...], about("Those that could not be read at all.")]
    watches_touched: Annotated[
        int, about("How many watches are looked at anew because of them.", low=0)
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Read:
    """A report of the request that could be read."""

    index: int
    report: NewReport
    unread: tuple[str, ...]


@Address(
    "POST",
    "/v1/reports",
    tag="watches",
    scope=Scope.DECIDE,
    summary="Hand in reports: decisions under watch at their places are looked at anew.",
    description="With the answer the reports are kept, and the watches are due; their decisions"
    " follow within seconds, as events. A text that came before is not taken twice. Reports are"
    " forgotten after 48 hours.",
    body=record_of(ReportsGiven),
    example={
        "reports": [
            "SPECI XKAL 140614Z 26008KT 0300 R27R/0300N FG VV001 08/07 Q1013",
            "METAR XKAL",
        ],
    },
    answers=(ReportsTaken,),
    successes={HTTPStatus.ACCEPTED: "What could be read is kept, and is being heard."},
    raises=(UNAVAILABLE,),
)
def hand_in_reports(with_: Collaborators, asked: ReportsGiven) -> Response:
    """Keep what is new, and make the watches of its places due."""
    now = with_.clock()
    received_at = now if asked.received_at is None else asked.received_at
    if not now - BEHIND <= received_at <= now + AHEAD:
        raise invalid((_out_of_time(),))
    outcomes = list(_outcomes(asked.reports, received_at))
    read = [each for each in outcomes if isinstance(each, _Read)]
    with with_.watches.kept.write() as connection:
        source = caller_name() or NOBODY
        taken = take_reports(connection, [each.report for each in read], source=source, at=now)
    note(reports=len(taken.new), watches=taken.watches)
    first = _first_of_each(read, taken.new)
    response = json_response(
        ReportsTaken(
            accepted=tuple(map(_taken, first)),
            already_known=tuple(each.index for each in read if each not in first),
            unread=tuple(each for each in outcomes if isinstance(each, ReportNotRead)),
            watches_touched=taken.watches,
        )
    )
    response.status_code = HTTPStatus.ACCEPTED
    return response


def _outcomes(texts: Sequence[str], received_at: datetime) -> Iterator[_Read | ReportNotRead]:
    for index, text in enumerate(texts):
        try:
            report = decode(text, received_at=received_at)
        except UnreadableReport as error:
            yield ReportNotRead(index=index, why=error.problem)
            continue
        new = NewReport(
            station=report.station, kind=report.kind.value, issued_at=report.issued_at, text=text
        )
        yield _Read(index=index, report=new, unread=tuple(report.unread))


def _first_of_each(read: Sequence[_Read], new: frozenset[str]) -> list[_Read]:
    """Of each new text the first place in the request."""
    first: dict[str, _Read] = {}
    for each in read:
        if each.report.digest in new:
            first.setdefault(each.report.digest, each)
    return list(first.values())


def _taken(read: _Read) -> ReportTaken:
    report = read.report
    return ReportTaken(
        index=read.index,
        kind=ReportKind(report.kind),
        station=report.station,
        issued_at=report.issued_at,
        unread=read.unread,
    )


def _out_of_time() -> Fault:
    return Fault(
        pointer="/received_at",
        code="range",
        message="is not of the present",
        accepted="an instant of the last 48 hours, at most 15 minutes ahead",
    )
