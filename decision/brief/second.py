"""The second screen: every figure, with rule, citation and how well it is known."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import ceil, floor
from typing import Final

from decision.brief.cautions import cautions_told
from decision.brief.first import cut_short
from decision.brief.fuel_ahead import fuel_ahead
from decision.brief.layout import (
    INDENT,
    NONE,
    WIDTH,
    Data,
    clock_down,
    clock_up,
    counted,
    down,
    in_tens,
    joined,
    kg_down,
    kg_up,
    room_kg,
    tens,
    tenth_down,
    wrapped,
)
from decision.brief.reading import (
    NO_END_TOLD,
    NOTHING_DECLARED,
    chosen_of,
    cruise_text,
    gradient_text,
    landing_distance,
    landing_fuel,
    margin_text,
    touchdown_of,
    way,
    wind_text,
)

STEPS: Final = ("steps",)  # of an answer that does not say what was asked for
MOST_LISTED: Final = 4
TOLD: Final = {
    "air_traffic_control": "Air traffic control",
    "cabin": "Cabin",
    "dispatch": "Dispatch",
}
FOR_THE_GRADIENT: Final = frozenset({"another_minimum", "another_runway", "less_mass"})
LEGAL: Final = {True: "legal", False: "NOT LEGAL", None: "UNKNOWN"}
ADVISED_AGAINST: Final = "advised against"
# One line for the accuracy of the model, 19 cases of 20.
ACCURACY_OF: Final = {
    "clean_fuel": "fuel",
    "degraded_fuel": "degraded",
    "climb_gradient": "climb",
    "dry_landing": "landing",
    "contaminated_landing": "slippery",
}
ACCURACY_UNIT: Final = {"percent": "%", "point": "pt"}


def second_screen(answer: Data) -> list[list[str]]:
    """Its parts in order; a part without anything to say has no lines."""
    parts = (
        _in_words,
        _in_full,
        _tell,
        _why,
        _cautions,
        _courses,
        _chosen,
        _clean_point,
        _valid,
        _holding,
        _ahead,
        fuel_ahead,
        _extensions,
        _remedies,
        _other_runways,
        _flips,
        _spread,
        _rulebooks,
        _steps,
        _unknowns,
        _assumptions,
    )
    return [list(part(answer)) for part in parts]


def _bullets(texts: Iterable[str]) -> Iterable[str]:
    for text in texts:
        yield from wrapped(text, first=f"{INDENT}- ")


def _listed(heading: str, texts: Sequence[str], *, most: int | None = None) -> Iterable[str]:
    """A heading and what stands under it; no heading without anything."""
    if texts:
        yield heading
        yield from _bullets(texts if most is None else texts[:most])
    if most is not None and len(texts) > most:
        yield f"{INDENT}and {len(texts) - most} more; see the full answer"


def _in_words(answer: Data) -> Iterable[str]:
    yield "IN WORDS"
    yield from wrapped(answer["headline"], first=INDENT)
    yield f"{INDENT}{answer['verdict']}, basis {answer['basis']}"
    emergency = answer.get("emergency") or NOTHING_DECLARED
    if emergency["level"] != "NONE":
        yield from wrapped(
            f"Declare {emergency['level']}: {emergency['reason']} ({emergency['basis']})",
            first=INDENT,
        )


def _in_full(answer: Data) -> Iterable[str]:
    """What the first screen had to cut; what is said to air traffic control stands under TELL."""
    yield from _listed(
        "IN FULL",
        [f"{label.lower()}: {text}" for label, text in cut_short(answer) if label != "SAY"],
    )


def _tell(answer: Data) -> Iterable[str]:
    yield from _listed(
        "TELL", [f"{TOLD[each['to']]}: {each['text']}" for each in answer.get("messages", ())]
    )


def _why(answer: Data) -> Iterable[str]:
    yield from _listed(
        "WHY",
        [f"{each['text']} ({each['rule']}, {each['citation']})" for each in answer["reasons"]],
    )


def _cautions(answer: Data) -> Iterable[str]:
    yield from _listed("CAUTIONS", [each.marked for each in cautions_told(answer)])


def _courses(answer: Data) -> Iterable[str]:
    """Every figure counted from the fuel on board now."""
    yield "COURSES, best first"
    yield f"{'':3}{'course':<32} {'':<15}{'needs':>7}{'lands':>7}{'margin':>7}{'at':>7}"
    for course in answer["courses"]:
        fuel = course["fuel"] or {}
        figures = (
            tens(fuel.get("required_now_kg"), ceil),
            _lands(fuel),
            str(room_kg(fuel)) if fuel else NONE,
            clock_up(touchdown_of(course)),
        )
        yield (
            f"{course['rank']:>2} {way(course):<32.32} {_standing(course):<15}"
            + "".join(f"{figure:>7}" for figure in figures)
        ).rstrip()
        yield from wrapped(_against(course), first="     ")
    yield from wrapped(
        "Kilograms. Needs: on board now to land on final reserve, rounded up; fuel on landing and "
        f"margin above final reserve rounded down. {_on_board(answer)}".rstrip()
    )


def _lands(fuel: Data) -> str:
    """Fuel on landing in tens of kilograms; there is none below nothing."""
    landing_kg = fuel.get("landing_kg")
    return "empty" if landing_kg is not None and landing_kg <= 0.0 else tens(landing_kg, floor)


def _on_board(answer: Data) -> str:
    on_board_kg = answer.get("fuel_on_board_kg")
    return "" if on_board_kg is None else f"On board now {kg_down(on_board_kg)}."


def _standing(course: Data) -> str:
    if course["legal"] is True and course.get("advised_against"):
        return ADVISED_AGAINST
    return LEGAL[course["legal"]]


def _against(course: Data) -> str:
    """What stands against a course: the first thing, and how many more there are."""
    if course["legal"] is True and not course.get("advised_against"):
        return ""
    for outcome in ("FAIL", "UNKNOWN"):
        texts = [
            f"{finding['rule']}: {finding['text']}"
            for finding in course["findings"]
            if finding["outcome"] == outcome
        ]
        if texts:
            return joined(counted(texts, 1), "; ")
    return ""


def _chosen(answer: Data) -> Iterable[str]:
    chosen = chosen_of(answer)
    if chosen is None:
        return
    yield "CHOSEN COURSE"
    yield from wrapped(
        joined(
            [
                f"{way(chosen)}: {cruise_text(chosen)}",
                f"touchdown {clock_up(touchdown_of(chosen))}",
                landing_fuel(chosen),
                margin_text(chosen),
            ]
        ),
        first=INDENT,
        rest=INDENT * 2,
    )
    for attempt in chosen.get("attempts", ()):
        yield from wrapped(_attempt(chosen, attempt), first=INDENT, rest=INDENT * 2)
    yield from wrapped(_second_miss(chosen), first=INDENT, rest=INDENT * 2)


def _attempt(course: Data, attempt: Data) -> str:
    return joined(
        [
            f"{attempt['aerodrome']} {attempt['approach'] or 'no procedure'}",
            f"flap {attempt['flap']}",
            f"approach speed {attempt['approach_speed_kt']:.0f} kt",
            f"category {attempt['category'] or NONE}",
            landing_distance(course, attempt),
            *wind_text(attempt),
            gradient_text(course, attempt),
        ]
    )


def _second_miss(course: Data) -> str:
    """How robust the course is: what another miss at its end would leave."""
    left = course.get("after_miss_there")
    if left is None:
        return ""
    onward = "no other place in reach with reserve"
    if left["next_aerodrome"] is not None:
        onward = f"then {left['next_aerodrome']}, {kg_down(left['margin_kg'])} above final reserve"
    elif left["distance_unknown"]:
        onward += f"; how far it is to {joined(left['distance_unknown'])} is not known"
    minutes = down(left["endurance_min"], "min")
    after = f"after a missed approach at {course['aerodrome']}"
    return f"{after}: {minutes} of fuel, {onward}{_climbs(left)}"


def _climbs(left: Data) -> str:
    """The climb after it; older answers do not say."""
    climb, asked = (left.get(f"{kind}_gradient_percent") for kind in ("missed", "published"))
    if climb is None or asked is None:
        return ""
    return f"; climb there {tenth_down(climb)} %, asked for {asked:.1f} %"


def _clean_point(answer: Data) -> Iterable[str]:
    """What leaving there needs, counted as its course is, and what passing it costs."""
    point = answer["last_clean_diversion"]
    if point["distance_to_go_nm"] is None:
        return
    yield "LAST CLEAN POINT"
    yield (
        f"{INDENT}{point['distance_to_go_nm']:.1f} NM to go, {clock_down(point['at'])}, "
        f"{kg_down(point['fuel_kg'])} on board there"
    )
    for each in point.get("penalties", ()):
        yield from wrapped(_penalty(answer, each), first=INDENT, rest=INDENT * 2)


def _penalty(answer: Data, penalty: Data) -> str:
    cost = "cannot be reached after it"
    if penalty["fuel_penalty_kg"] is not None:
        cost = f"{kg_up(penalty['fuel_penalty_kg'])} more after it"
    leaving = next(
        (
            each["fuel"]
            for each in answer["courses"]
            if each.get("from") == "last_clean_point" and each["aerodrome"] == penalty["aerodrome"]
        ),
        None,
    )
    if leaving is None:
        return f"{penalty['aerodrome']}: {cost}"
    return (
        f"{penalty['aerodrome']}: {kg_up(leaving['required_kg'])} there with final reserve, {cost}"
    )


def _valid(answer: Data) -> Iterable[str]:
    """When the first thing in this answer stops holding."""
    valid = answer.get("valid_until")
    told = NO_END_TOLD if valid is None else f"{clock_down(valid['at'])}, {valid['why']}"
    yield from wrapped(told, first="VALID UNTIL  ")


def _holding(answer: Data) -> Iterable[str]:
    """Both deadlines, each with what it keeps; older answers have one."""
    holding = answer.get("holding") or {}
    both = [
        (name, holding.get(member))
        for name, member in (
            ("for a clean diversion", "clean_diversion"),
            ("for an approach with a way out after a missed approach", "approach_and_miss"),
        )
    ]
    told = [
        f"{name}: {down(each['available_min'], 'min')}, until {clock_down(each['until'])}, "
        f"{each['limited_by']}"
        for name, each in both
        if each is not None
    ]
    if not told and holding.get("available_min") is not None:
        told = [
            f"{down(holding['available_min'], 'min')}, until {clock_down(holding['until'])}, "
            f"{holding['limited_by']}"
        ]
    yield from _listed("HOLDING", told)


def _ahead(answer: Data) -> Iterable[str]:
    """What has to be done on the way to the threshold; what is for good says so."""
    if answer.get("timeline"):
        yield "ON THE WAY TO THE THRESHOLD"
    for step in answer.get("timeline", ()):
        notes = ["CANNOT BE UNDONE"] if step["cannot_be_undone"] else []
        if step["late_nm"] > 0:
            notes.append(f"late by {step['late_nm']:.1f} NM")
        yield (
            f"{INDENT}{step['distance_to_go_nm']:>6.1f} NM  {clock_down(step['at'])}  "
            f"{step['minutes']:>4.1f} min  {step['step']:<40.40}"
        ).rstrip()
        if notes:
            yield f"{'':28}{'; '.join(notes)}"


def _extensions(answer: Data) -> Iterable[str]:
    """What it costs to put the gear out early, by the figures shown; older answers do not say."""
    extensions = answer.get("gear_extension", ())
    if extensions:
        yield "GEAR OUT AT    fuel at the minimum"
    left_kg = [in_tens(each["at_missed_approach_kg"], floor) for each in extensions]
    most_kg = max(left_kg, default=0)
    for each, own_kg in zip(extensions, left_kg, strict=True):
        less = f", {most_kg - own_kg} kg less" if own_kg < most_kg else ""
        planned = ", as planned" if each["planned"] else ""
        yield (f"{INDENT}{each['distance_to_go_nm']:>6.1f} NM  {f'{own_kg} kg':>8}{less}{planned}")


def _remedies(answer: Data) -> Iterable[str]:
    """Answers stored before they were looked for have none."""
    remedies = answer.get("remedies", ())
    gradient = [_remedy(each) for each in remedies if each["kind"] in FOR_THE_GRADIENT]
    other = [_remedy(each) for each in remedies if each["kind"] not in FOR_THE_GRADIENT]
    yield from _listed("TO MEET THE GRADIENT", gradient)
    yield from _listed("WHAT WOULD HELP", other)


def _remedy(remedy: Data) -> str:
    text = f"{remedy['kind'].replace('_', ' ')}: {remedy['text']}"
    return f"{text.rstrip('.')}. Say: '{remedy['say']}'" if remedy.get("say") else text


def _other_runways(answer: Data) -> Iterable[str]:
    """The second runway of each place, and what it lacks."""
    told = [
        f"{each['aerodrome']} {each['runway']}, {each['approach'] or 'no procedure'}: "
        f"{joined(each['lacks'], '; ') or 'breaks nothing'}"
        for each in answer.get("other_runways", ())
    ]
    yield from _listed("OTHER RUNWAYS", told)


def _flips(answer: Data) -> Iterable[str]:
    """How far one figure alone would have to move."""
    yield from _listed(
        "WHAT WOULD TURN IT", [_flip(each) for each in answer.get("flip_points") or ()]
    )


def _flip(point: Data) -> str:
    unit = "" if point["unit"] is None else f" {point['unit']}"
    now = "not known" if point["present"] is None else f"{point['present']:g}{unit}"
    if point["flips_at"] is None:
        return f"{point['input']}: now {now}, does not turn it alone"
    return f"{point['input']}: now {now}, at {point['flips_at']:g}{unit} {point['to_verdict']}"


def _spread(answer: Data) -> Iterable[str]:
    """How the fuel on landing of the chosen course may turn out."""
    spread = answer.get("uncertainty")
    if spread is None:
        return
    yield "SPREAD OF FUEL ON LANDING"
    low, middle, high = (spread[f"landing_fuel_p{each}_kg"] for each in (5, 50, 95))
    chance, flights = spread["below_final_reserve_probability"] * 100.0, spread["samples"]
    yield from wrapped(
        f"{kg_down(low)} in the worst of 20, {kg_down(middle)} in the middle, {kg_down(high)} in "
        f"the best of 20; under final reserve in {ceil(chance)} of 100 ({flights} flights)",
        first=INDENT,
    )


def _rulebooks(answer: Data) -> Iterable[str]:
    """What the others say; the answer itself is that of its own."""
    own = answer["provenance"]["rulebook"]["id"]
    yield from _listed(
        "UNDER OTHER RULES",
        [
            f"{each['rulebook']}: {each['verdict']}, {each['do']}, {each['basis']}. "
            f"{each['headline']}"
            for each in answer.get("rulebooks_compared") or ()
            if each["rulebook"] != own
        ],
    )


def _steps(answer: Data) -> Iterable[str]:
    chosen = chosen_of(answer)
    if chosen is None or not chosen.get("steps") or "steps" not in answer.get("included", STEPS):
        return
    yield f"STEPS of: {way(chosen)}"
    for step in chosen["steps"]:
        yield (
            f"{INDENT}{step['name']:<30.30}{step['distance_nm']:>7.1f} NM"
            f"{step['time_min']:>7.1f} min{step['fuel_kg']:>7.0f} kg"
            f"{step['pressure_altitude_ft']:>8.0f} ft"
        )


def _unknowns(answer: Data) -> Iterable[str]:
    yield from _listed("NOT KNOWN", answer["unknowns"], most=MOST_LISTED)


def _assumptions(answer: Data) -> Iterable[str]:
    told = [each["text"] for each in answer.get("assumptions", ())]
    yield from _listed("ASSUMED", told, most=MOST_LISTED)


def foot(answer: Data) -> Iterable[str]:
    """What to make of it: the ruled line, the error of the model, who decides, by what data."""
    yield "-" * WIDTH
    stated = [
        f"{ACCURACY_OF[each['of']]} {each['within']:g} {ACCURACY_UNIT[each['unit']]}"
        for each in answer.get("accuracy", ())  # answers stored before it was stated have none
    ]
    if stated:
        yield from wrapped(f"Model error: {', '.join(stated)}")
    by = answer["provenance"]
    data = [f"{by[each]['id']} {by[each]['version']}" for each in ("rulebook", "profile")]
    yield from wrapped(f"Engine {by['engine_version']}, {joined(data)}")
    yield from wrapped(answer["disclaimer"])
