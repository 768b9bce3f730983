"""`/v1/weather/*`: reports decoded, and read for a window of time."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any, Final

from flask import Blueprint, Response

from decision.case.build import spots_of
from decision.errors import Fault, InvalidCase, UnreadableReport
from decision.rules.rulebook import load_rulebook
from decision.weather import Report, decode, report_to_mapping
from decision.weather.collect import collect, read_heap
from decision.weather.conditions import Outlook, outlook
from decision.weather.present import GOVERNS_AHEAD
from decision.windows import Window, minutes_between
from service.incoming import json_body, require_query
from service.plain import plain
from service.questions import Body, with_defaults
from service.representation import json_response
from service.shapes import CONDITIONS, DECODING

LONGEST: Final = timedelta(days=2)  # longer than any forecast is valid [WMO-306]


def weather() -> Blueprint:
    """The routes of weather."""
    blueprint = Blueprint("weather", __name__)

    @blueprint.post("/v1/weather/decode")
    def decode_reports() -> Response:
        require_query(())
        body: dict[str, Any] = json_body(DECODING)
        received_at = datetime.fromisoformat(body["received_at"])
        return json_response({"reports": [_decoded(raw, received_at) for raw in body["reports"]]})

    @blueprint.post("/v1/weather/conditions")
    def read_for_a_window() -> Response:
        require_query(())
        return json_response(_conditions(with_defaults(json_body(CONDITIONS), CONDITIONS)))

    return blueprint


def _decoded(raw: str, received_at: datetime) -> dict[str, Any]:
    """A decoded report; of one that cannot be read nothing is known, and it says why."""
    try:
        return report_to_mapping(decode(raw, received_at=received_at))
    except UnreadableReport as error:
        unknown = dict.fromkeys(("kind", "station", "issued_at"))
        return {"raw": raw, **unknown, "unread": [raw], "problems": [error.problem]}


def _conditions(body: Body) -> dict[str, Any]:
    """What governs over the window, what each part of it is like, and what was not used."""
    window, as_of = _window_of(body), datetime.fromisoformat(body["as_of"])
    heap = read_heap(body["reports"], received_at=as_of)
    station = collect(heap.reports, station=body["station"], as_of=as_of)
    seen = outlook(
        station,
        as_of=as_of,
        reading=load_rulebook(body["rulebook"]).reading,
        spots=spots_of(body, icao=body["station"]),
    )
    others = [report.raw for report in heap.reports if report.station != body["station"]]
    return {
        "station": body["station"],
        "as_of": plain(as_of),
        "rulebook": body["rulebook"],
        "conditions": plain(seen.over(window)),
        "timeline": plain(seen.timeline(window)),
        "in_force": _in_force(seen, as_of),
        "set_aside": plain((*station.set_aside, *heap.unreadable)),
        "other_stations": others,
    }


def _window_of(body: Body) -> Window:
    """The window that is given, or the minutes from `eta`. Raises: InvalidCase."""
    if (body["window"] is None) is (body["eta"] is None):
        raise _refused("/window", "window and eta: one of them is needed", "one of the two")
    if body["window"] is not None:
        return _window(body["window"])
    start_at = datetime.fromisoformat(body["eta"])
    return Window(start_at, start_at + timedelta(minutes=body["minutes"]))


def _window(given: Body) -> Window:
    """Raises: InvalidCase unless it ends after it starts, and within two days."""
    start_at, end_at = (datetime.fromisoformat(given[name]) for name in ("start", "end"))
    if not start_at < end_at <= start_at + LONGEST:
        message = f"does not end a window that starts at {given['start']}"
        raise _refused("/window/end", message, "later than the start, by two days at most")
    return Window(start_at, end_at)


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
