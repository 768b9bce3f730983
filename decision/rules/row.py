"""What a row of the table of rules says: everything that is asked of a rule, besides its check.

Who ranks, waits, asks or tells looks for a property here and names no rule, so that another rule is
one function and one row.
"""

from __future__ import annotations

from enum import Enum, Flag, IntEnum, StrEnum, auto
from functools import lru_cache
from typing import Annotated, Final

from msgspec import Struct

from decision.attempt.attempt import Role
from decision.course import CourseKind
from decision.fields import about

EVERY_ROLE: Final = frozenset(Role)
EVERY_KIND: Final = frozenset(CourseKind)
TIGHT_RATIO: Final = 0.2  # room under this part of its limit is little [ASSUMED]


class Means(Flag):
    """What a breach means to those who choose a place, wait, or call."""

    NOTHING_MORE = 0
    LEFT_OUT = auto()  # an urgent landing goes elsewhere, as long as there is an elsewhere
    LITTLE = auto()  # a minute or two, where the landing is urgent
    WEATHER = auto()  # better weather takes it away
    PRIORITY = auto()  # endangers nobody, and yet asks for priority


class Breach(IntEnum):
    """What a broken rule means for a crew that has to land somewhere, worst first.

    That is the order of the least-bad course. Down to WIND_FAR_BEYOND a breach endangers the
    aircraft; the rest is a rule or a margin missed by an aircraft that still lands safely. The
    order is the project's own reading [ASSUMED]. `nature`: of an emergency, in words for control.
    """

    nature: str
    means: Means

    def __new__(cls, order: int, nature: str = "", means: Means = Means.NOTHING_MORE) -> Breach:
        """A member with its place in the order, and what is known of it."""
        breach = int.__new__(cls, order)
        breach._value_ = order
        breach.nature, breach.means = nature, means
        return breach

    CANNOT_BE_FLOWN = 0, "no aerodrome in reach", Means.LEFT_OUT
    ENGINES_STOP = 1, "fuel exhausted before landing", Means.LEFT_OUT
    CANNOT_STOP = 2, "runway too short for the landing", Means.LEFT_OUT
    FUEL_NEARLY_GONE = 3, "landing with hardly any fuel"
    OBSTACLES = 4, "no climb after a missed approach", Means.LEFT_OUT
    HAZARD = 5, "landing in hazardous weather", Means.LEFT_OUT | Means.WEATHER
    BELOW_MINIMA = 6, "landing below minima", Means.WEATHER
    WIND_FAR_BEYOND = 7, "landing beyond the wind limits", Means.WEATHER
    UNDER_RESERVE = 8, "landing below final reserve fuel", Means.PRIORITY
    WIND_LIMIT = 9, "landing beyond a wind limit", Means.LITTLE | Means.PRIORITY
    LANDING_FACTOR = 10, "landing without the usual runway margin", Means.LITTLE | Means.PRIORITY
    GRADIENT = 11
    RUNWAY_LIMIT = 12
    LANDING_MASS = 13
    COMMIT_CONDITIONS = 14
    PLANNING_BAR = 15
    GUIDANCE = 16

    @property
    def endangers(self) -> bool:
        """Whether people are in danger, and not only a rule or a margin."""
        return self <= LAST_THAT_ENDANGERS


LAST_THAT_ENDANGERS: Final = Breach.WIND_FAR_BEYOND
REPORTS: Final = "the latest report and forecast"
SURFACE: Final = "runway condition"
ROUTE: Final = "the distance by the route"
CHART: Final = "approaches and their minima"


class Topic(StrEnum):
    """What a rule is about: the letters of its code, and whom that asks of what.

    `heading`: of its part of the page. `whom`: who can tell what nobody could judge, and of what.
    `lacks`: the one thing that would settle it, where a judgement does not name another.
    """

    heading: str
    whom: str
    lacks: str

    def __new__(cls, letters: str, heading: str = "", whom: str = "", lacks: str = "") -> Topic:
        """A member with its letters, and what is known of it."""
        topic = str.__new__(cls, letters)
        topic._value_ = letters
        topic.heading, topic.whom, topic.lacks = heading, whom, lacks
        return topic

    AERODROME = (
        "AD",
        "Aerodrome",
        "dispatch for the aerodrome's hours and notices",
        "hours, runways and rescue services",
    )
    APPROACH = (
        "AP",
        "Approach",
        "air traffic control for the latest report, dispatch for the chart",
        REPORTS,
    )
    COMMIT = (
        "CM",
        "Committed landing",
        "air traffic control for the runways and the latest report",
        REPORTS,
    )
    COLD = "CT", "Cold", "air traffic control for temperature and QNH", REPORTS
    ENGINE_OUT = "EO", "Engine out", "dispatch", "weather and services"
    ENROUTE = "ER", "En route", "dispatch for the route and its distance", ROUTE
    FUEL = "FU", "Fuel", "the fuel page and dispatch", "the fuel on board"
    HAZARD = (
        "HZ",
        "Hazardous weather",
        "dispatch or air traffic control for the weather there",
        REPORTS,
    )
    LANDING = (
        "LD",
        "Landing",
        "air traffic control for wind, temperature, QNH and runway condition",
        SURFACE,
    )
    MISSED = (
        "MA",
        "Missed approach",
        "air traffic control for wind, temperature and QNH, dispatch for the chart",
        "the chart of the missed approach",
    )
    WIND = "WD", "Wind", "air traffic control for the wind and runway condition", REPORTS
    WEATHER = "WX", "Weather", "dispatch or air traffic control for the weather there", REPORTS

    @property
    def comes_first(self) -> bool:
        """Whether it is asked first: ceiling and visibility, from which more follows."""
        return self in (Topic.APPROACH, Topic.WEATHER)

    @property
    def reported(self) -> bool:
        """Whether reports of a place tell it, and who lands without them lands blind."""
        return self.comes_first or self in (Topic.WIND, Topic.HAZARD)


class Mend(Enum):
    """What takes a breach away without going elsewhere."""

    NOTHING = "nothing that is looked for"
    REPORT = "a newer report: until then the approach is barred"
    WAITING = "wind, ice or hazardous weather that passes"
    GENTLER_MISS = "another procedure or runway, or less mass"
    BURNING_OFF = "burning fuel off"

    @property
    def by_waiting(self) -> bool:
        """Whether a hold may mend it."""
        return self in (Mend.REPORT, Mend.WAITING)


class Figure(StrEnum):
    """A figure that is told with the limit of the one rule on it."""

    LANDING_DISTANCE = "landing_distance"
    MISSED_GRADIENT = "missed_gradient"


class Known(Struct, frozen=True, kw_only=True, gc=False, eq=False):
    """What may be known of a rule besides what every row begins with."""

    applies: Annotated[
        frozenset[Role] | frozenset[CourseKind],
        about("Roles of an attempt, or kinds of course, for which it is judged."),
    ] = EVERY_KIND
    asks: Annotated[
        Topic | None, about("The topic whose cause an UNKNOWN shares, where not its own.")
    ] = None
    mend: Annotated[Mend, about("What takes a breach away without going elsewhere.")] = Mend.NOTHING
    figure: Annotated[Figure | None, about("The figure that is told with its limit.")] = None
    told_by: Annotated[str, about("The rule of which a breach there says this one's too.")] = ""
    adopted: Annotated[
        bool, about("Whether it is the operator's policy, where the rulebook has guidance.")
    ] = False
    telling: Annotated[bool, about("Whether a crew asks how much room it leaves.")] = False
    stops: Annotated[bool, about("Whether it is about stopping on the runway at all.")] = False
    far_above: Annotated[bool, about("Whether a PASS puts the weather far above the minima.")] = (
        False
    )
    tight_weather_ratio: Annotated[
        float | None,
        about("Part of its limit under which a ceiling or visibility counts as hardly above."),
    ] = None
    tight_runway_ratio: Annotated[
        float | None, about("Part of its limit under which runway or wind count as tight.")
    ] = None


class RuleRow(Known, frozen=True, gc=False, eq=False):
    """What every rule says of itself, equal to itself alone."""

    code: Annotated[str, about("Letters of its topic and a number; never used again.")]
    title: Annotated[str, about("In a few words.")]
    row: Annotated[str, about("The row of the rulebook that it cites and reads its limit from.")]
    breach: Annotated[Breach, about("What breaking it ordinarily means.")]

    @property
    def topic(self) -> Topic:
        """What it is about."""
        return _topic_of(self.code)

    @property
    def asked(self) -> Topic:
        """The topic whose cause it shares, where it is UNKNOWN."""
        return self.asks or self.topic


@lru_cache(maxsize=256)
def _topic_of(code: str) -> Topic:
    return Topic(code.partition("-")[0])
