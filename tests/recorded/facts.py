"""What was decided of a case, in a form of its own: the format of the answer may change, this not.

`facts_of(answer)` reads a whole answer, joined (`decision.answer.reading`); it is the one place to
change when the format does. `differences` compares two sets of facts: figures to the rounding that
is published, moments that a search has found within its step, everything else exactly.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any, Final

Facts = dict[str, Any]

ROUNDING: Final = 0.0015  # figures are published to a thousandth of their unit
SEARCHED_S: Final = 61.0  # deadlines are searched to the minute
SEARCHED: Final = ("action.latest_at", "deadline.", "holding.", "clean.", "look.", "asks.")
OTHER_PLACES: Final = "other places to land"
"""Asked for in every answer without a legal course; tests/answer/test_asks.py has that."""
UNORDERED: Final = "assumptions."
AS_THEY_ARE: Final = (
    "verdict",
    "basis",
    "headline",
    "fuel_state",
    "messages",
    "until_then",
    "ways_out",
    "minimum_fuel_to_start_kg",
    "unknowns",
    "valid_until",
)


def facts_of(answer: Mapping[str, Any]) -> Facts:
    """Verdict, action, words, figures and findings of one answer."""
    return {
        "digest": answer["provenance"]["input_digest"],
        **{name: answer[name] for name in AS_THEY_ARE},
        "action": answer["action"],
        "emergency": answer["emergency"],
        "deadline": answer["deadline"],
        "instead": answer["instead"],
        "asks": [each for each in answer["ask"] if not each["what"].startswith(OTHER_PLACES)],
        "look": answer["next_look"],
        "clean": answer["last_clean_diversion"],
        "holding": answer["holding"],
        "remedies": answer["remedies"],
        "extension": answer["gear_extension"],
        "reasons": [
            [each["rule"], each["outcome"], each["course"], each["text"]]
            for each in answer["reasons"]
        ],
        "cautions": [[each["code"], each["weight"], each["text"]] for each in answer["cautions"]],
        "assumptions": [[each["field"], each["value"]] for each in answer["assumptions"]],
        "lost": sorted(each["function"] for each in answer["capability"]["lost"]),
        "courses": {each["course"]: _course(each) for each in answer["courses"]},
    }


def _course(course: Mapping[str, Any]) -> Facts:
    findings = course["findings"]
    return {
        "rank": course["rank"],
        "legal": course["legal"],
        "advised_against": course["advised_against"],
        "runway": course["runway"],
        "touchdown_at": course["touchdown_at"],
        "limited_by": course["limited_by"],
        "configuration": course["configuration"],
        "breaks": course["breaks"],
        "fuel": course["fuel"],
        "attempts": [
            [each["aerodrome"], each["role"], each["approach"], each["at"], each["mass_kg"]]
            for each in course["attempts"]
        ],
        "found": [
            [each["rule"], each["at"], each["outcome"], each["value"], each["limit"], each["text"]]
            for each in findings
            if each["outcome"] != "NOT_APPLICABLE"
        ],
        "not_applicable": sorted(
            {each["rule"] for each in findings if each["outcome"] == "NOT_APPLICABLE"}
        ),
    }


def differences(recorded: Any, now: Any, path: str = "") -> Iterator[str]:
    """Where two sets of facts differ, a line each with the path of the member."""
    if path == UNORDERED:
        recorded, now = sorted(recorded, key=str), sorted(now, key=str)
    match recorded, now:
        case Mapping(), Mapping():
            for name in sorted(recorded.keys() | now.keys()):
                yield from differences(recorded.get(name), now.get(name), f"{path}{name}.")
        case list(), list() if len(recorded) == len(now):
            for index, (one, other) in enumerate(zip(recorded, now, strict=True)):
                yield from differences(one, other, f"{path}{index}.")
        case _ if not _same(recorded, now, path):
            yield f"{path[:-1]}: {recorded!r} -> {now!r}"


def _same(recorded: Any, now: Any, path: str) -> bool:
    if recorded == now:
        return True
    if isinstance(recorded, float | int) and isinstance(now, float | int):
        return abs(recorded - now) <= ROUNDING
    return path.startswith(SEARCHED) and _moments_close(recorded, now)


def _moments_close(recorded: Any, now: Any) -> bool:
    try:
        one, other = datetime.fromisoformat(recorded), datetime.fromisoformat(now)
    except (TypeError, ValueError):
        return False
    return abs((one - other).total_seconds()) <= SEARCHED_S
