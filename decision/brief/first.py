"""The first screen: what to do, read in ten seconds, without a code or a citation.

Each line answers one question, in the order in which a crew asks. Where a text is longer than its
line allows it is cut and says so; it stands in full further below.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final

from decision.brief.cautions import Place, cautions_told
from decision.brief.layout import (
    CUT,
    WIDTH,
    Data,
    clock_down,
    clock_up,
    counted,
    joined,
    kg_down,
    kg_up,
    shortened,
    up,
)
from decision.brief.reading import (
    LANDING_RULE,
    NO_END_TOLD,
    NOTHING_DECLARED,
    TIME_CRITICAL,
    URGENT,
    attempt_of_action,
    breaks_of,
    chosen_of,
    cruise_text,
    finding_at,
    first_of,
    is_at_most,
    is_straight,
    labelled,
    landing_distance,
    landing_fuel,
    margin_text,
    minutes_to,
    stays_here,
    touchdown_of,
    wind_text,
)

SCREEN_LINES: Final = 24  # with the ruled line that ends the screen
ROOM: Final = SCREEN_LINES - 4  # title, a blank, who decides, ruled line
LABEL: Final = 11
MOST_PLACES: Final = 3
WHO_DECIDES: Final = "The operator's manuals and the licensed crew decide. Figures follow below."
KIND_INSTEAD: Final = {
    "approach_then_divert": "the same approach, after a missed approach",
    "divert_now": "divert to",
    "hold_then_approach": "hold, then approach here; after a missed approach",
    "commit_to_land": "land with no way out at",
}
NO_DANGER: Final = "none found in what was given"
ABOUT_THE_HOLD: Final = frozenset({"refuse_hold", "shorten_hold"})
HOLDING_ENDS: Final = "holding ends: "
ABOUT_COMMITTING: Final = " for a committed landing"
SOURCE: Final = re.compile(r"\s*\[[A-Z][A-Z0-9-]*\]")  # a key of the bibliography inside a text


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One question and its answer; `most` lines at the most. `group`: what is set apart.

    `least`: it is not cut to fewer lines as long as something else can be.
    """

    label: str
    text: str
    most: int
    group: int
    least: int = 1

    @property
    def is_cut(self) -> bool:
        """Whether some of it is left for further below."""
        return self.lines()[-1].endswith(CUT)

    @property
    def spare(self) -> int:
        """Lines that may be cut."""
        return len(self.lines()) - self.least

    @property
    def whole(self) -> str:
        """The text, without what it cites."""
        return SOURCE.sub("", self.text)

    def lines(self) -> list[str]:
        """Laid out."""
        told = shortened(self.whole, width=WIDTH - LABEL, most=self.most)
        return [f"{'' if row else self.label:<{LABEL}}{text}" for row, text in enumerate(told)]


def questions_answered(answer: Data) -> list[Line]:
    """Every line of the first screen, none cut."""
    return [line for part in PARTS for line in part(answer)]


def first_screen(answer: Data) -> list[str]:
    """All of it; never more than the lines of a screen."""
    title = f"{answer['flight_id'][:40]}  {answer['as_of'][:10]} {clock_down(answer['as_of'])}"
    rules = f", rules: {answer['provenance']['rulebook']['id']}"
    return [f"{title}{rules}"[:WIDTH], *_apart(_fitted(answer)), "", WHO_DECIDES]


def cut_short(answer: Data) -> list[tuple[str, str]]:
    """Label and whole text of what the first screen had to cut."""
    return [(line.label, line.text) for line in _fitted(answer) if line.is_cut]


def _fitted(answer: Data) -> list[Line]:
    """Cut where most is said, until all has room."""
    fitted = questions_answered(answer)
    while _height(fitted) > ROOM:
        row = max(range(len(fitted)), key=lambda each: (fitted[each].spare, each))
        fitted[row] = replace(fitted[row], most=len(fitted[row].lines()) - 1)
    return fitted


def _height(told: Sequence[Line]) -> int:
    return sum(len(line.lines()) for line in told)


def _apart(fitted: Sequence[Line]) -> list[str]:
    """Groups set apart, as far as there is room for it."""
    blanks = ROOM - _height(fitted)
    lines: list[str] = []
    for before, line in zip([None, *fitted], fitted, strict=False):
        if blanks and (before is None or before.group != line.group):
            lines.append("")
            blanks -= 1
        lines += line.lines()
    return lines


def _action(answer: Data) -> Iterable[Line]:
    action = answer["action"]
    chosen = chosen_of(answer)
    if answer["basis"] == TIME_CRITICAL:
        here = _direct(answer, action["aerodrome"]) or chosen
        minutes = "" if here is None else minutes_to(here)
        at = None if here is None else touchdown_of(here)
        yield Line(label="TOUCHDOWN", text=joined([minutes, clock_up(at)]), most=1, group=0)
    where = f"{action['aerodrome']} runway {action['runway']}" if action["runway"] else None
    yield Line(
        label="ACTION", text=f"{action['do']} {where or action['aerodrome']}", most=1, group=0
    )


def _leave(answer: Data) -> Iterable[Line]:
    """By when, where and with what; an approach and a committed landing carry no deadline."""
    do = answer["action"]["do"]
    if do not in ("DIVERT", "HOLD"):
        return
    deadline = answer.get("deadline")
    until_then = joined(answer.get("until_then", ()), "; ")
    when = "On the way" if deadline is None else "Until then"
    not_yet = f"{when} {until_then}." if until_then else ""
    if deadline is None:
        at = answer["action"].get("latest_at")
        text = clock_down(at) if at else ("not known" if do == "HOLD" else "now")
    else:
        text = _deadline(deadline)
    if text.startswith(clock_down(answer["as_of"])):
        text = f"now, {text}"
    label, planned = ("HOLD", _planned_hold(answer)) if do == "HOLD" else ("LEAVE BY", "")
    yield Line(label=label, text=joined([planned, f"{text}.", not_yet], " "), most=3, group=0)


def _planned_hold(answer: Data) -> str:
    """How long the hold is meant to be; the time after it is its end at the latest."""
    chosen = chosen_of(answer)
    hold_min = 0.0 if chosen is None else chosen["time"]["hold_min"]
    planned = f"{up(hold_min, 'min')}, then approach; " if hold_min > 0.0 else ""
    return f"{planned}leave the hold at the latest by"


def _deadline(deadline: Data) -> str:
    to_go_nm, fuel_kg = deadline["distance_to_go_nm"], deadline["fuel_kg"]
    text = joined(
        [
            clock_down(deadline["at"]),
            deadline["what"].removeprefix(HOLDING_ENDS),
            "" if to_go_nm is None else f"{to_go_nm:.1f} NM to go",
            "" if fuel_kg is None else f"{kg_down(fuel_kg)} on board",
        ]
    )
    holding_until = deadline["holding_until"]
    waiting = "" if holding_until is None else f"; or by {clock_down(holding_until)} holding here"
    return f"{text}{waiting}"


def _because(answer: Data) -> Iterable[Line]:
    """What decides, with its figure; what the chosen course breaks, if it breaks something."""
    chosen = chosen_of(answer)
    urgent = answer["basis"] == TIME_CRITICAL
    broken = [] if chosen is None else breaks_of(chosen, urgent=urgent)
    if broken and not stays_here(answer):
        only = "breaks only" if len(broken) == 1 else "breaks"
        yield Line(label="BECAUSE", text=f"{only}: {joined(broken, '; ')}", most=3, group=0)
        return
    text = _reason(answer, chosen)
    if text:
        yield Line(label="BECAUSE", text=text, most=3, group=0)


def _reason(answer: Data, chosen: Data | None) -> str:
    if answer["basis"] == TIME_CRITICAL:
        return "landing as soon as possible: the earliest touchdown decides"
    if answer["basis"] == "NEAREST_SUITABLE":
        return f"the failure asks for the nearest suitable place: {_minutes_of_each(answer)}"
    why = _first_reason(answer)
    if answer["basis"] == "NO_ALTERNATE":
        why = f"a sound aircraft that may come without an alternate; {why}"
    group = "" if chosen is None else chosen.get("rests_on", "")
    return joined([f"to improve by '{group}'" if group else "", why], ": ")


def _minutes_of_each(answer: Data) -> str:
    """The place of the action first, then the others as they are reached."""
    chosen = answer["action"]["aerodrome"]
    direct = sorted(_earliest_first(answer), key=lambda each: each["aerodrome"] != chosen)
    return joined(f"{each['aerodrome']} in {minutes_to(each)}" for each in direct[:MOST_PLACES])


def _first_reason(answer: Data) -> str:
    """The first reason; one that is about a diversion after a missed approach says so."""
    if not answer["reasons"]:
        return ""
    reason = answer["reasons"][0]
    course = labelled(answer, reason["course"])
    missed = course is not None and course["kind"] == "approach_then_divert"
    elsewhere = course is not None and reason["at"] == course["aerodrome"]
    return f"{'after a missed approach ' if missed and elsewhere else ''}{reason['text']}"


def _places(answer: Data) -> Iterable[Line]:
    """Urgent: the places beside one another with their minutes, the earliest first."""
    if answer["basis"] not in URGENT:
        return
    direct = _earliest_first(answer)
    told = direct[:MOST_PLACES]
    best = next((each for each in answer["courses"] if each in direct and each["legal"]), None)
    chosen = _direct(answer, answer["action"]["aerodrome"])
    for wanted in (best, chosen):
        if wanted is not None and wanted not in told:
            told[-1:] = [wanted]
    for row, course in enumerate(told):
        yield Line(
            label="" if row else "PLACES",
            text=_place(course, best=course is best, chosen=course is chosen),
            most=2,
            group=1,
        )


def _place(course: Data, *, best: bool, chosen: bool) -> str:
    broken = counted(breaks_of(course, urgent=True), 2)
    standing = "breaks nothing"
    if broken:
        standing = "breaks as above" if chosen else f"breaks {joined(broken, '; ')}"
    elif course["legal"] is None:
        standing = "not all is known"
    where = f"{course['aerodrome']} {course['runway'] or ''}".rstrip()
    return f"{where}: " + joined(
        [
            minutes_to(course),
            clock_up(touchdown_of(course)),
            landing_fuel(course),
            "best legal place" if best and not broken else standing,
        ]
    )


def _earliest_first(answer: Data) -> list[Data]:
    """The best straight way to each place, by touchdown; those that are not flown are left out."""
    first: dict[str, Data] = {}
    for course in answer["courses"]:
        if is_straight(course) and touchdown_of(course) is not None:
            first.setdefault(course["aerodrome"], course)
    return sorted(first.values(), key=lambda each: str(touchdown_of(each)))


def _direct(answer: Data, place: str) -> Data | None:
    return next((each for each in _earliest_first(answer) if each["aerodrome"] == place), None)


def _danger(answer: Data) -> Iterable[Line]:
    """What can kill: hazards and failures first, then weather or stopping that is not known."""
    cautions = cautions_told(answer)
    texts = [
        each.text
        for each in cautions
        if each.place is Place.DANGER or (each.place, each.weight) == (Place.REPORTS, "warning")
    ]
    attempt = attempt_of_action(answer)
    place = "" if attempt is None else attempt["aerodrome"]
    stopping = finding_at(chosen_of(answer), LANDING_RULE, place)
    if stopping is not None and stopping["outcome"] == "UNKNOWN":
        texts.append(f"{stopping['text']}: whether it stops is not known.")
    told = " ".join(counted(texts, 2)) or NO_DANGER
    mild = next((each.text for each in cautions if each.weight != "info"), None)
    if not texts and mild is not None and answer["verdict"] == "GO_WITH_CAUTION":
        told = f"{NO_DANGER}; with caution for: {mild}"
    yield Line(label="DANGER", text=told, most=3, group=0)


def _approach(answer: Data) -> Iterable[Line]:
    """The verdict on an approach with a missed approach in mind, and what is left after one."""
    ways, after = answer.get("ways_out"), first_of(answer, "approach_then_divert")
    many = ""
    if ways is not None:
        known = " known" if after is not None and after["legal"] is None else ""
        many = f"{ways or 'no'} way{'s' if ways > 1 else ''} out{known} after a missed approach"
    text = joined([answer["verdict"], many], ": ")
    if after is not None:
        best = "best of them" if ways else "the best is"
        text += f"; {best} {after['aerodrome']}: {joined([cruise_text(after), _left(after)])}"
    yield Line(label="APPROACH", text=text, most=3, group=1)


def _left(after: Data) -> str:
    """What a diversion after a missed approach leaves; what else it breaks if fuel is not it."""
    broken = breaks_of(after)
    if broken and after["fuel"] is not None and after["fuel"]["margin_kg"] >= 0.0:
        return f"breaks {broken[0]}"
    return margin_text(after)


def _landing(answer: Data) -> Iterable[Line]:
    chosen = chosen_of(answer)
    if chosen is None:
        return
    parts = [*_landing_here(answer, chosen)] if stays_here(answer) else [_landed(chosen)]
    least = answer.get("minimum_fuel_to_start_kg")
    if least is not None and answer["basis"] not in URGENT and not is_at_most(chosen):
        parts.append(f"to start the approach with a way out at least {kg_up(least)} on board now")
    yield Line(label="LANDING", text=f"{joined(parts, '; ')}.", most=4, group=1)


def _landing_here(answer: Data, chosen: Data) -> Iterable[str]:
    """At the destination, then where a missed approach leads."""
    if chosen["kind"] == "hold_then_approach":
        hold_min = up(chosen["time"]["hold_min"], "min")
        at = clock_up(chosen["time"]["missed_approach_at"])
        yield f"hold {hold_min}, approach at {at}"
    else:
        here = first_of(answer, "commit_to_land")
        waits = answer["action"]["do"] == "HOLD"
        if here is not None:
            yield f"{'without a hold ' if waits else ''}{_landed(here)}"
    if chosen["aerodrome"] != answer["action"]["aerodrome"]:
        yield f"after a missed approach {_landed(chosen)}"


def _landed(course: Data) -> str:
    minutes = minutes_to(course)
    if touchdown_of(course) is None:
        return f"{course['aerodrome']}: touchdown and fuel on landing not known"
    return joined(
        [
            f"{course['aerodrome']} {clock_up(touchdown_of(course))}"
            f"{f' in {minutes}' if minutes else ''}",
            landing_fuel(course),
            margin_text(course),
        ]
    )


def _runway(answer: Data) -> Iterable[Line]:
    attempt = attempt_of_action(answer)
    if attempt is None or attempt["runway"] is None:
        return
    text = joined(
        [
            f"{attempt['aerodrome']} {attempt['runway']}: "
            f"{landing_distance(chosen_of(answer), attempt)}",
            f"approach speed {attempt['approach_speed_kt']:.0f} kt",
            *wind_text(attempt),
        ]
    )
    yield Line(label="RUNWAY", text=text, most=2, group=1)


def _fuel_state(answer: Data) -> Iterable[Line]:
    state = answer["fuel_state"].replace("_", " ")
    emergency = answer.get("emergency") or NOTHING_DECLARED
    declare = f"declare {emergency['level']}"
    if emergency["level"] == "NONE":
        declare = emergency["reason"]
    yield Line(label="FUEL STATE", text=f"{state}; {declare}", most=2, group=2)
    for message in answer.get("messages", ()):
        if message["to"] == "air_traffic_control":
            yield Line(label="SAY", text=message["text"], most=5, least=3, group=2)


def _instead(answer: Data) -> Iterable[Line]:
    """The second-best course and its price; older answers do not name one."""
    instead = answer.get("instead")
    if instead is None:
        return
    course = labelled(answer, instead["course"])
    kind = "" if course is None else KIND_INSTEAD[course["kind"]]
    breaks = instead["breaks"] if course is None else breaks_of(course)
    broken = [each.replace(ABOUT_COMMITTING, "") for each in breaks]
    costs = joined(instead["costs"])
    price = joined([costs, f"breaks {joined(broken, '; ')}" if broken else ""], "; ")
    known = "" if course is None or course["legal"] is not None else "; not all is known of it"
    told = price or "not later, and no less fuel on landing"
    if not price and stays_here(answer):
        told += f", but not at {answer['action']['aerodrome']}"
    yield Line(
        label="INSTEAD",
        text=f"{joined([kind, instead['aerodrome']], ' ')}: {told}{known}.",
        most=3,
        group=3,
    )


def _ask(answer: Data) -> Iterable[Line]:
    asks = [
        f"{each['what']}, of {each['whom']}, "
        + ("at once" if each["by_at"] is None else f"by {clock_down(each['by_at'])}")
        for each in answer.get("ask", ())
    ] + [
        f"air traffic control: '{each['say']}'"
        for each in answer.get("remedies", ())
        if each["kind"] in ABOUT_THE_HOLD and each.get("say")
    ]
    if asks:
        text = f"{joined(counted(asks, 3), '; ')}."
        yield Line(label="ASK", text=text, most=3, least=2, group=3)


def _next(answer: Data) -> Iterable[Line]:
    look, valid = answer.get("next_look"), answer.get("valid_until")
    if look is None or valid is None:
        yield Line(label="NEXT LOOK", text=f"now: {NO_END_TOLD}.", most=2, group=3)
        return
    text = f"{clock_down(look['at'])}, {look['why']}; valid until {clock_down(valid['at'])}."
    if datetime.fromisoformat(valid["at"]) < datetime.fromisoformat(look["at"]):
        text = f"by {clock_down(valid['at'])}, when this answer ends: {valid['why']}."
    yield Line(label="NEXT LOOK", text=text, most=2, group=3)


PARTS: Final[tuple[Callable[[Any], Iterable[Line]], ...]] = (
    _action,
    _leave,
    _because,
    _danger,
    _places,
    _approach,
    _landing,
    _runway,
    _fuel_state,
    _instead,
    _ask,
    _next,
)
