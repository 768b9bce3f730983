"""From the text as received to a header and the groups behind it.

Case, white space, line breaks and the end sign `=` carry no meaning and go first. A report needs
exactly one station with one time: two headers in one text are refused, because nobody can say
which of the two an element belongs to.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from string import ascii_uppercase
from typing import Final, NamedTuple

from decision.errors import UnreadableReport
from decision.weather.report import ReportKind

MAX_CHARACTERS: Final = 4_000  # [ASSUMED] the longest real report seen is under 1 300
FUTURE_STAMP: Final = timedelta(days=1)  # [ASSUMED] a clock is wrong by hours, not by days
LONGEST_VALIDITY_DAYS: Final = 3  # [WMO-306] FM 51: 30 h at most, issued up to 8 h before
HOURS_PER_DAY: Final = 24  # [WMO-306] hour 24 is the end of the day
MINUTES_PER_HOUR: Final = 60
_HOURS: Final = tuple(timedelta(hours=hour) for hour in range(HOURS_PER_DAY + 1))
_LIKELIEST_FIRST: Final = tuple(  # no two have the same date
    timedelta(days=days) for days in (*range(LONGEST_VALIDITY_DAYS + 1), -1)
)
CORRECTIONS: Final = frozenset({"COR", "CORR", "RTD", *(f"CC{c}" for c in ascii_uppercase)})
_FLAGS: Final = CORRECTIONS | {"AUTO", "AMD"}
MONTHS_BACK: Final = 3  # the 31st occurs in every window of three months

_HEADER: Final = re.compile(
    r"(?P<kinds>(?:(?:METAR|SPECI|TAF) )*)"
    r"(?P<before>(?:(?:AUTO|COR|AMD|RTD|CC[A-Z]) )*)"
    r"(?P<station>[A-Z][A-Z0-9]{3}) (?P<between>(?:(?:AUTO|COR|AMD) )?)"
    r"(?:(?P<day>\d\d)(?P<hour>\d\d)(?P<minute>\d\d)Z?(?= |$)|(?=\d{4}/\d{4}(?: |$)))"
)
_TAF_BEHIND: Final = re.compile(r" ?(?:(?:AUTO|COR|AMD|RTD|CC[A-Z]|CNL) )*(?:\d{4}/\d{4})(?: |$)")
_STAMPS: Final = re.compile(r"\b(?!NEXT|FCST|AMDS|FROM|TILL)[A-Z][A-Z0-9]{3} \d{6}Z")
# Two groups that belong together are joined by "_", so that every group is one word:
# whole miles with their fraction, and observed wind shear with its runway.
_JOINTS: Final = re.compile(
    r"(?<= )(?:(\d{1,2}) (?=\d{1,2}/\d{1,2}SM(?: |$))"
    r"|(WS) (?:(ALL) (?=RWYS?(?: |$))|(?=R(?:WY)?[0-9A-Z]{0,3}(?: |$))))"
)
_FRACTION: Final = re.compile(r"/\d{1,2}SM")
_JOINED: Final = "_"


class Header(NamedTuple):
    """Kind, station and time stamp of a report, and the groups after them."""

    kind: ReportKind
    station: str
    day: int | None
    hour: int
    minute: int
    flags: frozenset[str]
    groups: tuple[str, ...]


def normalise(raw: str) -> str:
    """The text in upper case with single spaces and without end signs.

    Raises: UnreadableReport on non-ASCII or overlong text.
    """
    if not raw.isascii():
        raise UnreadableReport(raw, "the report holds characters outside ASCII")
    if len(raw) > MAX_CHARACTERS:
        raise UnreadableReport(raw, f"the report is longer than {MAX_CHARACTERS} characters")
    return " ".join(raw.upper().replace("=", " ").split())


def read_header(raw: str) -> Header:
    """Kind, station and time of a report. Raises: UnreadableReport if they cannot be read."""
    text = normalise(raw)
    found = _HEADER.match(text)
    if found is None:
        raise UnreadableReport(raw, "no station and time at the start of the report")
    kinds, before, station, between, day, hour, minute = found.groups()
    body = text[found.end() :]
    if "Z" in body and _STAMPS.search(body.partition(" RMK")[0]):
        raise UnreadableReport(raw, "more than one report in one text")
    return Header(
        kind=_kind(raw, kinds.split(), body),
        station=station,
        day=None if day is None else int(day),
        hour=int(hour or 0),
        minute=int(minute or 0),
        flags=frozenset((before + between).split()),
        groups=tuple(_join(body).split()),
    )


def split_flags(header: Header) -> tuple[frozenset[str], tuple[str, ...]]:
    """The flags before and after the time, and the words behind them."""
    words, count = header.groups, 0
    while count < len(words) and words[count] in _FLAGS:
        count += 1
    return (header.flags.union(words[:count]), words[count:]) if count else (header.flags, words)


def _kind(raw: str, kinds: list[str], body: str) -> ReportKind:
    if len(kinds) > 1 and ReportKind.TAF in kinds and len(set(kinds)) > 1:
        raise UnreadableReport(raw, "more than one kind of report in the header")
    if kinds:
        return ReportKind(kinds[-1])  # METAR SPECI is a special report
    return ReportKind.TAF if _TAF_BEHIND.match(body) else ReportKind.METAR


def _join(body: str) -> str:
    if " WS " not in body and ("SM" not in body or _FRACTION.search(body) is None):
        return body
    return _JOINTS.sub(lambda joint: _JOINED.join(filter(None, joint.groups())) + _JOINED, body)


def as_written(token: str) -> str:
    """A group as the report has it, with the joints undone."""
    return token.replace(_JOINED, " ")


def stamped_at(*, day: int, hour: int, minute: int, received_at: datetime) -> datetime | None:
    """The nearest past instant with this day of the month, seen from the time of receipt.

    An instant up to `FUTURE_STAMP` ahead is read as such, not as a month old. None: no such time.
    """
    latest_at = received_at + FUTURE_STAMP
    year, month = latest_at.year, latest_at.month
    for _ in range(MONTHS_BACK):
        at = _instant(year=year, month=month, day=day, hour=hour, minute=minute)
        if at is not None and at <= latest_at:
            return at
        year, month = (year - 1, 12) if month == 1 else (year, month - 1)
    return None


def _instant(*, year: int, month: int, day: int, hour: int, minute: int) -> datetime | None:
    try:
        return datetime(year, month, day, hour, minute, tzinfo=UTC)
    except ValueError:
        return None


def forecast_at(*, day: int, hour: int, minute: int = 0, reference_at: datetime) -> datetime | None:
    """The instant of a day and hour near a reference: the day before to three days after.

    Hour 24 is 00 of the next day. None: no such time within that span.
    """
    if hour > HOURS_PER_DAY or minute >= MINUTES_PER_HOUR or (hour == HOURS_PER_DAY and minute):
        return None
    midnight_at = datetime(reference_at.year, reference_at.month, reference_at.day, tzinfo=UTC)
    for ahead in _LIKELIEST_FIRST:
        date_at = midnight_at + ahead
        if date_at.day == day:
            return date_at + (timedelta(hours=hour, minutes=minute) if minute else _HOURS[hour])
    return None


def clock_time_after(*, hour: int, minute: int, reference_at: datetime) -> datetime | None:
    """The first instant with this clock time not before the reference. None: no such time."""
    if hour > HOURS_PER_DAY or minute >= MINUTES_PER_HOUR or (hour == HOURS_PER_DAY and minute):
        return None
    midnight_at = reference_at.replace(hour=0, minute=0, second=0, microsecond=0)
    at = midnight_at + timedelta(hours=hour, minutes=minute)
    return at if at >= reference_at else at + timedelta(days=1)
