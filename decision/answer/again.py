"""What is told of a stored decision that is decided again or otherwise, as it is published."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Annotated, Any

from msgspec import Struct

from decision.answer.changed import SHOWN_KG, action_in_words, inputs_changed, reports_changed
from decision.answer.differences import (
    Changed,
    ChangedCourse,
    ChangedInput,
    ChangedReport,
    FromTo,
)
from decision.answer.row import RowTold
from decision.answer.tried import TriedTold
from decision.answer.types import Answer
from decision.fields import about

Data = Mapping[str, Any]


class AnswerAgain(Answer, frozen=True, kw_only=True, gc=False):
    """The answer to a stored case that was decided again."""

    previous: Annotated[str, about("Id of the decision whose case was decided again.")]
    changed: Annotated[Changed, about("What differs from that decision.")]


class MovedTold(Struct, frozen=True, kw_only=True, gc=False):
    """What a variation moves; null: it is the same."""

    inputs: Annotated[tuple[ChangedInput, ...], about("What is asked otherwise.")]
    weather: Annotated[tuple[ChangedReport, ...], about("Reports that came or went.")]
    verdict: Annotated[FromTo | None, about("The verdict.")]
    action: Annotated[FromTo | None, about("What to do, in words.")]
    deadline_at: Annotated[FromTo | None, about("By when the action has to be begun.")]
    fuel_state: Annotated[FromTo | None, about("State of the fuel.")]
    ways_out: Annotated[FromTo | None, about("Aerodromes left after a missed approach.")]
    courses: Annotated[tuple[ChangedCourse, ...], about("Courses that moved.")]


class VariedTold(Struct, frozen=True, kw_only=True, gc=False):
    """A variation, beside what it varies."""

    row: Annotated[RowTold, about("What is decided of it.")]
    moved: Annotated[MovedTold, about("What differs from the stored case.")]


class TriedBeside(TriedTold, frozen=True, kw_only=True, gc=False):
    """The case with inputs at other values, beside the case."""

    moved: Annotated[MovedTold, about("What differs from the stored case.")]


class SideBySide(Struct, frozen=True, kw_only=True, gc=False):
    """A stored case and variations of it; nothing of it is recorded."""

    decision: Annotated[str, about("Id of the stored decision.")]
    stored: Annotated[RowTold, about("The stored case, decided as variations are.")]
    varied: Annotated[tuple[VariedTold, ...], about("One for each patch, in their order.")]
    tried: Annotated[tuple[TriedBeside, ...], about("One for each of `inputs`, in their order.")]


def moved(
    before: Data, after: Data, *, request_before: Data, request_after: Data
) -> dict[str, Any]:
    """What differs between two rows in plain data, and between what they were asked of."""
    return {
        "inputs": [*inputs_changed(request_before, request_after)],
        "weather": [*reports_changed(request_before, request_after)],
        "verdict": _unless_same(before["verdict"], after["verdict"]),
        "action": _unless_same(action_in_words(before), action_in_words(after)),
        "deadline_at": _unless_same(_deadline_at(before), _deadline_at(after)),
        "fuel_state": _unless_same(before["fuel_state"], after["fuel_state"]),
        "ways_out": _unless_same(before["ways_out"], after["ways_out"]),
        "courses": [*_courses(before["margins"], after["margins"])],
    }


def _deadline_at(row: Data) -> str | None:
    return None if row["deadline"] is None else str(row["deadline"]["at"])


def _unless_same(one: object, other: object) -> dict[str, Any] | None:
    return None if one == other else {"from": one, "to": other}


def _courses(before: Sequence[Data], after: Sequence[Data]) -> Iterator[dict[str, Any]]:
    """Courses whose legality or margin differs, and those that only one row has."""
    old, new = ({each["course"]: each for each in row} for row in (before, after))
    for name in dict.fromkeys((*new, *old)):
        if name not in old or name not in new:
            only = "after" if name in new else "before"
            yield {"course": name, "legal": None, "margin_kg": None, "only": only}
        elif _has_moved(old[name], new[name]):
            yield {
                "course": name,
                "legal": {"from": old[name]["legal"], "to": new[name]["legal"]},
                "margin_kg": {"from": old[name]["margin_kg"], "to": new[name]["margin_kg"]},
                "only": None,
            }


def _has_moved(one: Data, other: Data) -> bool:
    was, now = one["margin_kg"], other["margin_kg"]
    if one["legal"] is not other["legal"] or (was is None) is not (now is None):
        return True
    return was is not None and abs(was - now) >= SHOWN_KG
