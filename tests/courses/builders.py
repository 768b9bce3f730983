"""Situations and courses of changed demo cases, without the rest of a decision."""

from __future__ import annotations

from typing import Any

from decision.case import Case, case_from_mapping
from decision.course import Course
from decision.courses.arrive import departure_of
from decision.courses.generate import generate
from decision.courses.situation import Situation, situation_of
from tests.case.builders import demo, with_changes


def case_of(name: str = "clean", /, **changes: Any) -> Case:
    """A demo case with changes at JSON Pointers."""
    return case_from_mapping(with_changes(demo(name), changes))


def situation(name: str = "clean", /, **changes: Any) -> Situation:
    """What follows from that case before any course is thought of."""
    return situation_of(case_of(name, **changes))


def courses(name: str = "clean", /, **changes: Any) -> dict[str, Course]:
    """Every course of that case by its label."""
    seen = situation(name, **changes)
    return {course.label: course for course in generate(seen, departure_of(seen))}
