"""Planning minima of an alternate: additions on the operating minima of what can be used there.

Which approaches go together (one, two on separate runways, two on separate aids) and what is added
stands in data/tables/planning_minima.csv, one scheme per rulebook or policy. Every way of meeting
the table is an option; an aerodrome meets its planning minima when the weather meets any of them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from itertools import combinations
from typing import Final

from msgspec import structs

from decision.attempt.category import AeroplaneCategory
from decision.attempt.minima.equipment import ProcedureGroup
from decision.attempt.minima.operating import (
    OperatingMinima,
    minima_at,
)
from decision.attempt.minima.visual_tables import system_minimum_ft
from decision.case.types import Aerodrome, Approach, ApproachKind
from decision.citations import Confidence
from decision.rulebooks.rulebook import Rulebook
from decision.tables import Row, rows
from decision.units import M_PER_STATUTE_MILE
from decision.weather.readings import CeilingReading, VisibilityReading

FILE: Final = "planning_minima.csv"
COLUMNS: Final = frozenset(
    {"scheme", "approaches", "figures", "height_ft", "visibility_m", "visibility_sm", "note"}
)
BEST_FIRST: Final = (True, None, False)
GNSS: Final = "GNSS"
APPROVAL_NOT_NEEDED: Final = "not_needed"
FROM_CATEGORY_I: Final = "category_i"  # no credit for low visibility: additions start from there
PRECISION_SYSTEM_MINIMUM_FT: Final = 200.0  # [EU-AO-PLANNING] AMC8, row 3
CATEGORY_II_LEAST_FT: Final = 100.0  # a decision height under it is category III [EU-AO]
METRIC_STEP_M: Final = 50.0  # visibility is published and reported in steps of 50 m [WMO-306]
OPPOSITE: Final = 18  # runway numbers of the two ends of one strip differ by it
OTHER_SIDE: Final = {"L": "R", "R": "L", "C": "C", "": ""}


class Scheme(StrEnum):
    """A column of the trade: how planning minima are made."""

    BASIC = "basic"
    VARIATIONS = "variations"
    DERIVED_ALTERNATE = "derived_alternate"
    STANDARD_ALTERNATE = "standard_alternate"


class Figures(StrEnum):
    """Whether a row adds to the operating minima or stands by itself."""

    ADDED = "added"
    FIXED = "fixed"


class Approaches(StrEnum):
    """Which approaches a row of the table is for."""

    ONE_TYPE_B = "one_type_b"
    TWO_TYPE_B = "two_type_b"
    TYPE_A_ON_PRECISION_AID = "type_a_on_precision_aid"
    ONE_TYPE_A = "one_type_a"
    TWO_TYPE_A = "two_type_a"
    CIRCLING = "circling"
    ONE_NAVAID = "one_navaid"
    TWO_NAVAIDS = "two_navaids"
    CATEGORY_II_CREDIT = "category_ii_credit"
    CATEGORY_III_CREDIT = "category_iii_credit"
    PRECISION = "precision"
    NON_PRECISION = "non_precision"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanningOption:
    """One way of meeting the planning minima: approaches that must all stay usable, figures."""

    approaches: tuple[str, ...]
    runways: tuple[str, ...]
    ceiling_ft: float
    visibility_m: float
    because: str
    confidence: Confidence


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanningMinima:
    """The options, lowest ceiling first; `ceiling_ft` and the rest are those of the first.

    Without an option: `unknown` says what would have to be known; empty, there is none at all.
    """

    options: tuple[PlanningOption, ...]
    because: tuple[str, ...]
    unknown: tuple[str, ...]

    @property
    def available(self) -> bool | None:
        """Whether there are planning minima; None if that is not known."""
        return True if self.options else None if self.unknown else False

    @property
    def ceiling_ft(self) -> float | None:
        """Ceiling needed, in feet above the aerodrome."""
        return self.options[0].ceiling_ft if self.options else None

    @property
    def visibility_m(self) -> float | None:
        """Visibility needed, in metres; RVR minima count as visibility here."""
        return self.options[0].visibility_m if self.options else None

    @property
    def confidence(self) -> Confidence | None:
        """How well the additions of the first option are known."""
        return self.options[0].confidence if self.options else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Usable:
    """An approach that can be used, with its figures known."""

    approach: Approach
    group: ProcedureGroup
    height_ft: float
    visibility_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanningRefused:
    """An approach that does not count, and why."""

    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanningNotKnown:
    """An approach of which a figure that matters is not known, and which."""

    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanningJudgement:
    """Whether planning minima are met (None: not known), and by which option."""

    met: bool | None
    option: PlanningOption | None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Aim:
    """What the planning minima are for."""

    aerodrome: Aerodrome
    rulebook: Rulebook
    category: AeroplaneCategory | None
    is_night: bool | None
    lost_equipment: frozenset[str]
    approvals: frozenset[str]
    usable_runways: frozenset[str] | None


def planning_minima(
    aerodrome: Aerodrome,
    *,
    rulebook: Rulebook,
    category: AeroplaneCategory | None,
    is_night: bool | None,
    lost_equipment: frozenset[str],
    approvals: frozenset[str],
    usable_runways: frozenset[str] | None = None,
    scheme: Scheme | None = None,
) -> PlanningMinima:
    """Planning minima of an aerodrome for this aircraft.

    `usable_runways`: those that wind and length allow; None: all that are open. `scheme`: the
    rulebook's when None; VARIATIONS and STANDARD_ALTERNATE are choices of the operator.
    """
    aim = _Aim(
        aerodrome=aerodrome,
        rulebook=rulebook,
        category=category,
        is_night=is_night,
        lost_equipment=lost_equipment,
        approvals=approvals,
        usable_runways=usable_runways,
    )
    sorted_out = [_sorted_out(approach, aim) for approach in aerodrome.approaches]
    usable = tuple(each for each in sorted_out if isinstance(each, Usable))
    nothing = () if aerodrome.approaches else (NO_APPROACH,)
    return PlanningMinima(
        options=_options(
            usable,
            scheme or Scheme(rulebook.word("planning_scheme")),
            separate=aerodrome.separate_runways is True,
        ),
        because=tuple(each.why for each in sorted_out if isinstance(each, PlanningRefused)),
        unknown=(
            *nothing,
            *(each.why for each in sorted_out if isinstance(each, PlanningNotKnown)),
        ),
    )


NO_APPROACH: Final = "no approach is described"
"""Nobody knows what approaches there are: that is no fault of the place."""


def _sorted_out(approach: Approach, aim: _Aim) -> Usable | PlanningRefused | PlanningNotKnown:
    """One approach: usable with its figures, refused, or not known; the latter two with reasons."""
    minima = _minima_for(approach, aim)
    if minima.group is ProcedureGroup.LOW_VISIBILITY and _credit_of(aim) == FROM_CATEGORY_I:
        approach = _as_category_i(approach, aim.rulebook)
        minima = _minima_for(approach, aim)
    refusal = _refusal(approach, minima, aim)
    if refusal is not None:
        return PlanningRefused(why=f"{approach.id}: {refusal}")
    if minima.usable is None or minima.height_ft is None:
        return PlanningNotKnown(why=f"{approach.id}: {'; '.join(minima.unknown)}")
    circling = minima.group is ProcedureGroup.CIRCLING
    figures_m = (
        (minima.visibility_m, minima.rvr_m) if circling else (minima.rvr_m, minima.visibility_m)
    )
    return Usable(
        approach=approach,
        group=minima.group,
        height_ft=minima.height_ft,
        visibility_m=next(each for each in figures_m if each is not None),
    )


def _minima_for(approach: Approach, aim: _Aim) -> OperatingMinima:
    return minima_at(
        aim.aerodrome,
        approach,
        rulebook=aim.rulebook,
        category=aim.category,
        is_night=aim.is_night,
        lost_equipment=aim.lost_equipment,
        approvals=aim.approvals,
    )


def _credit_of(aim: _Aim) -> str:
    return aim.rulebook.word("alternate_low_visibility_credit")


def _as_category_i(approach: Approach, rulebook: Rulebook) -> Approach:
    """The procedure with category I figures: height and RVR of its limit, RVR by lights if given.

    Its own RVR says nothing about category I, so lights decide where they are known.
    """
    least_ft = rulebook.number("low_visibility_height_ft")
    least_m = rulebook.number("low_visibility_rvr_m")
    return structs.replace(
        approach,
        dh_ft=None if approach.dh_ft is None else max(approach.dh_ft, least_ft),
        rvr_m=None if approach.lights is not None else max(approach.rvr_m or 0.0, least_m),
        visibility_m=None,
    )


def _refusal(approach: Approach, minima: OperatingMinima, aim: _Aim) -> str | None:
    """Why an approach does not count for planning, or None."""
    if minima.usable is False:
        return "; ".join(minima.barred)
    if aim.aerodrome.runway(approach.runway).closed:
        return f"runway {approach.runway} is closed"
    if aim.usable_runways is not None and approach.runway not in aim.usable_runways:
        return f"runway {approach.runway} is not usable"
    gnss = aim.rulebook.row("alternate_gnss_approval")
    if GNSS in approach.needs and gnss.value not in {APPROVAL_NOT_NEEDED, *aim.approvals}:
        return f"GNSS at an alternate needs {gnss.value} {gnss.citation}"
    credit = aim.rulebook.row("alternate_low_visibility_credit")
    if minima.group is ProcedureGroup.LOW_VISIBILITY and credit.value not in aim.approvals:
        return f"low-visibility minima at an alternate need {credit.value} {credit.citation}"
    return None


def planning_met(
    minima: PlanningMinima, *, ceiling: CeilingReading, visibility: VisibilityReading
) -> PlanningJudgement:
    """Whether the weather meets any option; the best option is the one to name."""
    judged = [
        PlanningJudgement(met=_both(ceiling, visibility, option), option=option)
        for option in minima.options
    ]
    nothing = PlanningJudgement(met=None if minima.unknown else False, option=None)
    return min(judged, key=lambda each: BEST_FIRST.index(each.met), default=nothing)


def _both(
    ceiling: CeilingReading, visibility: VisibilityReading, option: PlanningOption
) -> bool | None:
    answers = (ceiling.reaches(option.ceiling_ft), visibility.reaches(option.visibility_m))
    return min(answers, key=BEST_FIRST[::-1].index)


# --- options ---


def _options(
    usable: tuple[Usable, ...], scheme: Scheme, *, separate: bool
) -> tuple[PlanningOption, ...]:
    """Every way of meeting the table, lowest ceiling first, then visibility, then names."""
    options = [
        _option(row, members)
        for row in _rows(scheme)
        for members in MEMBERS[row.kind("approaches", Approaches)](usable, separate)
    ]
    return tuple(
        sorted(options, key=lambda each: (each.ceiling_ft, each.visibility_m, each.approaches))
    )


def _option(row: Row, members: tuple[Usable, ...]) -> PlanningOption:
    """The row's figures for these approaches; of two approaches the higher figures count."""
    height_ft, visibility_m = row.number("height_ft"), row.number("visibility_m")
    if row.kind("figures", Figures) is Figures.ADDED:
        height_ft += max(member.height_ft for member in members)
        visibility_m = max(_added_m(member.visibility_m, row) for member in members)
    return PlanningOption(
        approaches=tuple(member.approach.id for member in members),
        runways=tuple(member.approach.runway for member in members),
        ceiling_ft=height_ft,
        visibility_m=visibility_m,
        because=f"{row.text('note')} [{row.text('source')}]",
        confidence=row.kind("confidence", Confidence),
    )


def _added_m(visibility_m: float, row: Row) -> float:
    """Visibility with its addition: in statute miles where the minimum is published in them.

    A row that offers both ("1 SM or 1600 m") is read in the unit of the minimum; one in metres is
    known by its step of 50 m.
    """
    if not row.cells["visibility_sm"] or visibility_m % METRIC_STEP_M == 0.0:
        return visibility_m + row.number("visibility_m")
    return visibility_m + row.number("visibility_sm") * M_PER_STATUTE_MILE


@cache
def _rows(scheme: Scheme) -> tuple[Row, ...]:
    return tuple(row for row in rows(FILE, columns=COLUMNS) if row.kind("scheme", Scheme) is scheme)


# --- which approaches go together ---

Members = Iterable[tuple[Usable, ...]]
Choose = Callable[[tuple[Usable, ...], bool], Members]


def _one(*kinds: ApproachKind) -> Choose:
    def choose(usable: tuple[Usable, ...], _separate: bool) -> Members:
        return ((each,) for each in usable if each.approach.kind in kinds)

    return choose


def _two_type_b(usable: tuple[Usable, ...], separate: bool) -> Members:
    """Two Type B to separate runways: not the two ends of one strip, and not stated dependent."""
    precise = [each for each in usable if each.approach.kind is ApproachKind.TYPE_B]
    return (
        pair
        for pair in combinations(precise, 2)
        if separate and not same_strip(pair[0].approach.runway, pair[1].approach.runway)
    )


def _type_a_on_precision_aid(usable: tuple[Usable, ...], _separate: bool) -> Members:
    for each in usable:
        system_ft = system_minimum_ft(each.approach.needs)
        precise = system_ft is not None and system_ft <= PRECISION_SYSTEM_MINIMUM_FT
        if each.approach.kind is ApproachKind.TYPE_A_3D and precise:
            yield (each,)


def _two_type_a(usable: tuple[Usable, ...], _separate: bool) -> Members:
    """Two Type A, each on an aid of its own."""
    simple = [
        each for each in usable if each.group is ProcedureGroup.TYPE_A and each.approach.needs
    ]
    return (
        pair
        for pair in combinations(simple, 2)
        if not set(pair[0].approach.needs) & set(pair[1].approach.needs)
    )


def _one_navaid(usable: tuple[Usable, ...], _separate: bool) -> Members:
    """One facility: straight-in up to category I, or circling."""
    return ((each,) for each in usable if each.group is not ProcedureGroup.LOW_VISIBILITY)


def _two_navaids(usable: tuple[Usable, ...], _separate: bool) -> Members:
    """Two facilities, straight-in to different runways; GNSS twice is one facility."""
    straight = [
        each
        for each in usable
        if each.group not in {ProcedureGroup.LOW_VISIBILITY, ProcedureGroup.CIRCLING}
    ]
    return (
        pair
        for pair in combinations(straight, 2)
        if pair[0].approach.runway != pair[1].approach.runway
        and not all(GNSS in each.approach.needs for each in pair)
    )


def _credit(*, category_iii: bool) -> Choose:
    """Two low-visibility approaches to separate runways; category III where both are."""

    def choose(usable: tuple[Usable, ...], separate: bool) -> Members:
        low = [each for each in usable if each.group is ProcedureGroup.LOW_VISIBILITY]
        return (
            pair
            for pair in combinations(low, 2)
            if separate
            and not same_strip(pair[0].approach.runway, pair[1].approach.runway)
            and (max(each.height_ft for each in pair) < CATEGORY_II_LEAST_FT) is category_iii
        )

    return choose


_type_a: Final = _one(ApproachKind.TYPE_A_3D, ApproachKind.TYPE_A_2D)
_type_b: Final = _one(ApproachKind.TYPE_B)

MEMBERS: Final[dict[Approaches, Choose]] = {
    Approaches.ONE_TYPE_B: _type_b,
    Approaches.TWO_TYPE_B: _two_type_b,
    Approaches.TYPE_A_ON_PRECISION_AID: _type_a_on_precision_aid,
    Approaches.ONE_TYPE_A: _type_a,
    Approaches.TWO_TYPE_A: _two_type_a,
    Approaches.CIRCLING: _one(ApproachKind.CIRCLING),
    Approaches.ONE_NAVAID: _one_navaid,
    Approaches.TWO_NAVAIDS: _two_navaids,
    Approaches.CATEGORY_II_CREDIT: _credit(category_iii=False),
    Approaches.CATEGORY_III_CREDIT: _credit(category_iii=True),
    Approaches.PRECISION: _type_b,
    Approaches.NON_PRECISION: _type_a,
}


def same_strip(first: str, second: str) -> bool:
    """Whether two runway designators are the same runway or the two ends of one strip."""
    if first == second:
        return True
    numbers = abs(int(first[:2]) - int(second[:2]))
    return numbers == OPPOSITE and OTHER_SIDE[first[2:]] == second[2:]
