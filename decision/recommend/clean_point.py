"""The last clean diversion point, what passing it costs, and the latest moment to leave."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from decision.course import CourseKind, Origin
from decision.courses.arrive import Approaching
from decision.courses.judge import JudgedCourse
from decision.courses.penalty import penalties
from decision.courses.situation import Situation
from decision.quantities import GearPosition
from decision.recommend.answer import CleanPoint, Holding


def clean_point_of(
    courses: Sequence[JudgedCourse], situation: Situation, approaching: Approaching | None
) -> CleanPoint:
    """The point where the aircraft would be changed for good, and what is legal from there."""
    if not situation.configurations.irreversible:
        return _none("already_passed" if _gear_is_down_for_good(situation) else "none_ahead")
    if approaching is None:
        return _none("distance_unknown")
    flight = approaching.flight
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


def latest_departure(
    courses: Sequence[JudgedCourse], point: CleanPoint, holding: Holding, situation: Situation
) -> datetime | None:
    """The latest moment at which a clean diversion is legal; None when there is none at all.

    The last clean point itself where a diversion is legal from there. With no such point ahead, the
    end of the fuel that could be held with. Otherwise fuel sets it on the way to the point: the
    margin now, divided by what a minute of the approach costs it. The margin falls evenly on the
    way to the point, since both the fuel and the distance onward change evenly with the miles.
    """
    if point.best is not None:
        return point.at
    now = _best_margin_kg(courses, Origin.PRESENT)
    if now is None:
        return None
    if point.at is None:
        return None if holding.clean_diversion is None else holding.clean_diversion.until
    then = _margin_at_point_kg(courses)
    if then is None or then >= now:
        return situation.case.as_of
    share = now / (now - then)
    span: timedelta = point.at - situation.case.as_of
    return situation.case.as_of + span * min(1.0, share)


def _best_margin_kg(courses: Sequence[JudgedCourse], origin: Origin) -> float | None:
    margins = [
        judged.course.ledger.margin_kg
        for judged in courses
        if judged.course.kind is CourseKind.DIVERT_NOW
        and judged.course.origin is origin
        and judged.legal is True
        and judged.course.ledger is not None
    ]
    return max(margins, default=None)


def _margin_at_point_kg(courses: Sequence[JudgedCourse]) -> float | None:
    """The margin at the point, legal or not, of the places that are legal from the present."""
    legal_now = {
        judged.course.icao
        for judged in courses
        if judged.course.origin is Origin.PRESENT and judged.legal is True
    }
    margins = [
        judged.course.ledger.margin_kg
        for judged in courses
        if judged.course.origin is Origin.LAST_CLEAN_POINT
        and judged.course.icao in legal_now
        and judged.course.ledger is not None
    ]
    return max(margins, default=None)
