"""Reports that were handed in or fetched: each text once, and what they stir.

A report and the watches that it makes due are written in one transaction: no report is known of
which a watch will not hear.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from sqlalchemy import Connection, case, delete, select, update

from service.clock import rfc3339
from service.store.engines import insert_unless_there
from service.store.port import digest
from service.store.tables import REPORTS, WATCHED_PLACES, WATCHES
from service.store.watching import Due

REPORTS_KEPT: Final = timedelta(hours=48)
MOST_AT_ONCE: Final = 500  # values of one statement, far below what either database takes


@dataclass(frozen=True, slots=True, kw_only=True)
class NewReport:
    """A report that was read; `issued_at` by its own time."""

    station: str
    kind: str
    issued_at: datetime
    text: str

    @property
    def digest(self) -> str:
        """SHA-256 of its text, by which it is known again."""
        return digest(self.text.encode())


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What came of reports: digests of those that are new, and how many watches they stir."""

    new: frozenset[str]
    watches: int


def take_reports(
    connection: Connection, reports: Sequence[NewReport], *, source: str, at: datetime
) -> Taken:
    """Keep the reports that are new, and make the watches of their places due."""
    by_digest = {each.digest: each for each in reports}
    known = _known(connection, by_digest.keys())
    new = {name: each for name, each in sorted(by_digest.items()) if name not in known}
    rows = [
        {
            "station": each.station,
            "kind": each.kind,
            "issued_at": rfc3339(each.issued_at),
            "received_at": rfc3339(at),
            "digest": name,
            "text": each.text,
            "source": source,
        }
        for name, each in new.items()
    ]
    insert_unless_there(connection, REPORTS, rows)
    stirred = _stir(connection, {each.station for each in new.values()}, at=at)
    return Taken(new=frozenset(new), watches=stirred)


def texts_for(
    connection: Connection, stations: Collection[str], *, since: datetime, most: int
) -> list[str]:
    """Reports of places that came since an instant, in the order in which they came; the newest."""
    wanted = (
        select(REPORTS.c.text)
        .where(REPORTS.c.station.in_(stations), REPORTS.c.received_at >= rfc3339(since))
        .order_by(REPORTS.c.received_at.desc(), REPORTS.c.id.desc())
        .limit(most)
    )
    return list(connection.scalars(wanted))[::-1]


def remove_reports(connection: Connection, *, before: datetime) -> int:
    """Forget reports that came before an instant; how many."""
    return connection.execute(
        delete(REPORTS).where(REPORTS.c.received_at < rfc3339(before))
    ).rowcount


def _known(connection: Connection, digests: Collection[str]) -> set[str]:
    found: set[str] = set()
    for part in _parts(sorted(digests)):
        found.update(connection.scalars(select(REPORTS.c.digest).where(REPORTS.c.digest.in_(part))))
    return found


def _stir(connection: Connection, stations: Collection[str], *, at: datetime) -> int:
    """Make the open watches of places due now; how many. What is overdue stays so.

    They are locked in the order of their ids, as everybody does, so that nobody waits in a circle.
    """
    now, places = rfc3339(at), sorted(stations)
    ids: set[str] = set()
    for part in _parts(places):
        ids.update(
            connection.scalars(
                select(WATCHED_PLACES.c.watch_id).where(WATCHED_PLACES.c.station.in_(part))
            )
        )
    count = 0
    for part in _parts(sorted(ids)):
        open_ones = (WATCHES.c.watch_id.in_(part), WATCHES.c.ended_at.is_(None))
        locked = select(WATCHES.c.watch_id).where(*open_ones).order_by(WATCHES.c.watch_id)
        connection.execute(locked.with_for_update()).all()
        overdue = WATCHES.c.due_at < now
        count += connection.execute(
            update(WATCHES)
            .where(*open_ones)
            .values(
                due_at=case((overdue, WATCHES.c.due_at), else_=now),
                due_because=Due.REPORT.value,
                stirred=WATCHES.c.stirred + 1,
            )
        ).rowcount
    return count


def _parts(values: Sequence[str]) -> list[Sequence[str]]:
    return [values[at : at + MOST_AT_ONCE] for at in range(0, len(values), MOST_AT_ONCE)]
