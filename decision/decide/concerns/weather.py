"""What weighs on a decision from the weather, its reports and the winds that were given."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from decision.case import Fetched
from decision.course import Course, CourseKind
from decision.decide.concerns.concern import HAZARD, Concern, attempts_of
from decision.decide.judge import JudgedCourse
from decision.decide.wait import barred_wait
from decision.flight.situation import Situation
from decision.rules.hazard import hazards_of, quoted, told
from decision.rules.wind import gust_beyond_limit
from decision.systems import Weight
from decision.weather.readings import Hazard, HazardWeight, NotAtHand
from decision.windows import clock_text


def hazards(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """Each kind of hazardous weather once a place, the gravest first, with the words that say so.

    Of one kind the earliest is told; where others say the same, they are behind it.
    """
    met: dict[tuple[str, str], dict[str, Hazard]] = {}
    for attempt in attempts_of(courses):
        for hazard in hazards_of(attempt, situation):
            place = met.setdefault((attempt.icao, hazard.phenomenon), {})
            place.setdefault(told(hazard), hazard)
    for (icao, phenomenon), said in sorted(met.items(), key=_gravest):
        first = next(iter(said.values()))
        yield Concern(
            code=f"{HAZARD}{phenomenon.upper()}",
            weight=HAZARD_WEIGHTS[first.weight],
            at=(icao,),
            quotes=(first.words, quoted(first)),
            because=tuple(said),
        )


def _gravest(place: tuple[tuple[str, str], dict[str, Hazard]]) -> int:
    return list(HazardWeight).index(next(iter(place[1].values())).weight)


HAZARD_WEIGHTS: Final = {
    HazardWeight.BAR: Weight.WARNING,
    HazardWeight.WARNING: Weight.WARNING,
    HazardWeight.CAUTION: Weight.CAUTION,
}


def observed_worse(_situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """Where the forecast governs although what was seen is worse and nothing named ends it."""
    for attempt in attempts_of(courses):
        for seen in attempt.weather.observed_worse:
            yield Concern(
                code="OBSERVED_WORSE",
                weight=Weight.CAUTION,
                at=(attempt.icao,),
                quotes=(f"{seen.kind} {seen.text}",),
            )


STRONG_WIND_KT: Final = 50.0  # [PRACTICE] about where doors, stairs and taxiing reach limits


def strong_wind(_situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """A gale, wherever it comes from: nothing here judges wind from ahead."""
    most_kt: dict[str, float] = {}
    for attempt in attempts_of(courses):
        for wind in attempt.weather.winds:
            blows_kt = max(wind.speed_kt or 0.0, wind.gust_kt or 0.0)
            most_kt[attempt.icao] = max(blows_kt, most_kt.get(attempt.icao, 0.0))
    for icao, blows_kt in most_kt.items():
        if blows_kt >= STRONG_WIND_KT:
            yield Concern(
                code="STRONG_WIND",
                weight=Weight.CAUTION,
                at=(icao,),
                figures={"wind_kt": blows_kt},
            )


def gusts(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """A gust beyond a wind limit where the rulebook judges the mean wind."""
    worst_kt: dict[str, float] = {}
    for attempt in attempts_of(courses):
        beyond_kt = gust_beyond_limit(attempt, situation)
        if beyond_kt is not None:
            worst_kt[attempt.icao] = max(beyond_kt, worst_kt.get(attempt.icao, 0.0))
    for icao, beyond_kt in worst_kt.items():
        yield Concern(
            code="GUST_BEYOND_LIMIT",
            weight=Weight.CAUTION,
            at=(icao,),
            figures={"beyond_kt": beyond_kt},
        )


ONWARD: Final = {CourseKind.APPROACH_THEN_DIVERT, CourseKind.DIVERT_NOW}  # with a way to fly


def icing_with_drag_out(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """Flaps or gear that stay out on the way into icing weather, whether protection works or not.

    Ice on what nothing heats is not shed again: no long flight in icing so [PRACTICE].
    """
    met: dict[str, set[str]] = {}
    for course in (judged.course for judged in courses if judged.course.kind in ONWARD):
        out = _left_out(situation, course)
        for attempt in course.attempts:
            iced = attempt.weather.icing_phenomena or attempt.weather.freezing_precipitation
            if out and iced and attempt.icao == course.icao:
                met.setdefault(attempt.icao, set()).add(out)
    for icao, what in met.items():
        yield Concern(
            code="ICING_WITH_DRAG_OUT",
            weight=Weight.CAUTION,
            at=(icao,),
            quotes=tuple(sorted(what)),
        )


def _left_out(situation: Situation, course: Course) -> str:
    """What stands out all the way of a course, in words; empty if nothing does."""
    flown = course.configuration
    flaps_out = flown.flap != situation.case.aircraft.profile.flaps_up
    return " and ".join(
        what for what, is_out in (("gear", flown.gear_down), ("flaps", flaps_out)) if is_out
    )


def hold_barred(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """Why weather that improves in time is not waited for."""
    bar = barred_wait(situation, courses)
    if bar is not None:
        yield Concern(
            code="HOLD_BARRED",
            weight=Weight.CAUTION,
            at=(situation.case.destination.aerodrome.icao,),
            quotes=(bar,),
        )


def winds(situation: Situation, _courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """No winds aloft."""
    if situation.case.winds_aloft is None:
        yield Concern(code="NO_WIND_GIVEN", weight=Weight.CAUTION)


def winds_beyond(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """Beyond the levels that have a wind the nearest is taken, and that is said."""
    given_ft = [wind.pressure_altitude_ft for wind in situation.case.winds_aloft or ()]
    if not given_ft:
        return
    ends = (("highest_ft", max(given_ft), 1.0), ("lowest_ft", min(given_ft), -1.0))
    for end, end_ft, sign in ends:
        beyond = dict.fromkeys(
            judged.course.icao
            for judged in courses
            if judged.course.cruise_level_ft is not None
            and (judged.course.cruise_level_ft - end_ft) * sign > 0.0
        )
        if beyond:
            yield Concern(
                code="WIND_OF_NEAREST_LEVEL",
                weight=Weight.INFO,
                at=tuple(beyond),
                figures={end: end_ft},
            )


# --- reports ---


def reports(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """Reports that are not there, that differ, or that cannot be read in part."""
    said = {  # what the attempts there had to do without is said of them
        attempt.icao for attempt in attempts_of(courses) if attempt.weather.not_at_hand
    }
    for icao, station in situation.weather.items():
        if station.observation is None and station.forecast is None and icao not in said:
            yield Concern(code="NO_REPORT", weight=Weight.INFO, at=(icao,))
        for alike in station.differing:
            yield Concern(
                code="REPORTS_DIFFER",
                weight=Weight.WARNING,
                at=(icao,),
                quotes=(clock_text(alike[0].issued_at), *(each.raw for each in alike)),
            )
        for report in station.in_force:
            if report.unread:
                yield Concern(
                    code="REPORT_PARTLY_UNREAD",
                    weight=Weight.CAUTION,
                    at=(icao,),
                    quotes=(report.kind, *report.unread),
                )


def not_at_hand(_situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """Reports that would have been heard, had they been there: no plain GO without them."""
    for attempt in attempts_of(courses):
        missing = attempt.weather.not_at_hand
        kind = next((each for each in MISSING if each in missing), None)
        if kind is not None:
            code, weight = MISSING[kind]
            yield Concern(code=code, weight=weight, at=(attempt.icao,), quotes=tuple(missing))


MISSING: Final = {  # the first that is missing gives its code
    NotAtHand.NO_FORECAST: (NotAtHand.NO_FORECAST.name, Weight.WARNING),
    NotAtHand.NO_OBSERVATION: (NotAtHand.NO_OBSERVATION.name, Weight.WARNING),
    NotAtHand.OLD_OBSERVATION: ("WEATHER_NOT_COMPLETE", Weight.CAUTION),
}


def nothing_fetched(situation: Situation, _courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """The engine itself fetches nothing: what was fetched has been put into the case before."""
    if situation.case.weather.fetch and situation.case.weather.fetched is None:
        yield Concern(code="NOTHING_FETCHED", weight=Weight.CAUTION)


def fetched(situation: Situation, _courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """What could not be fetched, and what is older than it should be: one for each reason."""
    groups: dict[tuple[bool, str], list[Fetched]] = {}
    for each in situation.case.weather.fetched or ():
        if each.problem is not None:
            groups.setdefault((each.stale, each.problem), []).append(each)
    for (stale, problem), group in groups.items():
        yield Concern(
            code="FETCHED_REPORT_STALE" if stale else "FETCH_FAILED",
            weight=Weight.CAUTION,
            quotes=(problem,),
            fetched=tuple(group),
        )


def set_aside(situation: Situation, _courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """Reports that are not used, and those of places that are not in the case."""
    stations = situation.weather.values()
    aside = [*situation.set_aside, *(each for station in stations for each in station.set_aside)]
    for each in aside:
        yield Concern(code="REPORT_NOT_USED", weight=Weight.INFO, quotes=(each.reason, each.raw))
    for report in situation.reports:
        if report.station not in situation.weather:
            yield Concern(
                code="REPORT_NOT_USED",
                weight=Weight.INFO,
                quotes=(f"{report.station} is not in the case", report.raw),
            )
