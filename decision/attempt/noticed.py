"""A place as the notices in force leave it: their effects read into what a case already has.

A closure becomes a closure, an aid that is out becomes equipment out of the approaches that need
it, a declared distance shortens the runway. Nothing gets better by a notice: of two figures the
lesser counts. What a notice closes or shortens without saying which runway is in doubt on all.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from functools import reduce
from typing import Final, NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from decision.case import Aerodrome, Approach, ApproachKind, Runway
from decision.case.types import Closure
from decision.notices import NoticeEffect, NoticesAtPlace, NoticeSubject, ReadNotice
from decision.notices.types import ConditionOfThird, RunwayReport
from decision.quantities import least_known
from decision.weather.runway import (
    BEST_CODE,
    Codes,
    ConditionBasis,
    Evidence,
    both_ends,
    from_the_other_end,
    possible_codes,
)
from decision.windows import Window, clock_text

EARLIEST: Final = datetime(1900, 1, 1, tzinfo=UTC)  # the calendar of a request begins there
LATEST: Final = datetime(2199, 12, 31, tzinfo=UTC)  # and ends there
SIGNIFICANT_PERCENT: Final = 25  # [GRF] a third is contaminated above this
UNKNOWN_CODES: Final[Codes] = (None, None, None)


class ReportedRunway(Struct, frozen=True, kw_only=True, gc=False):
    """A runway of a condition report; `holds`: it is in force for all of the window."""

    notice: str
    report: RunwayReport
    holds: bool


class Noticed(Struct, frozen=True, kw_only=True, gc=False):
    """A place in a window. `notices`: those in force then. `reported`: its condition reports."""

    aerodrome: Aerodrome
    notices: tuple[ReadNotice, ...]
    reported: tuple[ReportedRunway, ...]

    def doubts(self, ident: str) -> tuple[str, ...]:
        """Notices that may close or shorten a runway, and do not say enough."""
        return tuple(each.id for each in self.notices if _is_doubt(each, ident))

    def closing(self, ident: str) -> tuple[str, ...]:
        """Notices that close a runway."""
        return tuple(each.id for each in self.notices if _closes(each, ident))

    @property
    def closing_all(self) -> tuple[str, ...]:
        """Notices that close the aerodrome."""
        return tuple(each.id for each in self.notices if _closes_aerodrome(each))

    def evidence(self, ident: str, temperature_degc: float | None) -> tuple[Evidence, ...]:
        """What the condition reports say of a runway."""
        return tuple(_evidence(self, ident, temperature_degc))


def noticed_in(aerodrome: Aerodrome, at_place: NoticesAtPlace, window: Window) -> Noticed:
    """The place in a window. The same value for all windows that meet the same notices."""
    met = meeting(at_place, window)
    in_force = tuple(
        each for each, is_met in zip(at_place.notices, met, strict=True) if is_met is not None
    )
    return Noticed(
        aerodrome=reduce(_applied, in_force, aerodrome),
        notices=in_force,
        reported=tuple(
            ReportedRunway(notice=each.id, report=report, holds=report.holds(window))
            for each in in_force
            for report in each.conditions
        ),
    )


def meeting(at_place: NoticesAtPlace, window: Window) -> tuple[tuple[bool, ...] | None, ...]:
    """How a window meets each notice: None where not at all; of a report, which runways hold."""
    return tuple(
        tuple(report.holds(window) for report in each.conditions)
        if each.subject is NoticeSubject.RUNWAY_CONDITION or each.in_force(window)
        else None
        for each in at_place.notices
    )


# --- what a notice does ---


def _applied(aerodrome: Aerodrome, notice: ReadNotice) -> Aerodrome:
    apply = EFFECTS_OF.get(notice.effect, _unchanged)
    return apply(aerodrome, notice)


def _unchanged(aerodrome: Aerodrome, _notice: ReadNotice) -> Aerodrome:
    return aerodrome


def _close(aerodrome: Aerodrome, notice: ReadNotice) -> Aerodrome:
    if _closes_aerodrome(notice):
        closure = Closure(
            from_at=notice.from_at or EARLIEST,
            until_at=notice.ends_at or LATEST,
        )
        return replace(aerodrome, closures=(*aerodrome.closures, closure))
    return _with_runways(
        aerodrome,
        lambda runway: replace(runway, closed=True) if _closes(notice, runway.ident) else runway,
    )


def _change(aerodrome: Aerodrome, notice: ReadNotice) -> Aerodrome:
    match notice.subject:
        case NoticeSubject.RESCUE:
            left = least_known(aerodrome.rescue_category, notice.category)
            return replace(aerodrome, rescue_category=left)
        case NoticeSubject.RUNWAY_CONDITION:
            return _with_runways(aerodrome, lambda runway: _reduced(runway, notice))
        case _:
            return _with_runways(aerodrome, lambda runway: _shortened(runway, notice))


def _not_known(aerodrome: Aerodrome, notice: ReadNotice) -> Aerodrome:
    """A rescue category that may have fallen is not known any more."""
    if notice.subject is NoticeSubject.RESCUE:
        return replace(aerodrome, rescue_category=None)
    return aerodrome


def _take_out(aerodrome: Aerodrome, notice: ReadNotice) -> Aerodrome:
    approaches = tuple(_without(each, notice) for each in aerodrome.approaches)
    return replace(aerodrome, approaches=approaches)


EFFECTS_OF: Final[dict[NoticeEffect, Callable[[Aerodrome, ReadNotice], Aerodrome]]] = {
    NoticeEffect.CLOSED: _close,
    NoticeEffect.UNSERVICEABLE: _take_out,
    NoticeEffect.DOWNGRADED: _take_out,
    NoticeEffect.CHANGED: _change,
    NoticeEffect.UNKNOWN: _not_known,
}


def _with_runways(aerodrome: Aerodrome, changed: Callable[[Runway], Runway]) -> Aerodrome:
    return replace(aerodrome, runways=tuple(map(changed, aerodrome.runways)))


def _closes_aerodrome(notice: ReadNotice) -> bool:
    return notice.effect is NoticeEffect.CLOSED and notice.subject is NoticeSubject.AERODROME


def _closes(notice: ReadNotice, ident: str) -> bool:
    """Whether a notice closes a runway: one that is closed is so from both ends."""
    closed = notice.effect is NoticeEffect.CLOSED and notice.subject is NoticeSubject.RUNWAY
    return closed and not both_ends(ident).isdisjoint(notice.runways)


def _is_doubt(notice: ReadNotice, ident: str) -> bool:
    of_runway = not notice.runways or not both_ends(ident).isdisjoint(notice.runways)
    if notice.subject is NoticeSubject.RUNWAY:
        return notice.effect is NoticeEffect.CLOSED and not notice.runways
    unsaid = notice.subject is NoticeSubject.DECLARED_DISTANCES and not notice.distances
    return (
        unsaid and of_runway and notice.effect is not NoticeEffect.NONE and not _of_take_off(notice)
    )


def _of_take_off(notice: ReadNotice) -> bool:
    """Whether it is read to its end and names no landing distance."""
    return notice.effect is NoticeEffect.CHANGED and notice.wholly_read and bool(notice.runways)


def _shortened(runway: Runway, notice: ReadNotice) -> Runway:
    """The least that is said for the runway, and never more than it has."""
    said = [each.lda_m for each in notice.distances if each.runway == runway.ident]
    if not said:
        return runway
    return replace(runway, lda_m=least_known(min(said), runway.longest_m))


def _reduced(runway: Runway, notice: ReadNotice) -> Runway:
    """A length or width that a condition report leaves, from whichever end."""
    for report in notice.conditions:
        if report.runway in both_ends(runway.ident):
            left_m = report.reduced_length_m
            runway = replace(
                runway,
                lda_m=None if runway.lda_m is None else least_known(runway.lda_m, left_m),
                length_m=least_known(runway.length_m, left_m),
                width_m=least_known(runway.width_m, report.width_m),
            )
    return runway


# --- aids and lights ---


class _Aid(NamedTuple):
    """The item that stands for an aid, and the approaches that it serves by what they need.

    `needs` empty: every approach to the runway. `vertical`: only those with vertical guidance, or
    of which it is not known.
    """

    item: str
    needs: frozenset[str] = frozenset()
    vertical: bool = False


_BY_LOCALIZER: Final = frozenset({"ILS", "LOC"})
_BY_DISTANCE: Final = frozenset({"DME"})
MAY_BE_NEEDED: Final = "aid_that_may_be_needed"
DOWNGRADED_ILS: Final = _Aid("ils_downgraded", frozenset({"ILS"}))
AIDS: Final[dict[NoticeSubject, tuple[_Aid, ...]]] = {
    NoticeSubject.ILS: (_Aid("ils", _BY_LOCALIZER),),
    NoticeSubject.LOCALIZER: (_Aid("localizer", _BY_LOCALIZER),),
    NoticeSubject.GLIDE_PATH: (_Aid("glide_path", frozenset({"ILS"}), vertical=True),),
    NoticeSubject.ILS_DME: (_Aid("ils_dme", _BY_LOCALIZER), _Aid("dme", _BY_DISTANCE)),
    NoticeSubject.DME: (_Aid("dme", _BY_DISTANCE),),
    NoticeSubject.VOR: (_Aid("vor", frozenset({"VOR"})),),
    NoticeSubject.NDB: (_Aid("ndb", frozenset({"NDB"})),),
    NoticeSubject.OUTER_MARKER: (_Aid("outer_marker", _BY_LOCALIZER),),
    NoticeSubject.MIDDLE_MARKER: (_Aid("middle_marker", _BY_LOCALIZER),),
    NoticeSubject.APPROACH_LIGHTS: (_Aid("approach_lights"),),
    NoticeSubject.EDGE_LIGHTS: (_Aid("edge_lights"),),
    NoticeSubject.CENTRELINE_LIGHTS: (_Aid("centreline_lights"),),
    NoticeSubject.TOUCHDOWN_ZONE_LIGHTS: (_Aid("touchdown_zone_lights"),),
    NoticeSubject.RVR_SYSTEM: (_Aid("rvr_system"),),
    NoticeSubject.TAXIWAY_LIGHTS: (_Aid("taxiway_lights"),),
    NoticeSubject.ALL_LIGHTS: (
        _Aid("approach_lights"),
        _Aid("edge_lights"),
        _Aid("centreline_lights"),
        _Aid("touchdown_zone_lights"),
    ),
}


def _without(approach: Approach, notice: ReadNotice) -> Approach:
    """The approach with what is out, where it serves that; equipment of others is left alone."""
    if notice.runways and approach.runway not in notice.runways:
        return approach
    out = dict.fromkeys((*approach.equipment_out, *_items_out(approach, notice)))
    return replace(approach, equipment_out=tuple(out))


def _items_out(approach: Approach, notice: ReadNotice) -> Iterator[str]:
    if notice.subject is None:
        return
    downgraded = notice.effect is NoticeEffect.DOWNGRADED
    for aid in (DOWNGRADED_ILS,) if downgraded else AIDS.get(notice.subject, ()):
        if aid.vertical and approach.kind is ApproachKind.TYPE_A_2D:
            continue
        if not aid.needs or not aid.needs.isdisjoint(approach.needs):
            yield aid.item
        elif not approach.needs:
            yield MAY_BE_NEEDED


# --- condition reports ---


def _evidence(noticed: Noticed, ident: str, temperature_degc: float | None) -> Iterator[Evidence]:
    """Of each report of the runway its codes; beside one that cannot be read they only lower."""
    unread = [each.id for each in noticed.notices if _is_unread_of(each, ident)]
    for reported in noticed.reported:
        thirds = _from_touchdown(reported.report, ident)
        if thirds is None:
            continue
        at = f"{reported.notice} of {clock_text(reported.report.assessed_at)}"
        if reported.holds:
            said = _coded(thirds, at, temperature_degc)
            yield said if not unread else replace(said, codes=UNKNOWN_CODES, at_best=_worst(said))
        else:
            yield _said(UNKNOWN_CODES, f"{at} is not in force at that time")
    for name in unread:
        yield _said(UNKNOWN_CODES, f"{name} on the condition of the runway cannot be read")


def _is_unread_of(notice: ReadNotice, ident: str) -> bool:
    """Whether a condition report says something of a runway that could not be read."""
    return not {"", *both_ends(ident)}.isdisjoint(notice.unread_runways)


def _coded(
    thirds: tuple[ConditionOfThird, ...], at: str, temperature_degc: float | None
) -> Evidence:
    told = ["-" if each.code is None else str(each.code) for each in thirds]
    first, second, last = (_code(each, temperature_degc) for each in thirds)
    return _said((first, second, last), f"{at}: code {'/'.join(told)}{_surfaces(thirds)}")


def _worst(said: Evidence) -> int:
    return min((code for code in said.codes if code is not None), default=BEST_CODE)


def _from_touchdown(report: RunwayReport, ident: str) -> tuple[ConditionOfThird, ...] | None:
    """The thirds as a landing meets them; None where the report is of another strip."""
    if report.runway == ident:
        return report.thirds
    return report.thirds[::-1] if report.runway == from_the_other_end(ident) else None


def _code(third: ConditionOfThird, temperature_degc: float | None) -> int | None:
    """The code that was reported, or the best that its surface allows if that is worse.

    A code is what the aerodrome found: only a surface of which no row of the matrix has so good a
    code contradicts it, on more than a quarter of the third.
    """
    if third.contaminant is None or (third.coverage_percent or 0) <= SIGNIFICANT_PERCENT:
        return third.code
    possible = possible_codes(
        third.contaminant, depth_mm=third.depth_mm, temperature_degc=temperature_degc
    )
    return min(possible) if third.code is None else min(third.code, max(possible))


def _surfaces(thirds: tuple[ConditionOfThird, ...]) -> str:
    words = [each.surface or "not reported" for each in thirds]
    return f" ({'/'.join(words).lower()})"


def _said(codes: Codes, text: str) -> Evidence:
    return Evidence(codes=codes, at_best=BEST_CODE, basis=ConditionBasis.REPORTED_CODE, text=text)
