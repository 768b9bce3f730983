"""Texts of notices and decisions with them, short to write."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from decision.case import case_from_mapping
from decision.notices import Notice, ReadNotice, read_notice
from decision.recommend import recommend_mapping
from tests.case.builders import demo

AS_OF = datetime(2026, 3, 14, 6, 10, tzinfo=UTC)  # of the demo case, whose minimum is at 06:20:41
PLACE, RUNWAY, APPROACH = "XKAL", "27R", "ILS 27R"


def notam(
    code: str = "MRLC",
    words: str = "RWY 27R CLSD DUE WIP",
    *,
    number: str = "A0123/26",
    kind: str = "NOTAMN",
    place: str = PLACE,
    from_: str = "2603140000",
    until: str | None = "2603142359",
    schedule: str | None = None,
) -> str:
    """The text of a NOTAM, in brackets."""
    end = "" if until is None else f" C) {until}"
    hours = "" if schedule is None else f" D) {schedule}"
    qualifiers = f"XXXX/Q{code}/IV/NBO/A/000/999/5129N00028W005"
    return f"({number} {kind} Q) {qualifiers} A) {place} B) {from_}{end}{hours} E) {words})"


def snowtam(
    run: str = "5/2/2 100/50/75 NR/06/06 WET/SLUSH/SLUSH",
    *,
    at: str = "03140600",
    runway: str = "09L",
    place: str = PLACE,
    rest: str = "",
) -> str:
    """The text of a SNOWTAM on one runway, in brackets."""
    return f"(SNOWTAM 0151 {place} {at} {runway} {run}{rest})"


def read(raw: str, *, number: int = 1, received_at: datetime = AS_OF) -> ReadNotice:
    """A text as it is read."""
    return read_notice(Notice(raw=raw), number=number, received_at=received_at)


def with_notices(*notices: Any, name: str = "clean", **changes: Any) -> dict[str, Any]:
    """A demo case as a request, with notices."""
    return {**demo(name), "notices": list(notices), **changes}


def decided(*notices: Any, name: str = "clean", **changes: Any) -> dict[str, Any]:
    """The answer to a demo case with notices."""
    return recommend_mapping(case_from_mapping(with_notices(*notices, name=name, **changes)))


def codes(answer: dict[str, Any]) -> list[str]:
    """Codes of its cautions."""
    return [each["code"] for each in answer["cautions"]]
