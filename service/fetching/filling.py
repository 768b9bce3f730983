"""A case's body with what its reports lack, fetched: from then on a case like any other.

What was fetched, how old it is and what could not be had is written into the body as data, so that
the decision needs no clock, says it in its answer, and can be made again from the same body.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any, Final

from decision.case import Lack
from decision.case.types import MAX_REPORTS
from decision.windows import instant_text
from service.fetching.fetcher import Fetcher, FetchOutcome

Body = Mapping[str, Any]

# A report names only its day of the month: of another month it would be read as of the case's.
NEAR_THE_PRESENT: Final = timedelta(hours=1)  # [ASSUMED]
NOT_OF_THE_PRESENT: Final = "the case is of another time, and only present reports can be fetched"
NO_ROOM: Final = f"the case has no room for more than {MAX_REPORTS} reports"


def filled(body: Body, lacks: Sequence[Lack], fetcher: Fetcher) -> Body:
    """The body with fetched reports after its own, and a note of each thing that it lacked."""
    outcomes = _outcomes(body, lacks, fetcher)
    now = fetcher.clock()
    reports: list[str] = list(body["weather"]["reports"])
    notes = []
    for lack, got in outcomes.items():
        room = MAX_REPORTS - len(reports)
        outcome = got if len(got.reports) <= room else FetchOutcome(problem=NO_ROOM)
        reports.extend(outcome.reports)
        notes.append(_note(lack, outcome, now))
    return {**body, "weather": {**body["weather"], "reports": reports, "fetched": notes}}


def _outcomes(body: Body, lacks: Sequence[Lack], fetcher: Fetcher) -> Mapping[Lack, FetchOutcome]:
    as_of = datetime.fromisoformat(body["as_of"])
    if abs(fetcher.clock() - as_of) > NEAR_THE_PRESENT:
        return dict.fromkeys(lacks, FetchOutcome(problem=NOT_OF_THE_PRESENT))
    return fetcher.fetch(lacks)


def _note(lack: Lack, outcome: FetchOutcome, now: datetime) -> dict[str, object]:
    entry = outcome.entry
    return {
        "icao": lack.icao,
        "kind": lack.kind.value,
        "at": None if entry is None else instant_text(entry.at),
        "age_s": None if entry is None else max(0, round((now - entry.at).total_seconds())),
        "stale": entry is not None and outcome.problem is not None,
        "problem": outcome.problem,
    }
