"""METAR and SPECI: the observation, its trend and its remarks, kept apart.

The text is cut first: remarks at RMK, the trend at its first keyword. What is left is read word by
word, and read a second time by the `metar` package (see `second_reading`). An unreadable word
makes every element unknown that it may have been meant for.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime
from functools import lru_cache, partial
from typing import Final, NamedTuple

from decision.weather.elements import ANY_BODY_ELEMENT, ElementsDraft, suspects
from decision.weather.groups import REMEMBERED_WORDS, Group, GroupMark, Marker, read_group
from decision.weather.normalise import CORRECTIONS, Header, as_written, split_flags
from decision.weather.remarks import read_remarks
from decision.weather.report import Element, Period, Pressure, Report, Visibility, Wind
from decision.weather.second_reading import Dissent, dissent
from decision.weather.trend import is_keyword, is_near_keyword, read_trend

_NO_DATA: Final = frozenset({"NIL", "CNL", "FINO"})  # FINO: no report will be sent
_MAINTENANCE: Final = "$"
_REMARKS: Final = frozenset({"RMK", "RMKS"})


def observe(header: Header, *, raw: str, issued_at: datetime) -> Report:
    """Decode a METAR or SPECI whose header has been read."""
    flags, words = split_flags(header)
    told, remark_words = _cut(words)
    report = partial(
        Report,
        raw=raw,
        kind=header.kind,
        station=header.station,
        issued_at=issued_at,
        auto="AUTO" in flags,
        corrected=not CORRECTIONS.isdisjoint(flags),
    )
    if not _NO_DATA.isdisjoint(told):
        body, _ = _before(told, is_keyword)
        if not _NO_DATA.isdisjoint(body):
            problems = _problems_of_no_data(body)
            return report(nil=True, cancelled="CNL" in body, problems=problems)
    reading = _Reading(told)
    reading.confirm()
    remarks = read_remarks(remark_words, issued_at=issued_at)
    elements = reading.draft.finish_observation(remarks=remarks)
    periods, nosig = read_trend(reading.trend, issued_at=issued_at)
    return report(
        elements=elements,
        trend=periods,
        nosig=nosig,
        unread=(*reading.unread, *_unread_of(periods)),
        problems=tuple(reading.draft.problems),
    )


def _problems_of_no_data(body: Sequence[str]) -> tuple[str, ...]:
    beside = [word for word in body if word not in _NO_DATA]
    return (f"no data, yet groups are given: {' '.join(beside)}",) if beside else ()


def _unread_of(periods: tuple[Period, ...]) -> tuple[str, ...]:
    return tuple(word for period in periods for word in period.unread)


def _cut(words: Sequence[str]) -> tuple[Sequence[str], Sequence[str]]:
    """Body with trend, and remarks."""
    told, remarks = words, words[:0]
    if not _REMARKS.isdisjoint(words):
        told, remarks = _before(words, _REMARKS.__contains__)
        remarks = remarks[1:]
    if _MAINTENANCE in told:
        remarks = [*remarks, _MAINTENANCE]
        told = [word for word in told if word != _MAINTENANCE]
    return told, remarks


def _before(
    words: Sequence[str], ends: Callable[[str], bool]
) -> tuple[Sequence[str], Sequence[str]]:
    for index, word in enumerate(words):
        if ends(word):
            return words[:index], words[index:]
    return words, ()


class _Word(NamedTuple):
    """A word as both readers read it; `opens_change`: the trend begins here."""

    group: Group | None
    dissent: Dissent | None
    opens_change: bool


@lru_cache(maxsize=REMEMBERED_WORDS)
def _word(word: str) -> _Word:
    """Words repeat from report to report, so what is made of one is remembered."""
    group = read_group(word)
    return _Word(
        group=group,
        dissent=None if group is None else dissent(group, group.raw),
        opens_change=is_keyword(word),
    )


class _Reading:
    """The body of an observation, read word by word up to its trend."""

    __slots__ = ("dissents", "draft", "trend", "unread")

    def __init__(self, words: Sequence[str]) -> None:
        self.draft = ElementsDraft()
        self.unread: list[str] = []
        self.dissents: list[tuple[Group, Dissent]] = []
        self.trend: Sequence[str] = ()
        for index, word in enumerate(words):
            group, dissents, opens_change = _word(word)
            if opens_change or (
                self.draft.pressure is not None and self._opens_implied_trend(word, group)
            ):
                self.trend = words[index:]
                break
            if group is not None and dissents is not None:
                self._hear(group, dissents)
            self._take(word, group)

    def _hear(self, group: Group, dissents: Dissent) -> None:
        """Keep what the second reader says, of wind and visibility only on the first."""
        first = {Wind: self.draft.wind, Visibility: self.draft.visibility}.get(type(group))
        if first is None:
            self.dissents.append((group, dissents))

    def _opens_implied_trend(self, word: str, group: Group | None) -> bool:
        """Wind or visibility once more after the pressure, or what may be a mistyped keyword."""
        draft = self.draft
        if group is None:
            return is_near_keyword(word)
        if isinstance(group, Wind):
            return draft.wind is not None
        if isinstance(group, Visibility):
            return draft.visibility is not None and group.worst_metres is not None
        return _is_cavok(group) and (draft.visibility is not None or draft.cavok)

    def _take(self, word: str, group: Group | None) -> None:
        after_pressure = self.draft.pressure is not None
        if after_pressure and not word.strip("/"):
            self.draft.set_aside.append(word)  # a colour or sea state that is missing
            return
        if group is not None and self.draft.add(group):
            return
        self.unread.append(as_written(word))
        suspected = suspects(word) or (frozenset() if after_pressure else ANY_BODY_ELEMENT)
        self.draft.doubt(suspected, f"cannot read {as_written(word)}")

    def confirm(self) -> None:
        """Withdraw what the second reader reads otherwise; of pressure only the one kept counts."""
        kept = self.draft.pressure
        dissents = [
            each for group, each in self.dissents if group is kept or type(group) is not Pressure
        ]
        if any(each.unreadable for each in dissents):
            self.draft.problems.append("read by one reader only")
        elif dissents:
            named = frozenset(each.element for each in dissents)
            different = [element for element in Element if element in named]
            self.draft.doubt(different, f"two readers differ on {', '.join(different)}")


def _is_cavok(group: Group | None) -> bool:
    return isinstance(group, Marker) and group.mark is GroupMark.CAVOK
