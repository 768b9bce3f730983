"""The rows of a sweep as a table of columns (Apache Parquet), for whoever studies many.

Only who asks for it needs the library (the extra `parquet`): nothing else imports this module.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from typing import IO, Any, Final

import pyarrow as pa
from pyarrow import parquet

from decision.sweep import SweepRow
from service.sweeps.flights import ROW
from service.whole import whole_file

GROUP_ROWS: Final = 20_000  # of a row group: some megabytes at a time


def write_table(rows: Path, table: Path) -> int:
    """Write the table of a file of rows; how many there are. Raises: OSError."""
    schema = _schema()
    count = 0
    with (
        rows.open("rb") as lines,
        whole_file(table) as opened,
        parquet.ParquetWriter(opened, schema) as writer,
    ):
        for group in _groups(lines):
            writer.write_table(pa.Table.from_pylist(group, schema=schema))
            count += len(group)
    return count


def _groups(lines: IO[bytes]) -> Iterator[list[dict[str, Any]]]:
    while group := [_columns(ROW.decode(line)) for line in islice(lines, GROUP_ROWS)]:
        yield group


def _schema() -> pa.Schema:
    texts = pa.list_(pa.string())
    return pa.schema(
        [
            pa.field("flight", pa.int32(), nullable=False),
            pa.field("flight_id", pa.string(), nullable=False),
            pa.field("as_of", pa.timestamp("s", tz="UTC")),
            pa.field("failures", texts, nullable=False),
            pa.field("delay_min", pa.float64(), nullable=False),
            pa.field("headwind_kt", pa.float64(), nullable=False),
            pa.field("fuel_kg", pa.float64(), nullable=False),
            pa.field("rulebook", pa.string()),
            pa.field("verdict", pa.string()),
            pa.field("basis", pa.string()),
            pa.field("do", pa.string()),
            pa.field("aerodrome", pa.string()),
            pa.field("deadline_at", pa.timestamp("s", tz="UTC")),
            pa.field("fuel_state", pa.string()),
            pa.field("ways_out", pa.int32()),
            pa.field("diversions", texts),
            pa.field("none_left", pa.string()),
            pa.field("only_place", pa.string()),
            pa.field("from_minute", pa.int32()),
            pa.field("from_because", pa.string()),
            pa.field("looked_to_minute", pa.int32()),
            pa.field("chosen_margin_kg", pa.float64()),
            pa.field("contradicted", pa.string()),
        ]
    )


def _columns(row: SweepRow) -> dict[str, Any]:
    """A row as one value for each column; null where there is none."""
    told = row.row
    made: dict[str, Any] = {
        "flight": row.flight,
        "flight_id": row.flight_id,
        "failures": [each.id for each in row.failures],
        "delay_min": 0.0 if row.shift is None else row.shift.delay_min,
        "headwind_kt": 0.0 if row.shift is None else row.shift.headwind_kt,
        "fuel_kg": 0.0 if row.shift is None else row.shift.fuel_kg,
        "none_left": row.none_left,
        "only_place": row.only_place,
        "from_minute": row.from_minute,
        "from_because": row.from_because,
        "looked_to_minute": row.looked_to_minute,
        "contradicted": row.contradicted,
    }
    if told is None:
        return made
    chosen = next((each for each in told.margins if each.course == told.action.course), None)
    return made | {
        "as_of": told.as_of,
        "rulebook": told.rulebook,
        "verdict": told.verdict.value,
        "basis": told.basis.value,
        "do": told.action.do.value,
        "aerodrome": told.action.aerodrome,
        "deadline_at": None if told.deadline is None else told.deadline.at,
        "fuel_state": told.fuel_state.value,
        "ways_out": told.ways_out,
        "diversions": list(told.diversions),
        "chosen_margin_kg": None if chosen is None else chosen.margin_kg,
    }
