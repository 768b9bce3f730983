"""What the weather of an attempt's window gives against its minima.

Remarks count too: a remark may speak of less than the body of a report, of cloud that varies to a
ceiling or a visibility between two figures. Where the worst of body and conditional part controls,
that is the weather; elsewhere it is a doubt, so that a minimum above it is not known to be met.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from msgspec import Struct
from msgspec.structs import replace

from decision.attempt.attempt import Scene
from decision.attempt.minima import (
    RANGES,
    Quantity,
    Seen,
    reported_to_required,
    worst_seen,
)
from decision.quantities import Bound
from decision.rules.combine import by_reading, holds
from decision.rules.finding import Judgement, shown
from decision.rules.registry import Context
from decision.weather.readings import (
    CeilingReading,
    Reported,
    RvrReading,
    VisibilityReading,
)
from decision.weather.report import CeilingState, Element
from decision.weather.use import Reading


def seen_at(attempt: Scene, context: Context) -> Seen | None:
    """What the weather of the attempt's window gives against its minima; None without procedure.

    The worse of what is reported and what is forecast.
    """
    if attempt.minima is None:
        return None
    seen = [each.seen for each in reported_at(attempt, context)]
    forecast = attempt.weather.forecast_visibility
    if forecast is not None:
        seen.append(compared(attempt, context, visibility=forecast))
    whole = attempt.weather.visibility
    return worst_seen(seen) or compared(attempt, context, visibility=whole)


class ReportedSeen(Struct, frozen=True, kw_only=True, gc=False):
    """A comparison with something that is reported, and when that was issued or spoken."""

    seen: Seen
    at: datetime


def reported_at(
    attempt: Scene, context: Context, *, before: bool = False
) -> Iterator[ReportedSeen]:
    """What each observation in force gives against the minima, as far as it still speaks.

    A range that is too old to make anything known speaks where it is short of the minimum. Where
    it is not, the observation had set no bar, and neither does its visibility. `before`: what the
    observations before these gave.
    """
    for each in attempt.weather.reported_before if before else attempt.weather.reported:
        rvr = _of_runway(attempt, each.rvr)
        if rvr is None and each.visibility is None:
            continue
        seen = compared(attempt, context, visibility=each.visibility, rvr=rvr)
        by_range = seen.quantity in RANGES
        if rvr is not None and by_range and rvr.bars_only and seen.reached is not False:
            continue
        yield ReportedSeen(seen=seen, at=_issued_at(each, rvr if by_range else None))


def _issued_at(reported: Reported, rvr: RvrReading | None) -> datetime:
    return reported.at if rvr is None or rvr.at is None else rvr.at


def compared(
    attempt: Scene,
    context: Context,
    *,
    visibility: VisibilityReading | None,
    rvr: RvrReading | None = None,
) -> Seen:
    """A visibility or range against the minima; a remark on less is counted, or is a doubt."""
    said = None if visibility is None else counted(visibility, context)
    seen = _against(attempt, context, said, rvr)
    if said is None or said.possible_metres is None or not seen.reached:
        return seen
    if _against(attempt, context, at_remark(said), rvr).reached:
        return seen
    return replace(seen, reached=None, because=why_remark(said.possible_metres, "m", context))


def _against(
    attempt: Scene,
    context: Context,
    visibility: VisibilityReading | None,
    rvr: RvrReading | None,
) -> Seen:
    if attempt.approach is None or attempt.minima is None:
        raise ValueError("there are no minima without an approach")
    return reported_to_required(
        attempt.approach,
        attempt.minima,
        rvr=rvr,
        visibility=visibility,
        is_night=attempt.is_night,
        rulebook=context.rulebook,
    )


def _of_runway(attempt: Scene, ranges: tuple[RvrReading, ...]) -> RvrReading | None:
    """The runway visual range of the attempt's runway, where one is reported."""
    ident = None if attempt.runway is None else attempt.runway.ident
    return next((each for each in ranges if each.runway == ident), None)


def miss_likely(attempt: Scene, context: Context) -> bool | None:
    """Whether the ceiling is below the minimum height; None when either is not known."""
    if attempt.minimum_height_ft is None:
        return None
    reached = ceiling_of(attempt, context).reaches(attempt.minimum_height_ft)
    return None if reached is None else not reached


def ceiling_at_least(attempt: Scene, limit_ft: float, context: Context, *, what: str) -> Judgement:
    """The ceiling of the window against a minimum; no ceiling is above every minimum."""
    ceiling = ceiling_of(attempt, context)
    reached = ceiling.reaches(limit_ft)
    if ceiling.state is CeilingState.NONE and reached:
        return holds(True, yes=f"{attempt.icao} has no ceiling", no="", unknown="")
    why = _why_ceiling(attempt, ceiling)
    if ceiling.possible_ceiling_ft is not None and ceiling.possible_ceiling_ft < limit_ft:
        why = why_remark(ceiling.possible_ceiling_ft, "ft", context)
    judged = by_reading(what, ceiling.feet, limit_ft, reached, unit="ft", why=why)
    counted = ceiling is not attempt.weather.ceiling and reached is False
    return judged.adding(ceiling.governing.why) if counted else judged


def _why_ceiling(attempt: Scene, ceiling: CeilingReading) -> str:
    said = dict.fromkeys((ceiling.governing.text, ceiling.governing.why))
    return doubt_of(attempt, Element.CLOUD) or "; ".join(filter(None, said))


def doubt_of(attempt: Scene, element: Element) -> str:
    """Why an element of the window is not wholly known, in plain words; empty when it is.

    What a report says and nobody can read comes first: that is what has to be asked for again.
    """
    weather = attempt.weather
    if element not in weather.unknown:
        return ""
    if weather.unread:
        return f'a report of {attempt.icao} cannot be read at "{" ".join(weather.unread)}"'
    return next(
        (reason for reason in weather.unknown_reasons if element in reason),
        weather.unknown_reasons[0],
    )


def compared_words(seen: Seen) -> str:
    """What is compared; where nothing was reported it is the visibility that is missing."""
    return "visibility" if seen.quantity is Quantity.NOTHING else seen.quantity


# --- what a remark says ---


def ceiling_of(attempt: Scene, context: Context) -> CeilingReading:
    """The ceiling of the window, or the lower one of a remark where the rulebook counts it."""
    said = attempt.weather.ceiling
    remarked_ft = said.possible_ceiling_ft
    if remarked_ft is None or not remarks_count(context):
        return said
    if said.feet is not None and said.feet <= remarked_ft:
        return said
    return replace(
        said,
        state=CeilingState.VALUE,
        feet=remarked_ft,
        possible_ceiling_ft=None,
        governing=replace(said.governing, why=why_remark(remarked_ft, "ft", context)),
    )


def visibility_of(attempt: Scene, context: Context) -> VisibilityReading:
    """The visibility of the window, or the lower one of a remark where the rulebook counts it."""
    return counted(attempt.weather.visibility, context)


def counted(said: VisibilityReading, context: Context) -> VisibilityReading:
    """A visibility as it is read, or the lower one of a remark where the rulebook counts it."""
    remarked_m = said.possible_metres
    if remarked_m is None or not remarks_count(context):
        return said
    return at_remark(said) if said.metres is None or remarked_m < said.metres else said


def at_remark(said: VisibilityReading) -> VisibilityReading:
    """The visibility as the remark has it."""
    return replace(said, metres=said.possible_metres, bound=Bound.EXACT, possible_metres=None)


def remarks_count(context: Context) -> bool:
    """Whether this rulebook reads the worst of body and conditional part."""
    return context.rulebook.reading is Reading.CONDITIONAL


def why_remark(value: float, unit: str, context: Context) -> str:
    """The words for it, with the row that says so."""
    row = context.rulebook.row("forecast_reading")
    return f"a remark speaks of {shown(value, unit)} {row.citation}"
