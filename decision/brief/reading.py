"""What the brief looks up in an answer; answers stored before a member existed have none of it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any, Final

from decision.brief.layout import (
    Data,
    above_reserve,
    down,
    kg_down,
    level_text,
    tenth_down,
    tenth_up,
    up,
)
from decision.rules import code_told
from decision.rules.row import Breach, Figure, Topic

FIGURES: Final = re.compile(r"-?\d+ \S+, limit .*")
COMMIT_CONDITIONS: Final = Breach.COMMIT_CONDITIONS.name
LANDING_RULE: Final = code_told(Figure.LANDING_DISTANCE)
GRADIENT_RULE: Final = code_told(Figure.MISSED_GRADIENT)
TIME_CRITICAL: Final = "TIME_CRITICAL"
URGENT: Final = frozenset({TIME_CRITICAL, "NEAREST_SUITABLE"})
KIND: Final = {
    "approach_then_divert": "missed approach, then",
    "divert_now": "divert now to",
    "hold_then_approach": "hold, missed approach, then",
    "second_approach": "second approach at",
    "commit_to_land": "committed landing at",
}
NOTHING_DECLARED: Final = {"level": "NONE", "reason": "whether to declare is not told"}
"""Of an answer that has no member for what to declare."""
NO_END_TOLD: Final = "until when this answer holds is not told"
"""Of an answer that has no member for it."""
FROM_CLEAN_POINT: Final = "from last clean point to"


def chosen_of(answer: Data) -> Data | None:
    """The course of the action; None where the answer has been cut."""
    return labelled(answer, answer["action"].get("course"))


def labelled(answer: Data, label: str | None) -> Data | None:
    """The course of that name."""
    return next((each for each in answer["courses"] if each["course"] == label), None)


def first_of(answer: Data, kind: str) -> Data | None:
    """The best course of a kind."""
    return next((each for each in answer["courses"] if each["kind"] == kind), None)


def stays_here(answer: Data) -> bool:
    """Whether the action leads to the destination, and its course perhaps elsewhere after it."""
    return answer["action"]["do"] in ("APPROACH", "HOLD")


def way(course: Data) -> str:
    """A course by name."""
    start = KIND[course["kind"]]
    if course.get("from") == "last_clean_point":
        start = FROM_CLEAN_POINT
    return f"{start} {course['aerodrome']}"


def is_straight(course: Data) -> bool:
    """Whether it goes straight to the landing, from here and now."""
    return course["kind"] in ("divert_now", "commit_to_land") and (
        course.get("from") != "last_clean_point"
    )


def touchdown_of(course: Data) -> str | None:
    """When it lands."""
    at: str | None = course.get("touchdown_at") or course["time"]["arrive_at"]
    return at


def minutes_to(course: Data) -> str:
    """Minutes to the landing, rounded up; empty where they are not known."""
    minutes = course.get("minutes_to_touchdown")
    return "" if minutes is None else up(max(0.0, minutes), "min")


def is_at_most(course: Data) -> bool:
    """Whether fuel is lost, or something of the way is not known, that would leave less."""
    return bool(course.get("unknown") or (course["fuel"] or {}).get("at_most"))


def landing_fuel(course: Data) -> str:
    """Fuel on landing in kilograms and minutes, or that there is none, or that it is not known."""
    fuel = course["fuel"]
    if fuel is None:
        return "fuel on landing not known"
    if fuel["landing_kg"] <= 0:
        return "tanks empty"
    if is_at_most(course):
        return f"at most {kg_down(fuel['landing_kg'])}"
    minutes = fuel.get("landing_min")
    in_minutes = "" if minutes is None else f" ({down(minutes, 'min')})"
    return f"{kg_down(fuel['landing_kg'])}{in_minutes}"


def margin_text(course: Data) -> str:
    """Fuel above or under final reserve; empty where no fuel could be worked out."""
    if course["fuel"] is None:
        return ""
    told = above_reserve(course["fuel"])
    return f"at most {told}" if is_at_most(course) else told


def breaks_of(course: Data, *, urgent: bool = False) -> list[str]:
    """What a course breaks: rules that miss the same limit by the same figure are told once.

    Under urgency the conditions of a committed landing do not count.
    """
    broken: dict[tuple[str, ...], str] = {}
    for each in _broken(course):
        if not (urgent and each["breach"] == COMMIT_CONDITIONS):
            figures = FIGURES.search(each["text"])
            cause = each["text"] if figures is None else figures[0]
            broken.setdefault((each["breach"], each["at"] or "", cause), each["text"])
    return [*broken.values()]


def _broken(course: Data) -> Sequence[Data]:
    """What a course breaks; answers stored before that was listed have what its rules found."""
    listed: Sequence[Data] | None = course.get("breaks")
    if listed is not None:
        return listed
    return [
        {
            "text": each["text"],
            "at": each["at"],
            "breach": COMMIT_CONDITIONS if each["rule"].startswith(Topic.COMMIT) else each["rule"],
        }
        for each in course["findings"]
        if each["outcome"] == "FAIL"
    ]


def attempt_of_action(answer: Data) -> Data | None:
    """The approach that the action leads to: the first of an approach, else the last."""
    course = chosen_of(answer)
    attempts: Sequence[Any] = () if course is None else course.get("attempts", ())
    if not attempts:
        return None
    found: Data = attempts[0] if stays_here(answer) else attempts[-1]
    return found


def finding_at(course: Data | None, rule: str, place: str) -> Data | None:
    """What a rule found on a course at a place."""
    findings = () if course is None else course["findings"]
    return next((each for each in findings if (each["rule"], each["at"]) == (rule, place)), None)


def landing_distance(course: Data | None, attempt: Data) -> str:
    """Landing distance without and with its factor, of the length there is."""
    lda_m = attempt["lda_m"]
    there = "a length not known" if lda_m is None else down(lda_m, "m", 10)
    bare_m = attempt["landing_distance_m"]
    if bare_m is None:
        return f"landing distance not known, of {there}"
    found = finding_at(course, LANDING_RULE, attempt["aerodrome"])
    factored_m = None if found is None or found["unit"] != "m" else found["value"]
    told = f"landing {up(bare_m, 'm', 10)}"
    factored = "" if factored_m is None else f", with factor {up(factored_m, 'm', 10)}"
    return f"{told}{factored}, of {there}"


def wind_text(attempt: Data) -> list[str]:
    """Head- or tailwind and crosswind on the runway."""
    ahead_kt, across_kt = attempt["headwind_kt"], attempt["crosswind_kt"]
    if ahead_kt is None:
        return ["wind on the runway not known"]
    behind_kt = max(-ahead_kt, attempt.get("tailwind_kt") or 0.0)
    along = (
        f"tailwind {up(behind_kt, 'kt')}" if behind_kt > 0.0 else f"headwind {down(ahead_kt, 'kt')}"
    )
    return [along, f"crosswind {up(across_kt, 'kt')}"]


def gradient_text(course: Data | None, attempt: Data) -> str:
    """Missed approach climb gradient, against what the procedure asks for."""
    gradient = attempt["missed_gradient_percent"]
    if gradient is None:
        return ""
    found = finding_at(course, GRADIENT_RULE, attempt["aerodrome"])
    limit = None if found is None else found["limit"]
    needed = "" if limit is None else f", {tenth_up(limit)} % asked for"
    return f"missed approach climb gradient {tenth_down(gradient)} %{needed}"


def cruise_text(course: Data) -> str:
    """Configuration, level and speed of the flight between."""
    level_ft, speed_kt = course["cruise_pressure_altitude_ft"], course.get("cruise_cas_kt")
    words = course["configuration"]
    if level_ft is None or speed_kt is None:
        return str(words)
    return f"{words}, {level_text(level_ft)}, {speed_kt:.0f} kt"
