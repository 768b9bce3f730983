"""Runway use: where the aircraft stops, with and without factor, against the length there is.

All runways to one scale. Numbers stand in a sentence below the bar: beside the marks they would
collide just when it matters.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil, floor
from typing import Final

from markupsafe import Markup

from decision.brief.layout import up
from decision.brief.reading import chosen_of, wind_text
from service.page.drawing import Sheet, fits
from service.page.figures.figure import (
    MIDDLE_PX,
    NARROW_PX,
    Data,
    NumberTable,
    PageFigure,
    attempts_of,
)

ROW_PX: Final = 74
BAR_PX: Final = 18
STEP_M: Final = 10
MOST: Final = 4
BOLD_PX: Final = 15.5  # digits are wider than the mean of letters
RUNWAY_CONDITION: Final = {
    6: "dry",
    5: "code 5",
    4: "code 4",
    3: "code 3",
    2: "code 2",
    1: "code 1",
    0: "code 0",
}


def runway_figure(answer: Data) -> PageFigure | None:
    """None where no runway has both a length and a landing distance."""
    used = [*_used(answer)]
    if not used:
        return None
    said = " ".join(f"{_heading(each)}: {_sentence(each)}." for each in used)
    return PageFigure(
        name="runway",
        title="Runway use",
        said=said,
        drawings=tuple(_drawn(used, width, said) for width in (NARROW_PX, MIDDLE_PX)),
        table=_table(used),
        notes=(
            "All to one scale, metres. Frame: the length that there is. Bar: where it stops. Thick"
            " stroke: with the factor; it must stay inside the frame. ✕: too long, or too much wind"
            " across.",
        ),
    )


def _used(answer: Data) -> Iterator[Data]:
    """The runway of the action first, then one attempt for each other runway."""
    course = chosen_of(answer)
    first = () if course is None else reversed(course["attempts"])
    seen: set[tuple[str, str]] = set()
    for each in (*first, *attempts_of(answer)):
        if each["lda_m"] is None or each["landing_distance_m"] is None:
            continue
        key = (each["aerodrome"], each["runway"])
        if key not in seen and len(seen) < MOST:
            seen.add(key)
            yield each


def _factored_m(attempt: Data) -> float | None:
    found: float | None = attempt.get("factored_distance_m")
    return found


def _spare_m(attempt: Data) -> float | None:
    factored = _factored_m(attempt)
    return None if factored is None else _down(attempt["lda_m"]) - _up(factored)


def _up(metres: float) -> int:
    return ceil(metres / STEP_M) * STEP_M


def _down(metres: float) -> int:
    return floor(metres / STEP_M) * STEP_M


def _heading(attempt: Data) -> str:
    code = attempt["condition_code"]
    condition = (
        "condition not known" if code is None else RUNWAY_CONDITION.get(code, f"code {code}")
    )
    flap = f", flap {attempt['flap']}" if attempt["flap"] else ""
    return f"{attempt['aerodrome']} runway {attempt['runway']}, {condition}{flap}"


def _sentence(attempt: Data) -> str:
    there = _down(attempt["lda_m"])
    stops = f"stops in {_up(attempt['landing_distance_m'])} m"
    factored, spare = _factored_m(attempt), _spare_m(attempt)
    if factored is None or spare is None:
        return f"{stops} of {there} m, with factor not known"
    room = f"{spare} m to spare" if spare >= 0 else f"{-spare} m too long"
    return f"{stops}, with factor {_up(factored)} of {there} m: {room}"


def _winds(attempt: Data) -> str:
    told, limit_kt = wind_text(attempt), _most_across_kt(attempt)
    if limit_kt is not None and len(told) > 1:
        told[1] = f"{told[1]}, limit {limit_kt:.0f} kt"
    return "; ".join(told)


def _most_across_kt(attempt: Data) -> float | None:
    limits = {each["rule"]: each["limit"] for each in attempt.get("wind_limits") or ()}
    return next((limit for code, limit in limits.items() if code.endswith("01")), None)


def _too_much_across(attempt: Data) -> bool:
    across, limit = attempt["crosswind_kt"], _most_across_kt(attempt)
    return across is not None and limit is not None and across > limit


def _drawn(used: Sequence[Data], width: int, said: str) -> Markup:
    drawing = Sheet(name="runway", width_px=width, height_px=len(used) * ROW_PX, said=said)
    longest = max(
        max(each["lda_m"], each["landing_distance_m"], _factored_m(each) or 0.0) for each in used
    )
    scale = (width - 8) / longest
    for row, each in enumerate(used):
        y = row * ROW_PX
        spare = _spare_m(each)
        broken = (spare is not None and spare < 0) or _too_much_across(each)
        drawing.words((0, y + 14), f"{'✕ ' if broken else ''}{_heading(each)}", "strong")
        top, lda = y + 21, each["lda_m"] * scale
        factored = _factored_m(each)
        if factored is not None and factored > each["lda_m"]:
            over = factored * scale - lda
            drawing.box((2 + lda, top), over, BAR_PX, "overrun", hatched=True)
        drawing.box((2, top), lda, BAR_PX, "frame")
        drawing.box((2, top + 4), each["landing_distance_m"] * scale, BAR_PX - 8, "bar")
        if factored is not None:
            end = 2 + factored * scale
            middle = top + BAR_PX / 2
            drawing.line([(2 + each["landing_distance_m"] * scale, middle), (end, middle)], "axis")
            drawing.line([(end, top - 3), (end, top + BAR_PX + 3)], "thick")
        sentence, winds = _sentence(each), _winds(each)
        if not fits(sentence, width, BOLD_PX):
            sentence, _, room = sentence.partition(": ")
            winds = "; ".join(filter(None, (room, winds)))
        drawing.words((0, top + BAR_PX + 17), sentence, "word")
        drawing.words((0, top + BAR_PX + 32), winds, "small")
    return drawing.markup()


def _table(used: Sequence[Data]) -> NumberTable:
    rows = []
    for each in used:
        factored, spare = _factored_m(each), _spare_m(each)
        ahead, across = each["headwind_kt"], each["crosswind_kt"]
        rows.append(
            (
                f"{each['aerodrome']} {each['runway']}",
                str(_up(each["landing_distance_m"])),
                "not known" if factored is None else str(_up(factored)),
                str(_down(each["lda_m"])),
                "not known" if spare is None else str(spare),
                "not known" if ahead is None else f"{ahead:.0f}",
                "not known" if across is None else up(across, "").strip(),
            )
        )
    return NumberTable(
        caption="Distances are rounded against the aircraft; a tailwind is a negative headwind.",
        heads=(
            "runway",
            "stops, m",
            "with factor, m",
            "length there is, m",
            "to spare, m",
            "headwind, kt",
            "crosswind, kt",
        ),
        rows=tuple(rows),
    )
