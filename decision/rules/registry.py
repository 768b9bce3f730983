"""What a rule is, and how a table of them judges an attempt, a course, or one course among others.

A rule is one small function with a row in a table (`row.py`). Every rule is evaluated, none calls
another, and the findings come out in the order of their codes. Rules that weigh a course against
the others are asked last, when every other rule has spoken, and judge it by how it then stands.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from operator import attrgetter
from typing import Annotated, Final, Generic, NamedTuple, TypeVar

from decision.attempt.attempt import Attempt, Role, Scene
from decision.course import Course, CourseKind
from decision.fields import about
from decision.rulebooks.rulebook import Asked, Force, Rulebook
from decision.rules.combine import not_applicable
from decision.rules.finding import Finding, Judgement, Stated
from decision.rules.row import EVERY_ROLE, Breach, RuleRow

Context = Asked


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """A course as it stands, beside everybody: itself and all the others."""

    standing: Standing
    everybody: Sequence[Standing]

    @property
    def icao(self) -> str:
        """Where it could first land."""
        return self.standing.place


Subject = TypeVar("Subject", Attempt, Course, Beside)
Check = Callable[[Subject, Context], Judgement]


class Checked(RuleRow, Generic[Subject], frozen=True, gc=False, eq=False):
    """One rule: what it says of itself, and its check."""

    check: Annotated[Check[Subject], about("What judges; what it says of itself is on the page.")]


class Rule(Checked[Attempt], frozen=True, kw_only=True, gc=False, eq=False):
    """A rule on an attempt."""

    applies: Annotated[frozenset[Role], about("Roles for which it is judged.")] = EVERY_ROLE
    of_scene: Annotated[
        Callable[[Scene, Context], Judgement | None] | None,
        about("Judges all attempts of one scene at once; null, here or there: each by itself."),
    ] = None


CourseRule = Checked[Course]
RuleAmong = Checked[Beside]
AnyRule = Rule | CourseRule | RuleAmong


class OnScene(NamedTuple):
    """What a table of rules finds of a scene, and what is left to ask of each attempt there.

    `findings` in the order of the table; `left`: the rules that are not among them, with their
    places in it. `scene` is kept, so that nothing else can have its identity.
    """

    scene: tuple[object, ...]
    findings: tuple[Finding, ...]
    left: tuple[tuple[int, Rule, Stated], ...]


class Scenes:
    """What was found of each scene of a case, and of what varies it: judged once for all there."""

    def __init__(self) -> None:
        self._found: dict[tuple[int, ...], OnScene] = {}

    def of(self, rules: tuple[Rule, ...], attempt: Attempt, context: Context) -> OnScene:
        """That of an attempt; a scene is the same where each member is the very same value."""
        scene = members_of_scene(attempt)
        key = tuple(map(id, scene))
        found = self._found.get(key)
        if found is None:
            if len(self._found) >= SCENES_KEPT:
                self._found.clear()
            found = self._found[key] = _on_scene(rules, attempt, context)
        return found


SCENES_KEPT: Final = 1024
members_of_scene: Final = attrgetter(*Scene.__struct_fields__)


def _on_scene(rules: tuple[Rule, ...], attempt: Attempt, context: Context) -> OnScene:
    findings, left = [], []
    plan = _stated(rules, attempt.role, context.rulebook, context.case.policy.adopt)
    for place, (rule, (_, stated, elsewhere)) in enumerate(zip(rules, plan, strict=True)):
        judged = elsewhere
        if judged is None and rule.of_scene is not None:
            judged = rule.of_scene(attempt, context)
        if judged is None:
            left.append((place, rule, stated))
        else:
            findings.append(Finding(stated=stated, at=attempt.icao, judgement=judged))
    return OnScene(members_of_scene(attempt), tuple(findings), tuple(left))


def judge_attempt(
    rules: tuple[Rule, ...], attempt: Attempt, context: Context, scenes: Scenes
) -> tuple[Finding, ...]:
    """Every finding on one attempt, in the order of the table."""
    on_scene = scenes.of(rules, attempt, context)
    found, at = list(on_scene.findings), attempt.icao
    for place, rule, stated in on_scene.left:  # in the order of places, each fills its own
        judged = rule.check(attempt, context)
        found.insert(place, Finding(stated=stated, at=at, judgement=judged))
    return tuple(found)


def judge_course(
    rules: tuple[CourseRule, ...], course: Course, context: Context
) -> tuple[Finding, ...]:
    """Every finding on the course itself, in the order of the table."""
    return _judged(rules, course, course.kind, context)


def judge_among(
    rules: tuple[RuleAmong, ...], beside: Beside, context: Context
) -> tuple[Finding, ...]:
    """Every finding on one course among all, in the order of the table."""
    return _judged(rules, beside, beside.standing.course.kind, context)


def _judged(
    rules: Sequence[Checked[Subject]],
    subject: Subject,
    what: Role | CourseKind,
    context: Context,
) -> tuple[Finding, ...]:
    at = subject.icao
    return tuple(
        [
            Finding(
                stated=stated,
                at=at,
                judgement=elsewhere if elsewhere is not None else rule.check(subject, context),
            )
            for rule, stated, elsewhere in _stated(
                rules, what, context.rulebook, context.case.policy.adopt
            )
        ]
    )


PLANS: Final = 256  # tables of rules x roles, kinds or places x rulebooks that are kept ready


@lru_cache(maxsize=PLANS)
def _stated(
    rules: Sequence[Checked[Subject]],
    what: Role | CourseKind,
    rulebook: Rulebook,
    adopt: frozenset[str],
) -> tuple[tuple[Checked[Subject], Stated, Judgement | None], ...]:
    """Each rule with its name in this rulebook, and the judgement where it does not apply.

    Worked out once for a table, since a decision asks every rule some fifty times.
    """
    return tuple(
        (
            rule,
            stated(rule, rulebook, adopt),
            None if what in rule.applies else _elsewhere(rule),
        )
        for rule in rules
    )


@lru_cache(maxsize=PLANS)
def silent(
    rules: tuple[RuleAmong, ...],
    place: str,
    rulebook: Rulebook,
    adopt: frozenset[str],
    why: Judgement,
) -> tuple[Finding, ...]:
    """What the rules say where none of them applies, kept ready: most flights have all engines."""
    return tuple(
        Finding(stated=stated(rule, rulebook, adopt), at=place, judgement=why) for rule in rules
    )


def stated(rule: RuleRow, rulebook: Rulebook, adopt: frozenset[str]) -> Stated:
    """A rule in the words of a rulebook; guidance that the operator has adopted is policy."""
    row = rulebook.row(rule.row)
    adopted = row.force is Force.GUIDANCE and (rule.adopted or rule.code in adopt)
    return Stated(by=rule, citation=row.citation, force=Force.POLICY if adopted else row.force)


def _elsewhere(rule: RuleRow) -> Judgement:
    where = ", ".join(sorted(rule.applies)).replace("_", " ")
    return not_applicable(f"{rule.title}: judged for {where} only")
