"""The reader of a runway condition report: a SNOWTAM of the global reporting format, or its body.

A report has for each runway a time, the lower designator, and by thirds from that threshold the
code, the covered part, the depth and the surface; then sentences on what else there is. It holds
for eight hours. The form with lettered items of before 2021 is not read. Source: [PANS-AIM]
appendix 4, as in [EU-SNOWTAM]; [GRF].
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cache
from typing import Final, NamedTuple

from msgspec.structs import replace

from decision.notices.codes import DESIGNATOR, surfaces
from decision.notices.notam import NOT_ENDED
from decision.notices.types import (
    CONDITION_HOLDS,
    ConditionOfThird,
    NoticeEffect,
    NoticeItem,
    NoticeKind,
    NoticeSubject,
    ReadNotice,
    RunwayReport,
)
from decision.weather.runway import both_ends

AHEAD_MAX: Final = timedelta(minutes=15)  # clocks differ; further ahead is a wrong date [ASSUMED]
HALF_YEAR: Final = timedelta(days=183)
NOT_REPORTED: Final = "NR"
OTHER_END: Final = 18  # the lower designator of a strip is at most this

_MARK: Final = re.compile(r"\(?\s*\bSNOWTAM\b(?:\s+(?P<number>\d{4}))?")
_BODY: Final = re.compile(rf"[A-Z]{{4}} \d{{8}} {DESIGNATOR} \S/\S/\S")
_ABBREVIATED: Final = re.compile(r"SW[A-Z]{2}\d{4} [A-Z]{4} \d{8}(?: COR)?")
_ADDRESSES: Final = re.compile(
    r"(?:(?:GG|DD|FF|SS|KK)(?: [A-Z]{8})+ )?(?:\d{6} [A-Z]{8} ?)?(?P<rest>.*)"
)
_OLD_FORM: Final = re.compile(r"(?:^|\s)[A-T]\)")
_PLACE: Final = re.compile(r"[A-Z]{4}(?= )")
_RUN_BEGINS: Final = re.compile(r"(?:[A-Z]{4} )?\d{8}(?= |$)")
_NAMED: Final = re.compile(rf"(?:[A-Z]{{4}} )?\d{{8}} ({DESIGNATOR})(?= )")
_NEXT: Final = re.compile(r" (?=(?:[A-Z]{4} )?\d{8}(?: |$)|(?:RWY|TWY|TWYS|APRON|ALL) )")
_SENTENCE: Final = re.compile(r"[^.]*(?:\.(?!\s|$)[^.]*)*\.?\s*")


def _triple(third: str) -> str:
    return f"(?:{third})/(?:{third})/(?:{third})"


@cache
def _run() -> re.Pattern[str]:
    """A runway in the report, with the surfaces of the table."""
    described = "|".join(sorted(map(re.escape, surfaces()), key=len, reverse=True))
    return re.compile(
        rf"(?:(?P<place>[A-Z]{{4}}) )?(?P<at>\d{{8}}) (?P<runway>{DESIGNATOR})"
        rf" (?P<codes>{_triple('[0-6]')})"
        rf"(?: (?P<coverage>{_triple('NR|10|25|50|75|100')}))?"
        rf"(?: (?P<depth>{_triple('NR|[0-9]{2,3}')}))?"
        rf" (?P<surface>{_triple(described)})"
        r"(?! [A-Z ]+/[A-Z ]+/)"  # no surface is reported, yet one follows
        r"(?: (?P<width>\d{2}))?(?=\s|$)"
    )


class _Known(NamedTuple):
    """A kind of sentence that changes nothing here."""

    form: re.Pattern[str]
    means: str


_RWY: Final = rf"RWY (?P<runway>{DESIGNATOR})"
REDUCED: Final = re.compile(rf"{_RWY} REDUCED TO (?P<metres>\d{{3,4}})")
KNOWN: Final = (  # [PANS-AIM] appendix 4, items J to R; the words by memory
    _Known(re.compile(rf"(?:{_RWY} )?DRIFTING SNOW"), "drifting snow"),
    _Known(re.compile(rf"{_RWY} LOOSE SAND"), "loose sand"),
    _Known(re.compile(rf"{_RWY} CHEMICALLY TREATED"), "chemically treated"),
    _Known(re.compile(rf"{_RWY} SNOWBANK (?:LR|L|R)\d{{1,2}} FM CL"), "snow bank on the runway"),
    _Known(re.compile(rf"{_RWY} ADJ SNOWBANKS"), "snow banks beside the runway"),
    _Known(re.compile(r"(?:ALL )?TWYS?(?: \S+)* SNOWBANKS?"), "snow bank on a taxiway"),
    _Known(re.compile(r"(?:ALL )?TWYS?(?: \S+)* POOR"), "taxiway poor"),
    _Known(re.compile(r"(?:ALL )?APRONS?(?: \S+)* POOR"), "apron poor"),
)


@dataclass(slots=True)
class _Reading:
    """What has been read so far."""

    received_at: datetime
    places: list[str] = field(default_factory=list)
    reports: list[RunwayReport] = field(default_factory=list)
    unread_runways: list[str] = field(default_factory=list)
    parts: list[NoticeItem] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)

    def keep(self, item: str, raw: str, *, read: bool, means: str | None = None) -> None:
        """Keep a part, if it has any words."""
        if raw.strip():
            self.parts.append(NoticeItem(item=item, raw=raw.strip(), read=read, means=means))


def looks_like_condition_report(text: str) -> bool:
    """Whether a text says that it is a SNOWTAM, or begins as the body of one does."""
    return _MARK.search(text) is not None or _BODY.match(text) is not None


def read_condition_report(raw: str, *, name: str, received_at: datetime) -> ReadNotice:
    """Read a report received at an instant, which gives its times their year. Never raises."""
    text = " ".join(raw.split())
    reading = _Reading(received_at)
    mark = _MARK.search(text)
    body = _headed(text, mark, reading)
    if _OLD_FORM.search(body):
        reading.problems.append("the form with lettered items of before 2021 is not read")
        reading.keep("body", body, read=False)
    else:
        _read_body(body, reading)
    if not reading.reports:
        reading.problems.append("no runway could be read")
        reading.unread_runways += [] if reading.unread_runways else [""]
    reports, number = tuple(reading.reports), mark["number"] if mark else None
    return ReadNotice(
        id=f"SNOWTAM {number}" if number else name,
        kind=NoticeKind.SNOWTAM,
        places=tuple(dict.fromkeys(reading.places)),
        subject=NoticeSubject.RUNWAY_CONDITION,
        effect=NoticeEffect.CHANGED if reports else NoticeEffect.UNKNOWN,
        runways=tuple(dict.fromkeys(each.runway for each in reports)),
        from_at=min((each.assessed_at for each in reports), default=None),
        until_at=max((each.assessed_at + CONDITION_HOLDS for each in reports), default=None),
        conditions=reports,
        unread_runways=tuple(dict.fromkeys(reading.unread_runways)),
        items=tuple(reading.parts),
        unread=tuple(part.raw for part in reading.parts if not part.read),
        problems=tuple(reading.problems),
        raw=raw,
    )


def _headed(text: str, mark: re.Match[str] | None, reading: _Reading) -> str:
    """Keep the heading, and tell the body without the bracket that ends it."""
    if mark is None:
        return text
    before = text[: mark.start()].strip()
    rest = _ADDRESSES.fullmatch(before)
    abbreviated = rest["rest"].strip() if rest is not None else before
    known = not abbreviated or _ABBREVIATED.fullmatch(abbreviated) is not None
    reading.keep("heading", before, read=known)
    reading.keep("SNOWTAM", mark[0], read=mark["number"] is not None)
    body = text[mark.end() :].strip()
    if not mark[0].startswith("("):
        return body
    told, closed, after = body.rpartition(")")
    if not closed:
        reading.problems.append(NOT_ENDED)
        return body
    if after.strip():
        reading.problems.append(f"words after the end: {after.strip()}")
    return f"{told} {after}".strip()


def _read_body(body: str, reading: _Reading) -> None:
    place = _PLACE.match(body)
    run, at = _run(), 0
    if place is not None:
        reading.places.append(place[0])
        after = _RUN_BEGINS.match(body)
        if after is None or not after[0].startswith(place[0]):
            at = _past(body, place.end())
            reading.keep("A", place[0], read=True)
    while (begins := _RUN_BEGINS.match(body, at)) is not None:
        found = run.match(body, at)
        end = found.end() if found is not None else _next_run(body, begins.end())
        _keep_run(body[at:end], found, reading)
        at = _past(body, end)
    for sentence in _SENTENCE.findall(body[at:]):
        _keep_sentence(sentence.strip(), reading)
    if not reading.places:
        reading.problems.append("no aerodrome could be read")


def _past(text: str, at: int) -> int:
    """Past the blanks."""
    while at < len(text) and text[at] == " ":
        at += 1
    return at


def _next_run(body: str, at: int) -> int:
    """Where the next runway or the sentences begin, after one that cannot be read."""
    found = _NEXT.search(body, at)
    return len(body) if found is None else found.start()


def _keep_run(raw: str, found: re.Match[str] | None, reading: _Reading) -> None:
    report = None if found is None else _report(found, reading)
    if found is not None and found["place"] is not None and found["place"] not in reading.places:
        reading.problems.append(f"a report of {found['place']} beside {reading.places[0]}")
        report = None
    if report is not None:
        reading.reports.append(report)
    else:
        named = _NAMED.match(raw)
        reading.unread_runways.append(_lower(named[1]) if named else "")
    reading.keep("runway", raw, read=report is not None, means=None if report is None else "read")


def _lower(designator: str) -> str:
    """The strip by its lower designator."""
    return min(both_ends(designator))


def _report(found: re.Match[str], reading: _Reading) -> RunwayReport | None:
    """The runway; None without a believable time or with the higher designator."""
    assessed_at = _dated(found["at"], reading.received_at)
    if assessed_at is None:
        reading.problems.append(f"no such time of assessment lately: {found['at']}")
        return None
    if int(found["runway"][:2]) > OTHER_END:
        reading.problems.append(f"{found['runway']} is not the lower designator")
        return None
    first, second, last = (_third(found, index) for index in range(3))
    return RunwayReport(
        runway=found["runway"],
        assessed_at=assessed_at,
        thirds=(first, second, last),
        width_m=None if found["width"] is None else float(found["width"]),
    )


def _third(found: re.Match[str], index: int) -> ConditionOfThird:
    def said(name: str) -> str | None:
        words = found[name]
        third = None if words is None else words.split("/")[index]
        return None if third == NOT_REPORTED else third

    code, coverage, depth, surface = map(said, ("codes", "coverage", "depth", "surface"))
    return ConditionOfThird(
        code=None if code is None else int(code),
        coverage_percent=None if coverage is None else int(coverage),
        depth_mm=None if depth is None else float(depth),
        surface=surface,
        contaminant=None if surface is None else surfaces()[surface],
    )


def _dated(digits: str, received_at: datetime) -> datetime | None:
    """Month, day, hour and minute in the year that is nearest to the receipt; never ahead of it."""
    month, day, hour, minute = (int(digits[at : at + 2]) for at in range(0, 8, 2))
    for year in (received_at.year, received_at.year - 1, received_at.year + 1):
        try:
            at = datetime(year, month, day, hour, minute, tzinfo=UTC)
        except ValueError:  # no such day or hour in that year
            continue
        if abs(at - received_at) <= HALF_YEAR:
            return at if at - received_at <= AHEAD_MAX else None
    return None


def _keep_sentence(sentence: str, reading: _Reading) -> None:
    told = sentence.removesuffix(".").strip()
    if reduced := REDUCED.fullmatch(told):
        read = _shorten(reduced["runway"], float(reduced["metres"]), reading)
        reading.keep("sentence", sentence, read=read, means="reduced length")
        return
    means = next((each.means for each in KNOWN if each.form.fullmatch(told)), None)
    reading.keep("sentence", sentence, read=means is not None, means=means)


def _shorten(runway: str, metres: float, reading: _Reading) -> bool:
    """Keep a reduced length with the report of its runway; False where there is none."""
    for index, report in enumerate(reading.reports):
        if report.runway == runway:
            reading.reports[index] = replace(report, reduced_length_m=metres)
            return True
    return False


def sentences_known() -> Iterator[str]:
    """What sentences are read, for the docs."""
    yield "reduced length"
    yield from (each.means for each in KNOWN)
