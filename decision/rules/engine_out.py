"""With an engine out: where to land first, and when going on towards a place is not safe.

Both rules weigh a course against the others. A place that is lost to another failure or to weather
is no longer suitable, and the next one becomes the nearest: so less can then be asked of a course.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from decision.course import Course, CourseKind
from decision.rulebooks.rulebook import Force
from decision.rules.combine import at_most, holds, not_applicable, unknown
from decision.rules.finding import Judgement, Outcome, shown
from decision.rules.registry import Beside, Context, RuleAmong, Standing
from decision.rules.row import EVERY_KIND, Breach

WAYS: Final = {
    CourseKind.APPROACH_THEN_DIVERT: "the approach, and after a miss",
    CourseKind.HOLD_THEN_APPROACH: "a hold and the approach, and after a miss",
    CourseKind.DIVERT_NOW: "leaving for",
    CourseKind.COMMIT_TO_LAND: "landing for good at",
    CourseKind.SECOND_APPROACH: "a second approach to",
}
GOING_ON: Final = EVERY_KIND - {CourseKind.DIVERT_NOW}
ALL_RUN: Final = not_applicable("no engine has failed")


def nearest_suitable(beside: Beside, context: Context) -> Judgement:
    """Landing first at the suitable place that is nearest in point of time.

    Not applicable where the rulebook leaves that to flight manuals and operators.
    """
    row, standing = context.rulebook.row("engine_failure"), beside.standing
    if not engine_out(standing.course, context):
        return ALL_RUN
    if row.force is not Force.RULE:
        return not_applicable(f"{row.text} {row.citation}")
    own_min = standing.first_min
    if own_min is None:
        return unknown(f"time to {standing.place} with an engine out is not known")
    suitable = [
        (each.first_min, each.place)
        for each in beside.everybody
        if each.suitable and each.first_min is not None
    ]
    if not suitable:
        return not_applicable("no aerodrome is known to be suitable")
    least_min, place = min(suitable)
    slack_min = context.rulebook.number("engine_failure_slack_min")
    judged = at_most(
        f"time to {standing.place} with an engine out", own_min, least_min + slack_min, unit="min"
    ).adding(
        "the nearest suitable in time"
        if own_min == least_min
        else f"nearest suitable in time is {place}, {shown(least_min, 'min')}; "
        f"{shown(slack_min, 'min')} more count as the same"
    )
    doubt = _perhaps_nearer(own_min - slack_min, beside.everybody)
    if judged.outcome is Outcome.PASS and doubt:
        return unknown(f"{judged.text}; but whether {doubt} is suitable is not known")
    return judged


def _perhaps_nearer(before_min: float, everybody: Sequence[Standing]) -> str:
    """A place of which it is not known whether it is suitable, and that may be reached earlier."""
    return min(
        (
            each.place
            for each in everybody
            if each.suitable is None and (each.first_min is None or each.first_min < before_min)
        ),
        default="",
    )


def safe_continuation(beside: Beside, context: Context) -> Judgement:
    """Not on to a place where it is not safe, unless nothing is safer: that is an emergency."""
    standing = beside.standing
    if not engine_out(standing.course, context):
        return ALL_RUN
    towards = f"going on to {standing.place} with an engine out"
    if standing.worst is None or not standing.worst.endangers:
        return holds(
            True if standing.legal is not None else None,
            yes=f"{towards} breaks nothing that makes it unsafe",
            no="",
            unknown=f"whether {towards} is safe is not known",
        )
    safer = [each for each in beside.everybody if each.legal or _safely_short(each)]
    if not safer:
        basis = context.rulebook.row("emergency_basis").citation
        return not_applicable(f"nothing is known to be safer than {towards}: an emergency {basis}")
    best = min(safer, key=lambda each: (not each.legal, each.course.label)).course
    why, way = _words(standing.worst), f"{WAYS[best.kind]} {best.icao}"
    return holds(False, yes="", no=f"{towards} is not safe ({why}); safer: {way}", unknown="")


def _safely_short(standing: Standing) -> bool:
    """Whether a course breaks something, but nothing that makes it unsafe."""
    return standing.worst is not None and not standing.worst.endangers


def _words(breach: Breach | None) -> str:
    return "" if breach is None else breach.name.lower().replace("_", " ")


def engine_out(course: Course, context: Context) -> bool:
    """Whether the course is flown with an engine out."""
    engines = context.case.aircraft.profile.engine.count
    return course.configuration.engines_running < engines


RULES: Final[tuple[RuleAmong, ...]] = (
    RuleAmong(
        "EO-01",
        "Nearest suitable aerodrome with an engine out",
        "engine_failure",
        Breach.PLANNING_BAR,
        nearest_suitable,
    ),
    RuleAmong(
        "EO-02",
        "Going on only where it is safe",
        "unsafe_continuation",
        Breach.PLANNING_BAR,
        safe_continuation,
        applies=GOING_ON,
    ),
)
