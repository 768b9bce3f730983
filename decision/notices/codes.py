"""The letters of the NOTAM Code and the words of its texts, as tables of rows.

Source: data/tables/notice_subjects.csv, notice_conditions.csv, notice_words.csv and
runway_report_surfaces.csv, each row with its own [DOC-8400], [ANNEX-15], [PANS-AIM]. Letters that
no row has are not read.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from enum import StrEnum
from functools import cache
from types import MappingProxyType
from typing import Final, NamedTuple, TypeVar

from decision.notices.types import NoticeSubject
from decision.tables import Row, rows
from decision.weather.runway import Contaminant

SUBJECTS: Final = "notice_subjects.csv"
CONDITIONS: Final = "notice_conditions.csv"
WORDS: Final = "notice_words.csv"
SURFACES: Final = "runway_report_surfaces.csv"
DESIGNATOR: Final = r"(?:0[1-9]|[12]\d|3[0-6])[LCR]?"
"""A runway, as a text names it."""

Said = TypeVar("Said")


class NoticeState(StrEnum):
    """What the fourth and fifth letter say of a subject."""

    OUT = "out"
    DOWNGRADED = "downgraded"
    CHANGED = "changed"
    RESTORED = "restored"
    WORDS = "words"  # the text says it


class WordPart(StrEnum):
    """What a word of a text does in it."""

    OUT = "out"
    SUBJECT = "subject"
    RUNWAY = "runway"
    FILLER = "filler"
    REASON = "reason"  # what follows up to the end of the sentence is why


class CodedSubject(NamedTuple):
    """A subject and what its letters stand for."""

    subject: NoticeSubject
    means: str


class CodedState(NamedTuple):
    """A state and what its letters stand for."""

    state: NoticeState
    means: str


class KnownWord(NamedTuple):
    """A word; `subject`: what it is of, empty for none, or a group such as lights."""

    part: WordPart
    subject: str


@cache
def subjects() -> Mapping[str, CodedSubject]:
    """By second and third letter."""
    return _table(
        SUBJECTS,
        ("letters", "subject", "means"),
        lambda row: CodedSubject(row.kind("subject", NoticeSubject), row.text("means")),
    )


@cache
def states() -> Mapping[str, CodedState]:
    """By fourth and fifth letter."""
    return _table(
        CONDITIONS,
        ("letters", "state", "means"),
        lambda row: CodedState(row.kind("state", NoticeState), row.text("means")),
    )


@cache
def words() -> Mapping[str, KnownWord]:
    """The words that a text may have and still be read to its end."""
    return _table(
        WORDS,
        ("word", "part", "subject"),
        lambda row: KnownWord(row.kind("part", WordPart), row.cells["subject"]),
    )


@cache
def surfaces() -> Mapping[str, Contaminant | None]:
    """Condition descriptions of a report; None: none that the matrix has a row for."""
    return _table(
        SURFACES,
        ("words", "contaminant"),
        lambda row: row.kind("contaminant", Contaminant) if row.cells["contaminant"] else None,
    )


def _table(name: str, columns: Sequence[str], read: Callable[[Row], Said]) -> Mapping[str, Said]:
    """What the rows of a table say, by its first column."""
    return MappingProxyType(
        {row.text(columns[0]): read(row) for row in rows(name, columns=frozenset(columns))}
    )
