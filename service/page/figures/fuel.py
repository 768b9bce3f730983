"""Fuel over the miles to the threshold: why it must be decided now.

Fuel on board as planned against the fuel that each diversion needs from there. Both sides of a step
that cannot be undone are drawn, so the need jumps where the step is taken. The last clean point and
the crossing are two things: the need may pass what is on board only miles after the step.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import ceil, floor
from typing import Final

from markupsafe import Markup
from msgspec import Struct

from decision.brief.layout import in_tens, room_kg
from decision.brief.reading import chosen_of, first_of
from service.page.drawing import Point, Sheet, fits, fitting, round_ticks
from service.page.figures.figure import MIDDLE_PX, NARROW_PX, Data, NumberTable, PageFigure

HEIGHT_PX: Final = 330
TOP_PX: Final = 64
FOOT_PX: Final = 48
LEFT_PX: Final = 52
RIGHT_PX: Final = {NARROW_PX: 58, MIDDLE_PX: 96}
LINES: Final = ("chosen", "other", "third")  # kinds of line of the needs, in their order
BREAK_NM: Final = 10.0  # the last miles are drawn wider than those before
BREAK_FROM_NM: Final = 15.0
NEAR_SHARE: Final = 0.45
LABEL_PX: Final = 16
TICK_ROOM_PX: Final = 24.0


class FuelNeeded(Struct, frozen=True, kw_only=True):
    """What a diversion to a place needs from a point, kilograms."""

    aerodrome: str
    need_kg: float
    p95_kg: float | None
    reserve_kg: float


class FuelHere(Struct, frozen=True, kw_only=True):
    """A point on the way: miles to the threshold, fuel on board there, what each place needs."""

    to_go_nm: float
    planned_kg: float
    configuration: str
    stuck: bool
    needs: tuple[FuelNeeded, ...]


def fuel_figure(answer: Data) -> PageFigure | None:
    """None where no need is known anywhere."""
    points = _ahead(answer) or _at_the_ends(answer)
    if not any(point.needs for point in points):
        return None
    order = _order(answer, points)
    said = _said(answer, points, order)
    return PageFigure(
        name="fuel",
        title="Fuel against miles to run",
        said=said,
        drawings=tuple(
            _drawn(answer, points, order, width, said) for width in (NARROW_PX, MIDDLE_PX)
        ),
        table=_table(points, order),
        notes=(() if _ahead(answer) else ("Worked out at the points with a mark only.",)),
    )


def _ahead(answer: Data) -> tuple[FuelHere, ...]:
    """Points as the answer has them, where they were asked for."""
    return tuple(
        FuelHere(
            to_go_nm=each["distance_to_go_nm"],
            planned_kg=each["planned_kg"],
            configuration=each["configuration"],
            stuck=each["after_step"],
            needs=tuple(
                FuelNeeded(
                    aerodrome=place["aerodrome"],
                    need_kg=place["need_kg"],
                    p95_kg=place["need_p95_kg"],
                    reserve_kg=place["final_reserve_kg"],
                )
                for place in each["places"]
                if place["need_kg"] is not None
            ),
        )
        for each in answer.get("fuel_ahead") or ()
        if each["planned_kg"] is not None and each["distance_to_go_nm"] is not None
    )


def _at_the_ends(answer: Data) -> tuple[FuelHere, ...]:
    """What every answer has: now, the last clean point, the missed approach."""
    clean = answer["last_clean_diversion"]
    first = (answer.get("timeline") or [{}])[0]
    missed = _diversions(answer, "missed_approach")
    at_miss = next((each["fuel"]["at_missed_approach_kg"] for each in missed), None)
    found = (
        (first.get("distance_to_go_nm"), answer.get("fuel_on_board_kg"), "present", False),
        (clean["distance_to_go_nm"], clean["fuel_kg"], "last_clean_point", False),
        (0.0, at_miss, "missed_approach", True),
    )
    return tuple(
        FuelHere(
            to_go_nm=to_go_nm,
            planned_kg=planned_kg,
            configuration=_configuration(answer, start),
            stuck=stuck,
            needs=tuple(_needs(answer, start)),
        )
        for to_go_nm, planned_kg, start, stuck in found
        if to_go_nm is not None and planned_kg is not None
    )


def _diversions(answer: Data, start: str) -> Sequence[Data]:
    kind = "approach_then_divert" if start == "missed_approach" else "divert_now"
    return [
        each
        for each in answer["courses"]
        if each["kind"] == kind and each.get("from") == start and each["fuel"]
    ]


def _needs(answer: Data, start: str) -> Sequence[FuelNeeded]:
    return [
        FuelNeeded(
            aerodrome=each["aerodrome"],
            need_kg=each["fuel"]["required_kg"],
            p95_kg=_p95(each["fuel"]),
            reserve_kg=each["fuel"]["final_reserve_kg"],
        )
        for each in _diversions(answer, start)
    ]


def _p95(fuel: Data) -> float | None:
    p95: float | None = fuel["margin_p95_kg"]
    return None if p95 is None else fuel["required_kg"] + fuel["margin_kg"] - p95


def _configuration(answer: Data, start: str) -> str:
    return next((str(each["configuration"]) for each in _diversions(answer, start)), "")


def _order(answer: Data, points: Sequence[FuelHere]) -> tuple[str, ...]:
    """Places as they matter: that of the chosen course first, then by what the last point needs."""
    last = max((point for point in points if point.needs), key=lambda point: -point.to_go_nm)
    needs = sorted(last.needs, key=lambda each: each.need_kg)
    chosen = chosen_of(answer)
    first = None if chosen is None else chosen["aerodrome"]
    return tuple(each.aerodrome for each in sorted(needs, key=lambda each: each.aerodrome != first))


def _of(point: FuelHere, aerodrome: str) -> FuelNeeded | None:
    return next((each for each in point.needs if each.aerodrome == aerodrome), None)


def _said(answer: Data, points: Sequence[FuelHere], order: Sequence[str]) -> str:
    best, first, last = order[0], points[0], points[-1]
    told = [f"Fuel on board {in_tens(first.planned_kg, floor)} kg at {first.to_go_nm:.1f} NM to go"]
    need = _of(first, best)
    if need is not None:
        told.append(f"a diversion to {best} needs {in_tens(need.need_kg, ceil)} kg from there")
    clean = answer["last_clean_diversion"]
    if clean["distance_to_go_nm"] is not None:
        told.append(
            f"last clean point {clean['distance_to_go_nm']:.1f} NM to go with "
            f"{in_tens(clean['fuel_kg'], floor)} kg"
        )
    need = _of(last, best)
    if need is not None and last is not first:
        told.append(
            f"at the missed approach {in_tens(last.planned_kg, floor)} kg on board and "
            f"{in_tens(need.need_kg, ceil)} kg needed for {best}"
        )
    crossing = crossing_nm(points, best)
    if crossing is not None:
        told.append(f"from {crossing:.1f} NM to go on the need is more than there is")
    return f"{'; '.join(told)}."


def crossing_nm(points: Sequence[FuelHere], aerodrome: str) -> float | None:
    """Where the need passes what is on board, NM to go; None where it does not, or from the start.

    Between two points both are taken as straight; over a jump it is the place of the step.
    """
    room = [
        (point.to_go_nm, point.planned_kg - need.need_kg)
        for point in points
        if (need := _of(point, aerodrome)) is not None
    ]
    for (before_nm, before_kg), (after_nm, after_kg) in pairwise(room):
        if before_kg >= 0.0 > after_kg:
            return after_nm + (before_nm - after_nm) * -after_kg / (before_kg - after_kg)
    return None


class _Scale(Struct, frozen=True, kw_only=True):
    left_px: float
    right_px: float
    most_nm: float
    ticks_kg: tuple[float, ...]

    @property
    def low_kg(self) -> float:
        """Where the axis begins."""
        return self.ticks_kg[0]

    def x(self, to_go_nm: float) -> float:
        width = self.right_px - self.left_px
        if self.most_nm <= BREAK_FROM_NM:
            return self.right_px - width * to_go_nm / max(self.most_nm, 1e-9)
        near = width * NEAR_SHARE
        if to_go_nm <= BREAK_NM:
            return self.right_px - near * to_go_nm / BREAK_NM
        far = (to_go_nm - BREAK_NM) / (self.most_nm - BREAK_NM)
        return self.right_px - near - (width - near) * far

    def y(self, kg: float) -> float:
        height = HEIGHT_PX - FOOT_PX - TOP_PX
        high_kg = self.ticks_kg[-1]
        return TOP_PX + height * (high_kg - kg) / (high_kg - self.low_kg)


def _drawn(
    answer: Data, points: Sequence[FuelHere], order: Sequence[str], width: int, said: str
) -> Markup:
    drawing = Sheet(name="fuel", width_px=width, height_px=HEIGHT_PX, said=said)
    shown = order[: len(LINES)]
    scale = _scale(points, shown, width)
    _axes(drawing, scale, answer)
    _bands(drawing, scale, points, shown[0])
    _reserves(drawing, scale, points, shown[0])
    _clean_point(drawing, scale, answer)
    for kind, aerodrome in reversed([*zip(LINES, shown, strict=False)]):
        for stretch in _stretches(points, aerodrome):
            drawing.line([(scale.x(nm), scale.y(kg)) for nm, kg in stretch], kind)
    drawing.line([(scale.x(each.to_go_nm), scale.y(each.planned_kg)) for each in points], "flown")
    if not _ahead(answer):
        for each in points:
            drawing.ring((scale.x(each.to_go_nm), scale.y(each.planned_kg)), 3.0, "dot")
    _labels(drawing, scale, points, shown, _room_kg(answer, points, shown[0]))
    return drawing.markup()


def _scale(points: Sequence[FuelHere], shown: Sequence[str], width: int) -> _Scale:
    figures = [point.planned_kg for point in points]
    for point in points:
        for each in point.needs:
            if each.aerodrome in shown:
                figures += [each.need_kg, each.reserve_kg, each.p95_kg or each.need_kg]
    low, high = min(figures), max(figures)
    ticks = round_ticks(low, high)
    return _Scale(
        left_px=LEFT_PX,
        right_px=width - RIGHT_PX[width],
        most_nm=max(point.to_go_nm for point in points),
        ticks_kg=tuple(ticks),
    )


def _axes(drawing: Sheet, scale: _Scale, answer: Data) -> None:
    start = f" (scale starts at {scale.low_kg:.0f})" if scale.low_kg else ""
    drawing.words((0, 16), f"kg of usable fuel{start}", "label")
    for kg in scale.ticks_kg:
        y = scale.y(kg)
        drawing.line([(scale.left_px, y), (scale.right_px, y)], "grid")
        drawing.words((scale.left_px - 6, y + 5), f"{kg:.0f}", "label", anchor="end")
    foot = HEIGHT_PX - FOOT_PX
    last = scale.right_px + 40.0
    for nm in _miles(scale.most_nm):
        x = scale.x(nm)
        drawing.line([(x, foot), (x, foot + 4)], "axis")
        if last - x >= TICK_ROOM_PX:
            drawing.words((x, foot + 19), f"{nm:.0f}", "label", anchor="middle")
            last = x
    wide = drawing.width_px >= MIDDLE_PX
    wider = "; wider scale from 10" if wide and scale.most_nm > BREAK_FROM_NM else ""
    here = first_of(answer, "commit_to_land")
    where = "the destination" if here is None else here["aerodrome"]
    drawing.words(
        (scale.left_px, HEIGHT_PX - 8), f"miles (NM) to the threshold at {where}{wider}", "label"
    )


def _miles(most_nm: float) -> Sequence[float]:
    near = [0.0, 2.0, 4.0, 6.0, 8.0, 10.0]
    far = [each for each in round_ticks(0.0, most_nm, about=5) if BREAK_NM < each <= most_nm]
    return [each for each in near if each <= most_nm] + far


def _stretches(points: Sequence[FuelHere], aerodrome: str) -> list[list[Point]]:
    """Lines of the need; the jump at the step is a line upright, and unknown is a gap."""
    lines: list[list[Point]] = [[]]
    for point in points:
        need = _of(point, aerodrome)
        if need is None:
            lines.append([])
        else:
            lines[-1].append((point.to_go_nm, need.need_kg))
    return [each for each in lines if each]


def _bands(drawing: Sheet, scale: _Scale, points: Sequence[FuelHere], aerodrome: str) -> None:
    """From the need to that of one flight in twenty, each side of the step by itself."""
    for stuck in (False, True):
        edge = [
            (point.to_go_nm, need.need_kg, need.p95_kg)
            for point in points
            if point.stuck is stuck
            and (need := _of(point, aerodrome)) is not None
            and need.p95_kg is not None
        ]
        upper = [(scale.x(nm), scale.y(high)) for nm, _, high in edge]
        lower = [(scale.x(nm), scale.y(low)) for nm, low, _ in edge]
        if len(edge) > 1:
            drawing.area([*upper, *reversed(lower)], "band")


def _reserves(drawing: Sheet, scale: _Scale, points: Sequence[FuelHere], aerodrome: str) -> None:
    """Dotted lines on both sides of the step; in words where they keep away from the others."""
    for stuck in (False, True):
        stretch = [
            (point, need)
            for point in points
            if point.stuck is stuck and (need := _of(point, aerodrome)) is not None
        ]
        if len(stretch) < 2:  # noqa: PLR2004 - a line has two ends
            continue
        line = [(scale.x(each.to_go_nm), scale.y(need.reserve_kg)) for each, need in stretch]
        drawing.line(line, "reserve")
        (x, y), reserve = line[-1], in_tens(stretch[0][1].reserve_kg, ceil)
        others = [scale.y(each.planned_kg) for each, _ in stretch]
        others += [scale.y(need.need_kg) for _, need in stretch]
        if stuck:
            drawing.words((scale.right_px + 4, y + 5), str(reserve), "small")
        elif all(abs(y - LABEL_PX / 2 - each) > LABEL_PX for each in others):
            text = f"final reserve {reserve}"
            names = scale.y(stretch[0][1].need_kg) + 20 + 2 * LABEL_PX  # where those of lines end
            beside = fits(f"{text}needed to divert to XXXX", x - scale.left_px)
            if beside or y - LABEL_PX > names:
                drawing.words((x - 4, y - 6), text, "small", anchor="end")


def _clean_point(drawing: Sheet, scale: _Scale, answer: Data) -> None:
    clean = answer["last_clean_diversion"]
    nm = clean["distance_to_go_nm"]
    if nm is None or nm > scale.most_nm:
        return
    x = scale.x(nm)
    drawing.line([(x, TOP_PX - 20), (x, HEIGHT_PX - FOOT_PX)], "upright")
    end = "end" if x > drawing.width_px / 2 else "start"
    away = -5 if end == "end" else 5
    room = (x if end == "end" else drawing.width_px - x) - 5
    drawing.words((x + away, TOP_PX - 24), f"last clean point {nm:.1f} NM", "strong", anchor=end)
    drawing.words((x + away, TOP_PX - 9), _step(answer, room), "small", anchor=end)
    drawing.ring((x, scale.y(clean["fuel_kg"])), 6.0, "ring")


def _step(answer: Data, room_px: float) -> str:
    """The step as it has room, and if it has, that it is for good (what the line is for anyway)."""
    undone = [each["step"] for each in answer.get("timeline") or () if each["cannot_be_undone"]]
    if not undone:
        return ""
    whole = f"{undone[0]}: cannot be undone"
    return whole if fits(whole, room_px) else fitting(undone[0], room_px)


def _room_kg(answer: Data, points: Sequence[FuelHere], best: str) -> int | None:
    """What a landing there after a miss has over its reserve, as all tables say it."""
    found = next(
        (each for each in _diversions(answer, "missed_approach") if each["aerodrome"] == best), None
    )
    if found is not None:
        return room_kg(found["fuel"])
    last = points[-1]
    need = _of(last, best)
    return None if need is None else _difference_kg(last, need)


def _difference_kg(here: FuelHere, need: FuelNeeded) -> int:
    return in_tens(here.planned_kg, floor) - in_tens(need.need_kg, ceil)


def _labels(
    drawing: Sheet,
    scale: _Scale,
    points: Sequence[FuelHere],
    shown: Sequence[str],
    room_kg: int | None,
) -> None:
    """At the end: what is needed, what there is, and what is missing or over.

    What is over is that of the tables, rounded down by itself. Where it is not the difference of
    the two beside it, each rounded against the aircraft, the need stands in the numbers alone.
    """
    last, best = points[-1], shown[0]
    need, x = _of(last, best), scale.right_px + 6
    have = in_tens(last.planned_kg, floor)
    if need is None or room_kg is None:
        drawing.words((x, scale.y(last.planned_kg) + 5), f"{have}", "strong")
    else:
        wanted = in_tens(need.need_kg, ceil)
        upper, lower = sorted((scale.y(need.need_kg), scale.y(last.planned_kg)))
        middle = (upper + lower) / 2
        drawing.line([(x - 2, upper), (x + 2, upper), (x + 2, lower), (x - 2, lower)], "axis")
        wide = drawing.width_px >= MIDDLE_PX
        away = LABEL_PX if have > wanted else -LABEL_PX
        drawing.words((x + 6, middle - away + 5), f"have {have}" if wide else f"{have}", "")
        drawing.words((x + 6, middle + 5), f"{room_kg:+d}".replace("-", "−"), "strong")
        if _difference_kg(last, need) == room_kg:
            drawing.words((x + 6, middle + away + 5), f"need {wanted}" if wide else f"{wanted}", "")
    _names(drawing, scale, points[0], shown)


def _names(drawing: Sheet, scale: _Scale, first: FuelHere, shown: Sequence[str]) -> None:
    """Names of the lines where they begin, each on the side away from the other."""
    best, need = shown[0], _of(first, shown[0])
    x, planned = scale.x(first.to_go_nm) + 6, scale.y(first.planned_kg)
    others = f"dashes: {' and '.join(shown[1:])}" if shown[1:] else ""
    short = need is not None and need.need_kg > first.planned_kg
    drawing.words((x, planned + (20 if short else -8)), "fuel on board", "strong")
    if need is None:
        return
    y = scale.y(need.p95_kg or need.need_kg) - 8 - LABEL_PX if short else scale.y(need.need_kg) + 20
    drawing.words((x, y), f"needed to divert to {best}", "chosen-word")
    if others:
        drawing.words((x, y + LABEL_PX), others, "small")


def _table(points: Sequence[FuelHere], order: Sequence[str]) -> NumberTable:
    heads = ["NM to go", "configuration", "on board, kg"]
    for each in order:
        heads += [f"{each} needs, kg", f"{each} 19 in 20, kg", f"{each} final reserve, kg"]
    rows = []
    for point in points:
        row = [f"{point.to_go_nm:.1f}", point.configuration, str(in_tens(point.planned_kg, floor))]
        for aerodrome in order:
            need = _of(point, aerodrome)
            if need is None:
                row += ["not known"] * 3
            else:
                p95 = "not known" if need.p95_kg is None else str(in_tens(need.p95_kg, ceil))
                row += [
                    str(in_tens(need.need_kg, ceil)),
                    p95,
                    str(in_tens(need.reserve_kg, ceil)),
                ]
        rows.append(tuple(row))
    return NumberTable(
        caption="Fuel on board is rounded down, what is needed up, to 10 kg.",
        heads=tuple(heads),
        rows=tuple(rows),
    )
