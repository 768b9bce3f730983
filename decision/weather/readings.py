"""The weather of a window as a rule sees it: the worst figure, whether worse is possible, and why.

A figure with `possibly_worse` is known to be that bad, and may be worse: it can fail a minimum and
can never meet one. `reaches` says so as True, False or None (unknown); rules use nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated, Final

from msgspec import Struct

from decision.fields import Instant, about
from decision.quantities import Bound
from decision.weather.report import CeilingState, Element, Tendency, WeatherGroup
from decision.windows import Window


class Governing(Struct, frozen=True, kw_only=True, gc=False):
    """The group that an element rests on.

    `kind`: METAR, SPECI, TREND, SPOT, a kind of forecast group, or NONE. `text` is quoted.
    """

    kind: Annotated[str, about("Kind of the report or group; NONE: nobody speaks.")]
    text: Annotated[str, about("Its words.")]
    why: Annotated[str, about("Why it governs.")]


NOTHING: Final = "NONE"
"""Kind of the governing group where no group speaks."""


def reaches(
    value: float | None, *, bound: Bound, limit: float, possibly_worse: bool
) -> bool | None:
    """Whether a bounded figure meets a minimum; None if that cannot be known.

    A figure with AT_LEAST or ABOVE is never credited above itself; BELOW is short of itself.
    """
    if value is None or bound is Bound.UNKNOWN:
        return None
    if value < limit or (bound is Bound.BELOW and value <= limit):
        return False
    return None if possibly_worse or bound is Bound.BELOW else True


def below(possible: float | None, limit: float) -> bool:
    """Whether something that is only possible would be short of a minimum."""
    return possible is not None and possible < limit


class CeilingReading(Struct, frozen=True, kw_only=True, gc=False):
    """The lowest ceiling; `possible_ceiling_ft` is the lower one that remarks speak of."""

    state: Annotated[CeilingState, about("A height, none, or not known.")]
    feet: Annotated[float | None, about("Above the aerodrome.", unit="ft")]
    possibly_worse: Annotated[bool, about("Whether it may be worse than the figure.")]
    possible_ceiling_ft: Annotated[
        float | None, about("A lower one that remarks speak of.", unit="ft")
    ]
    governing: Annotated[Governing, about("The words that it rests on.")]

    def reaches(self, limit_ft: float) -> bool | None:
        """Whether the ceiling is at or above a minimum; no ceiling is above every minimum.

        Not known where a remark speaks of a ceiling under it.
        """
        worse = self.possibly_worse or below(self.possible_ceiling_ft, limit_ft)
        if self.state is CeilingState.NONE:
            return None if worse else True
        return reaches(self.feet, bound=Bound.EXACT, limit=limit_ft, possibly_worse=worse)


class VisibilityReading(Struct, frozen=True, kw_only=True, gc=False):
    """The lowest visibility: `metres` is the smaller of prevailing and directional minimum.

    `possible_metres` is the lower one that remarks speak of (variable, sector, tower, surface).
    """

    metres: Annotated[
        float | None, about("The lower of prevailing and lowest of a direction.", unit="m")
    ]
    bound: Annotated[Bound, about("How the figure bounds the true one.")]
    prevailing_metres: Annotated[float | None, about("Prevailing visibility.", unit="m")]
    minimum_metres: Annotated[float | None, about("Lowest of a direction.", unit="m")]
    possibly_worse: Annotated[bool, about("Whether it may be worse than the figure.")]
    possible_metres: Annotated[float | None, about("A lower one that remarks speak of.", unit="m")]
    governing: Annotated[Governing, about("The words that it rests on.")]

    def reaches(self, limit_m: float) -> bool | None:
        """Whether the visibility is at or above a minimum; not known where a remark is under it."""
        return reaches(
            self.metres,
            bound=self.bound,
            limit=limit_m,
            possibly_worse=self.possibly_worse or below(self.possible_metres, limit_m),
        )


class RvrReading(Struct, frozen=True, kw_only=True, gc=False):
    """Runway visual range of one runway: touchdown zone, then the others where they were given.

    `low_m` is the lower end of what was reported; None: reported missing. `at`: when. `bars_only`:
    too old to make anything known, it still stands where it is short of a minimum.
    """

    runway: Annotated[str, about("Designator.")]
    low_m: Annotated[
        float | None, about("Lower end of what was reported; null: missing.", unit="m")
    ]
    low_bound: Annotated[Bound, about("How it bounds the true one.")]
    high_m: Annotated[float | None, about("Upper end.", unit="m")]
    high_bound: Annotated[Bound | None, about("How it bounds the true one.")]
    tendency: Annotated[Tendency | None, about("Up, down or no change.")]
    midpoint_m: Annotated[float | None, about("At the midpoint.", unit="m")]
    stop_end_m: Annotated[float | None, about("At the stop end.", unit="m")]
    possibly_worse: Annotated[bool, about("Whether it may be worse than the figure.")]
    governing: Annotated[Governing, about("The words that it rests on.")]
    at: Annotated[Instant | None, about("When it was seen.")] = None
    bars_only: Annotated[bool, about("Too old to make anything known, it still bars.")] = False

    def reaches(self, limit_m: float) -> bool | None:
        """Whether the low end is at or above a minimum."""
        return reaches(
            self.low_m, bound=self.low_bound, limit=limit_m, possibly_worse=self.possibly_worse
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class WindReading:
    """One wind of the window. `gust_counts`: the gust, too, must be inside limits.

    `from_true_deg` None: variable, or direction unknown; then it may blow across and from behind.
    """

    from_true_deg: Annotated[
        float | None, about("True direction; null: variable or not known.", unit="degrees")
    ]
    variable: Annotated[bool, about("No single direction.")]
    variation: Annotated[
        tuple[float, float] | None,
        about("Sector of directions, clockwise from the first to the second.", unit="degrees"),
    ]
    speed_kt: Annotated[float | None, about("Mean speed.", unit="kt")]
    speed_bound: Annotated[Bound, about("How it bounds the true one.")]
    gust_kt: Annotated[float | None, about("Gust.", unit="kt")]
    gust_bound: Annotated[Bound, about("How it bounds the true one.")]
    gust_counts: Annotated[bool, about("Whether the gust, too, must be inside limits.")]
    possibly_worse: Annotated[bool, about("Whether it may be worse than the figure.")]
    governing: Annotated[Governing, about("The words that it rests on.")]


@dataclass(frozen=True, slots=True, kw_only=True)
class Disregarded:
    """Words that the reading lets stand without effect, quoted, with the reason.

    What they would have brought is kept: a storm and a wet runway matter beside the minima, too.
    """

    text: Annotated[str, about("The words.")]
    why: Annotated[str, about("Why they stand without effect.")]
    thunderstorm: Annotated[bool, about("They would have brought one.")] = False
    precipitation: Annotated[bool, about("They would have brought some.")] = False


class Reported(Struct, frozen=True, kw_only=True, gc=False):
    """What one observation in force says of seeing the runway, with newer words by voice in it.

    `at`: when the visibility was seen. `visibility` None and `rvr` (): not heard in the window,
    since something named has improved on it, or it is too long ago.
    """

    at: Annotated[Instant, about("When the visibility was seen.")]
    visibility: Annotated[
        VisibilityReading | None, about("Visibility; null: not heard in the window.")
    ]
    rvr: Annotated[tuple[RvrReading, ...], about("Runway visual ranges.")]


class ForetoldPart(Struct, frozen=True, kw_only=True, gc=False):
    """A group of a trend or forecast that speaks in a part of the window.

    Groups that a reading disregards are here, too.
    """

    kind: Annotated[str, about("Kind of the group.")]
    text: Annotated[str, about("Its words.")]
    from_at: Annotated[Instant, about("From when.")]
    until_at: Annotated[Instant, about("Until when.")]


class Foretold(ForetoldPart, frozen=True, kw_only=True, gc=False):
    """What a group of a trend or forecast says of the visibility in a part of the window.

    `prevailing`: it is no TEMPO, INTER or PROB.
    """

    prevailing: Annotated[bool, about("Whether it is no TEMPO, INTER or PROB.")]
    visibility: Annotated[VisibilityReading, about("What it says.")]


class ForetoldCeiling(ForetoldPart, frozen=True, kw_only=True, gc=False):
    """What a group of a trend or forecast says of the ceiling in a part of the window."""

    ceiling: Annotated[CeilingReading, about("What it says.")]


@dataclass(frozen=True, slots=True, kw_only=True)
class Improvement:
    """A named group that makes something better, and from when that counts.

    `elements`: what it improves, on what was seen or on what the forecast said before. The end of
    a TEMPO improves nothing but hazards, as weather.
    """

    at: Annotated[Instant, about("From when it counts.")]
    kind: Annotated[str, about("Kind of the group.")]
    text: Annotated[str, about("Its words.")]
    elements: Annotated[frozenset[Element], about("What it improves.")]


class HazardWeight(StrEnum):
    """How heavily hazardous weather weighs, the gravest first."""

    BAR = "bar"
    WARNING = "warning"
    CAUTION = "caution"


@dataclass(frozen=True, slots=True, kw_only=True)
class Hazard:
    """Hazardous weather in a window: what, how heavily it weighs, and the words that say so.

    `phenomenon` is the row of data/tables/hazards.csv, `words` its name for people. `until_at`
    None: no end is told. `runway` None: not of one runway alone.
    """

    phenomenon: Annotated[str, about("Its row in the table of hazards.")]
    words: Annotated[str, about("Its name for people.")]
    weight: Annotated[HazardWeight, about("How heavily it weighs.")]
    kind: Annotated[str, about("Kind of the report or group.")]
    text: Annotated[str, about("Its words.")]
    from_at: Annotated[Instant, about("From when.")]
    until_at: Annotated[Instant | None, about("Until when; null: no end is told.")]
    runway: Annotated[str | None, about("Designator; null: not of one runway alone.")] = None


class NotAtHand(StrEnum):
    """A report that would have been heard, had it been there."""

    NO_OBSERVATION = "no_observation"
    OLD_OBSERVATION = "old_observation"
    NO_FORECAST = "no_forecast"


class ToldWeather(Struct, frozen=True, kw_only=True, gc=False):
    """What all that is in force says in a window, element by element, at its worst.

    `wind` is the strongest of `winds`; a runway must be judged on each of them. Booleans are None
    where nobody could have seen it. `transient_thunderstorm`: a thunderstorm stands in
    `disregarded`. `unknown` names every element that is not wholly known, `unknown_reasons` says
    why. `forecast_visibility`: of trend and forecast alone; `prevailing_visibility`: of these
    without TEMPO, INTER and PROB; None where they do not speak.
    """

    ceiling: Annotated[CeilingReading, about("The lowest ceiling.")]
    visibility: Annotated[VisibilityReading, about("The lowest visibility.")]
    wind: Annotated[WindReading, about("The strongest wind.")]
    winds: Annotated[tuple[WindReading, ...], about("Every wind of the window.")]
    weather: Annotated[tuple[WeatherGroup, ...], about("Weather groups.")]
    recent: Annotated[tuple[WeatherGroup, ...], about("Weather since the last report.")]
    thunderstorm: Annotated[bool | None, about("Null where nobody could have seen it.")]
    transient_thunderstorm: Annotated[bool, about("One stands in what is disregarded.")]
    freezing_precipitation: Annotated[bool | None, about("Null where nobody could have seen it.")]
    cb: Annotated[bool | None, about("Cumulonimbus; null where nobody could have seen it.")]
    icing_phenomena: Annotated[tuple[str, ...], about("Weather that bears ice.")]
    wind_shear: Annotated[tuple[str, ...], about("Words that tell of wind shear.")]
    disregarded: Annotated[tuple[Disregarded, ...], about("Words without effect, and why.")]
    unknown: Annotated[frozenset[Element], about("Elements not wholly known.")]
    unknown_reasons: Annotated[tuple[str, ...], about("Why not.")]
    forecast_visibility: Annotated[
        VisibilityReading | None, about("Of trend and forecast alone.")
    ] = None
    prevailing_visibility: Annotated[
        VisibilityReading | None, about("Of these without TEMPO, INTER and PROB.")
    ] = None

    @property
    def phenomena(self) -> tuple[str, ...]:
        """The weather groups as reported."""
        return tuple(group.raw for group in self.weather)


# What both kinds of conditions have; the published one has its window before it.
Ranges = Annotated[tuple[RvrReading, ...], about("Runway visual ranges; only near the present.")]
TemperatureDegc = Annotated[
    float | None, about("Last observed; null: too long before.", unit="degrees Celsius")
]
QnhHpa = Annotated[
    float | None, about("Last observed, the lower of two; null: too long before.", unit="hPa")
]
Unread = Annotated[tuple[str, ...], about("Groups that could not be read.")]
AgeMin = Annotated[float | None, about("Age of the observation.", unit="min")]
MissingReports = Annotated[tuple[NotAtHand, ...], about("Reports that it had to do without.")]
Changes = Annotated[
    tuple[Instant, ...], about("The next instants at which a group begins or ends.")
]
QnhHighHpa = Annotated[float | None, about("The higher of two of one time.", unit="hPa")]
ReportedApart = Annotated[tuple[Reported, ...], about("What was seen, each observation apart.")]
ForetoldGroups = Annotated[
    tuple[Foretold, ...], about("What each forecast group says of the visibility.")
]
ForetoldCeilings = Annotated[
    tuple[ForetoldCeiling, ...], about("What each forecast group says of the ceiling.")
]
Improvements = Annotated[tuple[Improvement, ...], about("Named groups that make something better.")]
Hazards = Annotated[tuple[Hazard, ...], about("Hazardous weather, the gravest first.")]
ObservedWorse = Annotated[
    tuple[Governing, ...], about("What was seen and is worse than the forecast that governs.")
]
ReportedBefore = Annotated[
    tuple[Reported, ...], about("What was reported before; it governs no more.")
]


class WeatherMet(ToldWeather, frozen=True, kw_only=True, gc=False):
    """What governs in every window that meets the same: what is told, and what depends on its ends.

    `rvr`: only near the present. `temperature_degc`, `qnh_hpa`: last observed, None when that is
    too long before the window; of two reports of one time the higher temperature and the lower
    QNH, `qnh_high_hpa` the higher one. `not_at_hand`: what the conditions had to do without.
    `changes_at`: the next instants at which a group begins or ends.

    `reported`: what was seen, each observation apart where several are in force; () where none is
    at hand. `foretold` and `foretold_ceilings`: each forecast group on either. `improvements`: the
    named groups ahead, by time. `hazards`: the gravest first. `observed_worse`: what was seen, is
    worse than the forecast and was not improved on by name, where the forecast governs all the
    same. `reported_before`: what was reported until then; it governs nothing any more.
    """

    rvr: Ranges
    temperature_degc: TemperatureDegc
    qnh_hpa: QnhHpa
    unread: Unread
    observation_age_min: AgeMin
    not_at_hand: MissingReports
    changes_at: Changes
    qnh_high_hpa: QnhHighHpa = None
    reported: ReportedApart = ()
    foretold: ForetoldGroups = ()
    foretold_ceilings: ForetoldCeilings = ()
    improvements: Improvements = ()
    hazards: Hazards = ()
    observed_worse: ObservedWorse = ()
    reported_before: ReportedBefore = ()


class Conditions(ToldWeather, frozen=True, kw_only=True, gc=False):
    """The governing conditions of a window: what is told in it, and what depends on its ends."""

    window: Annotated[Window, about("The time that is spoken of.")]
    rvr: Ranges
    temperature_degc: TemperatureDegc
    qnh_hpa: QnhHpa
    unread: Unread
    observation_age_min: AgeMin
    not_at_hand: MissingReports
    changes_at: Changes
    qnh_high_hpa: QnhHighHpa
    reported: ReportedApart
    foretold: ForetoldGroups
    foretold_ceilings: ForetoldCeilings
    improvements: Improvements
    hazards: Hazards
    observed_worse: ObservedWorse
    reported_before: ReportedBefore


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """A span in which no group begins or ends, with its constant conditions."""

    window: Annotated[Window, about("A span in which no group begins or ends.")]
    conditions: Annotated[Conditions, about("Its constant conditions.")]
