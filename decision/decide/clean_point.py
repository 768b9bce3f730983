"""The last clean diversion point, and what passing it costs."""

from __future__ import annotations

from collections.abc import Sequence

from decision.course import Origin
from decision.decide.decision import CleanPoint
from decision.decide.judge import JudgedCourse
from decision.flight.approach import ApproachFlight
from decision.flight.irreversible import penalties
from decision.flight.situation import Situation
from decision.quantities import GearPosition


def clean_point_of(
    courses: Sequence[JudgedCourse], situation: Situation, flight: ApproachFlight | None
) -> CleanPoint:
    """The point where the aircraft would be changed for good, and what is legal from there."""
    if not situation.configurations.irreversible:
        return _none("already_passed" if _gear_is_down_for_good(situation) else "none_ahead")
    if flight is None:
        return _none("distance_unknown")
    if flight.passed:
        return _none("already_passed")
    leaving = [each for each in courses if each.course.origin is Origin.LAST_CLEAN_POINT]
    best = next((each for each in leaving if each.legal is True), None)
    state = flight.last_clean.state
    return CleanPoint(
        distance_to_go_nm=flight.extension_nm,
        at=state.at,
        fuel_kg=state.usable_kg,
        best=best,
        penalties=penalties(situation, flight),
        reason=None if best is not None else "no_legal_clean_course",
    )


def _gear_is_down_for_good(situation: Situation) -> bool:
    gear = situation.capability.gear
    return gear.position is not GearPosition.UP and not gear.retractable


def _none(reason: str) -> CleanPoint:
    return CleanPoint(
        distance_to_go_nm=None, at=None, fuel_kg=None, best=None, penalties=(), reason=reason
    )
