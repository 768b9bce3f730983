"""What a page of a decision shows: the first screen, figures, tables; words are the brief's."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from math import ceil, floor
from typing import Final

from markupsafe import Markup
from msgspec import Struct
from msgspec.structs import replace

from decision.answer.reading import joined
from decision.brief.cautions import cautions_told
from decision.brief.first import Line, questions_answered
from decision.brief.layout import (
    NONE,
    Data,
    clock_down,
    clock_up,
    counted,
    in_tens,
    kg_down,
    kg_up,
    room_kg,
    tens,
)
from decision.brief.reading import (
    NOTHING_DECLARED,
    TIME_CRITICAL,
    breaks_of,
    chosen_of,
    first_of,
    minutes_to,
    touchdown_of,
)
from decision.legible import all_on_one_line
from service.page.drawing import Sheet
from service.page.figures.climb import climb_figure, climb_sentence
from service.page.figures.figure import Drawn, NumberTable, PageFigure
from service.page.figures.fuel import fuel_figure
from service.page.figures.lost import lost_figure, lost_table
from service.page.figures.margins import bar, course_name, extent, grouped, margins_figure, signed
from service.page.figures.runway import runway_figure
from service.page.figures.touchdown import touchdown_figure
from service.page.figures.windows import windows_figure
from service.page.minutes import left_min, passed_min
from service.page.paper import action_px, facts_px, figure_px, fitted

OF_BASIS: Final[dict[str, Drawn]] = {
    "WAIT": windows_figure,
    "APPROACH_BARRED": windows_figure,
    "MISSING": windows_figure,
    "NOT_FIT_HERE": runway_figure,
    "TIME_CRITICAL": touchdown_figure,
    "NEAREST_SUITABLE": touchdown_figure,
}
"""Which figure explains a decision of this basis; of every other it is the fuel."""
OF_REASON: Final[dict[tuple[str, str], Drawn]] = {
    ("LD", "m"): runway_figure,
    ("WD", "kt"): runway_figure,
    ("AP", "m"): windows_figure,
    ("WX", "m"): windows_figure,
    ("MA", "%"): climb_figure,
}
"""Which explains what decides where the basis names none: by topic of the rule and its unit."""
FIRST_NAMES: Final = {
    "fuel": "Why: fuel against miles to run",
    "windows": "Why: arrival windows against reports",
    "touchdown": "Why: minutes to touchdown",
    "runway": "Why: runway use",
    "climb": "Why: missed approach climb",
}
LABELS: Final = {
    "DANGER": "Can harm here",
    "PLACES": "Places",
    "APPROACH": "Approach",
    "LANDING": "Landing",
    "RUNWAY": "Runway",
    "FUEL STATE": "Fuel state",
    "SAY": "Say",
    "INSTEAD": "Instead",
    "ASK": "Ask",
    "NEXT LOOK": "Next look",
}
"""Labels of the brief as the page writes them; lines that are drawn otherwise have none."""
DO: Final = {"DIVERT": "DIVERT to", "HOLD": "HOLD for", "APPROACH": "APPROACH", "COMMIT": "LAND at"}
UNTIL: Final = "Until then: "
UNKNOWN_VERDICT: Final = "INSUFFICIENT_DATA"
NOT_TOLD: Final = "not told"
"""Of an answer of an older format, until when it holds."""
NOW: Final = {"DIVERT": "Leaving now: lands", "HOLD": "Without the hold: lands"}
"""How a landing is told that is not the end of the action as it stands."""
UNITS: Final = {"degC": "°C"}
BAR_WIDTH_PX: Final = 150
MOST_OPEN: Final = 3
BAR_HEIGHT_PX: Final = 19


class LargeFigure(Struct, frozen=True, kw_only=True):
    """One large figure and what it is."""

    value: str
    meaning: str


class LeaveFrame(Struct, frozen=True, kw_only=True):
    """By when: a heading, large figures, what must not be done; what to declare and to ask for."""

    heading: str
    cells: tuple[LargeFigure, ...]
    not_yet: str
    declare: str
    distress: bool
    ask: str


class CourseRow(Struct, frozen=True, kw_only=True):
    """A course in the table."""

    rank: int
    name: str
    chosen: bool
    broken: tuple[str, ...]
    open: tuple[str, ...]
    counted_from: str
    needs: str
    room: str
    p95: str
    lands: str
    at: str
    bar: Markup | None
    printed: bool = True


CourseGroup = tuple[str, tuple[CourseRow, ...]]
"""A heading and its courses."""


class DecisionPage(Struct, frozen=True, kw_only=True):
    """Everything that the page shows, in its order."""

    flight: str
    bound: str
    as_of: str
    date: str
    rules: str
    valid_until: str
    until: str
    shown_at: str
    left_min: int | None
    ran_out_min: int | None
    action: str
    runway: str
    frame: LeaveFrame
    because: str
    verdict: str
    facts: tuple[tuple[str, str], ...]
    first: PageFigure | None
    margins: PageFigure | None
    groups: tuple[CourseGroup, ...]
    figures: tuple[PageFigure, ...]
    climb: str
    lost: NumberTable
    cautions: tuple[str, ...]
    cautions_printed: int
    messages: tuple[tuple[str, str], ...]
    reasons: tuple[tuple[str, str, str], ...]
    weather: NumberTable
    flips: NumberTable | None
    rulebooks: NumberTable | None
    spread: str
    unknowns: tuple[str, ...]
    assumptions: NumberTable
    identity: tuple[tuple[str, str], ...]
    disclaimer: str

    @property
    def unprinted(self) -> list[str]:
        """Names of the courses that have no room on one sheet."""
        return [row.name for _, rows in self.groups for row in rows if not row.printed]


def decision_page(answer: Data, *, now: datetime) -> DecisionPage:
    """The page of an answer, as it is to be read at a moment of the service's clock (UTC)."""
    answer = all_on_one_line(joined(answer))
    until = _holds_until(answer)
    until_at = datetime.fromisoformat(until)
    first = _first_figure(answer)
    others = (fuel_figure, windows_figure, runway_figure, climb_figure, lost_figure)
    drawn = [found for each in others if (found := each(answer)) is not None]
    lines, frame = questions_answered(answer), _frame(answer)
    facts = tuple(each for each in _facts(lines) if not (frame.ask and each[0] == LABELS["ASK"]))
    because = " ".join(each.whole for each in lines if each.label == "BECAUSE")
    cautions = tuple(each.marked for each in cautions_told(answer))
    beside = action_px(
        landing=_runway(answer),
        frame_rows=(frame.ask, frame.declare, frame.not_yet),
        because=because,
    )
    drawing = None if first is None else first.on_paper
    groups, cautions_printed = _printed(
        tuple(_groups(answer)), cautions, max(beside, figure_px(drawing)) + facts_px(facts)
    )
    return DecisionPage(
        flight=answer["flight_id"],
        bound=_bound(answer),
        as_of=clock_down(answer["as_of"]),
        date=f"{datetime.fromisoformat(answer['as_of']):%d %b %Y}",
        rules=answer["provenance"]["rulebook"]["id"],
        valid_until=clock_down(until) if "valid_until" in answer else NOT_TOLD,
        until=until,
        shown_at=f"{now:%H:%MZ}",
        left_min=left_min(until_at, now) if now < until_at else None,
        ran_out_min=_ran_out_min(until_at, now),
        action=_action(answer),
        runway=_runway(answer),
        frame=frame,
        because=because,
        verdict=answer["verdict"],
        facts=facts,
        first=first,
        margins=margins_figure(answer),
        groups=groups,
        figures=tuple(each for each in drawn if first is None or each.name != first.name),
        climb=climb_sentence(answer),
        lost=lost_table(answer),
        cautions=cautions,
        cautions_printed=cautions_printed,
        messages=tuple(
            (each["to"].replace("_", " "), each["text"]) for each in answer.get("messages", ())
        ),
        reasons=tuple((each["text"], each["rule"], each["citation"]) for each in answer["reasons"]),
        weather=_weather(answer),
        flips=_flips(answer),
        rulebooks=_rulebooks(answer),
        spread=_spread(answer),
        unknowns=tuple(answer["unknowns"]),
        assumptions=_assumptions(answer),
        identity=tuple(_identity(answer)),
        disclaimer=answer["disclaimer"],
    )


def _holds_until(answer: Data) -> str:
    """When the answer ends. One of old that does not say so ends with its deadline, or at once."""
    told = (answer.get("valid_until"), answer.get("deadline"))
    return next((str(each["at"]) for each in told if each is not None), str(answer["as_of"]))


def _first_figure(answer: Data) -> PageFigure | None:
    """That of the basis, else of what decides; where it cannot be drawn, fuel or windows."""
    wanted = OF_BASIS.get(answer["basis"]) or _of_reason(answer)
    found = wanted(answer) or fuel_figure(answer) or windows_figure(answer)
    return None if found is None else replace(found, title=FIRST_NAMES[found.name])


def _of_reason(answer: Data) -> Drawn:
    """The figure in which the first reason can be seen; of most it is the fuel."""
    first = next(iter(answer["reasons"]), None)
    if first is None:
        return fuel_figure
    return OF_REASON.get((first["rule"].partition("-")[0], first["unit"]), fuel_figure)


def _bound(answer: Data) -> str:
    here = first_of(answer, "commit_to_land")
    if here is None:
        return ""
    to_go = next((each["distance_to_go_nm"] for each in answer.get("timeline") or ()), None)
    miles = "" if to_go is None else f", {to_go:.0f} NM to go"
    return f"{here['aerodrome']} {here['runway'] or ''}".rstrip() + miles


def _ran_out_min(until: datetime, now: datetime) -> int | None:
    """Whole minutes since the answer ended; None while it holds."""
    return None if now < until else passed_min(until, now)


def _action(answer: Data) -> str:
    action = answer["action"]
    return f"{DO[action['do']]} {action['aerodrome']}"


def _runway(answer: Data) -> str:
    """The runway and when it is reached."""
    runway = answer["action"]["runway"]
    told = "runway not known" if runway is None else f"runway {runway}"
    course = chosen_of(answer)
    if course is None or touchdown_of(course) is None:
        return f"{told}."
    if course["aerodrome"] != answer["action"]["aerodrome"]:
        return (
            f"{told}. After a miss: lands at {course['aerodrome']} {clock_up(touchdown_of(course))}"
        )
    minutes = minutes_to(course)
    now = NOW.get(answer["action"]["do"], "Lands")
    return f"{told}. {now} {clock_up(touchdown_of(course))}{f' ({minutes})' if minutes else ''}"


def _frame(answer: Data) -> LeaveFrame:
    heading, cells, until = _by_when(answer)
    undone = "; ".join(answer.get("until_then", ()))
    emergency = answer.get("emergency") or NOTHING_DECLARED
    level = emergency["level"]
    return LeaveFrame(
        heading=heading,
        cells=cells,
        not_yet=_sentence(f"{until}{undone}") if undone else "",
        declare="" if level == "NONE" else f"Declare {level}: {emergency['phrase']}.",
        distress=level == "DISTRESS",
        ask=_asked(answer) if answer["verdict"] == UNKNOWN_VERDICT else "",
    )


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}."


def _by_when(answer: Data) -> tuple[str, tuple[LargeFigure, ...], str]:
    """Heading, figures, and what is said before that which must not be done."""
    deadline = answer.get("deadline")
    do = answer["action"]["do"]
    if answer["basis"] == TIME_CRITICAL:
        return "Land as soon as possible", _touchdown(answer), ""
    if do == "HOLD":
        known = answer["verdict"] != UNKNOWN_VERDICT
        heading = "Leave the hold" if known else "Hold until it is known"
        return heading, _hold(answer), UNTIL
    if do in ("APPROACH", "COMMIT"):
        return "Touchdown", _touchdown(answer), UNTIL
    if deadline is None:
        return "Leave", (LargeFigure(value="NOW", meaning="at once"),), ""
    return "Leave by whichever comes first", tuple(_deadline(answer, deadline)), UNTIL


def _asked(answer: Data) -> str:
    """What to ask for; questions to the same until the same moment in one sentence."""
    told: dict[str, list[str]] = {}
    for each in answer["ask"]:
        by = "" if each["by_at"] is None else f", by {clock_down(each['by_at'])}"
        told.setdefault(f"{each['whom']}{by}", []).append(each["what"])
    return "; ".join(f"{', '.join(what)} (of {whom})" for whom, what in told.items())


def _deadline(answer: Data, deadline: Data) -> Iterator[LargeFigure]:
    if deadline["distance_to_go_nm"] is not None:
        here = first_of(answer, "commit_to_land")
        miles = f"{deadline['distance_to_go_nm']:.1f} NM"
        meaning = "to go" if here is None else f"to go to {here['aerodrome']}"
        yield LargeFigure(value=miles, meaning=meaning)
    yield LargeFigure(value=clock_down(deadline["at"]), meaning=_from_as_of(answer, deadline["at"]))
    if deadline["fuel_kg"] is not None:
        yield LargeFigure(value=kg_down(deadline["fuel_kg"]), meaning="on board")


def _from_as_of(answer: Data, at: str) -> str:
    begun = datetime.fromisoformat(answer["as_of"])
    minutes = floor((datetime.fromisoformat(at) - begun) / timedelta(minutes=1))
    return f"{minutes} min from {clock_down(answer['as_of'])}"


def _hold(answer: Data) -> tuple[LargeFigure, ...]:
    """When the approach begins as planned, and when the hold ends at the latest."""
    course, cells = chosen_of(answer), []
    if course is not None and course["kind"] == "hold_then_approach":
        begins = course["time"].get("missed_approach_at")
        hold_min = ceil(course["time"]["hold_min"])
        if begins is not None:
            cells.append(
                LargeFigure(value=clock_up(begins), meaning=f"approach, after {hold_min} min")
            )
    latest = answer["action"].get("latest_at")
    if latest is not None:
        cells.append(LargeFigure(value=clock_down(latest), meaning="leave the hold at the latest"))
    return tuple(cells) or (LargeFigure(value="not known", meaning="end of the hold"),)


def _touchdown(answer: Data) -> tuple[LargeFigure, ...]:
    """Minutes and time of the landing that the action leads to."""
    place = answer["action"]["aerodrome"]
    course = next(
        (
            each
            for each in answer["courses"]
            if each["aerodrome"] == place
            and each["kind"] in ("commit_to_land", "divert_now")
            and touchdown_of(each) is not None
        ),
        chosen_of(answer),
    )
    if course is None or touchdown_of(course) is None:
        return (LargeFigure(value="not known", meaning="touchdown"),)
    minutes = minutes_to(course)
    at = LargeFigure(value=clock_up(touchdown_of(course)), meaning=f"at {course['aerodrome']}")
    return (LargeFigure(value=minutes, meaning="to touchdown"), at) if minutes else (at,)


def _facts(lines: Sequence[Line]) -> Iterator[tuple[str, str]]:
    """Label and text of each line that is not drawn otherwise; rows of one label are joined."""
    told: dict[str, list[str]] = {}
    label = ""
    for each in lines:
        label = each.label or label
        if label in LABELS:
            told.setdefault(LABELS[label], []).append(each.whole)
    for name, texts in told.items():
        yield name, "; ".join(text.rstrip(".") for text in texts) + "."


def _printed(
    groups: Sequence[CourseGroup], cautions: Sequence[str], first_px: float
) -> tuple[tuple[CourseGroup, ...], int]:
    """Courses with those marked that have no room on one sheet, and how many cautions have."""
    found, many = fitted(
        groups,
        cautions,
        first_px=first_px,
        below=lambda row: (*row.broken, *row.open[:1]),
        kept=lambda row: row.chosen,
    )
    number, told = 0, []
    for heading, rows in groups:
        marked = []
        for row in rows:
            marked.append(replace(row, printed=number in found))
            number += 1
        told.append((heading, tuple(marked)))
    return tuple(told), many


def _groups(answer: Data) -> Iterator[tuple[str, tuple[CourseRow, ...]]]:
    reach = extent(answer)
    for heading, found in grouped(answer):
        yield heading, tuple(_row(answer, each, reach) for each in found)


START: Final = {
    "present": "now",
    "checklists": "after checklists",
    "last_clean_point": "last clean point",
    "missed_approach": "missed approach",
}


def _row(answer: Data, course: Data, reach: tuple[float, float]) -> CourseRow:
    fuel = course["fuel"] or {}
    chosen = course["course"] == answer["action"]["course"]
    landing = fuel.get("landing_kg")
    minutes = fuel.get("landing_min")
    lands = NONE if landing is None else "empty" if landing <= 0.0 else tens(landing, floor)
    in_minutes = "" if minutes is None or lands == "empty" else f" ({floor(minutes)})"
    p95 = fuel.get("margin_p95_kg")
    start = fuel.get("required_from")
    return CourseRow(
        rank=course["rank"],
        name=course_name(course),
        chosen=chosen,
        broken=tuple(breaks_of(course)),
        open=tuple(_open(course)),
        counted_from=START.get(str(start), str(start or NONE).replace("_", " ")),
        needs=tens(fuel.get("required_kg"), ceil),
        room=signed(room_kg(fuel)) if fuel else "not known",
        p95=NONE if p95 is None else signed(in_tens(p95, floor)),
        lands=f"{lands}{in_minutes}",
        at=clock_up(touchdown_of(course)),
        bar=_bar(course, reach, chosen=chosen) if fuel else None,
    )


def _open(course: Data) -> list[str]:
    """What is not known of it, each sentence once."""
    texts = [each["text"] for each in course["findings"] if each["outcome"] == "UNKNOWN"]
    return counted([*dict.fromkeys(texts)], MOST_OPEN)


def _bar(course: Data, reach: tuple[float, float], *, chosen: bool) -> Markup:
    """The bar of one course alone, for a table on paper or on a phone."""
    low, high = reach
    said = f"{signed(room_kg(course['fuel']))} kg over the final reserve"
    drawing = Sheet(
        name=f"bar{course['rank']}", width_px=BAR_WIDTH_PX, height_px=BAR_HEIGHT_PX, said=said
    )

    def x(kg: float) -> float:
        return 3 + (BAR_WIDTH_PX - 6) * (kg - low) / (high - low)

    drawing.line([(x(0.0), 0), (x(0.0), BAR_HEIGHT_PX)], "upright")
    bar(drawing, course, 4, x, chosen=chosen)
    return drawing.markup()


def _weather(answer: Data) -> NumberTable:
    rows = []
    for icao, each in answer["weather"].items():
        seen = each["observation"]
        governing = each.get("governing") or {}
        window = each.get("window")
        rows.append(
            (
                icao,
                "none at hand" if seen is None else _observed(seen),
                each["forecast"] or "none at hand",
                _governing(governing),
                NONE
                if window is None
                else f"{clock_down(window['start'])} to {clock_up(window['end'])}",
                "; ".join(each["unread"]) or NONE,
            )
        )
    return NumberTable(
        caption="Reports as received, and what of them governs in the window of arrival.",
        heads=("place", "observation", "forecast", "governs", "window, UTC", "not read"),
        rows=tuple(rows),
    )


def _observed(seen: object) -> str:
    return str(seen.get("raw")) if isinstance(seen, dict) else str(seen)


def _governing(governing: Data) -> str:
    told = []
    for element in ("visibility", "ceiling", "wind"):
        found = governing.get(element)
        if found:
            told.append(f"{element} {found['text']} ({found['why']})")
    return "; ".join(told) or "not known"


def _flips(answer: Data) -> NumberTable | None:
    found = answer.get("flip_points")
    if found is None:
        return None
    rows = []
    for each in found:
        now = NONE if each["present"] is None else _with_unit(each["present"], each["unit"])
        turns = (
            "nothing in range"
            if each["flips_at"] is None
            else _with_unit(each["flips_at"], each["unit"])
        )
        then = f"{answer['verdict']} stays" if each["to_verdict"] is None else each["to_verdict"]
        rows.append((each["input"].rsplit("_", 1)[0].replace("_", " "), now, turns, then))
    return NumberTable(
        caption="The value of one input, all others kept, at which the verdict turns.",
        heads=("input", "now", "turns at", "then"),
        rows=tuple(rows),
    )


def _with_unit(value: float, unit: str | None) -> str:
    """A figure with its unit as it is written; a runway condition code stands behind its name."""
    if unit == "code":
        return f"code {value:g}"
    return f"{value:g} {UNITS.get(unit, unit)}" if unit else f"{value:g}"


def _rulebooks(answer: Data) -> NumberTable | None:
    found = answer.get("rulebooks_compared")
    if not found:
        return None
    return NumberTable(
        caption="The same case under each rulebook.",
        heads=("rulebook", "verdict", "action", "basis", "in words"),
        rows=tuple(
            (each["rulebook"], each["verdict"], each["do"], each["basis"], each["headline"])
            for each in found
        ),
    )


def _spread(answer: Data) -> str:
    found = answer.get("uncertainty")
    if not found:
        return ""
    share = found["below_final_reserve_probability"]
    return (
        f"Fuel on landing of {found['samples']} flights drawn: 1 in 20 lands with less than"
        f" {kg_down(found['landing_fuel_p5_kg'])}, half with less than"
        f" {kg_down(found['landing_fuel_p50_kg'])}, 19 in 20 with less than"
        f" {kg_up(found['landing_fuel_p95_kg'])}; {ceil(share * 1000) / 10:.1f} % land below the"
        " final reserve."
    )


def _assumptions(answer: Data) -> NumberTable:
    return NumberTable(
        caption="Taken since it was not given.",
        heads=("field", "value", "why"),
        rows=tuple(
            (
                str(each["field"]),
                NONE if each["value"] is None else f"{each['value']}",
                str(each["text"] or "nothing was given"),
            )
            for each in answer["assumptions"]
        ),
    )


def _identity(answer: Data) -> Iterator[tuple[str, str]]:
    provenance = answer["provenance"]
    yield "decision", str(answer["id"] or "not recorded")
    yield "engine", provenance["engine_version"]
    for kind in ("rulebook", "profile"):
        yield kind, f"{provenance[kind]['id']} {provenance[kind]['version']}"
    yield "input", provenance["input_digest"][:12]
