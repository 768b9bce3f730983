"""What is not known, and whom to ask: what nobody could read first, then what follows from it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from operator import itemgetter

from decision.courses.judge import JudgedCourse
from decision.courses.situation import Situation
from decision.rules.finding import Finding, Outcome
from decision.weather.collect import StationWeather
from decision.weather.report import Report


def unknowns_of(courses: Sequence[JudgedCourse], situation: Situation) -> tuple[str, ...]:
    """Each unknown once, with who can tell."""
    lines = [*_reports(courses, situation), *_findings(courses, situation), *_weather(courses)]
    return tuple(dict.fromkeys(lines))


def _reports(courses: Sequence[JudgedCourse], situation: Situation) -> Iterator[str]:
    """Reports that are not there, that cannot be used as a whole, or cannot be read in part."""
    for aside in situation.set_aside:
        yield f"A report cannot be used, {aside.reason}: {aside.raw}. Ask: dispatch for it again."
    told = {spot.icao for spot in situation.case.spots}
    for icao, station in situation.weather.items():
        if not (station.observation or station.forecast or station.set_aside or icao in told):
            yield f"There is no report of {icao}: nothing of its weather is known. {_again(icao)}"
        for report in station.in_force:
            if report.unread:
                yield _unread(report, _unknown_there(courses, icao))
        for aside in station.set_aside if _is_wanting(station) else ():
            yield f"A report of {icao} cannot be used, {aside.reason}: {aside.raw}. {_again(icao)}"


def _unread(report: Report, unknown: Sequence[str]) -> str:
    words = " ".join(report.unread)
    taken = f"; taken as unknown there: {', '.join(unknown)}" if unknown else ""
    return f'{report.kind} {report.station} cannot be read at "{words}"{taken}. ' + _again(
        report.station
    )


def _again(icao: str) -> str:
    return f"Ask: dispatch or air traffic control for the weather of {icao}."


def _is_wanting(station: StationWeather) -> bool:
    return station.observation is None or station.forecast is None


def _unknown_there(courses: Sequence[JudgedCourse], icao: str) -> tuple[str, ...]:
    elements = {
        element.value
        for judged in courses
        for attempt in judged.course.attempts
        if attempt.icao == icao
        for element in attempt.weather.unknown
    }
    return tuple(sorted(elements))


def _findings(courses: Sequence[JudgedCourse], situation: Situation) -> list[str]:
    """What the rules could not judge: first where nothing else bars the course, weather first.

    Each thing once, though every course asks for it at a time of its own.
    """
    lacking = [
        (judged.legal is False, not finding.rule.startswith(WEATHER_TOPICS), finding)
        for judged in courses
        for finding in judged.findings
        if finding.outcome is Outcome.UNKNOWN
    ]
    lacking.sort(key=itemgetter(0, 1))
    first = {_subject(finding): finding for _, _, finding in reversed(lacking)}
    whom = WHOM | {"LD": MANUAL} if situation.capability.unproven_landing else WHOM
    return [
        f"{each.text}. Ask: {whom.get(_topic(each.rule), DISPATCH)}."
        for each in reversed(first.values())
    ]


def _subject(finding: Finding) -> tuple[str, str, str]:
    """What a finding compares, and where, without when and how much."""
    return finding.rule, finding.at, finding.judgement.what.partition(":")[0]


def _weather(courses: Sequence[JudgedCourse]) -> Iterator[str]:
    for judged in courses:
        for attempt in judged.course.attempts:
            for reason in attempt.weather.unknown_reasons:
                yield f"{attempt.icao} weather: {reason}"


def _topic(rule: str) -> str:
    return rule.partition("-")[0]


WEATHER_TOPICS = ("WX-", "AP-")
DISPATCH = "dispatch"
MANUAL = "the operator's manual for a landing with this failure"
WHOM = {
    "AD": "dispatch for the aerodrome's hours and notices",
    "AP": "air traffic control for the latest report, dispatch for the chart",
    "CM": "air traffic control for the runways and the latest report",
    "CT": "air traffic control for temperature and QNH",
    "ER": "dispatch for the route and its distance",
    "FU": "the fuel page and dispatch",
    "HZ": "dispatch or air traffic control for the weather there",
    "LD": "air traffic control for wind, temperature, QNH and runway condition",
    "MA": "air traffic control for wind, temperature and QNH, dispatch for the chart",
    "WD": "air traffic control for the wind and runway condition",
    "WX": "dispatch or air traffic control for the weather there",
}
