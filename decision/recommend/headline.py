"""One sentence with the number that decides, and the findings that did."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from types import MappingProxyType
from typing import Final

from decision.course import CourseKind
from decision.courses.judge import JudgedCourse
from decision.courses.margin import minutes_left
from decision.recommend.answer import Basis, CleanPoint, Decision
from decision.rules import FUEL_CODES
from decision.rules.finding import Finding, Outcome, shown, shown_down
from decision.windows import clock_text

WEATHER_RULES: Final = ("WX-", "AP-")
Reason = tuple[Finding, JudgedCourse]

# Rules whose room a crew asks for: ban, climb, alternate weather, runway, wind.
TELLING: Final = frozenset(
    {"AP-02", "LD-01", "MA-01", "MA-02", "WD-01", "WD-02", "WX-01", "WX-02", "WX-04"}
)


def reasons_of(decision: Decision, courses: Sequence[JudgedCourse]) -> tuple[Reason, ...]:
    """Only what decides: what bars each way that is not taken, or what carries the one that is."""
    if decision.basis in (Basis.ESCAPE_KEPT, Basis.ONE_WAY_OUT, Basis.ESCAPE_THIN):
        return _tightest(decision.chosen)
    if decision.basis is Basis.MISSING:
        return _unknown(courses)
    barred = [
        (finding, judged)
        for judged in courses
        if judged.course.kind is CourseKind.APPROACH_THEN_DIVERT
        for finding in judged.breaches[:1]
    ]
    if decision.basis is Basis.NO_LEGAL_COURSE:
        return _unique([(finding, decision.chosen) for finding in decision.chosen.breaches])
    return _unique([*barred, *_tightest(decision.chosen)[:1]])


def _tightest(judged: JudgedCourse) -> tuple[Reason, ...]:
    """Fuel, and whatever else has the least room for its limit."""
    passed = [
        finding
        for finding in judged.findings
        if finding.outcome is Outcome.PASS and finding.margin is not None
    ]
    passed.sort(key=_relative_room)
    fuel = [finding for finding in passed if finding.rule in FUEL_CODES][:1]
    others = [finding for finding in passed if finding.rule in TELLING][:1]
    return tuple((finding, judged) for finding in (*fuel, *others))


def _relative_room(finding: Finding) -> float:
    limit = abs(finding.judgement.limit or 0.0)
    margin = finding.margin or 0.0
    return margin / limit if limit else margin


def _unknown(courses: Sequence[JudgedCourse]) -> tuple[Reason, ...]:
    """What to ask first: one reason for each place, weather before what follows from it."""
    lacking = [
        (finding, judged)
        for judged in courses
        for finding in judged.findings
        if finding.outcome is Outcome.UNKNOWN and judged.legal is None
    ]
    lacking.sort(key=lambda reason: not reason[0].rule.startswith(WEATHER_RULES))
    first: dict[str, Reason] = {}
    for finding, judged in lacking:
        first.setdefault(finding.at, (finding, judged))
    return tuple(first.values())


def _unique(reasons: Sequence[Reason]) -> tuple[Reason, ...]:
    """Each rule at each place once, in the order of the courses."""
    seen: dict[tuple[str, str], Reason] = {}
    for finding, judged in reasons:
        seen.setdefault((finding.rule, finding.at), (finding, judged))
    return tuple(seen.values())


def headline_of(
    decision: Decision,
    courses: Sequence[JudgedCourse],
    reasons: Sequence[Reason],
    point: CleanPoint,
    latest_at: datetime | None,
) -> str:
    """The sentence that a crew reads first."""
    return HEADLINES[decision.basis](Story(decision, courses, reasons, point, latest_at))


class Story:
    """What a headline may tell."""

    def __init__(
        self,
        decision: Decision,
        courses: Sequence[JudgedCourse],
        reasons: Sequence[Reason],
        point: CleanPoint,
        latest_at: datetime | None,
    ) -> None:
        self.chosen = decision.chosen
        self.courses = courses
        self.reasons = reasons
        self.point = point
        self.latest_at = latest_at

    @property
    def place(self) -> str:
        """Where the chosen course ends."""
        return self.chosen.course.icao

    @property
    def landing(self) -> str:
        """Fuel on landing, in kg and minutes."""
        ledger, minutes = self.chosen.course.ledger, minutes_left(self.chosen.course)
        if ledger is None or minutes is None:
            return "an unknown amount of fuel"
        return f"{shown_down(ledger.landing_kg, 'kg')} ({shown_down(minutes, 'min')})"

    @property
    def runway(self) -> str:
        """The runway to land on."""
        last = self.chosen.course.attempts[-1:]
        idents = [attempt.runway.ident for attempt in last if attempt.runway is not None]
        return f" runway {idents[0]}" if idents else ""

    @property
    def weather(self) -> str:
        """Ceiling and visibility where the chosen course lands."""
        for attempt in self.chosen.course.attempts[-1:]:
            ceiling, visibility = attempt.weather.ceiling, attempt.weather.visibility
            above = "ceiling not known" if ceiling.possibly_worse else "no ceiling"
            if ceiling.feet is not None:
                above = f"ceiling {shown_down(ceiling.feet, 'ft')}"
            seen = "visibility not known"
            if visibility.metres is not None:
                seen = f"visibility {shown_down(visibility.metres, 'm')}"
            return f"{above}, {seen}"
        return "weather not known"

    @property
    def margin(self) -> str:
        """Fuel above the final reserve."""
        ledger = self.chosen.course.ledger
        return "an unknown margin" if ledger is None else shown_down(ledger.margin_kg, "kg")

    @property
    def why(self) -> str:
        """The first reason."""
        return self.reasons[0][0].text if self.reasons else "see the findings"

    @property
    def best_after_miss(self) -> str:
        """How far the best diversion after a miss falls short."""
        margins = [
            (judged.course.ledger.margin_kg, judged.course.icao)
            for judged in self.courses
            if judged.course.kind is CourseKind.APPROACH_THEN_DIVERT
            and judged.course.ledger is not None
        ]
        short = [pair for pair in margins if pair[0] < 0.0]
        if not margins or len(short) < len(margins):
            return self.why
        margin_kg, icao = max(margins)
        return (
            f"after a miss the nearest way out, {icao}, lands "
            f"{shown_down(margin_kg, 'kg').removeprefix('-')} under the final reserve"
        )

    @property
    def latest(self) -> str:
        """The moment by which to leave."""
        if self.latest_at is None:
            return "now"
        by = f"by {clock_text(self.latest_at)}"
        distance = self.point.distance_to_go_nm
        if distance is None or self.point.best is None:
            return by
        return f"{by} ({shown(distance, 'NM')} to go)"


def _kept(story: Story) -> str:
    return (
        f"Approach: a miss still leaves {story.place} with {story.landing} on landing, "
        f"{story.margin} above the final reserve."
    )


def _one_way(story: Story) -> str:
    return (
        f"Approach with caution: {story.place} is the only way out after a miss, "
        f"{story.margin} above the final reserve."
    )


def _thin(story: Story) -> str:
    return (
        f"Approach with caution: the way out after a miss to {story.place} is thin, "
        f"{story.margin} above the final reserve."
    )


def _leave(story: Story) -> str:
    return (
        f"Do not start the approach: {story.best_after_miss}. Divert to {story.place} "
        f"{story.latest}, landing with {story.landing}."
    )


def _choice(story: Story) -> str:
    return (
        f"No way out after a miss: {story.best_after_miss}. Leaving and a committed landing are "
        f"both open; {story.place} is named, landing with {story.landing}."
    )


def _committed(story: Story) -> str:
    return (
        f"Landing here is committed: no legal way out after a miss. {story.place}"
        f"{story.runway}, {story.landing} on landing, {story.weather}."
    )


def _wait(story: Story) -> str:
    hold = shown(story.chosen.course.hold_min, "min")
    return (
        f"Hold {hold}: {story.why}. The weather is forecast to allow the approach then, and a "
        f"miss still leaves {story.place} with {story.landing}."
    )


def _barred(story: Story) -> str:
    return (
        f"The approach is not open: {story.why}. Divert to {story.place}, landing with "
        f"{story.landing}."
    )


def _nothing(story: Story) -> str:
    return (
        f"No course keeps every rule. The least bad is {story.place}: {story.why}; "
        f"{story.landing} on landing."
    )


def _missing(story: Story) -> str:
    return (
        f"Not enough is known: {story.why}. Until it is, the safest course is {story.place}, "
        f"{story.landing} on landing."
    )


HEADLINES: Final[Mapping[Basis, Callable[[Story], str]]] = MappingProxyType(
    {
        Basis.ESCAPE_KEPT: _kept,
        Basis.ONE_WAY_OUT: _one_way,
        Basis.ESCAPE_THIN: _thin,
        Basis.LEAVE_WHILE_CLEAN: _leave,
        Basis.CHOICE: _choice,
        Basis.COMMIT_PERMITTED: _committed,
        Basis.COMMIT_ONLY_RUNWAY: _committed,
        Basis.TIME_CRITICAL: _committed,
        Basis.WAIT: _wait,
        Basis.APPROACH_BARRED: _barred,
        Basis.NO_LEGAL_COURSE: _nothing,
        Basis.MISSING: _missing,
    }
)
