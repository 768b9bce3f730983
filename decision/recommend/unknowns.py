"""What is not known, and whom to ask."""

from __future__ import annotations

from collections.abc import Sequence

from decision.courses.judge import JudgedCourse
from decision.rules.finding import Outcome


def unknowns_of(courses: Sequence[JudgedCourse]) -> tuple[str, ...]:
    """Each unknown once, in the order of the courses, with who can tell."""
    lines: dict[str, None] = {}
    for judged in courses:
        for finding in judged.findings:
            if finding.outcome is Outcome.UNKNOWN:
                lines.setdefault(f"{finding.text}. Ask: {_whom(finding.rule)}.")
        for attempt in judged.course.attempts:
            for reason in attempt.weather.unknown_reasons:
                lines.setdefault(f"{attempt.icao} weather: {reason}")
    return tuple(lines)


def _whom(rule: str) -> str:
    return WHOM.get(rule.partition("-")[0], "dispatch")


WHOM = {
    "AD": "dispatch for the aerodrome's hours and notices",
    "AP": "air traffic control for the latest report, dispatch for the chart",
    "CM": "air traffic control for the runways and the latest report",
    "ER": "dispatch for the route and its distance",
    "FU": "the fuel page and dispatch",
    "LD": "air traffic control for wind, temperature, QNH and runway condition",
    "MA": "air traffic control for wind, temperature and QNH, dispatch for the chart",
    "WD": "air traffic control for the wind and runway condition",
    "WX": "dispatch or air traffic control for the weather there",
}
