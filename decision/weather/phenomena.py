"""What the letters of a weather group mean for a decision: lasting or showery, icing, runway.

The classes are data/tables/weather_phenomena.csv; `nature_of` applies them to a whole change group
with the conservative reading of a mixed one: only a group whose every phenomenon is a shower,
thunderstorm, squall or funnel cloud is transient.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from types import MappingProxyType
from typing import Final

from decision.tables import rows
from decision.weather.report import CloudAmount, Elements, Period, WeatherGroup
from decision.weather.use import Nature

FILE: Final = "weather_phenomena.csv"
CEILING_AMOUNTS: Final = frozenset({CloudAmount.BKN, CloudAmount.OVC, CloudAmount.VV})


class Part(StrEnum):
    """The part that a pair of letters plays in a weather group."""

    DESCRIPTOR = "descriptor"
    PHENOMENON = "phenomenon"


class RunwayEffect(StrEnum):
    """What precipitation leaves on a runway."""

    NONE = "none"
    WET = "wet"
    FROZEN = "frozen"


class Flag(StrEnum):
    """Yes or no, in a table."""

    YES = "yes"
    NO = "no"


@dataclass(frozen=True, slots=True, kw_only=True)
class Phenomenon:
    """The classes of one pair of letters; `title`: in words, of a descriptor with what binds it."""

    code: str
    title: str
    part: Part
    nature: Nature
    icing: bool
    runway: RunwayEffect


UNKNOWN_LETTERS: Final = Phenomenon(
    code="//",
    title="weather that is not told",
    part=Part.PHENOMENON,
    nature=Nature.PERSISTENT,
    icing=True,
    runway=RunwayEffect.FROZEN,
)
"""Letters that the table does not have: the worst class in every respect."""


@cache
def phenomena() -> Mapping[str, Phenomenon]:
    """All classes by code. Raises DataError on a malformed table."""
    columns = frozenset({"code", "title", "part", "nature", "icing", "runway"})
    return MappingProxyType(
        {
            row.text("code"): Phenomenon(
                code=row.text("code"),
                title=row.text("title"),
                part=row.kind("part", Part),
                nature=row.kind("nature", Nature),
                icing=row.kind("icing", Flag) is Flag.YES,
                runway=row.kind("runway", RunwayEffect),
            )
            for row in rows(FILE, columns=columns)
        }
    )


def classes_of(weather: WeatherGroup) -> tuple[Phenomenon, ...]:
    """The classes of a group's letters, descriptors first."""
    table = phenomena()
    letters = (*weather.descriptors, *weather.phenomena)
    return tuple(table.get(code, UNKNOWN_LETTERS) for code in letters)


def is_transient(weather: WeatherGroup) -> bool:
    """Whether a weather group is a shower, thunderstorm, squall or funnel cloud."""
    return any(each.nature is Nature.TRANSIENT for each in classes_of(weather))


def bears_icing(weather: WeatherGroup) -> bool:
    """Whether a weather group speaks of icing: freezing or frozen precipitation, or storms."""
    return any(each.icing for each in classes_of(weather))


def runway_effect(weather: Iterable[WeatherGroup]) -> RunwayEffect:
    """The worst that any of the groups leaves on a runway."""
    effects = {each.runway for group in weather for each in classes_of(group)}
    worst_first = (RunwayEffect.FROZEN, RunwayEffect.WET)
    return next((effect for effect in worst_first if effect in effects), RunwayEffect.NONE)


def nature_of(period: Period) -> Nature:
    """Whether a change group lasts or is showery [EU-AO-FORECAST]; in doubt it lasts."""
    if period.unread or period.elements.unknown:
        return Nature.PERSISTENT
    weather = period.elements.weather
    transient = all(map(is_transient, weather)) if weather else _only_convective(period.elements)
    return Nature.TRANSIENT if transient else Nature.PERSISTENT


def _only_convective(elements: Elements) -> bool:
    """A group that names nothing but cloud, all of whose ceiling layers are CB or TCU."""
    layers = elements.clouds
    if not layers or elements.wind is not None or elements.visibility is not None:
        return False
    ceilings = [each for each in layers if each.amount is None or each.amount in CEILING_AMOUNTS]
    return any(layer.convective for layer in layers) and all(layer.convective for layer in ceilings)
