"""`/v1/weather/*`: reports decoded, and read for a window of time."""

from __future__ import annotations

from datetime import datetime, timedelta
from http import HTTPStatus
from typing import Any, Final

from decision.answer.calculators import ConditionsOverWindow, DecodedReports
from decision.answer.tokens import TokenedReport, tokened, tokened_unreadable
from decision.case.derive import record_of
from decision.errors import Fault, InvalidCase, UnreadableReport
from decision.rulebooks.rulebook import load_rulebook
from decision.weather import Report, decode
from decision.weather.collect import collect, read_heap
from decision.weather.conditions import Outlook, outlook
from decision.weather.present import GOVERNS_AHEAD
from decision.windows import Window, instant_text, minutes_between
from service.address import Address
from service.plain import plain
from service.problems import OUT_OF_RANGE
from service.scopes import Scope
from service.shapes import ConditionsQuestion, ReportsQuestion, WindowOfTime

LONGEST: Final = timedelta(days=2)  # longer than any forecast is valid [WMO-306]


@Address(
    "POST",
    "/v1/weather/decode",
    tag="tools",
    scope=Scope.READ,
    summary="What reports say: decoded, in the same order, word by word, with what was not read.",
    body=record_of(ReportsQuestion),
    example={
        "reports": [
            "METAR XAAA 310550Z 24018G30KT 210V270 1500 0900NE R27/0600V1200U SN BKN008 M01/M02"
            " Q0989 WS R27 R27/451293 RMK AO2 PK WND 23035/0541",
            "TAF XAAA 310500Z 3106/0106 24010KT 9999 BKN030 TX02/3112Z TNM03/0105Z"
            " PROB30 TEMPO 3107/3109 1500 SNRA BKN004",
            "METAR XAAA 310530Z 24010KT 1 1/2SM BR BKN00O 02/01 A2992"
            " RMK CIG 005V010 TWR VIS 2 T00220011",
        ],
        "received_at": "2026-01-31T06:00:00Z",
    },
    successes={HTTPStatus.OK: "The reports; one that cannot be read says why."},
    raises=(OUT_OF_RANGE,),
)
def decode_reports(asked: ReportsQuestion) -> DecodedReports:
    """Each report by itself."""
    return DecodedReports(reports=tuple(_decoded(raw, asked.received_at) for raw in asked.reports))


@Address(
    "POST",
    "/v1/weather/conditions",
    tag="tools",
    scope=Scope.READ,
    summary="What governs at an aerodrome over a window of time, by which group, and why.",
    body=record_of(ConditionsQuestion),
    answers=(ConditionsOverWindow,),
    example={
        "station": "XAAA",
        "reports": [
            "METAR XAAA 310550Z 24008KT 9999 BKN030 05/01 Q1013",
            "TAF XAAA 310500Z 3106/0106 24010KT 9999 BKN030 TEMPO 3107/3109 1500 TSRA BKN004",
        ],
        "as_of": "2026-01-31T06:00:00Z",
        "window": {"start": "2026-01-31T07:00:00Z", "end": "2026-01-31T07:30:00Z"},
        "rulebook": "faa-121",
    },
    successes={HTTPStatus.OK: "The conditions, element by element, and what was not used."},
    raises=(OUT_OF_RANGE,),
)
def conditions(asked: ConditionsQuestion) -> dict[str, Any]:
    """What governs over the window, what each part of it is like, and what was not used."""
    window, as_of = _window_of(asked), asked.as_of
    heap = read_heap(asked.reports, received_at=as_of)
    station = collect(heap.reports, station=asked.station, as_of=as_of)
    seen = outlook(
        station,
        as_of=as_of,
        reading=load_rulebook(asked.rulebook).reading,
        spots=[each.spot for each in asked.observations if each.icao == asked.station],
    )
    others = [report.raw for report in heap.reports if report.station != asked.station]
    return {
        "station": asked.station,
        "as_of": plain(as_of),
        "rulebook": asked.rulebook,
        "conditions": plain(seen.over(window)),
        "timeline": plain(seen.timeline(window)),
        "in_force": _in_force(seen, as_of),
        "set_aside": plain((*station.set_aside, *heap.unreadable)),
        "other_stations": others,
    }


def _decoded(raw: str, received_at: datetime) -> TokenedReport:
    """A decoded report; of one that cannot be read nothing is known, and it says why."""
    try:
        return tokened(decode(raw, received_at=received_at))
    except UnreadableReport as error:
        return tokened_unreadable(raw, error.problem)


def _window_of(asked: ConditionsQuestion) -> Window:
    """The window that is given, or the minutes from `eta`. Raises: InvalidCase."""
    if asked.window is not None and asked.eta is None:
        return _window(asked.window)
    if asked.window is not None or asked.eta is None:
        raise _refused("/window", "window and eta: one of them is needed", "one of the two")
    return Window(asked.eta, asked.eta + timedelta(minutes=asked.minutes))


def _window(given: WindowOfTime) -> Window:
    """Raises: InvalidCase unless it ends after it starts, and within two days."""
    if not given.start < given.end <= given.start + LONGEST:
        message = f"does not end a window that starts at {instant_text(given.start)}"
        raise _refused("/window/end", message, "later than the start, by two days at most")
    return Window(given.start, given.end)


def _refused(pointer: str, message: str, accepted: str) -> InvalidCase:
    return InvalidCase((Fault(pointer=pointer, code="range", message=message, accepted=accepted),))


def _in_force(seen: Outlook, as_of: datetime) -> list[dict[str, Any]]:
    """Each report that speaks, with its age and when it expires.

    A forecast does at the end of its validity; an observation when it gets too old to make anything
    known: then it is heard only where it is worse.
    """
    return [
        {
            "raw": report.raw,
            "kind": report.kind.value,
            "issued_at": plain(report.issued_at),
            "age_min": minutes_between(report.issued_at, as_of),
            "expires_at": plain(_expires_at(report)),
            "unread": list(report.unread),
        }
        for report in seen.weather.in_force
    ]


def _expires_at(report: Report) -> datetime:
    return report.issued_at + GOVERNS_AHEAD if report.valid is None else report.valid.end_at
