"""Rules that weigh a course against the others: which place is nearest, which way is safer.

They are asked last, when every other rule has spoken, and judge a course by how it then stands.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from decision.course import Course, CourseKind
from decision.rulebooks.rulebook import Rulebook
from decision.rules.breach import Breach
from decision.rules.combine import not_applicable
from decision.rules.finding import Finding, Judgement
from decision.rules.registry import Context, stated

KEPT: Final = 256  # places x rulebooks of which the silence is kept


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """A course as the other rules left it.

    `place` is where it could first land and `first_min` the minutes until then, None when not
    known; `suitable`: whether that place can be landed at. `legal` is of the whole course, `worst`
    the gravest thing that it breaks.
    """

    course: Course
    place: str
    first_min: float | None
    suitable: bool | None
    legal: bool | None
    worst: Breach | None


Weigh = Callable[[Standing, Sequence[Standing], Context], Judgement]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RuleAmong:
    """One such rule, equal to itself alone; the fields are those of every rule."""

    code: str
    title: str
    row: str
    breach: Breach
    applies: frozenset[CourseKind]
    check: Weigh


def judge_among(
    rules: Sequence[RuleAmong],
    standing: Standing,
    everybody: Sequence[Standing],
    context: Context,
) -> tuple[Finding, ...]:
    """Every finding on one course among all, in the order of the table."""
    return tuple(
        Finding(
            stated=_stated(rule, context.rulebook, context.case.policy.adopt),
            at=standing.place,
            judgement=rule.check(standing, everybody, context)
            if standing.course.kind in rule.applies
            else not_applicable(f"{rule.title}: judged for {_kinds(rule)} only"),
        )
        for rule in rules
    )


@lru_cache(maxsize=KEPT)
def silent(
    rules: tuple[RuleAmong, ...],
    place: str,
    rulebook: Rulebook,
    adopt: frozenset[str],
    why: Judgement,
) -> tuple[Finding, ...]:
    """What the rules say where none of them applies, kept ready: most flights have all engines."""
    return tuple(
        Finding(stated=_stated(rule, rulebook, adopt), at=place, judgement=why) for rule in rules
    )


def _kinds(rule: RuleAmong) -> str:
    return ", ".join(sorted(rule.applies)).replace("_", " ")


_stated = lru_cache(maxsize=KEPT)(stated)
