"""One sentence with the number that decides, and the findings that did.

A headline names the place, the runway and the deed that the action has, and nothing that another
action would have.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from decision.answer.asks import asks_of
from decision.answer.recommendation import Reasoned
from decision.answer.types import Ask
from decision.answer.words import (
    broken_by,
    broken_text,
    clock_down,
    clock_up,
    first_place,
    joined,
    landing_attempt,
    landing_text,
    listed,
    minutes_up,
    over_reserve,
    place_text,
    told_breaches,
    under_reserve,
    until_touchdown,
)
from decision.course import CourseKind
from decision.decide.decision import CLOSED_HERE, Basis, Decision, Do, LeaveBy
from decision.decide.judge import JudgedCourse, findings_here, first_of, gravest_first
from decision.decide.measures import (
    broken_when_urgent,
    by_touchdown,
    lands_straight,
    minutes_to_touchdown,
)
from decision.flight.situation import Situation
from decision.rules.finding import FAIL, PASS, UNKNOWN, Finding, Judgement, shown, shown_down
from decision.rules.row import Topic
from decision.weather.report import CeilingState

Reason = tuple[Finding, JudgedCourse]

GO_BASES: Final = frozenset({Basis.ESCAPE_KEPT, Basis.ONE_WAY_OUT, Basis.ESCAPE_THIN})


def reasons_of(decision: Decision, courses: Sequence[JudgedCourse]) -> tuple[Reason, ...]:
    """Only what decides: what bars each way that is not taken, or what carries the one that is."""
    if decision.basis is Basis.MISSING:
        return _unknown(courses) or _tightest(decision.chosen)
    broken = _broken(decision)
    if decision.basis in GO_BASES or decision.basis is Basis.NO_ALTERNATE:
        return _tightest(decision.chosen)
    if decision.basis is Basis.NO_LEGAL_COURSE:
        return _unique([*broken, *_barring(courses)]) or _tightest(decision.chosen)
    barring = [] if decision.basis is Basis.TIME_CRITICAL else _barring(courses)
    if decision.basis in CLOSED_HERE:
        barring = [*_closing(courses), *barring]
    carried = [*broken, *barring, *_tightest(decision.chosen)[:1]]
    return _unique(carried) or _first_found(decision.chosen)


def _broken(decision: Decision) -> list[Reason]:
    """What the chosen course breaks; of an urgent landing not what only a commitment asks."""
    chosen = decision.chosen
    if decision.basis is not Basis.TIME_CRITICAL:
        return [(finding, chosen) for finding in chosen.breaches]
    return [
        (finding, chosen)
        for finding in broken_when_urgent(chosen)
        if finding.by.topic is not Topic.COMMIT
    ]


def _closing(courses: Sequence[JudgedCourse]) -> list[Reason]:
    """What closes the approach at the destination."""
    here = first_of(courses, CourseKind.COMMIT_TO_LAND)
    closed = (each for each in findings_here(here) if each.outcome is FAIL and each.binds)
    return [(each, here) for each in sorted(closed, key=gravest_first) if here is not None]


def _barring(courses: Sequence[JudgedCourse]) -> list[Reason]:
    """What is gravest against each approach with a diversion after it."""
    return [
        (finding, judged)
        for judged in courses
        if judged.course.kind is CourseKind.APPROACH_THEN_DIVERT
        for finding in judged.breaches[:1]
    ]


def _first_found(judged: JudgedCourse) -> tuple[Reason, ...]:
    first = min(judged.found, key=lambda finding: finding.rule, default=None)
    return () if first is None else ((first, judged),)


def _tightest(judged: JudgedCourse) -> tuple[Reason, ...]:
    """Fuel, and whatever else has the least room for its limit."""
    passed = [finding for finding in judged.of_outcome(PASS) if finding.margin is not None]
    passed.sort(key=_relative_room)
    fuel = [finding for finding in passed if finding.by.topic is Topic.FUEL][:1]
    others = [finding for finding in passed if finding.by.telling][:1]
    tight = tuple((finding, judged) for finding in (*fuel, *others))
    return tight or _first_found(judged)


def _relative_room(finding: Finding) -> float:
    limit = abs(finding.judgement.limit or 0.0)
    margin = finding.margin or 0.0
    return margin / limit if limit else margin


def _unknown(courses: Sequence[JudgedCourse]) -> tuple[Reason, ...]:
    """What to ask first: one reason for each place, weather before what follows from it."""
    lacking = [
        (finding, judged)
        for judged in courses
        for finding in judged.of_outcome(UNKNOWN)
        if judged.legal is None
    ]
    lacking.sort(key=lambda reason: not reason[0].by.topic.comes_first)
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Story:
    """What a headline may tell."""

    decision: Decision
    courses: tuple[JudgedCourse, ...]
    situation: Situation
    reasons: tuple[Reason, ...]
    leave_by: LeaveBy | None
    asks: tuple[Ask, ...]
    ways_out: tuple[JudgedCourse, ...]
    provision: Judgement | None

    @property
    def chosen(self) -> JudgedCourse:
        """The course that is flown."""
        return self.decision.chosen

    @property
    def here(self) -> str:
        """The destination."""
        return self.situation.case.destination.aerodrome.icao

    @property
    def place(self) -> str:
        """Where the chosen course ends, with its runway."""
        return place_text(self.chosen.course)

    @property
    def landing(self) -> str:
        """Fuel on landing."""
        return landing_text(self.chosen.course)

    @property
    def why(self) -> str:
        """The first reason."""
        return self.reasons[0][0].text

    @property
    def leave(self) -> str:
        """By when to leave."""
        if self.leave_by is None or self.leave_by.at < self.situation.case.as_of:
            return "now"  # it may have passed, where the state was carried on
        to_go_nm = self.leave_by.distance_to_go_nm
        where = "" if to_go_nm is None else f" ({shown(to_go_nm, 'NM')} to go)"
        return f"by {clock_down(self.leave_by.at)}{where}"

    @property
    def weather(self) -> str:
        """Ceiling and visibility where the chosen course lands, over the minima there."""
        attempt = landing_attempt(self.chosen.course)
        if attempt is None:
            return "weather not known"
        ceiling, visibility = attempt.weather.ceiling, attempt.weather.visibility
        above = "ceiling not known"
        if ceiling.feet is not None:
            above = f"ceiling {shown_down(ceiling.feet, 'ft')}"
        elif ceiling.state is CeilingState.NONE and not ceiling.possibly_worse:
            above = "no ceiling"
        seen = "visibility not known"
        if visibility.metres is not None:
            seen = f"visibility {shown_down(visibility.metres, 'm')}"
        height_ft = attempt.minimum_height_ft
        least = "" if height_ft is None else f" (minimum height {shown(height_ft, 'ft')})"
        return f"{above}{least}, {seen}"

    @property
    def no_diversion(self) -> str:
        """Why no diversion is legal after a missed approach here, with the nearest miss."""
        diversions = [
            (judged.course.ledger, judged.course.icao)
            for judged in self.courses
            if judged.course.kind is CourseKind.APPROACH_THEN_DIVERT
            and judged.course.ledger is not None
        ]
        best = max(diversions, key=lambda each: (each[0].margin_kg, each[1]), default=None)
        if best is None or best[0].margin_kg >= 0.0:
            return next(self._against_diversions(), "no alternate is named")
        ledger, icao = best
        return (
            f"a diversion after a missed approach at {self.here} reaches {icao} at best, "
            f"{under_reserve(ledger)}"
        )

    def _against_diversions(self) -> Iterator[str]:
        """What stands against a diversion after a missed approach, rules first."""
        yield from (finding.text for finding, _ in _barring(self.courses))
        for judged in self.courses:
            if judged.course.kind is CourseKind.APPROACH_THEN_DIVERT:
                yield from (finding.text for finding in judged.advised_against)
                yield from (finding.text for finding in judged.found if finding.outcome is UNKNOWN)


def story_of(answer: Reasoned) -> Story:
    """The story of an answer: its reasons, and what it asks for."""
    decision, courses, situation = answer.decision, answer.courses, answer.situation
    by_at = None if answer.leave_by is None else answer.leave_by.at
    return Story(
        decision=decision,
        courses=courses,
        situation=situation,
        reasons=reasons_of(decision, courses),
        leave_by=answer.leave_by,
        asks=asks_of(decision, courses, situation, by_at=by_at),
        ways_out=answer.ways_out,
        provision=answer.provision,
    )


def headline_of(story: Story) -> str:
    """The sentence that a crew reads first; of the action, where that is not the row's own."""
    decision = story.decision
    if decision.do not in DEEDS_OF.get(decision.basis, frozenset(Do)):
        return _unsettled(story)
    return HEADLINES[decision.basis](story)


def _asked(story: Story) -> str:
    """What there is to ask, each thing once; empty where there is nothing."""
    return joined(dict.fromkeys(ask.what for ask in story.asks))


def _unsettled(story: Story) -> str:
    """The verdict stands, but what is best to do turns on what is not known."""
    what = _asked(story) or story.why
    until = "" if story.leave_by is None else f" until {clock_down(story.leave_by.at)}"
    deed = {
        Do.APPROACH: f"Approach {first_place(story.chosen.course)}",
        Do.HOLD: f"Hold for {first_place(story.chosen.course)}{until}",
        Do.DIVERT: f"Divert to {story.place} {story.leave}",
        Do.COMMIT: f"Landing at {story.place} is committed",
    }[story.decision.do]
    return f"{deed}: what is best turns on what is not known, ask for {what}; {_lands(story)}."


def _kept(story: Story) -> str:
    others = (each.course.icao for each in story.ways_out)
    places = joined(dict.fromkeys([story.chosen.course.icao, *others]))
    return (
        f"Approach {first_place(story.chosen.course)}: after a missed approach {places} remain; "
        f"{story.chosen.course.icao} with {story.landing} on landing, "
        f"{over_reserve(story.chosen.course)}."
    )


def _one_way(story: Story) -> str:
    return (
        f"Approach {first_place(story.chosen.course)} with caution: {story.chosen.course.icao} is "
        f"the only diversion after a missed approach, {story.landing} on landing, "
        f"{over_reserve(story.chosen.course)}."
    )


def _thin(story: Story) -> str:
    return (
        f"Approach {first_place(story.chosen.course)} with caution: after a missed approach "
        f"{story.chosen.course.icao} remains, {story.landing} on landing, "
        f"{over_reserve(story.chosen.course)}."
    )


def _without_alternate(story: Story) -> str:
    why = "" if story.provision is None else f": {story.provision.text}"
    return f"Approach {story.place} without an alternate{why}; {story.landing} on landing."


def _leave(story: Story) -> str:
    return f"Divert to {story.place} {story.leave}: {story.no_diversion}; {_lands(story)}."


def _lands(story: Story) -> str:
    return f"{story.chosen.course.icao} lands with {story.landing}"


def _choice(story: Story) -> str:
    if story.decision.do is Do.COMMIT:
        return _committed(story)
    return (
        f"Divert to {story.place} {story.leave}: {story.no_diversion}. Landing at {story.here} "
        f"with no way out would be permitted too; {_lands(story)}."
    )


def _committed(story: Story) -> str:
    return (
        f"Landing at {story.place} is committed: {story.landing} on landing, {story.weather}; "
        f"{story.no_diversion}."
    )


def _nearest(story: Story) -> str:
    if story.decision.do is Do.DIVERT:
        return (
            f"Divert to {story.place}, the nearest suitable: "
            f"{until_touchdown(story.chosen.course)}; {_other_times(story)}; {_lands(story)}."
        )
    open_ = told_breaches(story.chosen)
    unmet = f" Not met for it: {listed([broken_text(each) for each in open_])}." if open_ else ""
    return (
        f"Landing at {story.place} is committed, the nearest suitable: "
        f"{until_touchdown(story.chosen.course)}; {_other_times(story)}; {story.landing} on "
        f"landing, {story.weather}.{unmet}"
    )


def _other_times(story: Story) -> str:
    """How long the other places take; the destination by name, where it is not the chosen one."""
    others = [
        f"{each.course.icao} {minutes_up(minutes)}"
        for each in story.courses
        if lands_straight(each.course)
        and each.course.icao != story.chosen.course.icao
        and (minutes := minutes_to_touchdown(each.course)) is not None
    ]
    return joined(others) if others else "no other place is in reach"


def _time_critical(story: Story) -> str:
    chosen = story.chosen
    landing = next(
        (
            each
            for each in story.courses
            if lands_straight(each.course) and each.course.icao == _place_of_action(story)
        ),
        chosen,
    )
    return " ".join(
        [
            f"{URGENT_DEEDS[story.decision.do]} {place_text(landing.course)}: "
            f"{until_touchdown(landing.course)}"
            f"{_breaking(landing)}.",
            *_other_places(story, landing),
        ]
    )


URGENT_DEEDS: Final[Mapping[Do, str]] = MappingProxyType(
    {Do.APPROACH: "Approach and land at", Do.COMMIT: "Land at", Do.DIVERT: "Divert to"}
)


def _place_of_action(story: Story) -> str:
    return story.chosen.course.icao if story.decision.do is Do.DIVERT else story.here


def _other_places(story: Story, landing: JudgedCourse) -> Iterable[str]:
    """Every other place with its minutes and what it breaks; the best legal one is named so."""
    legal = [each for each in story.courses if lands_straight(each.course) and each.legal is True]
    for weighed in by_touchdown(story.courses, story.situation):
        judged = weighed.judged
        if judged.course.icao != landing.course.icao:
            named = story.chosen.legal is not True and bool(legal) and legal[0] is judged
            best = " (best legal place)" if named else ""
            yield (
                f"{place_text(judged.course)}{best}: {minutes_up(weighed.minutes)}"
                f"{_breaking(judged)}."
            )


def _breaking(judged: JudgedCourse) -> str:
    broken = [
        broken_text(each)
        for each in broken_when_urgent(judged)
        if each.by.topic is not Topic.COMMIT
    ]
    return f", breaks {listed([*dict.fromkeys(broken)])}" if broken else ""


def _wait(story: Story) -> str:
    course = story.chosen.course
    minutes = minutes_up(course.hold_min)
    group = course.rests_on
    then = course.icao if course.icao != story.here else "a second approach"
    until = "" if course.missed_at is None else f", approach at {clock_up(course.missed_at)}"
    return (
        f"Hold {minutes} for {first_place(course)}{until}: {story.why}; it is to improve by "
        f"'{group}', and a missed approach then still leaves {then} with {story.landing}."
    )


def _barred(story: Story) -> str:
    return f"Divert to {story.place} {story.leave}: {story.why}; {_lands(story)}."


def _nothing(story: Story) -> str:
    broken = broken_by(story.chosen) if story.chosen.breaches else _perhaps_broken(story)
    if story.decision.do is Do.HOLD:
        ask = story.asks[0] if story.asks else None
        until = "" if story.leave_by is None else f" until {clock_down(story.leave_by.at)}"
        awaited = "a report" if ask is None else ask.what
        return (
            f"Hold for {story.place}{until}, awaiting {awaited}: no landing keeps every rule; "
            f"landing there now breaks {broken}."
        )
    deed = "Divert to" if story.decision.do is Do.DIVERT else "Land at"
    only = "breaks only" if len(told_breaches(story.chosen)) == 1 else "breaks"
    return (
        f"{deed} {story.place}, the least bad where no course keeps every rule: {only} {broken}; "
        f"{story.landing} on landing."
    )


def _perhaps_broken(story: Story) -> str:
    """What a course may break, for want of knowing it."""
    asked = _asked(story)
    return f"what is not known ({asked})" if asked else f"what is not known ({story.why})"


def _missing(story: Story) -> str:
    what = _asked(story) or story.why
    until = {
        Do.APPROACH: f"the safest known is the approach at {first_place(story.chosen.course)}",
        Do.HOLD: f"hold for {story.place}",
        Do.DIVERT: f"the safest known is to divert to {story.place}",
        Do.COMMIT: f"the safest known is to land at {story.place}",
    }[story.decision.do]
    by = "" if story.leave_by is None else f" {story.leave}"
    return (
        f"Not enough is known to decide: ask for {what}. Until then {until}{by}, {story.landing}."
    )


HEADLINES: Final[Mapping[Basis, Callable[[Story], str]]] = MappingProxyType(
    {
        Basis.ESCAPE_KEPT: _kept,
        Basis.ONE_WAY_OUT: _one_way,
        Basis.ESCAPE_THIN: _thin,
        Basis.NO_ALTERNATE: _without_alternate,
        Basis.LEAVE_WHILE_CLEAN: _leave,
        Basis.CHOICE: _choice,
        Basis.COMMIT_PERMITTED: _committed,
        Basis.COMMIT_ONLY_RUNWAY: _committed,
        Basis.NEAREST_SUITABLE: _nearest,
        Basis.TIME_CRITICAL: _time_critical,
        Basis.WAIT: _wait,
        Basis.APPROACH_BARRED: _barred,
        Basis.NOT_FIT_HERE: _barred,
        Basis.NO_LEGAL_COURSE: _nothing,
        Basis.MISSING: _missing,
    }
)
# What each row does; the rest may do anything.
DEEDS_OF: Final[Mapping[Basis, frozenset[Do]]] = MappingProxyType(
    {
        Basis.ESCAPE_KEPT: frozenset({Do.APPROACH}),
        Basis.ONE_WAY_OUT: frozenset({Do.APPROACH}),
        Basis.ESCAPE_THIN: frozenset({Do.APPROACH}),
        Basis.NO_ALTERNATE: frozenset({Do.APPROACH}),
        Basis.LEAVE_WHILE_CLEAN: frozenset({Do.DIVERT}),
        Basis.CHOICE: frozenset({Do.DIVERT, Do.COMMIT}),
        Basis.COMMIT_PERMITTED: frozenset({Do.COMMIT}),
        Basis.COMMIT_ONLY_RUNWAY: frozenset({Do.COMMIT}),
        Basis.NEAREST_SUITABLE: frozenset({Do.DIVERT, Do.COMMIT}),
        Basis.WAIT: frozenset({Do.HOLD}),
        Basis.APPROACH_BARRED: frozenset({Do.DIVERT}),
        Basis.NOT_FIT_HERE: frozenset({Do.DIVERT}),
    }
)
