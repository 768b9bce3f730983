"""From the source's text to raw reports: what is no report of a station asked for is set aside.

A report begins with its kind and ends at '=', at an empty line or where the next one begins. A line
between that is indented or begins like a group of a report belongs to it: to drop it could make a
forecast better than it is, to keep it can only leave something unread. Of each station the newest
reports are kept.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from decision.case import Lack, ReportClass
from decision.case.types import MAX_REPORT_LENGTH
from decision.errors import UnreadableReport
from decision.weather import Report, ReportKind, decode

KEPT: Final = 3  # [ASSUMED] of a kind and station: the newest, one it corrects, one still running
BEGINS: Final = re.compile(r"(METAR|SPECI|TAF)(?!\S)")
CONTINUES: Final = re.compile(r"\s|[A-Z0-9/+\-]{2}")
END: Final = re.compile(r"=|\n[ \t]*(?=\n|\Z)")


@dataclass(frozen=True, slots=True, kw_only=True)
class FetchedReading:
    """The raw reports of each thing asked for, newest first, and all other text."""

    reports: Mapping[Lack, tuple[str, ...]]
    set_aside: tuple[str, ...]


def read(content: bytes, *, asked: Collection[Lack], received_at: datetime) -> FetchedReading:
    """Sort an answer into what was asked for and the rest. Raises nothing, whatever the bytes."""
    found: dict[Lack, dict[str, Report]] = {}
    set_aside: list[str] = []
    for raw in _blocks(content.decode("ascii", errors="replace")):
        report = _decoded(raw, received_at)
        if report is None or _about(report) not in asked:
            set_aside.append(raw)
        else:
            found.setdefault(_about(report), {})[raw] = report
    kept = {about: _newest(reports) for about, reports in found.items()}
    surplus = [raw for about in found for raw in found[about] if raw not in kept[about]]
    return FetchedReading(reports=kept, set_aside=(*set_aside, *surplus))


def _blocks(text: str) -> Iterator[str]:
    """Reports, continued lines joined, and every other line by itself."""
    for paragraph in END.split(text.replace("\r\n", "\n").replace("\r", "\n")):
        block = ""
        for line in filter(str.strip, paragraph.split("\n")):
            raw = line.strip()
            if BEGINS.match(block) and CONTINUES.match(line) and not BEGINS.match(raw):
                block = f"{block} {raw}"
                continue
            if block:
                yield block
            block = raw
        if block:
            yield block


def _decoded(raw: str, received_at: datetime) -> Report | None:
    if BEGINS.match(raw) is None or len(raw) > MAX_REPORT_LENGTH:
        return None
    try:
        return decode(raw, received_at=received_at)
    except UnreadableReport:
        return None


def _about(report: Report) -> Lack:
    is_forecast = report.kind is ReportKind.TAF
    kind = ReportClass.FORECAST if is_forecast else ReportClass.OBSERVATION
    return Lack(icao=report.station, kind=kind)


def _newest(reports: Mapping[str, Report]) -> tuple[str, ...]:
    return tuple(sorted(reports, key=lambda raw: reports[raw].issued_at, reverse=True)[:KEPT])
