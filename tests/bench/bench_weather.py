"""Decoding speed, with the `metar` package alone on the same strings in the same run.

Reports are those of the folder that WEATHER_CORPORA names, or the published examples without it.
`python -m tests.bench.bench_weather` prints reports per second beside the table.
"""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from pathlib import Path

from metar.Metar import Metar, ParserError

from decision.errors import UnreadableReport
from decision.weather import decode
from tests.bench.measure import Comparison, Measured, Way, measure, table
from tests.weather.builders import RECEIVED_AT
from tests.weather.test_published_reports import FORECASTS, OBSERVATIONS

TARGET_PER_S = {"METAR": 20_000, "TAF": 10_000}
US_PER_S = 1e6
CORPUS_STEP = 8  # every eighth archived report: all regions and years, rounds of a quarter second


def _reports(name: str, published: list[str]) -> tuple[str, ...]:
    folder = os.environ.get("WEATHER_CORPORA")
    if not folder:
        return tuple(published)
    return tuple((Path(folder) / name).read_text(encoding="ascii").splitlines()[::CORPUS_STEP])


METARS = _reports("metar.txt", [raw for raw, _ in OBSERVATIONS.values()])
TAFS = _reports("taf.txt", [raw for raw, _ in FORECASTS.values()])


def _decode_all(reports: tuple[str, ...]) -> None:
    for raw in reports:
        with suppress(UnreadableReport):
            decode(raw, received_at=RECEIVED_AT)


def _metar_alone() -> None:
    for raw in METARS:
        with suppress(ParserError):
            Metar(raw, month=RECEIVED_AT.month, year=RECEIVED_AT.year)


_YARDSTICK = Way(label="metar alone, METAR", call=_metar_alone, items=len(METARS))
COMPARISONS = (
    Comparison(
        title="weather: decode METAR",
        ours=Way(label="decode", call=lambda: _decode_all(METARS), items=len(METARS)),
        yardstick=_YARDSTICK,
    ),
    Comparison(
        title="weather: decode TAF",
        ours=Way(label="decode", call=lambda: _decode_all(TAFS), items=len(TAFS)),
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
