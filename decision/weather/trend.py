"""The landing forecast at the end of a METAR: groups BECMG, TEMPO, FM, INTER, PROB as periods.

Times are clock times of the next two hours (`FM1030`, `TL1130`, `AT1200`) or, in Australian
reports, spans (`0730/0830`). Elements that follow the pressure without any keyword, as European
military reports have them, are read as a change that may begin at once.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from datetime import datetime, timedelta
from functools import lru_cache
from typing import Final

from decision.weather.elements import ElementsDraft
from decision.weather.groups import REMEMBERED_WORDS, read_group
from decision.weather.normalise import as_written, clock_time_after
from decision.weather.report import Period, PeriodKind

TREND_VALIDITY: Final = timedelta(hours=2)  # [ICAO-ANNEX3] landing forecast: two hours
NOSIG: Final = "NOSIG"
_KEYWORD: Final = re.compile(
    r"(?P<nosig>NOSIG)|(?P<change>BECMG|TEMPO|INTER)|PROB(?P<probability>30|40)"
    r"|FM(?P<hour>\d\d)(?P<minute>\d\d)"
)
_TIME: Final = re.compile(r"(?P<word>FM|TL|AT)(?P<hour>\d\d)(?P<minute>\d\d)")
_SPAN: Final = re.compile(r"(?P<hour>\d\d)(?P<minute>\d\d)/(?P<end_hour>\d\d)(?P<end_minute>\d\d)")
_WORDS: Final = ("BECMG", "TEMPO", "INTER", "NOSIG", "PROB")
_LETTERS: Final = re.compile(r"(?P<letters>[A-Z]{2,8})(?:\d{4}/\d{4}|\d\d)?")
_LEAST_LETTERS: Final = 3  # [ASSUMED] two common letters are chance
_MISSPELT_BY: Final = 2  # [ASSUMED] letters wrong or missing in a keyword that was still meant


@lru_cache(maxsize=REMEMBERED_WORDS)
def is_keyword(token: str) -> bool:
    """Whether a word begins a change group."""
    return _KEYWORD.fullmatch(token) is not None


@lru_cache(maxsize=REMEMBERED_WORDS)
def is_near_keyword(token: str) -> bool:
    """Whether a word begins a change group or is near enough to a keyword to be meant as one."""
    if is_keyword(token):
        return True
    return read_group(token) is None and (_TIME.fullmatch(token) is not None or _is_near(token))


def _is_near(token: str) -> bool:
    """Whether the letters of a word are those of a keyword but for one or two."""
    found = _LETTERS.fullmatch(token)
    if found is None:
        return False
    letters = Counter(found["letters"])
    return any(
        (Counter(word) & letters).total() >= max(len(word) - _MISSPELT_BY, _LEAST_LETTERS)
        and abs(letters.total() - len(word)) <= _MISSPELT_BY
        for word in _WORDS
    )


def read_trend(tokens: Sequence[str], *, issued_at: datetime) -> tuple[tuple[Period, ...], bool]:
    """The periods of a trend and whether it says that no significant change is expected."""
    if not tokens:
        return (), False
    periods: list[Period] = []
    nosig = False
    for part in _parts(tokens):
        words = part[1:] if part[0] == NOSIG else part
        nosig = nosig or words is not part
        if words:
            periods.append(_period(words, issued_at))
    return tuple(periods), nosig


def _parts(tokens: Sequence[str]) -> list[list[str]]:
    """The words of each period; PROB and its TEMPO or INTER are one, BECMG and its FM too."""
    parts: list[list[str]] = []
    for token in tokens:
        if not parts or (is_near_keyword(token) and not _continues(parts[-1], token)):
            parts.append([])
        parts[-1].append(token)
    return parts


def _continues(part: list[str], token: str) -> bool:
    """Whether a keyword belongs to the period before it and does not open another."""
    before = part[-1]
    if token in ("TEMPO", "INTER"):
        return before.startswith("PROB")
    if _TIME.fullmatch(token) is None:
        return False
    return token[:2] != "FM" or before in ("BECMG", "TEMPO", "INTER")


def _period(part: list[str], issued_at: datetime) -> Period:
    head, probability, rest = _head(part)
    unread: list[str] = []
    draft = ElementsDraft()
    start_at: datetime | None = issued_at
    end_at: datetime | None = issued_at + TREND_VALIDITY
    for token in rest:
        span = _span(token, issued_at)
        if span is not None:
            start_at, end_at = span.get("start", start_at), span.get("end", end_at)
            continue
        group = read_group(token)
        if group is None or not draft.add(group):
            unread.append(as_written(token))
    if head is None:
        unread.insert(0, as_written(part[0]))
    if start_at is None or end_at is None or start_at > end_at:
        start_at = end_at = None
        unread.append(" ".join(part[:2]))
    return Period(
        kind=head or PeriodKind.BECMG,
        probability=probability,
        start_at=start_at,
        end_at=end_at,
        elements=draft.finish(),
        unread=tuple(unread),
        raw=as_written(" ".join(part)),
    )


def _head(part: list[str]) -> tuple[PeriodKind | None, int | None, list[str]]:
    """Kind and probability of a period and the words after them; None: a mistyped keyword."""
    found = _KEYWORD.fullmatch(part[0])
    if found is None:
        return (
            (None, None, part[1:]) if is_near_keyword(part[0]) else (PeriodKind.BECMG, None, part)
        )
    if found["hour"]:
        return PeriodKind.FM, None, part
    if found["change"]:
        return PeriodKind(found["change"]), None, part[1:]
    probability = int(found["probability"])
    if len(part) > 1 and part[1] in ("TEMPO", "INTER"):
        return PeriodKind(f"PROB {part[1]}"), probability, part[2:]
    return PeriodKind.PROB, probability, part[1:]


def _span(token: str, issued_at: datetime) -> dict[str, datetime | None] | None:
    """Start and end that a time word sets; None if it is no time word."""
    found = _TIME.fullmatch(token)
    if found is not None:
        at = _clock(found["hour"], found["minute"], issued_at)
        match found["word"]:
            case "FM":
                return {"start": at}
            case "TL":
                return {"end": at}
            case _:
                return {"start": at, "end": at}
    found = _SPAN.fullmatch(token)
    if found is None:
        return None
    start_at = _clock(found["hour"], found["minute"], issued_at)
    end_at = _clock(found["end_hour"], found["end_minute"], start_at or issued_at)
    return {"start": start_at, "end": end_at}


def _clock(hour: str, minute: str, reference_at: datetime) -> datetime | None:
    return clock_time_after(hour=int(hour), minute=int(minute), reference_at=reference_at)
