"""The least fuel with which the approach may be started and still leave a way out."""

from __future__ import annotations

from collections.abc import Sequence

from decision.course import CourseKind
from decision.decide.judge import JudgedCourse
from decision.flight.situation import Situation
from decision.rules.finding import Outcome
from decision.rules.row import Topic


def minimum_fuel_to_start_kg(courses: Sequence[JudgedCourse], situation: Situation) -> float | None:
    """Fuel on board now that brings the cheapest way out exactly to its final reserve.

    Counts only ways that nothing but fuel bars; None when there is none. The aircraft's mass is
    kept: with less fuel it would be lighter and need a little less, so this errs upwards.
    """
    margins = [
        judged.course.ledger.margin_kg
        for judged in courses
        if judged.course.kind is CourseKind.APPROACH_THEN_DIVERT
        and judged.course.ledger is not None
        and all(
            finding.outcome in (Outcome.PASS, Outcome.NOT_APPLICABLE)
            or finding.by.topic is Topic.FUEL
            for finding in judged.findings
        )
    ]
    if not margins:
        return None
    return situation.case.fuel.on_board_kg - max(margins)
