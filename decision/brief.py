"""The answer as plain text for a crew: one screen for the decision, a second for the figures.

Works on the answer's mapping alone and computes nothing; it only chooses, rounds and lays out.
Eighty columns at most, no colour: words carry the meaning.
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterable, Mapping, Sequence
from math import ceil, floor
from typing import Any, Final

WIDTH: Final = 80
INDENT: Final = "  "
STEP_KG: Final = 10
NONE: Final = "-"
MOST_UNKNOWNS: Final = 4
TOLD: Final = {
    "air_traffic_control": "Air traffic control",
    "cabin": "Cabin",
    "dispatch": "Dispatch",
}
MARK: Final = {"warning": "WARNING", "caution": "CAUTION", "info": "NOTE"}
KIND: Final = {
    "approach_then_divert": "approach, miss, then",
    "divert_now": "leave now for",
    "hold_then_approach": "hold, approach, miss, then",
    "second_approach": "miss, second approach at",
    "commit_to_land": "land, no way out, at",
}
FROM_CLEAN_POINT: Final = "leave at last clean point for"
LEGAL: Final = {True: "legal", False: "NOT LEGAL", None: "UNKNOWN"}

Data = Mapping[str, Any]


# One line for the accuracy of the model, 19 cases of 20.
ACCURACY_OF: Final = {
    "clean_fuel": "fuel",
    "degraded_fuel": "degraded",
    "climb_gradient": "climb",
    "dry_landing": "landing",
    "contaminated_landing": "slippery",
}
ACCURACY_UNIT: Final = {"percent": "%", "point": "pt"}


def brief(answer: Data) -> str:
    """The whole brief, ending with a line break."""
    parts = (
        _title(answer),
        _decision(answer),
        _reasons(answer),
        _remedies(answer),
        _fuel(answer),
        _clean_point(answer),
        _course(answer),
        _say(answer),
        _outlook(answer),
        _cautions(answer),
        _unknowns(answer),
        _table(answer),
        _ahead(answer),
        _extensions(answer),
        _steps(answer),
        _foot(answer),
    )
    return "\n\n".join("\n".join(lines) for part in parts if (lines := list(part))) + "\n"


def _wrapped(text: str, *, first: str = "", rest: str | None = None) -> list[str]:
    return textwrap.wrap(
        text,
        width=WIDTH,
        initial_indent=first,
        subsequent_indent=" " * len(first) if rest is None else rest,
        break_long_words=True,
    )


def _clock(instant: str | None) -> str:
    return NONE if instant is None else f"{instant[11:16]}Z"


def _tens(value: float | None, rounded: Callable[[float], int]) -> str:
    """To 10 kg, up or down."""
    return NONE if value is None else str(rounded(value / STEP_KG) * STEP_KG)


def _kg(value: float | None) -> str:
    """Rounded down to 10 kg, as a margin must be."""
    return NONE if value is None else f"{_tens(value, floor)} kg"


def _cost_kg(value: float | None) -> str:
    """Rounded up to 10 kg: what something takes, never less than the truth."""
    return NONE if value is None else f"{_tens(value, ceil)} kg"


def _most(value: float | None, unit: str) -> str:
    """Rounded up: a distance that is needed, a wind that blows across."""
    return NONE if value is None else f"{ceil(value)} {unit}"


def _whole(value: float | None, unit: str) -> str:
    return NONE if value is None else f"{floor(value)} {unit}"


def _title(answer: Data) -> Iterable[str]:
    rules = answer["provenance"]["rulebook"]["id"]
    yield f"{answer['flight_id']}  approach decision"
    yield f"{answer['as_of'][:10]} {_clock(answer['as_of'])}, rules: {rules}"
    yield "=" * WIDTH


def _decision(answer: Data) -> Iterable[str]:
    action = answer["action"]
    where = action["aerodrome"] + (f" runway {action['runway']}" if action["runway"] else "")
    yield f"{answer['verdict']}: {action['do']} {where}"
    yield from _wrapped(answer["headline"])
    if action["latest_at"] is not None and action["do"] == "DIVERT":
        yield f"Latest moment to leave: {_clock(action['latest_at'])}"
    yield f"Fuel state: {answer['fuel_state']}   Declare: {answer['emergency']['level']}"


def _reasons(answer: Data) -> Iterable[str]:
    if answer["reasons"]:
        yield "WHY"
    for reason in answer["reasons"]:
        yield from _wrapped(
            f"{reason['text']} ({reason['rule']}, {reason['citation']})", first=f"{INDENT}- "
        )


def _remedies(answer: Data) -> Iterable[str]:
    """Answers stored before they were looked for have none."""
    remedies = answer.get("remedies", ())
    if remedies:
        yield "TO MEET THE GRADIENT"
    for remedy in remedies:
        kind = remedy["kind"].replace("_", " ")
        yield from _wrapped(f"{kind}: {remedy['text']}", first=f"{INDENT}- ")


def _fuel(answer: Data) -> Iterable[str]:
    """Where each place leaves the tanks, the best way to it only."""
    best: dict[tuple[str, str], Data] = {}
    for course in answer["courses"]:
        if course["fuel"] is not None and course["from"] != "last_clean_point":
            best.setdefault((course["kind"], course["aerodrome"]), course)
    if best:
        yield "FUEL ON LANDING"
    for course in best.values():
        fuel = course["fuel"]
        yield (
            f"{INDENT}{_way(course):<33.33} {_landing(fuel):<18} "
            f"over reserve {_kg(fuel['margin_kg']):>8}"
        )
    if answer["minimum_fuel_to_start_kg"] is not None:
        least = _cost_kg(answer["minimum_fuel_to_start_kg"])
        yield f"{INDENT}Least fuel on board now to start with a way out: {least}"


def _landing(fuel: Data) -> str:
    """Fuel on landing in kilograms and minutes, or that there is none."""
    if fuel["landing_kg"] <= 0:
        return "   tanks empty"
    return f"{_kg(fuel['landing_kg']):>8} {_whole(fuel['landing_min'], 'min'):>8}"


def _way(course: Data) -> str:
    start = KIND[course["kind"]]
    if course["from"] == "last_clean_point":
        start = FROM_CLEAN_POINT
    return f"{start} {course['aerodrome']}"


def _clean_point(answer: Data) -> Iterable[str]:
    point = answer["last_clean_diversion"]
    if point["distance_to_go_nm"] is None:
        return
    yield "LAST CLEAN POINT"
    yield (
        f"{INDENT}{point['distance_to_go_nm']:.1f} NM to go, {_clock(point['at'])}, "
        f"{_kg(point['fuel_kg'])} on board"
    )
    for each in point["penalties"]:
        cost = (
            "cannot be reached after it"
            if each["fuel_penalty_kg"] is None
            else f"{_cost_kg(each['fuel_penalty_kg'])} more after it"
        )
        need = _cost_kg(each["clean_kg"])
        yield f"{INDENT}{each['aerodrome']}: {need} with reserve before it, {cost}"


def _course(answer: Data) -> Iterable[str]:
    chosen = _chosen(answer)
    if chosen is None:
        return
    yield "CHOSEN COURSE"
    level, arrive = chosen["cruise_pressure_altitude_ft"], chosen["time"]["arrive_at"]
    cruise = "" if level is None else f", cruise {level:.0f} ft {chosen['cruise_cas_kt']:.0f} kt"
    yield from _wrapped(
        f"{_way(chosen)}: {chosen['configuration']}{cruise}, arrive {_clock(arrive)}",
        first=INDENT,
    )
    for attempt in chosen["attempts"]:
        yield from _wrapped(_attempt(attempt), first=INDENT, rest=INDENT * 2)
    yield from _wrapped(_second_miss(chosen), first=INDENT, rest=INDENT * 2)


def _second_miss(course: Data) -> str:
    """How robust the course is: what another miss at its end would leave."""
    left = course.get("after_miss_there")
    if left is None:
        return ""
    onward = "no other place in reach with reserve"
    if left["next_aerodrome"] is not None:
        onward = f"then {left['next_aerodrome']}, {_kg(left['margin_kg'])} over reserve"
    elif left["distance_unknown"]:
        onward += f"; how far it is to {', '.join(left['distance_unknown'])} is not known"
    minutes = _whole(left["endurance_min"], "min")
    return f"after a miss at {course['aerodrome']}: {minutes} of fuel, {onward}"


def _attempt(attempt: Data) -> str:
    words = [
        f"{attempt['aerodrome']} {attempt['approach'] or 'no procedure'}",
        f"flap {attempt['flap']}",
        f"{attempt['approach_speed_kt']:.0f} kt, category {attempt['category'] or NONE}",
        f"landing {_most(attempt['landing_distance_m'], 'm')} unfactored "
        f"of {_whole(attempt['lda_m'], 'm')}",
        f"headwind {_whole(attempt['headwind_kt'], 'kt')}",
        f"crosswind {_most(attempt['crosswind_kt'], 'kt')}",
    ]
    gradient = attempt["missed_gradient_percent"]
    if gradient is not None:
        words.append(f"climbs {floor(gradient * 10) / 10:.1f} %")
    return ", ".join(words)


def _chosen(answer: Data) -> Data | None:
    """The course of the recommended action."""
    for course in answer["courses"]:
        if course["course"] == answer["action"]["course"]:
            found: Data = course
            return found
    return None


def _say(answer: Data) -> Iterable[str]:
    if answer["messages"]:
        yield "TELL"
    for message in answer["messages"]:
        yield from _wrapped(f"{TOLD[message['to']]}: {message['text']}", first=f"{INDENT}- ")


def _outlook(answer: Data) -> Iterable[str]:
    look, valid = answer["next_look"], answer["valid_until"]
    yield from _wrapped(f"{_clock(look['at'])}, {look['why']}", first="NEXT LOOK    ")
    yield from _wrapped(f"{_clock(valid['at'])}, {valid['why']}", first="VALID UNTIL  ")
    holding = answer["holding"]
    if holding["available_min"] is not None:
        yield from _wrapped(
            f"{_whole(holding['available_min'], 'min')}, until {_clock(holding['until'])}: "
            f"{holding['limited_by']}",
            first="HOLDING      ",
        )


def _cautions(answer: Data) -> Iterable[str]:
    if answer["cautions"]:
        yield "CAUTIONS"
    for caution in answer["cautions"]:
        yield from _wrapped(f"{MARK[caution['weight']]}: {caution['text']}", first=f"{INDENT}- ")


def _unknowns(answer: Data) -> Iterable[str]:
    unknowns: Sequence[str] = answer["unknowns"]
    if unknowns:
        yield "NOT KNOWN"
    for text in unknowns[:MOST_UNKNOWNS]:
        yield from _wrapped(text, first=f"{INDENT}- ")
    if len(unknowns) > MOST_UNKNOWNS:
        yield f"{INDENT}and {len(unknowns) - MOST_UNKNOWNS} more; see the full answer"


def _table(answer: Data) -> Iterable[str]:
    yield "-" * WIDTH
    yield "COURSES, best first"
    yield f"{'':3}{'course':<37}{'':<11}{'needs':>7}{'lands':>7}{'margin':>7}{'arrive':>8}"
    for course in answer["courses"]:
        fuel = course["fuel"] or {}
        figures = (
            _tens(fuel.get("required_kg"), ceil),
            _tens(fuel.get("landing_kg"), floor),
            _tens(fuel.get("margin_kg"), floor),
        )
        yield (
            f"{course['rank']:>2} {_way(course):<36.36} {LEGAL[course['legal']]:<11}"
            + "".join(f"{figure:>7}" for figure in figures)
            + f"{_clock(course['time']['arrive_at']):>8}"
        ).rstrip()
        if course["legal"] is not True:
            yield from _wrapped(_against(course), first="     ", rest="     ")
    yield "Kilograms, needs rounded up, the rest down; needs and margin are with reserve."


def _against(course: Data) -> str:
    """The first thing that stands against a course."""
    for outcome in ("FAIL", "UNKNOWN"):
        for finding in course["findings"]:
            if finding["outcome"] == outcome:
                return f"{finding['rule']}: {finding['text']}"
    return ""


def _ahead(answer: Data) -> Iterable[str]:
    """What has to be done on the way to the threshold; what is for good says so."""
    if answer["timeline"]:
        yield "ON THE WAY TO THE THRESHOLD"
    for step in answer["timeline"]:
        notes = ["CANNOT BE UNDONE"] if step["cannot_be_undone"] else []
        if step["late_nm"] > 0:
            notes.append(f"late by {step['late_nm']:.1f} NM")
        yield (
            f"{INDENT}{step['distance_to_go_nm']:>6.1f} NM  {_clock(step['at'])}  "
            f"{step['minutes']:>4.1f} min  {step['step']:<40.40}"
        ).rstrip()
        if notes:
            yield f"{'':28}{'; '.join(notes)}"


def _extensions(answer: Data) -> Iterable[str]:
    """What it costs to put the gear out early; older answers do not say."""
    extensions = answer.get("gear_extension", ())
    if extensions:
        yield "GEAR OUT AT    fuel at the minimum"
    for each in extensions:
        more = f", {_cost_kg(each['more_kg'])} less" if each["more_kg"] > 0.0 else ""
        planned = ", as planned" if each["planned"] else ""
        yield (
            f"{INDENT}{each['distance_to_go_nm']:>6.1f} NM  "
            f"{_kg(each['at_missed_approach_kg']):>8}{more}{planned}"
        )


def _steps(answer: Data) -> Iterable[str]:
    chosen = _chosen(answer)
    if chosen is None or not chosen["steps"]:
        return
    yield f"STEPS of: {_way(chosen)}"
    for step in chosen["steps"]:
        yield (
            f"{INDENT}{step['name']:<30.30}{step['distance_nm']:>7.1f} NM"
            f"{step['time_min']:>7.1f} min{step['fuel_kg']:>7.0f} kg"
            f"{step['pressure_altitude_ft']:>8.0f} ft"
        )


def _foot(answer: Data) -> Iterable[str]:
    yield "-" * WIDTH
    stated = [
        f"{ACCURACY_OF[each['of']]} {each['within']:g} {ACCURACY_UNIT[each['unit']]}"
        for each in answer.get("accuracy", ())  # answers stored before it was stated have none
    ]
    if stated:
        yield from _wrapped(f"Model error: {', '.join(stated)}")
    yield from _wrapped(answer["disclaimer"])
