"""What the weather tests share: a time of receipt, short accessors, and the corpora if there."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

import pytest

from decision.errors import UnreadableReport
from decision.weather import Report, decode
from decision.weather.report import Elements

RECEIVED_AT = datetime(2026, 11, 25, 12, tzinfo=UTC)
# Archived reports have lost their month. A span such as 2812/0112 exists only in some months.
MONTHS = (
    RECEIVED_AT,
    datetime(2025, 3, 2, 12, tzinfo=UTC),
    datetime(2024, 3, 2, 12, tzinfo=UTC),
    datetime(2026, 12, 2, 12, tzinfo=UTC),
)


def read(raw: str, received_at: datetime = RECEIVED_AT) -> Report:
    return decode(raw, received_at=received_at)


def observed(body: str) -> Elements:
    """The elements of an invented observation with this body."""
    elements = read(f"METAR XABC 251150Z {body}").elements
    assert elements is not None
    return elements


def read_in_some_month(raw: str) -> Report | None:
    """A forecast, received in the first month in which its days exist; None: in no month."""
    reports = []
    for received_at in MONTHS:
        try:
            reports.append(decode(raw, received_at=received_at))
        except UnreadableReport:
            continue
    readable = [report for report in reports if report.valid is not None and not report.unread]
    return next(iter(readable or reports), None)


def body_unread(report: Report) -> tuple[str, ...]:
    """Unread groups of the observation itself, without those of its trend."""
    of_trend = sum(len(period.unread) for period in report.trend)
    return report.unread[: len(report.unread) - of_trend]


def digest(raw: str) -> str:
    """Name of a report that may not be quoted here."""
    return hashlib.sha256(raw.encode()).hexdigest()[:12]


def corpus(name: str) -> tuple[str, ...]:
    """Lines of a file of archived reports; skips the test when there are none on this machine."""
    folder = os.environ.get("WEATHER_CORPORA")
    if not folder:
        pytest.skip("WEATHER_CORPORA names no folder: archived reports are not part of the project")
    return _lines(Path(folder) / name)


@cache
def _lines(path: Path) -> tuple[str, ...]:
    return tuple(line for line in path.read_text(encoding="ascii").splitlines() if line)


def reviewed(name: str) -> dict[str, str]:
    """Reviewed exceptions: digest of a report to the reason."""
    path = Path(__file__).parent / name
    return dict(_rows(path))


def _rows(path: Path) -> Iterator[tuple[str, str]]:
    for line in path.read_text(encoding="ascii").splitlines():
        if line and not line.startswith(("#", "digest")):
            key, _, reason = line.partition(",")
            yield key, reason
