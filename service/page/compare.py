"""Two decisions side by side: what to do in each, what differs, and what was asked otherwise."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any, Final

from msgspec import Struct

from decision.answer.changed import changed
from decision.brief.layout import NONE
from service.page.decision import CourseRow, DecisionPage, LeaveFrame, decision_page
from service.page.figures.margins import course_name

Data = Mapping[str, Any]

NOT_THERE: Final = "not there"


class DecisionBeside(Struct, frozen=True, kw_only=True):
    """A decision with the request that it answers, both in plain data, and its id."""

    id: str
    request: Data
    answer: Data


class ComparedRow(Struct, frozen=True, kw_only=True):
    """One thing in both decisions."""

    label: str
    first: str
    second: str

    @property
    def differs(self) -> bool:
        """Whether the two are not the same."""
        return self.first != self.second


class Comparison(Struct, frozen=True, kw_only=True):
    """What the page shows, in its order."""

    ids: tuple[str, str]
    heads: tuple[str, str]
    why: str
    told: tuple[ComparedRow, ...]
    courses: tuple[ComparedRow, ...]
    asked: tuple[ComparedRow, ...]
    reports: tuple[tuple[str, str], ...]


def comparison_page(first: DecisionBeside, second: DecisionBeside, *, now: datetime) -> Comparison:
    """Two decisions, as they are to be read at a moment of the service's clock (UTC)."""
    one, other = (decision_page(each.answer, now=now) for each in (first, second))
    differs = changed(
        first.answer,
        second.answer,
        request_before=first.request,
        request_after=second.request,
    )
    return Comparison(
        ids=(first.id, second.id),
        heads=(_head(one), _head(other)),
        why=_named(str(differs["why"]), first.answer, second.answer),
        told=tuple(_joined(_told(one), _told(other))),
        courses=tuple(_joined(_courses(one), _courses(other))),
        asked=tuple(_asked(differs["inputs"])),
        reports=tuple(_reports(differs["weather"])),
    )


def _named(text: str, *answers: Data) -> str:
    """A sentence with courses as the page calls them."""
    for each in (course for answer in answers for course in answer["courses"]):
        text = text.replace(each["course"], course_name(each))
    return text


def _head(page: DecisionPage) -> str:
    return f"{page.flight}, as of {page.as_of} {page.date}"


def _joined(first: Mapping[str, str], second: Mapping[str, str]) -> Iterator[ComparedRow]:
    """Rows of both, in the order of the first; what only the second has comes after."""
    for label in dict.fromkeys((*first, *second)):
        yield ComparedRow(
            label=label,
            first=first.get(label, NOT_THERE),
            second=second.get(label, NOT_THERE),
        )


def _told(page: DecisionPage) -> dict[str, str]:
    """What the first screen says, by its labels."""
    ran_out = page.ran_out_min
    return {
        "Action": page.action,
        "Then": page.runway or NONE,
        "By when": _by_when(page.frame),
        "Not before": page.frame.not_yet or NONE,
        "Declare": page.frame.declare or NONE,
        "Because": page.because or NONE,
        **dict(page.facts),
        **({"Ask": page.frame.ask} if page.frame.ask else {}),
        "Rules": page.rules,
        "Valid until": page.valid_until + ("" if ran_out is None else ", ran out"),
    }


def _by_when(frame: LeaveFrame) -> str:
    cells = ", ".join(f"{each.value} {each.meaning}" for each in frame.cells)
    return f"{frame.heading}: {cells}"


def _courses(page: DecisionPage) -> dict[str, str]:
    """The room of each course, and what it breaks."""
    return {row.name: _course(row) for _, rows in page.groups for row in rows}


def _course(row: CourseRow) -> str:
    room = row.room if row.room == "not known" else f"{row.room} kg over the reserve"
    found = (
        *(["chosen"] if row.chosen else []),
        room,
        *(f"✕ {each}" for each in row.broken),
        *(f"? {each}" for each in row.open),
    )
    return "; ".join(found)


def _asked(inputs: Sequence[Data]) -> Iterator[ComparedRow]:
    for each in inputs:
        unit = "" if each["unit"] is None else f" {each['unit']}"
        yield ComparedRow(
            label=each["pointer"].strip("/").replace("/", ", ").replace("_", " "),
            first=_value(each["from"], unit),
            second=_value(each["to"], unit),
        )


def _value(value: object, unit: str) -> str:
    match value:
        case None:
            return "not given"
        case bool():
            return "yes" if value else "no"
        case dict():
            return "given"
        case list():
            return f"{len(value)} given"
        case _:
            return f"{value}{unit}"


def _reports(reports: Sequence[Data]) -> Iterator[tuple[str, str]]:
    """Of each report that only one has, which that is."""
    for each in reports:
        yield (
            "only in the second" if each["what"] == "came" else "only in the first",
            each["report"],
        )
