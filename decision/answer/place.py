"""The weather of each place as it is published, and the runway of a course."""

from __future__ import annotations

from collections.abc import Sequence

from decision.answer import types as told
from decision.answer.courses import (
    CeilingByTime,
    GoverningCeiling,
    GoverningVisibility,
    GoverningWeather,
    GoverningWind,
    SetAsideWords,
)
from decision.answer.figures import instant, number
from decision.answer.recommendation import Recommendation
from decision.answer.reports import decoded
from decision.attempt.attempt import Attempt
from decision.case import Fetched
from decision.course import Course
from decision.decide.concerns.notices import does
from decision.decide.judge import JudgedCourse
from decision.notices import ReadNotice
from decision.weather.readings import ForetoldCeiling, WeatherMet
from decision.weather.report import Elements, Report
from decision.windows import Window


def weather_told(answer: Recommendation) -> dict[str, told.PlaceWeather]:
    """By aerodrome: what is in force, and the conditions of the best course that lands there."""
    places = {}
    for icao, station in answer.situation.weather.items():
        attempt = _attempt_at(answer.courses, icao)
        weather = None if attempt is None else attempt.weather
        places[icao] = told.PlaceWeather(
            observation=_in_short(station.observation),
            forecast=None if station.forecast is None else station.forecast.raw,
            governing=None if weather is None else governing_told(weather),
            window=None if attempt is None else window_told(attempt.window),
            age_min=None if weather is None else number(weather.observation_age_min),
            unread=() if weather is None else weather.unread,
            fetched=tuple(
                _fetched(each)
                for each in answer.situation.case.weather.fetched or ()
                if each.lack.icao == icao
            ),
        )
    return places


def _notice(notice: ReadNotice, attempt: Attempt | None) -> told.NoticeAtPlace:
    return told.NoticeAtPlace(
        id=notice.id,
        does=does(notice),
        subject=notice.subject,
        effect=notice.effect,
        from_at=instant(notice.from_at),
        until_at=instant(notice.until_at),
        estimated=notice.estimated,
        in_force=None if attempt is None else notice.in_force(attempt.window),
        unread=(*notice.problems, *notice.unread),
    )


def reports_told(answer: Recommendation) -> dict[str, told.DecodedPair]:
    """By aerodrome: the reports in force, decoded, and the notices."""
    return {
        icao: told.DecodedPair(
            observation=None if station.observation is None else decoded(station.observation),
            forecast=None if station.forecast is None else decoded(station.forecast),
            notices=tuple(
                _notice(each, _attempt_at(answer.courses, icao))
                for each in answer.situation.notices_at(icao).notices
            ),
            ceiling_by_time=_ceilings(answer.courses, icao),
        )
        for icao, station in answer.situation.weather.items()
    }


def _in_short(report: Report | None) -> told.ObservationInShort | None:
    if report is None:
        return None
    said = report.elements or Elements()
    wind, sky = said.wind, said.visibility
    return told.ObservationInShort(
        raw=report.raw,
        issued_at=instant(report.issued_at),
        from_true_deg=None if wind is None else number(wind.from_true_deg),
        speed_kt=None if wind is None else number(wind.speed_kt),
        gust_kt=None if wind is None else number(wind.gust_kt),
        visibility_m=None if sky is None else number(sky.metres),
        ceiling_ft=None if said.ceiling is None else number(said.ceiling.feet),
        weather=tuple(group.raw for group in said.weather or ()),
        temperature_degc=None
        if said.temperature is None
        else number(said.temperature.temperature_degc),
        qnh_hpa=None if said.pressure is None else number(said.pressure.qnh_hpa),
    )


def window_told(window: Window) -> Window:
    """To the second."""
    return Window(instant(window.start_at), instant(window.end_at))


def runway_of(course: Course) -> str | None:
    """The runway that a course lands on."""
    runway = course.attempts[-1].runway if course.attempts else None
    return None if runway is None else runway.ident


def _fetched(fetched: Fetched) -> told.FetchedReport:
    return told.FetchedReport(
        kind=fetched.lack.kind,
        at=instant(fetched.at),
        age_s=number(fetched.age_s),
        stale=fetched.stale,
        problem=fetched.problem,
    )


def _attempt_at(courses: Sequence[JudgedCourse], icao: str) -> Attempt | None:
    for judged in courses:
        for attempt in judged.course.attempts:
            if attempt.icao == icao:
                return attempt
    return None


def _ceilings(courses: Sequence[JudgedCourse], icao: str) -> tuple[CeilingByTime, ...]:
    """Once, however many arrivals meet the same group."""
    met = dict.fromkeys(
        each
        for judged in courses
        for attempt in judged.course.attempts
        if attempt.icao == icao
        for each in attempt.weather.foretold_ceilings
    )
    return tuple(map(_ceiling, sorted(met, key=lambda each: (each.from_at, each.until_at))))


def _ceiling(group: ForetoldCeiling) -> CeilingByTime:
    return CeilingByTime(
        start=instant(group.from_at),
        end=instant(group.until_at),
        state=group.ceiling.state,
        feet=number(group.ceiling.feet),
        kind=group.kind,
        text=group.text,
    )


def governing_told(weather: WeatherMet) -> GoverningWeather:
    """What governs, element by element."""
    ceiling, visibility, wind = weather.ceiling, weather.visibility, weather.wind
    return GoverningWeather(
        ceiling=GoverningCeiling(
            state=ceiling.state,
            feet=number(ceiling.feet),
            kind=ceiling.governing.kind,
            text=ceiling.governing.text,
            why=ceiling.governing.why,
        ),
        visibility=GoverningVisibility(
            metres=number(visibility.metres),
            bound=visibility.bound,
            kind=visibility.governing.kind,
            text=visibility.governing.text,
            why=visibility.governing.why,
        ),
        wind=GoverningWind(
            from_true_deg=number(wind.from_true_deg),
            speed_kt=number(wind.speed_kt),
            gust_kt=number(wind.gust_kt),
            kind=wind.governing.kind,
            text=wind.governing.text,
            why=wind.governing.why,
        ),
        weather=weather.phenomena,
        disregarded=tuple(
            SetAsideWords(text=each.text, why=each.why) for each in weather.disregarded
        ),
    )
