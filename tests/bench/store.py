"""What recording a decision costs beside the same bytes put into the same table as they are.

`python -m tests.bench.store` prints bytes and records per second beside the table.
"""

from __future__ import annotations

import json
import sys
from datetime import UTC, datetime
from itertools import count
from tempfile import TemporaryDirectory
from typing import Final

from sqlalchemy import func, insert, select

from service.engine import installed_engine
from service.store import Draft, SqlDecisionLog
from service.store.port import digest
from service.store.tables import DECISIONS
from tests.bench.measure import Comparison, Measured, Way, measure, table
from tests.case.builders import demo

US_PER_S: Final = 1e6
NUMBERS: Final = count()
FOLDER: Final = TemporaryDirectory(prefix="approach-bench-")  # deleted when the process ends
STORE: Final = SqlDecisionLog.open(f"sqlite:///{FOLDER.name}/d.sqlite3", timeout_s=5)
REQUEST: Final = json.dumps(demo("gear-stuck")).encode()
RESPONSE: Final = installed_engine().decide(json.loads(REQUEST)).content


def record(identity: str | None = None) -> None:
    """As the service does it."""
    draft = Draft(
        decision_id=identity or f"r-{next(NUMBERS)}",
        flight_id="XA 101",
        as_of="2026-01-31T06:00:00Z",
        verdict="GO",
        created_at=datetime(2026, 1, 31, tzinfo=UTC),
        request=REQUEST,
        response=RESPONSE,
    )
    STORE.record(draft)


def put_plain(identity: str | None = None) -> None:
    """As it was done before: nothing compressed."""
    row = {
        "decision_id": identity or f"p-{next(NUMBERS)}",
        "flight_id": "XA 101",
        "as_of": "2026-01-31T06:00:00Z",
        "verdict": "GO",
        "created_at": "2026-01-31T00:00:00.000000Z",
        "request": REQUEST,
        "request_digest": digest(REQUEST),
        "response": RESPONSE,
        "response_digest": digest(RESPONSE),
    }
    with STORE._write() as connection:
        connection.execute(insert(DECISIONS).values(**row))


record("compressed")
put_plain("plain")

COMPARISONS: Final = (
    Comparison(
        title="store: record a decision",
        ours=Way(label="compressed", call=record),
        yardstick=Way(label="as it is", call=put_plain),
    ),
    Comparison(
        title="store: find a decision",
        ours=Way(label="compressed", call=lambda: STORE.find("compressed")),
        yardstick=Way(label="as it is", call=lambda: STORE.find("plain")),
    ),
)


def _bytes() -> str:
    kept = (
        DECISIONS.c.decision_id,
        func.length(DECISIONS.c.request) + func.length(DECISIONS.c.response),
    )
    with STORE._read() as connection:
        found = connection.execute(select(*kept).where(kept[0].in_(["compressed", "plain"])))
        return "; ".join(f"{identity}: {size:,} bytes" for identity, size in found)


def _rates(row: Measured) -> str:
    ours, plain = US_PER_S / row.ours_us, US_PER_S / row.yardstick_us
    return f"{row.comparison.title}: {ours:,.0f} a second; beside it {plain:,.0f}"


if __name__ == "__main__":
    rows = [measure(comparison) for comparison in COMPARISONS]
    sys.stdout.write("\n".join([table(rows), *map(_rates, rows), _bytes()]) + "\n")
