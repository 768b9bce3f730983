"""Findings as they are published: each once, with its subject, and in short on a course."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from typing import Any, Final

from decision.answer import courses as told
from decision.answer.figures import number
from decision.answer.words import broken_text
from decision.attempt.attempt import Attempt
from decision.decide.judge import JudgedCourse
from decision.rules.finding import NOT_APPLICABLE, PASS, UNKNOWN, Finding
from decision.rules.row import Topic

TIGHTEST: Final = 3
ROOMY: Final = 0.3  # [ASSUMED] with so much of the figure left nothing is tight


class Subjects:
    """What findings are of: approaches by id, each once however many courses have it."""

    def __init__(self, courses: Sequence[JudgedCourse]) -> None:
        self.attempts: dict[str, Attempt] = {}
        self.found: dict[str, tuple[Finding, ...]] = {}
        self.ids: dict[str, tuple[str, ...]] = {}
        for judged in courses:
            label = judged.course.label
            *groups, own = _grouped(judged)
            pairs = zip(judged.course.attempts, groups, strict=True)
            self.ids[label] = tuple(self._id_of(*pair) for pair in pairs)
            self.found[label] = own

    def _id_of(self, attempt: Attempt, found: tuple[Finding, ...]) -> str:
        """Place and role; later ones of another time, mass or runway have a number."""
        number_of, name = 1, f"{attempt.icao}:{attempt.role}"
        identity = name
        while identity in self.attempts and self.attempts[identity] is not attempt:
            number_of += 1
            identity = f"{name}:{number_of}"
        self.attempts[identity], self.found[identity] = attempt, found
        return identity


def _grouped(judged: JudgedCourse) -> list[tuple[Finding, ...]]:
    """The findings on each approach of a course in turn, then those on the course itself."""
    at_end = [judged.escape_findings] if judged.course.attempts else []
    before = [judged.approach_findings] if len(judged.course.attempts) > 1 else []
    return [*before, *at_end, judged.own_findings]


def applying(found: Iterable[Finding]) -> list[Finding]:
    """Those of rules that apply."""
    return [each for each in found if each.judgement.outcome is not NOT_APPLICABLE]


def not_applicable(found: Iterable[Finding]) -> tuple[str, ...]:
    """Codes of the rules that do not apply."""
    return tuple(each.rule for each in found if each.judgement.outcome is NOT_APPLICABLE)


def finding_told(subject: str, finding: Finding) -> told.FindingTold:
    """A finding in full."""
    return told.FindingTold(
        subject=subject,
        outcome=finding.outcome,
        text=finding.text,
        **_figures(finding),
    )


def reason_told(finding: Finding, judged: JudgedCourse) -> told.Reason:
    """A finding that decides."""
    return told.Reason(
        citation=finding.citation,
        outcome=finding.outcome,
        text=finding.text,
        course=judged.course.label,
        **_figures(finding),
    )


def compared_told(finding: Finding) -> told.Compared:
    """Its figures."""
    return told.Compared(**_figures(finding))


def _figures(finding: Finding) -> dict[str, Any]:
    judged = finding.judgement
    return {
        "rule": finding.rule,
        "at": finding.at,
        "value": number(judged.value),
        "limit": number(judged.limit),
        "sense": judged.sense,
        "margin": number(finding.margin),
        "unit": judged.unit or None,
    }


def breaks_told(judged: JudgedCourse) -> tuple[told.Break, ...]:
    """The binding rules that a course breaks."""
    return tuple(
        told.Break(
            rule=finding.rule,
            at=finding.at,
            text=broken_text(finding),
            breach=finding.breach.name,
            endangers=finding.breach.endangers,
        )
        for finding in judged.breaches
    )


def open_told(judged: JudgedCourse) -> tuple[told.Open, ...]:
    """The rules of which it is not known whether a course meets them."""
    if judged.legal is True:  # nothing is
        return ()
    return tuple([told.Open(rule=each.rule, at=each.at) for each in judged.of_outcome(UNKNOWN)])


def tightest_told(judged: JudgedCourse) -> tuple[told.Tight, ...]:
    """Those that it meets with least room; none where it breaks one."""
    if judged.breaches:
        return ()
    asked = [
        each for each in judged.found if each.stated.by.telling and each.judgement.outcome is PASS
    ]
    met = [each for each in asked if each.judgement.margin is not None and _room(each) < ROOMY]
    in_order = sorted(met, key=lambda finding: finding.stated.by.code)
    return tuple(map(_tight, sorted(in_order, key=_room)[:TIGHTEST]))


def _tight(finding: Finding) -> told.Tight:
    judged = finding.judgement
    return told.Tight(
        rule=finding.rule,
        at=finding.at,
        value=number(judged.value or 0.0),
        limit=number(judged.limit or 0.0),
        margin=number(judged.margin or 0.0),
        unit=judged.unit,
    )


def _room(finding: Finding) -> float:
    """Margin as a share of the greater of its two figures, so that units do not matter."""
    judged = finding.judgement
    value, limit, margin = judged.value or 0.0, judged.limit or 0.0, judged.margin or 0.0
    return margin / (max(abs(value), abs(limit)) or 1.0)


def figures_of(found: Iterable[Finding], topics: Collection[Topic]) -> tuple[told.Compared, ...]:
    """The figures of the rules of these topics."""
    return tuple(
        compared_told(each)
        for each in found
        if each.by.topic in topics and each.judgement.limit is not None
    )
