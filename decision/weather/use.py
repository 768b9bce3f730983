"""Which parts of a forecast count: the change-group table as data.

Two readings of the same words: PERSISTENT ([EU-AO-FORECAST], used for `icao` and `easa`) lets a
lasting deterioration count and a showery one not; CONDITIONAL ([FAA-C055]) lets the worst of every
conditional element count, gusts included. The table data/tables/forecast_use.csv has one cell per
reading, group, nature and aspect, each with its source and confidence.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from itertools import product
from pathlib import Path
from types import MappingProxyType
from typing import Final

from decision.errors import DataError
from decision.tables import TABLES, rows
from decision.weather.report import Element, Period, PeriodKind

FILE: Final = "forecast_use.csv"
ANY: Final = "any"


class Reading(StrEnum):
    """How a rulebook reads conditional language."""

    PERSISTENT = "persistent"
    CONDITIONAL = "conditional"


class Group(StrEnum):
    """A row of the table: what kind of words speaks."""

    OBSERVATION = "observation"
    INITIAL = "initial"
    FROM = "from"
    BECOMING_AT = "becoming_at"
    BECOMING = "becoming"
    TEMPORARY = "temporary"
    PROBABLE = "probable"
    PROBABLE_TEMPORARY = "probable_temporary"


class Nature(StrEnum):
    """Whether the weather of a group lasts, or comes and goes with a shower or thunderstorm."""

    PERSISTENT = "persistent"
    TRANSIENT = "transient"


class Aspect(StrEnum):
    """A column of the table: which side of a group is asked about."""

    DETERIORATION = "deterioration"
    IMPROVEMENT = "improvement"
    MEAN_WIND = "mean_wind"
    GUST = "gust"


class Counts(StrEnum):
    """A cell of the table: whether, and from when, it counts."""

    FROM_START = "from_start"
    FROM_END = "from_end"
    APPLICABLE = "applicable"
    DISREGARDED = "disregarded"


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """The four cells of one row."""

    deterioration: Counts
    improvement: Counts
    mean_wind: Counts
    gust: Counts

    def of(self, element: Element) -> Counts:
        """Whether a deterioration of an element counts; the mean wind has its own column."""
        return self.mean_wind if element is Element.WIND else self.deterioration

    @property
    def gust_counts(self) -> bool:
        """Whether a gust in this group must be inside limits."""
        return self.gust is not Counts.DISREGARDED


OVERLAY_GROUPS: Final = MappingProxyType(
    {
        PeriodKind.TEMPO: Group.TEMPORARY,
        PeriodKind.INTER: Group.TEMPORARY,
        PeriodKind.PROB: Group.PROBABLE,
        PeriodKind.PROB_TEMPO: Group.PROBABLE_TEMPORARY,
        PeriodKind.PROB_INTER: Group.PROBABLE_TEMPORARY,
    }
)
MAIN_GROUPS: Final = MappingProxyType(
    {PeriodKind.BASE: Group.INITIAL, PeriodKind.FM: Group.FROM, PeriodKind.BECMG: Group.BECOMING}
)


def group_of(period: Period) -> Group:
    """The row that a group belongs to; BECMG AT (start and end are one instant) has its own."""
    if period.kind in OVERLAY_GROUPS:
        return OVERLAY_GROUPS[period.kind]
    if period.kind is PeriodKind.BECMG and period.start_at == period.end_at:
        return Group.BECOMING_AT
    return MAIN_GROUPS[period.kind]


def use_of(reading: Reading, group: Group, nature: Nature) -> Use:
    """The row for a group. Source: data/tables/forecast_use.csv."""
    return _table()[reading, group, nature]


@cache
def _table() -> Mapping[tuple[Reading, Group, Nature], Use]:
    return read_table(TABLES)


def read_table(folder: Path) -> Mapping[tuple[Reading, Group, Nature], Use]:
    """The whole table. Raises DataError on a malformed row or a case that has no cell."""
    columns = frozenset({"reading", "group", "nature", "aspect", "use"})
    cells: dict[tuple[str, str, str, str], Counts] = {}
    for row in rows(FILE, columns=columns, folder=folder):
        reading, group = row.kind("reading", Reading), row.kind("group", Group)
        nature, aspect = row.text("nature"), row.kind("aspect", Aspect)
        natures = tuple(Nature) if nature == ANY else (row.kind("nature", Nature),)
        for one in natures:
            cells[reading, group, one, aspect] = row.kind("use", Counts)
    try:
        table = {
            key: Use(**{aspect.value: cells[*key, aspect] for aspect in Aspect})
            for key in product(Reading, Group, Nature)
        }
    except KeyError as error:
        raise DataError(FILE, str(error), "no cell for this case") from None
    return MappingProxyType(table)
