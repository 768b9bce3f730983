"""The letters of the NOTAM Code and the words of its texts, as tables of rows.

Source: data/tables/notice_subjects.csv, notice_conditions.csv, notice_words.csv and
runway_report_surfaces.csv, each row with its own [DOC-8400], [ANNEX-15], [PANS-AIM]. Letters that
no row has are not read.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from functools import cache
from types import MappingProxyType
from typing import Final, NamedTuple

from decision.notices.types import NoticeSubject
from decision.tables import rows
from decision.weather.runway import Contaminant

SUBJECTS: Final = "notice_subjects.csv"
CONDITIONS: Final = "notice_conditions.csv"
WORDS: Final = "notice_words.csv"
SURFACES: Final = "runway_report_surfaces.csv"


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
    columns = frozenset({"letters", "subject", "means"})
    return MappingProxyType(
        {
            row.text("letters"): CodedSubject(row.kind("subject", NoticeSubject), row.text("means"))
            for row in rows(SUBJECTS, columns=columns)
        }
    )


@cache
def states() -> Mapping[str, CodedState]:
    """By fourth and fifth letter."""
    columns = frozenset({"letters", "state", "means"})
    return MappingProxyType(
        {
            row.text("letters"): CodedState(row.kind("state", NoticeState), row.text("means"))
            for row in rows(CONDITIONS, columns=columns)
        }
    )


@cache
def words() -> Mapping[str, KnownWord]:
    """The words that a text may have and still be read to its end."""
    columns = frozenset({"word", "part", "subject"})
    return MappingProxyType(
        {
            row.text("word"): KnownWord(row.kind("part", WordPart), row.cells["subject"])
            for row in rows(WORDS, columns=columns)
        }
    )


@cache
def surfaces() -> Mapping[str, Contaminant | None]:
    """Condition descriptions of a report; None: none that the matrix has a row for."""
    columns = frozenset({"words", "contaminant"})
    return MappingProxyType(
        {
            row.text("words"): row.kind("contaminant", Contaminant)
            if row.cells["contaminant"]
            else None
            for row in rows(SURFACES, columns=columns)
        }
    )
