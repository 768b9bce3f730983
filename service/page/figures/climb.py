"""The missed approach climb: what is flown against what the procedure asks for.

Drawn if the climb is too little, has less than two points of margin, or obstacles are given;
otherwise one sentence says it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from markupsafe import Markup
from msgspec import Struct

from decision.brief.layout import tenth_down, tenth_up
from service.page.drawing import Point, Sheet, round_ticks
from service.page.figures.figure import (
    MIDDLE_PX,
    NARROW_PX,
    Data,
    NumberTable,
    PageFigure,
    attempts_of,
)

HEIGHT_PX: Final = 300
LEFT_PX: Final = 56
TOP_PX: Final = 28
FOOT_PX: Final = 44
CLEAR_POINTS: Final = 2.0
FT_PER_NM_PERCENT: Final = 60.76115  # 1 % of a nautical mile of 1852 m, feet (ICAO Annex 5)
PAPER_NM: Final = 15.0  # drawn where no height ends the climb [ASSUMED]


def missed_attempt(answer: Data) -> Data | None:
    """The missed approach at the destination; None where its climb is not known."""
    return next(
        (
            each
            for each in attempts_of(answer)
            if each["role"] in ("missed", "committed")
            and each["missed_gradient_percent"] is not None
        ),
        None,
    )


def climb_sentence(answer: Data) -> str:
    """The margin in words."""
    attempt = missed_attempt(answer)
    if attempt is None:
        return "The missed approach climb gradient is not known."
    flown, asked = attempt["missed_gradient_percent"], _asked(attempt)
    if asked is None:
        return f"Climbs {tenth_down(flown)} %; what the procedure asks for is not known."
    return f"Climbs {tenth_down(flown)} %, required {tenth_up(asked)} %."


class ClimbShown(Struct, frozen=True, kw_only=True):
    """What is drawn: gradients in percent, tops of obstacles, how far, what is marked."""

    flown: float
    asked: float
    error: float
    obstacles: tuple[Point, ...]
    miles: float
    mark: str


def climb_figure(answer: Data) -> PageFigure | None:
    """None where the sentence is enough."""
    attempt = missed_attempt(answer)
    asked = None if attempt is None else _asked(attempt)
    if attempt is None or asked is None:
        return None
    flown = attempt["missed_gradient_percent"]
    obstacles = _obstacles(attempt, flown)
    if flown - asked >= CLEAR_POINTS and not obstacles:
        return None
    error = _error(answer)
    miles = max([PAPER_NM, *(nm for nm, _ in obstacles)])
    short = (asked - flown) * FT_PER_NM_PERCENT * miles
    mark = f"{abs(short):.0f} ft {'low' if short > 0 else 'to spare'} at {miles:.0f} NM"
    climb = ClimbShown(
        flown=flown, asked=asked, error=error, obstacles=tuple(obstacles), miles=miles, mark=mark
    )
    said = (
        f"Missed approach climb at {attempt['aerodrome']} runway {attempt['runway']}: "
        f"{tenth_down(flown)} % flown, {tenth_up(asked)} % required, {mark}."
    )
    return PageFigure(
        name="climb",
        title=f"Missed approach climb at {attempt['aerodrome']}",
        said=said,
        drawings=tuple(_drawn(climb, width=width, said=said) for width in (NARROW_PX, MIDDLE_PX)),
        table=_table(flown, asked, obstacles, miles),
        notes=(
            f"Band: the model's error, {error:.1f} points either way. Heights are above the missed"
            " approach point and drawn too tall.",
        ),
    )


def _asked(attempt: Data) -> float | None:
    """The gradient of the procedure; the first answers did not have it."""
    asked: float | None = attempt.get("published_gradient_percent")
    return asked


def _obstacles(attempt: Data, flown: float) -> Sequence[Point]:
    """Miles after the missed approach point and height of the top above it.

    The answer has tops above the sea, and how high the aircraft then is: the climb between tells
    where it began.
    """
    return [
        (each["distance_nm"], flown * FT_PER_NM_PERCENT * each["distance_nm"] - each["above_ft"])
        for each in attempt.get("obstacles") or ()
    ]


def _error(answer: Data) -> float:
    """Percentage points either way, as the answer says how exact it is."""
    for each in answer.get("accuracy") or ():
        if "gradient" in each["of"]:
            return float(each["within"])
    return 0.0


def _drawn(climb: ClimbShown, *, width: int, said: str) -> Markup:
    drawing = Sheet(name="climb", width_px=width, height_px=HEIGHT_PX, said=said)
    flown, asked, error, miles = climb.flown, climb.asked, climb.error, climb.miles
    obstacles = climb.obstacles
    most_ft = max(
        [max(flown + error, asked) * FT_PER_NM_PERCENT * miles, *(ft for _, ft in obstacles)]
    )
    ticks = round_ticks(0.0, most_ft)
    right, foot = width - 12.0, HEIGHT_PX - FOOT_PX

    def at(nm: float, ft: float) -> tuple[float, float]:
        return (
            LEFT_PX + (right - LEFT_PX) * nm / miles,
            foot - (foot - TOP_PX) * ft / ticks[-1],
        )

    drawing.words((0, 14), "feet above the missed approach point", "label")
    for ft in ticks:
        drawing.line([at(0.0, ft), at(miles, ft)], "grid")
        drawing.words((LEFT_PX - 6, at(0.0, ft)[1] + 5), f"{ft:.0f}", "label", anchor="end")
    for nm in round_ticks(0.0, miles, about=5):
        if nm <= miles:
            drawing.words((at(nm, 0.0)[0], foot + 18), f"{nm:.0f}", "label", anchor="middle")
    drawing.words((LEFT_PX, HEIGHT_PX - 8), "miles (NM) after the missed approach point", "label")

    def end(gradient: float) -> tuple[float, float]:
        return at(miles, max(0.0, gradient) * FT_PER_NM_PERCENT * miles)

    drawing.area([at(0.0, 0.0), end(flown + error), end(flown - error)], "band")
    for nm, ft in obstacles:
        drawing.line([at(nm, 0.0), at(nm, ft)], "thick")
        drawing.words((at(nm, ft)[0], at(nm, ft)[1] - 5), f"{ft:.0f} ft", "small", anchor="middle")
    drawing.line([at(0.0, 0.0), end(asked)], "required")
    drawing.line([at(0.0, 0.0), end(flown)], "chosen")
    x, y = at(miles * 0.5, asked * FT_PER_NM_PERCENT * miles * 0.5)
    above = asked >= flown
    drawing.words(
        (x - 8, y - 8 if above else y + 24),
        f"required {tenth_up(asked)} %",
        "strong",
        anchor="end" if above else "start",
    )
    x, y = at(miles * 0.6, flown * FT_PER_NM_PERCENT * miles * 0.6)
    drawing.words(
        (x + 8, y + 22 if above else y - 8),
        f"flown {tenth_down(flown)} %",
        "chosen-word",
        anchor="start" if above else "end",
    )
    drawing.words((right, foot - 8), climb.mark, "strong", anchor="end")
    return drawing.markup()


def _table(flown: float, asked: float, obstacles: Sequence[Point], miles: float) -> NumberTable:
    ends = sorted({5.0, 10.0, miles, *(nm for nm, _ in obstacles)})
    there = dict(obstacles)
    return NumberTable(
        caption="Heights above the missed approach point.",
        heads=("NM", "flown, ft", "required, ft", "obstacle, ft"),
        rows=tuple(
            (
                f"{nm:.1f}",
                f"{flown * FT_PER_NM_PERCENT * nm:.0f}",
                f"{asked * FT_PER_NM_PERCENT * nm:.0f}",
                f"{there[nm]:.0f}" if nm in there else "",
            )
            for nm in ends
        ),
    )
