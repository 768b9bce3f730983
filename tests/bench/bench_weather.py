"""Decoding speed, with the `metar` package alone on the same strings in the same run.

Reports are those of the folder that WEATHER_CORPORA names, or the published examples without it.
What is timed was never read before: words are forgotten before each round, then learned again from
the other reports of the folder, as a process that has run for a while knows them.
`python -m tests.bench.bench_weather` prints reports per second beside the table.
"""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

from metar.Metar import Metar, ParserError

from decision.errors import UnreadableReport
from decision.weather import decode, forecast, observation
from decision.weather.groups import read_group
from decision.weather.trend import is_keyword, is_near_keyword
from tests.bench.measure import Comparison, Measured, Way, measure, table
from tests.weather.builders import RECEIVED_AT
from tests.weather.test_published_reports import FORECASTS, OBSERVATIONS

TARGET_PER_S = {"METAR": 20_000, "TAF": 10_000}
US_PER_S = 1e6
CORPUS_STEP = 8  # every eighth archived report is timed: all regions and years
WORD_MEMORIES = (read_group, is_keyword, is_near_keyword, observation._word, forecast._role)


class _Reports(NamedTuple):
    """Distinct reports: those that are timed, and those that a process has read before."""

    timed: tuple[str, ...]
    known: tuple[str, ...] = ()

    def learn(self) -> None:
        """Forget all words, and learn those of the known reports."""
        for memory in WORD_MEMORIES:
            memory.cache_clear()
        _decode_all(self.known)


def _reports(name: str, published: list[str]) -> _Reports:
    folder = os.environ.get("WEATHER_CORPORA")
    if not folder:
        return _Reports(tuple(published))
    archived = dict.fromkeys((Path(folder) / name).read_text(encoding="ascii").splitlines())
    timed = tuple(archived)[::CORPUS_STEP]
    return _Reports(timed, tuple(archived.keys() - frozenset(timed)))


METARS = _reports("metar.txt", [raw for raw, _ in OBSERVATIONS.values()])
TAFS = _reports("taf.txt", [raw for raw, _ in FORECASTS.values()])


def _decode_all(reports: tuple[str, ...]) -> None:
    for raw in reports:
        with suppress(UnreadableReport):
            decode(raw, received_at=RECEIVED_AT)


def _metar_alone() -> None:
    for raw in METARS.timed:
        with suppress(ParserError):
            Metar(raw, month=RECEIVED_AT.month, year=RECEIVED_AT.year)


_YARDSTICK = Way(label="metar alone, METAR", call=_metar_alone, items=len(METARS.timed))
COMPARISONS = (
    Comparison(
        title="weather: decode METAR",
        ours=Way(
            label="decode, never read before",
            call=lambda: _decode_all(METARS.timed),
            items=len(METARS.timed),
            before=METARS.learn,
        ),
        yardstick=_YARDSTICK,
    ),
    Comparison(
        title="weather: decode TAF",
        ours=Way(
            label="decode, never read before",
            call=lambda: _decode_all(TAFS.timed),
            items=len(TAFS.timed),
            before=TAFS.learn,
        ),
        yardstick=_YARDSTICK,
    ),
)


def _rates(row: Measured) -> str:
    kind = row.comparison.title.rpartition(" ")[2]
    return (
        f"{kind}: {US_PER_S / row.ours_us:,.0f} reports/s (target {TARGET_PER_S[kind]:,});"
        f" metar alone {US_PER_S / row.yardstick_us:,.0f} METAR/s"
    )


if __name__ == "__main__":
    rows = [measure(comparison) for comparison in COMPARISONS]
    sys.stdout.write("\n".join([table(rows), *map(_rates, rows)]) + "\n")
