"""Answers of an older format, read as whole ones of now.

Until it was told once, every course repeated its findings and its approaches, and the reports of a
place stood decoded in the answer. Members that a still older answer did not have stay away.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Final

Data = Mapping[str, Any]

OF_A_RULE: Final = ("title", "citation")
# Members of a course that now are of its flight, and those that stood in its fuel and its time.
FLOWN: Final = (
    "limited_by",
    "unknown",
    "rests_on",
    "emergency_basis",
    "cruise_pressure_altitude_ft",
    "cruise_cas_kt",
    "after_miss_there",
)
LEDGER: Final = MappingProxyType(
    {
        "time": ("missed_approach_at",),
        "fuel": (
            "counted_from_kg",
            "flight_kg",
            "planned_final_reserve_kg",
            "configured_final_reserve_kg",
        ),
    }
)


def of_now(answer: Data) -> Data:
    """The answer itself if it is of the format of now, else the same as a whole one of now."""
    if "rules" in answer:
        return answer
    attempts: dict[str, Data] = {}
    weather = answer.get("weather", {})
    courses = [_course(each, attempts) for each in answer["courses"]]
    found = [
        {**each, "subject": course["course"]}
        for course in answer["courses"]
        for each in course["findings"]
    ]
    return {
        **answer,
        "courses": courses,
        "rules": {each["rule"]: {name: each.get(name) for name in OF_A_RULE} for each in found},
        "findings": [
            {name: value for name, value in each.items() if name not in OF_A_RULE} for each in found
        ],
        "not_applicable": {},
        "attempts": attempts,
        "weather": {place: _weather(told) for place, told in weather.items()},
        "reports": {
            place: {name: told.get(name) for name in ("observation", "forecast")}
            for place, told in weather.items()
        },
    }


def _course(course: Data, attempts: dict[str, Data]) -> dict[str, Any]:
    """A course with its approaches by name; what it breaks is not worked out anew."""
    names: list[str] = []
    for each in course.get("attempts", ()):
        name = f"{course['course']}/{len(names) + 1}"
        attempts[name] = each
        names.append(name)
    kept = {
        name: value
        for name, value in course.items()
        if name not in (*FLOWN, "findings", "attempts")
    }
    flight: dict[str, Any] = {"attempts": names}
    flight |= {name: course[name] for name in FLOWN if name in course}
    for part, names_there in LEDGER.items():
        there = course.get(part) or {}
        flight |= {name: there[name] for name in names_there if name in there}
    unknown = [each for each in course["findings"] if each["outcome"] == "UNKNOWN"]
    return {
        **kept,
        "open": [{name: each[name] for name in ("rule", "at")} for each in unknown],
        "tightest": [],
        "flight": flight,
    }


def _weather(told: Data) -> dict[str, Any]:
    observation, forecast = told.get("observation"), told.get("forecast")
    return {
        **told,
        "observation": None if observation is None else _in_short(observation),
        "forecast": None if forecast is None else forecast["raw"],
    }


def _in_short(report: Data) -> dict[str, Any]:
    said = report.get("elements") or {}
    wind, sky, ceiling = (said.get(name) or {} for name in ("wind", "visibility", "ceiling"))
    return {
        **{name: report[name] for name in ("raw", "issued_at")},
        **{name: wind.get(name) for name in ("from_true_deg", "speed_kt", "gust_kt")},
        "visibility_m": sky.get("metres"),
        "ceiling_ft": ceiling.get("feet"),
        "weather": [group["raw"] for group in said.get("weather") or ()],
        **{name: said.get(name) for name in ("temperature_degc", "qnh_hpa")},
    }
