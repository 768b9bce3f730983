"""The weather of a window as a rule sees it: the worst figure, whether worse is possible, and why.

A figure with `possibly_worse` is known to be that bad, and may be worse: it can fail a minimum and
can never meet one. `reaches` says so as True, False or None (unknown); rules use nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Final

from decision.quantities import Bound
from decision.weather.report import CeilingState, Element, Tendency, Weather
from decision.windows import Window


@dataclass(frozen=True, slots=True, kw_only=True)
class Governing:
    """The group that an element rests on.

    `kind`: METAR, SPECI, TREND, SPOT, a kind of forecast group, or NONE. `text` is quoted.
    """

    kind: str
    text: str
    why: str


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


@dataclass(frozen=True, slots=True, kw_only=True)
class CeilingReading:
    """The lowest ceiling; `possible_ceiling_ft` is the lower one that remarks speak of."""

    state: CeilingState
    feet: float | None
    possibly_worse: bool
    possible_ceiling_ft: float | None
    governing: Governing

    def reaches(self, limit_ft: float) -> bool | None:
        """Whether the ceiling is at or above a minimum; no ceiling is above every minimum.

        Not known where a remark speaks of a ceiling under it.
        """
        worse = self.possibly_worse or below(self.possible_ceiling_ft, limit_ft)
        if self.state is CeilingState.NONE:
            return None if worse else True
        return reaches(self.feet, bound=Bound.EXACT, limit=limit_ft, possibly_worse=worse)


@dataclass(frozen=True, slots=True, kw_only=True)
class VisibilityReading:
    """The lowest visibility: `metres` is the smaller of prevailing and directional minimum.

    `possible_metres` is the lower one that remarks speak of (variable, sector, tower, surface).
    """

    metres: float | None
    bound: Bound
    prevailing_metres: float | None
    minimum_metres: float | None
    possibly_worse: bool
    possible_metres: float | None
    governing: Governing

    def reaches(self, limit_m: float) -> bool | None:
        """Whether the visibility is at or above a minimum; not known where a remark is under it."""
        return reaches(
            self.metres,
            bound=self.bound,
            limit=limit_m,
            possibly_worse=self.possibly_worse or below(self.possible_metres, limit_m),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class RvrReading:
    """Runway visual range of one runway: touchdown zone, then the others where they were given.

    `low_m` is the lower end of what was reported; None: reported missing. `at`: when. `bars_only`:
    too old to make anything known, it still stands where it is short of a minimum.
    """

    runway: str
    low_m: float | None
    low_bound: Bound
    high_m: float | None
    high_bound: Bound | None
    tendency: Tendency | None
    midpoint_m: float | None
    stop_end_m: float | None
    possibly_worse: bool
    governing: Governing
    at: datetime | None = None
    bars_only: bool = False

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

    from_true_deg: float | None
    variable: bool
    variation: tuple[float, float] | None
    speed_kt: float | None
    speed_bound: Bound
    gust_kt: float | None
    gust_bound: Bound
    gust_counts: bool
    possibly_worse: bool
    governing: Governing


@dataclass(frozen=True, slots=True, kw_only=True)
class Disregarded:
    """Words that the reading lets stand without effect, quoted, with the reason.

    What they would have brought is kept: a storm and a wet runway matter beside the minima, too.
    """

    text: str
    why: str
    thunderstorm: bool = False
    precipitation: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Reported:
    """What one observation in force says of seeing the runway, with newer words by voice in it.

    `at`: when the visibility was seen. `visibility` None and `rvr` (): not heard in the window,
    since something named has improved on it, or it is too long ago.
    """

    at: datetime
    visibility: VisibilityReading | None
    rvr: tuple[RvrReading, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Foretold:
    """What a group of a trend or forecast says of the visibility in a part of the window.

    `prevailing`: it is no TEMPO, INTER or PROB. Groups that a reading disregards are here, too.
    """

    kind: str
    text: str
    from_at: datetime
    until_at: datetime
    prevailing: bool
    visibility: VisibilityReading


@dataclass(frozen=True, slots=True, kw_only=True)
class Improvement:
    """A named group that makes something better, and from when that counts.

    `elements`: what it improves, on what was seen or on what the forecast said before. The end of
    a TEMPO improves nothing but hazards, as weather.
    """

    at: datetime
    kind: str
    text: str
    elements: frozenset[Element]


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

    phenomenon: str
    words: str
    weight: HazardWeight
    kind: str
    text: str
    from_at: datetime
    until_at: datetime | None
    runway: str | None = None


class NotAtHand(StrEnum):
    """A report that would have been heard, had it been there."""

    NO_OBSERVATION = "no_observation"
    OLD_OBSERVATION = "old_observation"
    NO_FORECAST = "no_forecast"


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What all that is in force says in a window, element by element, at its worst.

    `wind` is the strongest of `winds`; a runway must be judged on each of them. Booleans are None
    where nobody could have seen it. `transient_thunderstorm`: a thunderstorm stands in
    `disregarded`. `unknown` names every element that is not wholly known, `unknown_reasons` says
    why. `forecast_visibility`: of trend and forecast alone; `prevailing_visibility`: of these
    without TEMPO, INTER and PROB; None where they do not speak.
    """

    ceiling: CeilingReading
    visibility: VisibilityReading
    wind: WindReading
    winds: tuple[WindReading, ...]
    weather: tuple[Weather, ...]
    recent: tuple[Weather, ...]
    thunderstorm: bool | None
    transient_thunderstorm: bool
    freezing_precipitation: bool | None
    cb: bool | None
    icing_phenomena: tuple[str, ...]
    wind_shear: tuple[str, ...]
    disregarded: tuple[Disregarded, ...]
    unknown: frozenset[Element]
    unknown_reasons: tuple[str, ...]
    forecast_visibility: VisibilityReading | None = None
    prevailing_visibility: VisibilityReading | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions(Told):
    """The governing conditions of a window: what is told in it, and what depends on its ends.

    `rvr`: only near the present. `temperature_degc`, `qnh_hpa`: last observed, None when that is
    too long before the window; of two reports of one time the higher temperature and the lower
    QNH, `qnh_high_hpa` the higher one. `not_at_hand`: what the conditions had to do without.
    `changes_at`: the next instants at which a group begins or ends.

    `reported`: what was seen, each observation apart where several are in force; () where none is
    at hand. `foretold`: each forecast group on the visibility. `improvements`: the named groups
    ahead, by time. `hazards`: the gravest first. `observed_worse`: what was seen, is worse than
    the forecast and was not improved on by name, where the forecast governs all the same.
    `reported_before`: what was reported until then; it governs nothing any more.
    """

    window: Window
    rvr: tuple[RvrReading, ...]
    temperature_degc: float | None
    qnh_hpa: float | None
    unread: tuple[str, ...]
    observation_age_min: float | None
    not_at_hand: tuple[NotAtHand, ...]
    changes_at: tuple[datetime, ...]
    qnh_high_hpa: float | None = None
    reported: tuple[Reported, ...] = ()
    foretold: tuple[Foretold, ...] = ()
    improvements: tuple[Improvement, ...] = ()
    hazards: tuple[Hazard, ...] = ()
    observed_worse: tuple[Governing, ...] = ()
    reported_before: tuple[Reported, ...] = ()

    @property
    def phenomena(self) -> tuple[str, ...]:
        """The weather groups as reported."""
        return tuple(group.raw for group in self.weather)


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """A span in which no group begins or ends, with its constant conditions."""

    window: Window
    conditions: Conditions
