"""What is not known, and whom to ask: what nobody could read first, then what follows from it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from operator import itemgetter

from decision.decide.completions import cause_of
from decision.decide.concerns.notices import open_notices
from decision.decide.judge import JudgedCourse
from decision.flight.situation import Situation
from decision.rules.finding import Cause, Finding, Outcome
from decision.rules.row import Topic
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
    for each in open_notices(situation, courses):
        name, words = each.notice.id, " | ".join(each.why)
        yield f"Notice {name} of {each.icao} is not wholly read: {words}. Ask: dispatch for it."
    told = {each.icao for each in situation.case.observations}
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
    """What the rules could not judge, one line a cause: first where nothing else bars the course.

    One thing that is not known keeps many rules from judging; they stand behind it by their titles.
    """
    causes: dict[Cause, list[Finding]] = {}
    for _, _, finding in sorted(_lacking(courses), key=itemgetter(0, 1)):
        causes.setdefault(cause_of(finding), []).append(finding)
    unproven = bool(situation.capability.unproven_landing)
    return [_line(found, unproven=unproven) for found in causes.values()]


def _lacking(courses: Sequence[JudgedCourse]) -> Iterator[tuple[bool, bool, Finding]]:
    for judged in courses:
        for finding in () if judged.legal is True else judged.of_outcome(Outcome.UNKNOWN):
            later = not finding.by.topic.comes_first
            yield judged.legal is False, later, finding


def _line(found: Sequence[Finding], *, unproven: bool) -> str:
    """The first finding in its own words, the others of the same cause by title."""
    first = found[0]
    others = dict.fromkeys(each.title for each in found if each.title != first.title)
    besides = f" (nor therefore: {', '.join(others)})" if others else ""
    by_manual = unproven and first.by.topic is Topic.LANDING
    return f"{first.text}{besides}. Ask: {MANUAL if by_manual else first.by.asked.whom}."


def _weather(courses: Sequence[JudgedCourse]) -> Iterator[str]:
    """What the weather of a place lacks, each element once, though every window asks for it."""
    told: set[tuple[str, str]] = set()
    for judged in courses:
        for attempt in judged.course.attempts:
            for reason in attempt.weather.unknown_reasons:
                said = attempt.icao, reason.partition(" from ")[0]
                if said not in told:
                    told.add(said)
                    yield f"{attempt.icao} weather: {reason}"


MANUAL = "the operator's manual for a landing with this failure"
