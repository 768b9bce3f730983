"""A finding as it is published, in full and in short."""

from __future__ import annotations

from typing import Any

from decision.answer import courses as told
from decision.answer.figures import number
from decision.recommend.words import broken_text
from decision.rules.finding import Finding


def finding_told(finding: Finding) -> dict[str, Any]:
    """The members of a finding."""
    judged = finding.judgement
    return {
        "rule": finding.rule,
        "title": finding.title,
        "at": finding.at,
        "outcome": finding.outcome,
        "text": finding.text,
        "value": number(judged.value),
        "limit": number(judged.limit),
        "sense": judged.sense,
        "margin": number(finding.margin),
        "unit": judged.unit or None,
        "citation": finding.citation,
    }


def break_told(finding: Finding) -> told.Break:
    """A binding rule that a course breaks, in short."""
    return told.Break(
        rule=finding.rule,
        at=finding.at,
        text=broken_text(finding),
        breach=finding.breach.name,
        endangers=finding.breach.endangers,
    )
