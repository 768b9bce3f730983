"""May the approach be flown to its minimum: equipment, and the approach ban at its gate."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache, partial
from typing import Final

from decision.course import Attempt, Role
from decision.quantities import Bound
from decision.rules.breach import Breach
from decision.rules.combine import by_reading, holds, not_applicable, unknown
from decision.rules.finding import Judgement
from decision.rules.heard import at_remark, ceiling_of, visibility_of, why_remark
from decision.rules.minima import (
    AeroplaneCategory,
    OperatingMinima,
    Quantity,
    Seen,
    is_precision_runway,
    operating_minima,
    reported_to_required,
)
from decision.rules.registry import EVERY_ROLE, Context, Rule
from decision.weather.readings import CeilingReading, RvrReading
from decision.weather.report import CeilingState, Element

_minima = lru_cache(maxsize=4096)(operating_minima)


def minima_of(attempt: Attempt, context: Context) -> OperatingMinima | None:
    """The operating minima of the attempt's procedure for this aircraft; None without one."""
    if attempt.approach is None:
        return None
    category = None if attempt.category is None else AeroplaneCategory(attempt.category)
    return _minima(
        attempt.approach,
        rulebook=context.rulebook,
        category=category,
        is_night=attempt.is_night,
        lost_equipment=attempt.capability.lost_approach_equipment,
        approvals=context.case.approvals,
        precision_runway=is_precision_runway(attempt.leg.aerodrome, attempt.approach.runway),
    )


def seen_at(attempt: Attempt, minima: OperatingMinima | None, context: Context) -> Seen | None:
    """What the weather of the attempt's window gives against its minima; None without procedure."""
    if attempt.approach is None or minima is None:
        return None
    compared = partial(
        reported_to_required,
        attempt.approach,
        minima,
        rvr=rvr_of(attempt),
        is_night=attempt.is_night,
        rulebook=context.rulebook,
    )
    told = visibility_of(attempt, context)
    seen = compared(visibility=told)
    if told.possible_metres is None or not seen.reached:
        return seen
    if compared(visibility=at_remark(told)).reached:
        return seen
    return replace(seen, reached=None, because=why_remark(told.possible_metres, "m", context))


def rvr_of(attempt: Attempt) -> RvrReading | None:
    """The runway visual range of the attempt's runway, where one is reported."""
    for reading in attempt.weather.rvr:
        if attempt.runway is not None and reading.runway == attempt.runway.ident:
            return reading
    return None


def miss_likely(attempt: Attempt, context: Context) -> bool | None:
    """Whether the ceiling is below the minimum height; None when either is not known."""
    minima = minima_of(attempt, context)
    if minima is None or minima.height_ft is None:
        return None
    reached = ceiling_of(attempt, context).reaches(minima.height_ft)
    return None if reached is None else not reached


def ceiling_at_least(
    attempt: Attempt, limit_ft: float, context: Context, *, what: str
) -> Judgement:
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


def _why_ceiling(attempt: Attempt, ceiling: CeilingReading) -> str:
    said = dict.fromkeys((ceiling.governing.text, ceiling.governing.why))
    return doubt_of(attempt, Element.CLOUD) or "; ".join(filter(None, said))


def available(attempt: Attempt, context: Context) -> Judgement:
    """A procedure that can be flown with what works on board and on the ground."""
    minima = minima_of(attempt, context)
    if minima is None or attempt.approach is None:
        return unknown(f"no approach to {attempt.icao} is described")
    name = f"{attempt.icao} {attempt.approach.id}"
    return holds(
        minima.usable,
        yes=f"{name} can be flown",
        no=f"{name} cannot be flown: {'; '.join(minima.barred)}",
        unknown=f"{name}: {'; '.join(minima.unknown)}",
    )


def approach_ban(attempt: Attempt, context: Context) -> Judgement:
    """Reported RVR or visibility at the gate. The approach may be started, but not past it."""
    if _inside_gate(attempt, context):
        return not_applicable("the aircraft is past the gate: the approach may be continued")
    minima = minima_of(attempt, context)
    seen = seen_at(attempt, minima, context)
    if seen is None:
        return unknown(f"no approach to {attempt.icao} is described")
    judged = by_reading(
        f"{attempt.icao} {compared_words(seen)}{_above(seen)}",
        seen.value_m,
        seen.limit_m,
        seen.reached,
        unit="m",
        why=doubt_of(attempt, Element.VISIBILITY) or seen.because,
    )
    start = "the approach may be started, but not continued past the gate"
    return judged if seen.reached else judged.adding(start)


def doubt_of(attempt: Attempt, element: Element) -> str:
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


def _above(seen: Seen) -> str:
    return {Bound.BELOW: " below", Bound.ABOVE: " above"}.get(seen.bound, "")


def _inside_gate(attempt: Attempt, context: Context) -> bool:
    """Whether the aircraft is already lower than the gate above the destination."""
    gate_ft = context.rulebook.number_or_none("ban_gate_height_ft")
    if gate_ft is None or attempt.role is Role.ALTERNATE:
        return False
    height_ft = context.case.aircraft.pressure_altitude_ft - attempt.leg.aerodrome.elevation_ft
    track_nm = attempt.leg.track_nm
    return height_ft < gate_ft and track_nm is not None and track_nm <= NEAR_NM


NEAR_NM: Final = 4.0  # 1000 ft on a 3 degree path is 3.1 NM from the threshold [TERPS]


RULES: Final[tuple[Rule[Attempt], ...]] = (
    Rule(
        code="AP-01",
        title="An approach that can be flown",
        row="minima_method",
        breach=Breach.BELOW_MINIMA,
        applies=EVERY_ROLE,
        check=available,
    ),
    Rule(
        code="AP-02",
        title="Approach ban",
        row="ban_gate",
        breach=Breach.BELOW_MINIMA,
        applies=frozenset({Role.MISSED, Role.COMMITTED}),
        check=approach_ban,
    ),
)
