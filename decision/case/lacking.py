"""What the reports of a case lack: the places of which nothing is in force, by kind of report."""

from __future__ import annotations

from decision.case.types import Case, Lack, ReportClass
from decision.weather.collect import collect, read_heap


def lacking(case: Case) -> tuple[Lack, ...] | None:
    """The observations and forecasts to be fetched for a case, destination first.

    None if the case does not ask for it, or has been fetched for before. A report that is given
    but not in force (expired, NIL, cancelled, unreadable) is lacking.
    """
    if not case.weather.fetch or case.weather.fetched is not None:
        return None
    heap = read_heap(
        case.weather.reports, received_at=case.as_of
    )  # the decision lists the unreadable
    lacks: list[Lack] = []
    for leg in (case.destination, *case.alternates):
        icao = leg.aerodrome.icao
        have = collect(heap.reports, station=icao, as_of=case.as_of)
        if have.observation is None:
            lacks.append(Lack(icao=icao, kind=ReportClass.OBSERVATION))
        if have.forecast is None:
            lacks.append(Lack(icao=icao, kind=ReportClass.FORECAST))
    return tuple(lacks)
