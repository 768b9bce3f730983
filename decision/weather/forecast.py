"""TAF: header, validity, and the groups that change the weather in between.

A word that cannot be read stays with its group, whose span is then unknown. A word that can only
have been a mistyped keyword opens a change of its own, which may have been anything from its
start (or from the start of validity) to the end. Nothing after it leaks into the group before.
Source of the forms: [WMO-306] FM 51.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from enum import Enum, auto
from functools import lru_cache, partial
from re import Match
from typing import Final, NamedTuple

from decision.weather.elements import ElementsDraft, suspects
from decision.weather.groups import (
    DESCRIPTORS,
    PHENOMENA,
    REMEMBERED_WORDS,
    GroupMark,
    Marker,
    read_group,
)
from decision.weather.normalise import (
    CORRECTIONS,
    Header,
    as_written,
    forecast_at,
    split_flags,
)
from decision.weather.report import Elements, Period, PeriodKind, Report, TemperatureExtreme
from decision.weather.trend import is_near_keyword
from decision.windows import Window

_SPAN: Final = re.compile(r"(\d\d)(\d\d)/(\d\d)(\d\d)")
_SPAN_INSIDE: Final = re.compile(r"(?<!\d)(\d\d)(\d\d)/(\d\d)(\d\d)(?!\d)")
_FROM: Final = re.compile(r"FM(\d\d)(\d\d)(\d\d)Z?")
_EXTREME: Final = re.compile(
    r"T(?P<which>[XN]?)(?P<sign>M?)(?P<degc>\d\d)/(?P<day>\d\d)(?P<hour>\d\d)Z"
)
_PROBABILITIES: Final = {"PROB30": 30, "PROB40": 40}  # [WMO-306] FM 51, 51.9.1: no others
_CHANGES: Final = {
    kind.value: kind for kind in (PeriodKind.BECMG, PeriodKind.TEMPO, PeriodKind.INTER)
}
_UNDER_PROBABILITY: Final = {"TEMPO": PeriodKind.PROB_TEMPO, "INTER": PeriodKind.PROB_INTER}
_PREVAILING: Final = frozenset({PeriodKind.BASE, PeriodKind.FM})
_WEATHER: Final = re.compile(rf"(?:{DESCRIPTORS}|{PHENOMENA}|VC|RE)+")
_ICING_OR_TURBULENCE: Final = re.compile(r"[56][\dX/]{5}")
# Notes about the forecast itself; the words behind them speak of amendments, not of weather. A
# change group behind a note is a change group all the same.
_NO_CHANGE: Final = r"(?! (?:BECMG|TEMPO|INTER|PROB\d\d) \S| FM\d{6})"
_NOTES: Final = re.compile(
    r" (?:RMK|NXT FCST|NEXT FCST|LAST NO AMDS?|AMD LTD|AMD \d{6}Z?|BY [A-Z]{4}|ISSUED (?:AT|BY)"
    rf"|FCST BASED ON)(?:{_NO_CHANGE} \S+)*"
    r"| AMD$| ADVISORY(?: OFFSITE)?(?= )"
    r"| WND(?= \d{3}V\d{3}(?: |$))"
    r"| AMD NOT SKED(?: (?:AFT|TIL|TILL|BTN|AND) ?\d{4,6}Z?)*(?: \d{4}/\d{4})?"
)
# A space too many or too few, or a keyword twice: slips that leave one meaning only.
_SLIPS: Final = re.compile(
    r" (?P<from>FM) (?=\d{6}(?: |$))"
    r"| (?P<joined>BECMG|TEMPO|INTER)(?=\d{4}/\d{4}(?: |$))"
    r"| (?P<twice>BECMG|TEMPO|INTER)(?= (?P=twice) \d{4}/\d{4}(?: |$))"
)
_NOTE_WORDS: Final = re.compile("RMK|AMD|FCST| BY |ISSUED|WND|ADVISORY")
_NOT_SCHEDULED: Final = "AMD NOT SKED"
_MAINTENANCE: Final = "$"
_NO_FORECAST: Final = "FCST NOT AVBL"


def foresee(header: Header, *, raw: str, issued_at: datetime, validity: Window | None) -> Report:
    """Decode a TAF whose header and validity have been read (None: no readable validity)."""
    flags, words = split_flags(header)
    report = partial(
        Report,
        raw=raw,
        kind=header.kind,
        station=header.station,
        issued_at=issued_at,
        auto="AUTO" in flags,
        corrected=not CORRECTIONS.isdisjoint(flags),
        amended="AMD" in flags,
        valid=validity,
    )
    nil, cancelled = _tells_nothing(words), "CNL" in words
    if nil or cancelled:
        return report(nil=nil, cancelled=cancelled)
    if validity is None:
        return report(
            unread=tuple(map(as_written, words)),
            problems=("the validity of the forecast cannot be read",),
        )
    return _with_periods(report, words[1:], validity)


def _tells_nothing(words: Sequence[str]) -> bool:
    return "NIL" in words or _NO_FORECAST in " ".join(words)


def read_validity(word: str, *, reference_at: datetime) -> Window | None:
    """The span `ddhh/ddhh`; None if it is not one or is empty."""
    found = _SPAN.fullmatch(word)
    return None if found is None else _window(found.groups(), reference_at)


def _window(figures: Sequence[str], reference_at: datetime) -> Window | None:
    day, hour, end_day, end_hour = map(int, figures)
    start_at = forecast_at(day=day, hour=hour, reference_at=reference_at)
    if start_at is None:
        return None
    end_at = forecast_at(day=end_day, hour=end_hour, reference_at=start_at)
    return Window(start_at, end_at) if end_at is not None and start_at < end_at else None


def _with_periods(report: Callable[..., Report], words: Sequence[str], validity: Window) -> Report:
    text = " " + " ".join(words)
    reading = _Reading(validity)
    told = _without_slips(_without_notes(text), reading.problems)
    for part in _parts([word for word in told.split() if word != _MAINTENANCE]):
        reading.take(part)
    periods = _periods(reading.taken, validity)
    return report(
        periods=periods,
        extremes=tuple(reading.extremes),
        amendments_not_scheduled=_NOT_SCHEDULED in text,
        unread=tuple(word for period in periods for word in period.unread),
        problems=tuple(reading.problems),
    )


def _without_notes(text: str) -> str:
    return _NOTES.sub("", text) if _NOTE_WORDS.search(text) else text


def _without_slips(text: str, problems: list[str]) -> str:
    """The text with slips mended; each is told as a problem."""

    def mend(found: Match[str]) -> str:
        slip = found["from"] or found["joined"] or found["twice"]
        problems.append(f"{slip} is mistyped and read as meant")
        if found["twice"]:
            return ""
        return f" {slip} " if found["joined"] else f" {slip}"

    return _SLIPS.sub(mend, text)


# --- the words of each group ---


def _parts(words: Iterable[str]) -> list[list[str]]:
    """The words of each group, the first being its keyword; the base has none."""
    parts: list[list[str]] = [[]]
    before = ""
    for word in words:
        role = _role(word)
        if role is not _Role.ELEMENT and _opens(word, role, before):
            parts.append([])
        parts[-1].append(word)
        before = word
    return parts


class _Role(Enum):
    """What a word can do between two groups."""

    KEYWORD = auto()
    SPAN = auto()
    ELEMENT = auto()
    UNLIKE_ANY = auto()


def _opens(word: str, role: _Role, before: str) -> bool:
    """Whether a word begins a group: a keyword, or a word like no element, which hides one."""
    if role is _Role.KEYWORD:
        return word not in _UNDER_PROBABILITY or before not in _PROBABILITIES
    if role is _Role.SPAN:
        return not is_near_keyword(before)
    return role is _Role.UNLIKE_ANY


@lru_cache(maxsize=REMEMBERED_WORDS)
def _role(word: str) -> _Role:
    """Words repeat from report to report, so what is made of one is remembered."""
    if _SPAN.fullmatch(word) is not None:
        return _Role.SPAN
    if word in _CHANGES or _FROM.fullmatch(word) is not None or is_near_keyword(word):
        return _Role.KEYWORD
    return _Role.ELEMENT if _is_harmless(word) else _Role.UNLIKE_ANY


def _is_harmless(word: str) -> bool:
    """Whether a word, read or not, can only have been an element of the group it stands in."""
    if read_group(word) is not None or _ICING_OR_TURBULENCE.fullmatch(word) is not None:
        return True
    return bool(suspects(word)) and (not word.isalpha() or _WEATHER.fullmatch(word) is not None)


class _Head(NamedTuple):
    """Kind, probability and span of a group; `words`: how many words that took."""

    kind: PeriodKind
    start_at: datetime | None
    end_at: datetime | None
    words: int
    probability: int | None = None
    unread: tuple[str, ...] = ()


class _Taken(NamedTuple):
    """A group as it is read, before it is known when the next one ends it."""

    head: _Head
    elements: Elements
    unread: tuple[str, ...]
    raw: str

    @property
    def runs(self) -> bool:
        """Whether it lasts until the next that does."""
        return self.head.kind in _PREVAILING and self.head.start_at is not None


class _Reading:
    """The groups of one forecast, as they are read."""

    __slots__ = ("extremes", "problems", "taken", "validity")

    def __init__(self, validity: Window) -> None:
        self.validity = validity
        self.taken: list[_Taken] = []
        self.extremes: list[TemperatureExtreme] = []
        self.problems: list[str] = []

    def take(self, part: list[str]) -> None:
        """Read one group."""
        head = self._head(part)
        draft, unread = ElementsDraft(), list(head.unread)
        for word in part[head.words :]:
            group = read_group(word)
            if not (self._take_other(word, draft) if group is None else draft.add(group)):
                unread.append(as_written(word))
                draft.doubt(suspects(word), f"cannot read {as_written(word)}")
        prevails = head.kind in _PREVAILING
        elements = draft.finish_prevailing() if prevails else draft.finish()
        self.problems.extend(draft.problems)
        self.taken.append(_Taken(head, elements, tuple(unread), as_written(" ".join(part))))

    def _take_other(self, word: str, draft: ElementsDraft) -> bool:
        """Read a word that only a forecast has."""
        if _ICING_OR_TURBULENCE.fullmatch(word):
            return draft.add(Marker(GroupMark.SET_ASIDE, word))
        extreme = _EXTREME.fullmatch(word)
        if extreme is None:
            return False
        degc = float(extreme["degc"])
        self.extremes.append(
            TemperatureExtreme(
                maximum=extreme["which"] == "X" if extreme["which"] else None,
                temperature_degc=-degc if extreme["sign"] else degc,
                at=forecast_at(
                    day=int(extreme["day"]),
                    hour=int(extreme["hour"]),
                    reference_at=self.validity.start_at,
                ),
                raw=word,
            )
        )
        return True

    def _head(self, part: list[str]) -> _Head:
        if not self.taken:
            start_at, end_at = self.validity.start_at, self.validity.end_at
            return _Head(kind=PeriodKind.BASE, start_at=start_at, end_at=end_at, words=0)
        found = _FROM.fullmatch(part[0])
        if found is not None:
            return self._from(part[0], *map(int, found.groups()))
        if part[0] in _CHANGES:
            return self._change(part, _CHANGES[part[0]], None, words=1)
        probability = _PROBABILITIES.get(part[0])
        if probability is None:
            return self._mistyped(part)
        if len(part) > 1 and part[1] in _UNDER_PROBABILITY:
            return self._change(part, _UNDER_PROBABILITY[part[1]], probability, words=2)
        return self._change(part, PeriodKind.PROB, probability, words=1)

    def _from(self, word: str, day: int, hour: int, minute: int) -> _Head:
        at = forecast_at(day=day, hour=hour, minute=minute, reference_at=self.validity.start_at)
        inside = at is not None and self.validity.start_at <= at <= self.validity.end_at
        if not inside:
            self.problems.append(f"{word} is outside the validity of the forecast")
        return _Head(
            kind=PeriodKind.FM,
            start_at=at if inside else None,
            end_at=None,
            words=1,
            unread=() if inside else (word,),
        )

    def _change(
        self, part: list[str], kind: PeriodKind, probability: int | None, *, words: int
    ) -> _Head:
        text = part[words] if len(part) > words else ""
        found = _SPAN.fullmatch(text)
        span = None if found is None else _window(found.groups(), self.validity.start_at)
        if span is None or not span.overlaps(self.validity):
            self.problems.append(f"{' '.join(part[:words])} has no readable span of time: {text}")
            span = None
        return _Head(
            kind=kind,
            probability=probability,
            start_at=None if span is None else span.start_at,
            end_at=None if span is None else span.end_at,
            words=words + (found is not None),
            unread=(" ".join(part[: words + (found is not None)]),) if span is None else (),
        )

    def _mistyped(self, part: list[str]) -> _Head:
        """A change of unreadable kind: from its start, if that can be read, to the end."""
        found = _SPAN_INSIDE.search(" ".join(part[:2]))
        span = None if found is None else _window(found.groups(), self.validity.start_at)
        words = 1 + (len(part) > 1 and _SPAN.fullmatch(part[1]) is not None)
        self.problems.append(f"cannot read the change group {' '.join(part[:words])}")
        return _Head(
            kind=PeriodKind.BECMG,
            start_at=None if span is None else span.start_at,
            end_at=None if span is None else self.validity.end_at,
            words=words,
            unread=(" ".join(part[:words]),),
        )


def _periods(taken: Sequence[_Taken], validity: Window) -> tuple[Period, ...]:
    """The periods, with BASE and FM ending at the next FM or at the end of validity."""
    periods: list[Period] = []
    next_at: datetime | None = validity.end_at
    for each in reversed(taken):
        head, runs = each.head, each.runs
        periods.append(
            Period(
                kind=head.kind,
                probability=head.probability,
                start_at=head.start_at,
                end_at=next_at if runs else head.end_at,
                elements=each.elements,
                unread=each.unread,
                raw=each.raw,
            )
        )
        next_at = head.start_at if runs else next_at
    return tuple(reversed(periods))
