"""Cautions in the order in which they are read: what can kill, configuration, reports.

Several cautions of one cause are one line. A code that stands in no list below is placed by its
weight, so that a new one is never lost: a warning before everything, the rest with configuration.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum
from typing import Final

from decision.brief.layout import Data

MARK: Final = {"warning": "WARNING", "caution": "CAUTION", "info": "NOTE"}
HEAVIEST_FIRST: Final = tuple(MARK)


class Place(IntEnum):
    """Where a caution stands; the first is read first."""

    DANGER = 0
    CONFIGURATION = 1
    REPORTS = 2


# Warnings that are of how the aircraft is configured, and kill nobody by themselves.
CONFIGURATION: Final = frozenset(
    {
        "CABIN_AT_AIRCRAFT_ALTITUDE",
        "FLAPS_ASYMMETRIC",
        "FLAPS_JAMMED",
        "FLAPS_STAY_OUT",
        "FUEL_TRAPPED",
        "GEAR_STAYS_DOWN",
        "SLATS_JAMMED",
    }
)
# Weather that is a danger with whatever weight it is told.
DANGER: Final = frozenset(
    {"GUST_BEYOND_LIMIT", "ICING_WITH_DRAG_OUT", "MAY_BE_BARRED", "NO_CLIMB_THERE", "THUNDERSTORM"}
)
HAZARD: Final = "HAZARD_"  # how the codes of hazardous weather begin
REPORTS: Final = frozenset(
    {
        "APPROACH_CONDITION",
        "FETCHED_REPORT_STALE",
        "FETCH_FAILED",
        "FRESH_REPORT_NEEDED",
        "HOLD_BARRED",
        "LIMIT_NOT_IN_FIGURES",
        "MINIMA_NOT_AS_CHARTED",
        "NOTHING_FETCHED",
        "NO_FORECAST",
        "NO_OBSERVATION",
        "NO_REPORT",
        "NO_TERRAIN_GIVEN",
        "NO_WIND_GIVEN",
        "OBSERVED_WORSE",
        "POLICY_DEVIATION",
        "REPORTS_DIFFER",
        "REPORT_NOT_USED",
        "REPORT_PARTLY_UNREAD",
        "RELEASE_TO_BE_AMENDED",
        "RESCUE_BELOW_CATEGORY",
        "WEATHER_NOT_COMPLETE",
        "WIND_OF_NEAREST_LEVEL",
    }
)
# Codes that tell of one place what is not there.
NOT_THERE: Final = frozenset({"NO_FORECAST", "NO_OBSERVATION", "NO_REPORT", "WEATHER_NOT_COMPLETE"})


@dataclass(frozen=True, slots=True, kw_only=True)
class CautionLine:
    """One line: everything that one cause brings with it, and the heaviest of its weights."""

    place: Place
    weight: str
    text: str

    @property
    def marked(self) -> str:
        """With its mark."""
        return f"{MARK[self.weight]}: {self.text}"


def cautions_told(answer: Data) -> list[CautionLine]:
    """One for each cause, what can kill first."""
    groups: dict[tuple[Place, str], list[Data]] = {}
    for caution in answer["cautions"]:
        cause = cause_of(caution, answer.get("weather", {}))
        groups.setdefault((place_of(caution), cause), []).append(caution)
    told = [_told(place, group) for (place, _), group in groups.items()]
    return sorted(told, key=lambda each: (each.place, HEAVIEST_FIRST.index(each.weight)))


def place_of(caution: Data) -> Place:
    """Where a caution belongs."""
    code, weight = caution["code"], caution["weight"]
    if code in REPORTS:
        return Place.REPORTS
    if code in DANGER or code.startswith(HAZARD):
        return Place.DANGER
    if weight == "warning" and code not in CONFIGURATION:
        return Place.DANGER
    return Place.CONFIGURATION


def cause_of(caution: Data, places: Iterable[str]) -> str:
    """The failure, report or group that it comes from; without one, what kind of caution it is."""
    if caution["code"] in NOT_THERE:
        return f"not there: {[place for place in places if place in caution['text']]}"
    because = caution.get("because") or ()
    return str(because[0] if because else caution["code"])


def _told(place: Place, group: Iterable[Data]) -> CautionLine:
    heaviest_first = sorted(group, key=lambda each: HEAVIEST_FIRST.index(each["weight"]))
    return CautionLine(
        place=place,
        weight=heaviest_first[0]["weight"],
        text=" ".join(dict.fromkeys(each["text"] for each in heaviest_first)),
    )
