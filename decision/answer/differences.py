"""What differs between two answers of one flight, as it is published."""

from __future__ import annotations

from typing import Annotated, Any

from msgspec import Struct, field

from decision.fields import about


class FromTo(Struct, frozen=True, kw_only=True, gc=False):
    """A value before and after; null: there was or is none."""

    from_: Annotated[Any, about("Before.")] = field(name="from")
    to: Annotated[Any, about("After.")]


class ChangedInput(Struct, frozen=True, kw_only=True, gc=False):
    """A value of the request that differs."""

    pointer: Annotated[str, about("JSON Pointer; failures and alternates by name.")]
    from_: Annotated[Any, about("Before; null: not given.")] = field(name="from")
    to: Annotated[Any, about("After; null: not given.")]
    unit: Annotated[str | None, about("Unit of both.")]


class ChangedReport(Struct, frozen=True, kw_only=True, gc=False):
    """A report that came or went."""

    what: Annotated[str, about("`came` or `went`.")]
    report: Annotated[str, about("Its text.")]


class ChangedFinding(Struct, frozen=True, kw_only=True, gc=False):
    """A rule that turned on a course that both answers have."""

    course: Annotated[str, about("Label of the course.")]
    rule: Annotated[str, about("Code of the rule.")]
    at: Annotated[str | None, about("Aerodrome.")]
    outcome: Annotated[FromTo, about("What it said and says.")]
    value: Annotated[FromTo, about("What was compared, in `unit`.")]
    limit: Annotated[FromTo, about("What it was compared with, in `unit`.")]
    unit: Annotated[str | None, about("Unit of the figures.")]
    text: Annotated[str, about("The sentence as it is now.")]


class ChangedCourse(Struct, frozen=True, kw_only=True, gc=False):
    """A course whose legality or margin moved, or that only one answer has."""

    course: Annotated[str, about("Label of the course.")]
    legal: Annotated[FromTo | None, about("Null where only one answer has it.")]
    margin_kg: Annotated[FromTo | None, about("Margin above final reserve.", unit="kg")]
    only: Annotated[str | None, about("`before` or `after`; null where both have it.")]


class ChangedCaution(Struct, frozen=True, kw_only=True, gc=False):
    """A caution that came or went."""

    what: Annotated[str, about("`came` or `went`.")]
    text: Annotated[str, about("Its text.")]


class Changed(Struct, frozen=True, kw_only=True, gc=False):
    """What differs from the answer before, and why the verdict moved."""

    verdict: Annotated[FromTo, about("The verdict.")]
    action: Annotated[FromTo, about("What to do, in words.")]
    inputs: Annotated[tuple[ChangedInput, ...], about("What was asked otherwise.")]
    weather: Annotated[tuple[ChangedReport, ...], about("Reports that came or went.")]
    findings: Annotated[tuple[ChangedFinding, ...], about("Rules that turned.")]
    courses: Annotated[tuple[ChangedCourse, ...], about("Courses that moved.")]
    cautions: Annotated[tuple[ChangedCaution, ...], about("Cautions that came or went.")]
    why: Annotated[str, about("The same in one or two sentences.")]
