"""Operating minima of one approach as this aircraft, at this time, with what works, may use them.

Starts from what is published and only ever makes it worse: equipment lost on board, equipment out
on the ground, a class of lights that falls, an aeroplane category that rises. What is neither
published nor derivable is unknown and never a default. Each step names what it did in `because`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache, reduce
from typing import Final

from msgspec import Struct

from decision.attempt.category import (
    SLOW,
    AeroplaneCategory,
    circling_minimum,
    greatest_circling_minimum,
)
from decision.attempt.minima.equipment import (
    GROUP_OF_KIND,
    RUNWAY_LIGHTS,
    Downgrade,
    Downgrading,
    Method,
    ProcedureGroup,
    downgrades,
)
from decision.attempt.minima.visual_tables import (
    WORST_FIRST,
    equivalent_minimum_m,
    equivalent_visibility_sm,
    lighting_rvr_m,
    system_minimum_ft,
)
from decision.case.types import Aerodrome, Approach, ApproachKind, Lights
from decision.rulebooks.rulebook import Rulebook
from decision.units import M_PER_STATUTE_MILE

FLIGHT_DIRECTOR: Final = "FLIGHT_DIRECTOR"
# Without these no decision height below that of category I [EU-AO] SPA.LVO, from memory.
LOW_VISIBILITY_NEEDS: Final = ("RADALT", "AUTOPILOT")
LOWEST_US_RVR_M: Final = 650.0  # RVR 2200 ft [AFMAN-15-111]; up to it the table names a fixed RVR
SECOND_US_RVR_M: Final = 600.0  # RVR 2000 ft [AFMAN-15-111]; from it a higher one than for 1800 ft
KEPT: Final = 4096  # minima remembered: one approach is drawn for many arrivals


class OperatingMinima(Struct, frozen=True, kw_only=True, gc=False, cache_hash=True):
    """The minima that count. `usable` False: `barred` says why; None: `unknown` says what is.

    `lights` is the class of approach lights that is left. `conditions`: what the crew has to do
    for the approach to be usable. Figures are given for an approach that is not usable, too.
    """

    usable: bool | None
    height_ft: float | None
    rvr_m: float | None
    visibility_m: float | None
    group: ProcedureGroup
    lights: Lights | None
    because: tuple[str, ...]
    barred: tuple[str, ...]
    unknown: tuple[str, ...]
    conditions: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Aim:
    """What the minima are for: the question, unchanged through all steps."""

    approach: Approach
    rulebook: Rulebook
    method: Method
    group: ProcedureGroup
    precision_runway: bool
    category: AeroplaneCategory | None
    is_night: bool | None
    lost: frozenset[str]
    approvals: frozenset[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Draft:
    """Minima so far. `barred`: why the approach cannot be used."""

    height_ft: float | None
    rvr_m: float | None
    visibility_m: float | None
    lights: Lights | None
    barred: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    because: tuple[str, ...] = ()
    conditions: tuple[str, ...] = ()
    raised: tuple[Downgrade, ...] = ()

    def bar(self, why: str) -> _Draft:
        return replace(self, barred=(*self.barred, why), because=(*self.because, why))

    def lacks(self, what: str) -> _Draft:
        return replace(self, unknown=(*self.unknown, what))

    def noting(self, why: str) -> _Draft:
        return replace(self, because=(*self.because, why))

    def with_rvr_at_least(self, rvr_m: float, why: str) -> _Draft:
        """Raise the RVR, or the visibility where the minimum is one; note it if that changes it."""
        if self.rvr_m is not None and self.rvr_m < rvr_m:
            return replace(self, rvr_m=rvr_m).noting(why)
        if self.rvr_m is None and self.visibility_m is not None and self.visibility_m < rvr_m:
            return replace(self, visibility_m=rvr_m).noting(why)
        return self


def operating_minima(
    approach: Approach,
    *,
    rulebook: Rulebook,
    category: AeroplaneCategory | None,
    is_night: bool | None,
    lost_equipment: frozenset[str],
    approvals: frozenset[str],
    precision_runway: bool = False,
) -> OperatingMinima:
    """The minima of an approach for this aircraft, place and time.

    `precision_runway` False: nothing says that its runway is one. `category` is that of the speed
    that will be flown; None where it is not known. `is_night` None: not known, then the worse of
    day and night applies. Sources: rows and tables named in `because`.
    """
    aim = _Aim(
        approach=approach,
        rulebook=rulebook,
        method=Method(rulebook.word("minima_method")),
        group=_group(approach, rulebook),
        precision_runway=precision_runway or approach.kind is ApproachKind.TYPE_B,
        category=category,
        is_night=is_night,
        lost=lost_equipment,
        approvals=approvals,
    )
    start = _Draft(
        height_ft=approach.minimum_height_ft,
        rvr_m=approach.rvr_m,
        visibility_m=approach.visibility_m,
        lights=approach.lights,
    )
    steps = (_needs, _low_visibility, _height, _ground_equipment, _seeing, _guidance, _circling)
    return _finished(reduce(lambda draft, step: step(draft, aim), steps, start), aim)


_remembered = lru_cache(maxsize=KEPT)(operating_minima)


def minima_at(
    aerodrome: Aerodrome,
    approach: Approach,
    *,
    rulebook: Rulebook,
    category: AeroplaneCategory | None,
    is_night: bool | None,
    lost_equipment: frozenset[str],
    approvals: frozenset[str],
) -> OperatingMinima:
    """The operating minima of an approach to a runway of an aerodrome, which tells its type."""
    return _remembered(
        approach,
        rulebook=rulebook,
        category=category,
        is_night=is_night,
        lost_equipment=lost_equipment,
        approvals=approvals,
        precision_runway=is_precision_runway(aerodrome, approach.runway),
    )


def is_precision_runway(aerodrome: Aerodrome, ident: str) -> bool:
    """Whether a Type B procedure leads to a runway, which proves it a precision approach runway.

    Nothing else in a case tells the type of a runway: one without such a procedure may be either.
    """
    return any(
        approach.kind is ApproachKind.TYPE_B and approach.runway == ident
        for approach in aerodrome.approaches
    )


def _group(approach: Approach, rulebook: Rulebook) -> ProcedureGroup:
    """The group of an approach; low visibility by its height or RVR."""
    group = GROUP_OF_KIND[approach.kind]
    height_ft, rvr_m = approach.minimum_height_ft, approach.rvr_m
    low = (height_ft is not None and height_ft < rulebook.number("low_visibility_height_ft")) or (
        rvr_m is not None and rvr_m < rulebook.number("low_visibility_rvr_m")
    )
    return ProcedureGroup.LOW_VISIBILITY if low and group is ProcedureGroup.TYPE_B else group


def _finished(draft: _Draft, aim: _Aim) -> OperatingMinima:
    usable = False if draft.barred else None if draft.unknown else True
    return OperatingMinima(
        usable=usable,
        height_ft=draft.height_ft,
        rvr_m=draft.rvr_m,
        visibility_m=draft.visibility_m,
        group=aim.group,
        lights=draft.lights,
        because=draft.because,
        barred=draft.barred,
        unknown=draft.unknown,
        conditions=draft.conditions,
    )


# --- what the aircraft and its crew bring ---


def _needs(draft: _Draft, aim: _Aim) -> _Draft:
    """Nothing that the procedure needs may be lost on board."""
    for need in aim.approach.needs:
        if need in aim.lost:
            draft = draft.bar(f"needs {need}, which is lost")
    return draft


def _low_visibility(draft: _Draft, aim: _Aim) -> _Draft:
    """Below category I: the approval, and what such an approach is flown with."""
    if aim.group is not ProcedureGroup.LOW_VISIBILITY:
        return draft
    approval = aim.rulebook.row("low_visibility_approval")
    if approval.value not in aim.approvals:
        draft = draft.bar(f"needs the approval {approval.value} {approval.citation}")
    for need in LOW_VISIBILITY_NEEDS:
        if need in aim.lost:
            draft = draft.bar(f"below category I minima needs {need}, which is lost")
    return draft


def _guidance(draft: _Draft, aim: _Aim) -> _Draft:
    """A low RVR is flown by flight director: category I, in Europe all with vertical guidance.

    An autopilot alone is not credited: nothing in a case says that it may be used to the minimum.
    """
    by_table = aim.method is Method.LIGHTING_TABLE and aim.approach.kind is ApproachKind.TYPE_A_3D
    asked = aim.group is ProcedureGroup.TYPE_B or by_table
    if not asked or FLIGHT_DIRECTOR not in aim.lost:
        return draft
    row = aim.rulebook.row("no_flight_director_rvr_m")
    floor_m = aim.rulebook.number(row.name)
    return draft.with_rvr_at_least(
        floor_m, f"no flight director: RVR at least {floor_m:g} m {row.citation}"
    )


# --- height ---


def _height(draft: _Draft, aim: _Aim) -> _Draft:
    """A published height, not under the system minimum or the least of its type."""
    if draft.height_ft is None:
        return draft.lacks("minimum height not published")
    floors = _height_floors(aim)
    floor_ft, why = max(floors, default=(0.0, ""))
    if draft.height_ft >= floor_ft:
        return draft
    return replace(draft, height_ft=floor_ft).noting(f"height raised to {floor_ft:g} ft: {why}")


def _height_floors(aim: _Aim) -> list[tuple[float, str]]:
    floors = []
    if aim.group is ProcedureGroup.TYPE_A:
        row = aim.rulebook.row("type_a_min_height_ft")
        least_ft = aim.rulebook.number_or_none(row.name)
        if least_ft is not None:
            floors.append((least_ft, f"least height of Type A {row.citation}"))
    if aim.group in {ProcedureGroup.TYPE_A, ProcedureGroup.TYPE_B} and aim.rulebook.flag(
        "system_minima_apply"
    ):
        system_ft = system_minimum_ft(aim.approach.needs)
        if system_ft is not None:
            row = aim.rulebook.row("system_minima_apply")
            floors.append((system_ft, f"system minimum {row.citation}"))
    return floors


# --- ground equipment ---


def _ground_equipment(draft: _Draft, aim: _Aim) -> _Draft:
    """Everything out of service, item by item, then the bar on several runway lights at once."""
    out = downgrades(aim.approach.equipment_out, method=aim.method, group=aim.group)
    draft = reduce(lambda so_far, cell: _downgraded(so_far, cell, aim), out, draft)
    several = len(RUNWAY_LIGHTS.intersection(aim.approach.equipment_out)) > 1
    if several and aim.method is Method.LIGHTING_TABLE:
        row = aim.rulebook.row("minima_method")
        return draft.bar(f"several kinds of runway lights out: not acceptable {row.citation}")
    return draft


def _downgraded(draft: _Draft, cell: Downgrade, aim: _Aim) -> _Draft:
    return EFFECTS[cell.effect](draft, cell, aim)


def _unchanged(draft: _Draft, _cell: Downgrade, _aim: _Aim) -> _Draft:
    return draft


def _conditional(draft: _Draft, cell: Downgrade, _aim: _Aim) -> _Draft:
    return replace(draft, conditions=(*draft.conditions, cell.because))


def _not_allowed(draft: _Draft, cell: Downgrade, _aim: _Aim) -> _Draft:
    return draft.bar(cell.because)


def _not_known(draft: _Draft, cell: Downgrade, _aim: _Aim) -> _Draft:
    return draft.lacks(cell.because)


def _not_at_night(draft: _Draft, cell: Downgrade, aim: _Aim) -> _Draft:
    if aim.is_night is None:
        return draft.lacks(f"{cell.because}; day or night not known")
    return draft.bar(cell.because) if aim.is_night else draft


def _fewer_lights(draft: _Draft, cell: Downgrade, _aim: _Aim) -> _Draft:
    return replace(draft, lights=_lower(draft.lights, cell.lights)).noting(cell.because)


def _unless_flight_director(draft: _Draft, cell: Downgrade, aim: _Aim) -> _Draft:
    if cell.rvr_m is None or FLIGHT_DIRECTOR not in aim.lost:
        return draft
    return draft.with_rvr_at_least(cell.rvr_m, cell.because)


def _to_be_raised(draft: _Draft, cell: Downgrade, _aim: _Aim) -> _Draft:
    return replace(draft, raised=(*draft.raised, cell))


EFFECTS: Final[dict[Downgrading, Callable[[_Draft, Downgrade, _Aim], _Draft]]] = {
    Downgrading.NONE: _unchanged,
    Downgrading.CONDITION: _conditional,
    Downgrading.NOT_ALLOWED: _not_allowed,
    Downgrading.UNKNOWN: _not_known,
    Downgrading.NOT_AT_NIGHT: _not_at_night,
    Downgrading.LIGHTS: _fewer_lights,
    Downgrading.RVR_FLOOR: _unless_flight_director,
    Downgrading.RAISED: _to_be_raised,
}


def _lower(first: Lights | None, second: Lights | None) -> Lights | None:
    """The worse of two classes; where one is not known the other is what can be relied on."""
    known = [lights for lights in (first, second) if lights is not None]
    return min(known, key=WORST_FIRST.index, default=None)


# --- RVR and visibility ---


def _seeing(draft: _Draft, aim: _Aim) -> _Draft:
    if aim.group is ProcedureGroup.CIRCLING:
        return draft
    published = draft.rvr_m is not None or draft.visibility_m is not None
    if aim.method is Method.VISUAL_AIDS_TABLE:
        draft = reduce(_raised, draft.raised, draft)
        return draft if published else draft.lacks("minimum RVR or visibility not published")
    if aim.group is ProcedureGroup.LOW_VISIBILITY:
        return draft if draft.rvr_m is not None else draft.lacks("minimum RVR not published")
    if published and draft.lights is aim.approach.lights:
        return draft
    return _by_lights(draft, aim, published=published)


def _by_lights(draft: _Draft, aim: _Aim, *, published: bool) -> _Draft:
    """RVR by height and lights: instead of one that is not published, or as a floor under it."""
    if draft.lights is None:
        return draft.lacks("minimum RVR not published and class of approach lights not given")
    if draft.height_ft is None:
        return draft
    rvr_m = _derived_rvr_m(draft.height_ft, draft.lights, aim)
    why = (
        f"RVR {rvr_m:g} m by height and {draft.lights} {aim.rulebook.row('minima_method').citation}"
    )
    if not aim.precision_runway and rvr_m == aim.rulebook.number("type_a_min_rvr_m"):
        why = f"{why}; nothing says that the runway is a precision approach runway"
    if published:
        return draft.with_rvr_at_least(rvr_m, why)
    return replace(draft, rvr_m=rvr_m).noting(why)


def _derived_rvr_m(height_ft: float, lights: Lights, aim: _Aim) -> float:
    """The table's RVR with the floors of runway and guidance, the cap and the level segment."""
    book = aim.rulebook
    rvr_m = max(lighting_rvr_m(height_ft, lights=lights), *_rvr_floors_m(aim))
    slow = aim.category in SLOW
    if slow:
        rvr_m = min(rvr_m, book.number("slow_category_cap_m"))
    if aim.approach.kind is ApproachKind.TYPE_A_2D and aim.approach.dh_ft is None:
        rvr_m += book.number("level_segment_slow_m" if slow else "level_segment_fast_m")
    return rvr_m


def _rvr_floors_m(aim: _Aim) -> Iterator[float]:
    """The least RVR of the type of runway, and of an approach without vertical guidance."""
    book = aim.rulebook
    yield book.number("type_b_min_rvr_m" if aim.precision_runway else "type_a_min_rvr_m")
    if aim.approach.kind is ApproachKind.TYPE_A_2D:
        yield book.number("two_dimensional_min_rvr_m")


def _raised(draft: _Draft, cell: Downgrade) -> _Draft:
    """The United States table: lowest RVR minima to a fixed one, others by statute miles."""
    added_sm = cell.add_sm or 0.0
    rvr_m, visibility_m = draft.rvr_m, draft.visibility_m
    if rvr_m is not None:
        fixed_m = cell.rvr_m if rvr_m < SECOND_US_RVR_M else cell.rvr_from_600_m
        rvr_m = max(rvr_m, _raised_rvr_m(rvr_m, fixed_m=fixed_m, added_sm=added_sm))
    if visibility_m is not None:
        visibility_m += added_sm * M_PER_STATUTE_MILE
    return replace(draft, rvr_m=rvr_m, visibility_m=visibility_m).noting(cell.because)


def _raised_rvr_m(rvr_m: float, *, fixed_m: float | None, added_sm: float) -> float:
    if fixed_m is not None and rvr_m <= LOWEST_US_RVR_M:
        return fixed_m
    if not added_sm:
        return rvr_m
    as_visibility_sm = equivalent_visibility_sm(rvr_m)
    if as_visibility_sm is None:
        return rvr_m + added_sm * M_PER_STATUTE_MILE
    return equivalent_minimum_m(as_visibility_sm + added_sm)


# --- circling ---


def _circling(draft: _Draft, aim: _Aim) -> _Draft:
    """The circling minima of the category that will be flown, as a floor under the published.

    A category faster than any in the table has no minimum that is known, and none below theirs.
    """
    if aim.group is not ProcedureGroup.CIRCLING or aim.method is not Method.LIGHTING_TABLE:
        return _circling_published(draft, aim)
    least = None if aim.category is None else circling_minimum(aim.category)
    if least is None:
        draft = draft.lacks(f"no circling minimum for category {aim.category or 'not known'}")
        least = greatest_circling_minimum()
    figures = f"{least.mdh_ft:g} ft, {least.visibility_m:g} m"
    why = f"circling, category {least.category}: at least {figures} [{least.cite}]"
    height_ft = None if draft.height_ft is None else max(draft.height_ft, least.mdh_ft)
    visibility_m = max(draft.visibility_m or 0.0, least.visibility_m)
    changed = (height_ft, visibility_m) != (draft.height_ft, draft.visibility_m)
    draft = replace(draft, height_ft=height_ft, visibility_m=visibility_m)
    return draft.noting(why) if changed else draft


def _circling_published(draft: _Draft, aim: _Aim) -> _Draft:
    if aim.group is ProcedureGroup.CIRCLING and draft.visibility_m is None:
        return draft.lacks("minimum visibility for circling not published")
    return draft
