"""Fuel over the miles to the threshold as a short table: its ends, its step, where fuel runs short.

Every need counts from the point of its own line, final reserve included.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import Final

from decision.brief.layout import INDENT, NONE, Data, clock_down, kg_down, kg_up, wrapped

MOST_PLACES: Final = 3
SHORT: Final = "*"


def fuel_ahead(answer: Data) -> Iterable[str]:
    """Nothing where it was not asked for, nor in answers stored before it could be."""
    points = answer.get("fuel_ahead")
    if not points:
        return
    yield "FUEL TO THE THRESHOLD, needs counted from each point with final reserve"
    places = [each["aerodrome"] for each in points[0]["places"]]
    columns = "".join(f"{place:>9} " for place in places[:MOST_PLACES])
    yield f"{INDENT}{'to go':>9}  {'time':>6}  {'on board':>8}{columns}".rstrip()
    told = list(_told(points))
    for point, after in told:
        yield _line(point, after=after)
    if any(_short(point, each) for point, _ in told for each in point["places"][:MOST_PLACES]):
        yield f"{INDENT}{SHORT} more than is on board there"
    if len(places) > MOST_PLACES:
        yield f"{INDENT}and {len(places) - MOST_PLACES} more places; see the full answer"
    for text in _reasons(points):
        yield from wrapped(text, first=INDENT, rest=INDENT * 2)


def _told(points: Sequence[Data]) -> Iterator[tuple[Data, bool]]:
    """Each point that is told, and whether it is the far side of the step."""
    yield points[0], False
    for i, (before, point) in enumerate(pairwise(points), start=1):
        after = point["after_step"] and not before["after_step"]
        leads = i + 1 < len(points) and points[i + 1]["after_step"] and not point["after_step"]
        last = i + 1 == len(points)
        if after or leads or last or _falls_short(before, point):
            yield point, after


def _falls_short(before: Data, point: Data) -> bool:
    """Whether fuel for one of the places runs short between two points."""
    both = zip(before["places"][:MOST_PLACES], point["places"][:MOST_PLACES], strict=True)
    return any(_short(point, now) and not _short(before, then) for then, now in both)


def _short(point: Data, place: Data) -> bool:
    """Whether more is needed there than is on board; not where one of them is not known."""
    known = point["planned_kg"] is not None and place["need_kg"] is not None
    return known and place["need_kg"] > point["planned_kg"]


def _line(point: Data, *, after: bool) -> str:
    to_go_nm = point["distance_to_go_nm"]
    distance = NONE if to_go_nm is None else f"{to_go_nm:.1f}"
    needs = "".join(
        f"{kg_up(each['need_kg']):>9}{SHORT if _short(point, each) else ' '}"
        for each in point["places"][:MOST_PLACES]
    )
    note = " after the step" if after else ""
    return (
        f"{INDENT}{distance:>6} NM  {clock_down(point['at']):>6}  "
        f"{kg_down(point['planned_kg']):>8}{needs}{note}"
    ).rstrip()


def _reasons(points: Sequence[Data]) -> Sequence[str]:
    """Why figures are missing, each once."""
    on_board = [
        f"no figure for what is on board: {each['reason']}"
        for each in points
        if each["reason"] is not None
    ]
    needed = [
        f"no figure for {place['aerodrome']}: {place['reason']}"
        for point in points
        for place in point["places"][:MOST_PLACES]
        if place["reason"] is not None
    ]
    return list(dict.fromkeys((*on_board, *needed)))
