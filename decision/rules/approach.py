"""May the approach be flown to its minimum: equipment, and the approach ban at its gate."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import lru_cache
from math import radians, tan
from typing import Final

from decision import atmosphere, speeds
from decision.attempt.category import AeroplaneCategory
from decision.course import Attempt, Role
from decision.quantities import Bound
from decision.rules.breach import Breach
from decision.rules.combine import by_reading, holds, not_applicable, unknown
from decision.rules.finding import Judgement, Outcome
from decision.rules.heard import at_remark, ceiling_of, counted, why_remark
from decision.rules.minima import (
    RANGES,
    OperatingMinima,
    Quantity,
    Seen,
    is_precision_runway,
    operating_minima,
    reported_to_required,
    worst_seen,
)
from decision.rules.registry import EVERY_ROLE, Context, Rule
from decision.units import FT_PER_NM
from decision.weather.present import GOVERNS_AHEAD
from decision.weather.readings import (
    CeilingReading,
    Foretold,
    Reported,
    RvrReading,
    VisibilityReading,
)
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
    """What the weather of the attempt's window gives against its minima; None without procedure.

    The worse of what is reported and what is forecast.
    """
    if attempt.approach is None or minima is None:
        return None
    compared = [each.seen for each in reported_at(attempt, minima, context)]
    forecast = attempt.weather.forecast_visibility
    if forecast is not None:
        compared.append(_compared(attempt, minima, context, visibility=forecast))
    whole = attempt.weather.visibility
    return worst_seen(compared) or _compared(attempt, minima, context, visibility=whole)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportedSeen:
    """A comparison with something that is reported, and when that was issued or spoken."""

    seen: Seen
    at: datetime


def reported_at(
    attempt: Attempt, minima: OperatingMinima, context: Context
) -> Iterator[ReportedSeen]:
    """What each observation in force gives against the minima, as far as it still speaks.

    A range that is too old to make anything known speaks where it is short of the minimum. Where
    it is not, the observation had set no bar, and neither does its visibility.
    """
    yield from _seen_in(attempt.weather.reported, attempt, minima, context)


def _seen_in(
    reported: Iterable[Reported], attempt: Attempt, minima: OperatingMinima, context: Context
) -> Iterator[ReportedSeen]:
    for each in reported:
        rvr = _of_runway(attempt, each.rvr)
        if rvr is None and each.visibility is None:
            continue
        seen = _compared(attempt, minima, context, visibility=each.visibility, rvr=rvr)
        by_range = seen.quantity in RANGES
        if rvr is not None and by_range and rvr.bars_only and seen.reached is not False:
            continue
        yield ReportedSeen(seen=seen, at=_issued_at(each, rvr if by_range else None))


def _issued_at(reported: Reported, rvr: RvrReading | None) -> datetime:
    return reported.at if rvr is None or rvr.at is None else rvr.at


def _compared(
    attempt: Attempt,
    minima: OperatingMinima,
    context: Context,
    *,
    visibility: VisibilityReading | None,
    rvr: RvrReading | None = None,
) -> Seen:
    """A visibility or range against the minima; a remark on less is counted, or is a doubt."""
    said = None if visibility is None else counted(visibility, context)
    seen = _against(attempt, minima, context, said, rvr)
    if said is None or said.possible_metres is None or not seen.reached:
        return seen
    if _against(attempt, minima, context, at_remark(said), rvr).reached:
        return seen
    return replace(seen, reached=None, because=why_remark(said.possible_metres, "m", context))


def _against(
    attempt: Attempt,
    minima: OperatingMinima,
    context: Context,
    visibility: VisibilityReading | None,
    rvr: RvrReading | None,
) -> Seen:
    if attempt.approach is None:
        raise ValueError("there are no minima without an approach")
    return reported_to_required(
        attempt.approach,
        minima,
        rvr=rvr,
        visibility=visibility,
        is_night=attempt.is_night,
        rulebook=context.rulebook,
    )


def _of_runway(attempt: Attempt, ranges: tuple[RvrReading, ...]) -> RvrReading | None:
    """The runway visual range of the attempt's runway, where one is reported."""
    ident = None if attempt.runway is None else attempt.runway.ident
    return next((each for each in ranges if each.runway == ident), None)


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
    """Reported RVR or visibility at the gate. The approach may be started, but not past it.

    A window that begins more than an hour after the observation is judged by the prevailing
    forecast, too; without an observation that stands in, and the ban is not known.
    """
    minima = minima_of(attempt, context)
    if attempt.approach is None or minima is None:
        return unknown(f"no approach to {attempt.icao} is described")
    decides, at = _decides(attempt, minima, context)
    judged = by_reading(
        f"{attempt.icao} {compared_words(decides)}{_above(decides)}",
        decides.value_m,
        decides.limit_m,
        decides.reached,
        unit="m",
        why=doubt_of(attempt, Element.VISIBILITY) or decides.because,
    )
    if decides.reached:
        return judged
    if decides.reached is False and at is not None:
        since_at = _below_since(at, attempt, minima, context)
        past = _gate_passed_before(since_at, attempt, context)
        if past:
            return not_applicable(
                f"the report below the minimum is later than the gate {_gate_words(context)}: the "
                "approach may be continued"
            )
        if past is None:
            return replace(judged, outcome=Outcome.UNKNOWN).adding(PAST_UNKNOWN)
    return judged.adding("the approach may be started, but not continued past the gate")


def _below_since(
    at: datetime, attempt: Attempt, minima: OperatingMinima, context: Context
) -> datetime:
    """When the report that went below was issued: the one before, where that was not above."""
    before = _seen_in(attempt.weather.reported_before, attempt, minima, context)
    return min((at, *(each.at for each in before if not each.seen.reached)))


PAST_UNKNOWN: Final = (
    "but without QNH and wind it is not known whether the gate was passed before the report"
)


def _decides(
    attempt: Attempt, minima: OperatingMinima, context: Context
) -> tuple[Seen, datetime | None]:
    """The comparison that the ban rests on, and when it was reported; None: it is forecast."""
    weather = attempt.weather
    said = weather.prevailing_visibility
    prevailing = None if said is None else _compared(attempt, minima, context, visibility=said)
    if not weather.reported:
        visibility = said or weather.visibility
        seen = prevailing or _compared(attempt, minima, context, visibility=visibility)
        return replace(seen, reached=None, because=_why_unreported(seen)), None
    reported = list(reported_at(attempt, minima, context))
    forecast = [] if prevailing is None or _on_report(attempt, reported) else [prevailing]
    decides = worst_seen((*(each.seen for each in reported), *forecast))
    if decides is None:
        return _compared(attempt, minima, context, visibility=weather.visibility), None
    return decides, next((each.at for each in reported if each.seen is decides), None)


def _why_unreported(seen: Seen) -> str:
    return f"no observation is at hand, and a forecast lifts no ban; {seen.because}"


def _on_report(attempt: Attempt, reported: list[ReportedSeen]) -> bool:
    """Whether the report alone decides: the window begins within an hour of it, and it speaks."""
    start_at = attempt.weather.window.start_at
    return any(start_at <= each.at + GOVERNS_AHEAD for each in reported)


def barred(attempt: Attempt, context: Context) -> bool | None:
    """Whether the approach ban stands in the way; None when that is not known.

    A reported visibility or RVR is below the minimum, or the window begins more than an hour after
    the observation and its prevailing forecast visibility is; never the ceiling. Not where the
    aircraft was past the gate when the report came.
    """
    outcome = approach_ban(attempt, context).outcome
    return None if outcome is Outcome.UNKNOWN else outcome is Outcome.FAIL


def may_be_barred(attempt: Attempt, context: Context) -> tuple[Foretold, ...]:
    """The groups of trend and forecast under the minimum that bar nothing, but may come true.

    A TEMPO, INTER or PROB group at any time, whatever the rulebook disregards; a prevailing group
    where the report alone decides. Groups that are not known to be above the minimum are among
    them. () where the approach is barred.
    """
    minima = minima_of(attempt, context)
    if attempt.approach is None or minima is None or barred(attempt, context):
        return ()
    on_report = _on_report(attempt, list(reported_at(attempt, minima, context)))
    return tuple(
        each
        for each in attempt.weather.foretold
        if (on_report or not each.prevailing)
        and not _compared(attempt, minima, context, visibility=each.visibility).reached
    )


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


# --- the gate ---

PATH_DEG: Final = 3.0  # of an ordinary final approach [PANS-OPS-I]
NEAR_NM: Final = 4.0  # 1000 ft on a 3 degree path is 3.1 NM from the threshold [TERPS]
FINAL_FIX_NM: Final = 5.0  # where the gate is a fix: its distance, not of the chart [ASSUMED]
LANDS_WITHIN: Final = timedelta(minutes=5)  # from past any gate, at any approach speed [ASSUMED]
FT_PER_NM_OF_PATH: Final = FT_PER_NM * tan(radians(PATH_DEG))


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """Where an approach may not be continued below minima.

    Passed lower than `height_ft` above the aerodrome and within `near_nm` of the threshold.
    `at_nm`: its distance, where it is a fix.
    """

    height_ft: float
    near_nm: float
    at_nm: float | None


def _gate(context: Context) -> Gate:
    """The gate of the rulebook; a fix is taken to be 5 NM from the threshold."""
    height_ft = context.rulebook.number_or_none("ban_gate_height_ft")
    if height_ft is not None:
        return Gate(height_ft=height_ft, near_nm=NEAR_NM, at_nm=None)
    path_ft = FINAL_FIX_NM * FT_PER_NM_OF_PATH
    return Gate(height_ft=path_ft, near_nm=FINAL_FIX_NM, at_nm=FINAL_FIX_NM)


def _gate_words(context: Context) -> str:
    gate = _gate(context)
    if gate.at_nm is None:
        return f"{gate.height_ft:.0f} ft above the aerodrome"
    return f"at the final approach fix (taken to be {gate.at_nm:g} NM out)"


def _gate_passed_before(at: datetime, attempt: Attempt, context: Context) -> bool | None:
    """Whether the aircraft passed the gate before an instant; None when that is not known.

    Worked out backwards from the present position, on a path of three degrees at the approach
    speed. Without a distance, or for an approach after a hold, it has not.
    """
    gate, track_nm = _gate(context), attempt.leg.track_nm
    near = track_nm is not None and track_nm <= gate.near_nm
    soon = attempt.at <= context.case.as_of + LANDS_WITHIN
    if not (near and soon and context.rulebook.flag("ban_continue_inside_gate")):
        return False
    height_ft, speed_kt = _height_ft(attempt, context), _ground_speed_kt(attempt, context)
    if height_ft is not None and height_ft >= gate.height_ft:
        return False
    if height_ft is None or speed_kt is None or track_nm is None:
        return None
    back_nm = (gate.height_ft - height_ft) / FT_PER_NM_OF_PATH
    if gate.at_nm is not None:
        back_nm = gate.at_nm - track_nm
    return at > context.case.as_of - timedelta(hours=back_nm / speed_kt)


def _height_ft(attempt: Attempt, context: Context) -> float | None:
    """True height above the aerodrome; None without QNH. Of two QNH the one that puts it higher."""
    weather, aerodrome = attempt.weather, attempt.leg.aerodrome
    qnh_hpa = weather.qnh_hpa if weather.qnh_high_hpa is None else weather.qnh_high_hpa
    if qnh_hpa is None:
        return None
    return context.case.aircraft.pressure_altitude_ft - atmosphere.pressure_altitude_ft(
        elevation_ft=aerodrome.elevation_ft, qnh_hpa=qnh_hpa
    )


def _ground_speed_kt(attempt: Attempt, context: Context) -> float | None:
    """Over ground on final in standard air, in the least headwind of the window: the fastest."""
    if attempt.wind is None:
        return None
    level_ft = context.case.aircraft.pressure_altitude_ft
    mach = speeds.mach_from_cas(
        cas_kt=attempt.approach_speed_kt,
        pressure_ratio=atmosphere.pressure_ratio(level_ft),
    )
    tas_kt = speeds.tas_from_mach_kt(
        mach=mach,
        temperature_k=atmosphere.temperature_k(
            pressure_altitude_ft=level_ft, isa_deviation_degc=0.0
        ),
    )
    return max(float(tas_kt) - attempt.wind.headwind_kt, SLOWEST_KT)


SLOWEST_KT: Final = 30.0  # over ground, in any headwind that is approached in [ASSUMED]


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
