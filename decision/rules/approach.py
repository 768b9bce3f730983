"""May the approach be flown to its minimum: equipment, low visibility, and the ban at its gate."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from math import radians, tan
from typing import Final

from msgspec.structs import replace

from decision import atmosphere, speeds
from decision.attempt.attempt import Attempt, Role, Scene
from decision.attempt.minima import (
    Seen,
    worst_seen,
)
from decision.attempt.minima.equipment import ProcedureGroup
from decision.profile import Profile
from decision.profile.systems_effects import ApproachEquipment
from decision.profile.types import LowVisibility
from decision.quantities import Bound
from decision.rules.against_minima import (
    ReportedSeen,
    compared,
    compared_words,
    doubt_of,
    reported_at,
)
from decision.rules.combine import by_reading, holds, not_applicable, unknown
from decision.rules.finding import Judgement, Outcome
from decision.rules.registry import Context, Rule
from decision.rules.row import CHART, TIGHT_RATIO, Breach, Mend
from decision.units import FT_PER_NM
from decision.weather.present import GOVERNS_AHEAD
from decision.weather.readings import (
    Foretold,
)
from decision.weather.report import Element


def available(attempt: Scene, _context: Context) -> Judgement:
    """A procedure that can be flown with what works on board and on the ground."""
    minima = attempt.minima
    if minima is None or attempt.approach is None:
        return unknown(f"no approach to {attempt.icao} is described", lacks=(CHART,))
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
    if attempt.minima is None:
        return unknown(f"no approach to {attempt.icao} is described", lacks=(CHART,))
    decides, at = _decides(attempt, context)
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
        since_at = _below_since(at, attempt, context)
        past = _gate_passed_before(since_at, attempt, context)
        if past:
            return not_applicable(
                f"the report below the minimum is later than the gate {_gate_words(context)}: the "
                "approach may be continued"
            )
        if past is None:
            return replace(judged, outcome=Outcome.UNKNOWN).adding(PAST_UNKNOWN)
    return judged.adding("the approach may be started, but not continued past the gate")


def _below_since(at: datetime, attempt: Attempt, context: Context) -> datetime:
    """When the report that went below was issued: the one before, where that was not above."""
    before = reported_at(attempt, context, before=True)
    return min((at, *(each.at for each in before if not each.seen.reached)))


PAST_UNKNOWN: Final = (
    "but without QNH and wind it is not known whether the gate was passed before the report"
)


def _decides(attempt: Attempt, context: Context) -> tuple[Seen, datetime | None]:
    """The comparison that the ban rests on, and when it was reported; None: it is forecast."""
    weather = attempt.weather
    said = weather.prevailing_visibility
    prevailing = None if said is None else compared(attempt, context, visibility=said)
    if not weather.reported:
        visibility = said or weather.visibility
        seen = prevailing or compared(attempt, context, visibility=visibility)
        return replace(seen, reached=None, because=_why_unreported(seen)), None
    reported = list(reported_at(attempt, context))
    forecast = [] if prevailing is None or _on_report(attempt, reported) else [prevailing]
    decides = worst_seen((*(each.seen for each in reported), *forecast))
    if decides is None:
        return compared(attempt, context, visibility=weather.visibility), None
    return decides, next((each.at for each in reported if each.seen is decides), None)


def _why_unreported(seen: Seen) -> str:
    return f"no observation is at hand, and a forecast lifts no ban; {seen.because}"


def _on_report(attempt: Attempt, reported: list[ReportedSeen]) -> bool:
    """Whether the report alone decides: the window begins within an hour of it, and it speaks."""
    start_at = attempt.window.start_at
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
    if attempt.minima is None:
        return ()
    low = [
        each
        for each in attempt.weather.foretold
        if not compared(attempt, context, visibility=each.visibility).reached
    ]
    if not low or barred(attempt, context):
        return ()
    on_report = _on_report(attempt, list(reported_at(attempt, context)))
    return tuple(each for each in low if on_report or not each.prevailing)


def _above(seen: Seen) -> str:
    return {Bound.BELOW: " below", Bound.ABOVE: " above"}.get(seen.bound, "")


# --- low visibility ---

# Minima below category I after failures: such an approach is flown coupled to touchdown or to a
# decision height near it, in the configuration that the flight manual lists: with an engine out, or
# with flaps that are not those of the ordinary landing, only where the manual says so. An installed
# approval does not bring the capability back.
COUPLED_WITH: Final = (
    ApproachEquipment.AUTOPILOT,
    ApproachEquipment.RADALT,
    ApproachEquipment.ILS,
)  # what a coupled landing needs in any case, from memory [EU-AO] SPA.LVO


def low_visibility_capability(attempt: Scene, context: Context) -> Judgement:
    """Minima below category I only with nothing lost that they are flown with."""
    minima = attempt.minima
    if (
        minima is None
        or minima.group is not ProcedureGroup.LOW_VISIBILITY
        or attempt.approach is None
    ):
        return not_applicable(f"{attempt.icao}: the minima are not below category I")
    name = f"{attempt.icao} {attempt.approach.id}"
    profile = context.case.aircraft.profile
    lost = lost_for_low_visibility(attempt, profile)
    usable = _usable_with_engines(attempt, profile)
    lost = lost if usable is not False else (*lost, "an engine")
    return holds(
        False if lost else usable,
        yes=f"{name}: nothing is lost that minima below category I are flown with",
        no=f"{name}: minima below category I are not usable, lost: {', '.join(lost)}",
        unknown=f"{name}: whether minima below category I are usable with an engine out",
    )


def _usable_with_engines(attempt: Scene, profile: Profile) -> bool | None:
    """Whether the engines that run allow it; None where the profile does not say."""
    if attempt.capability.engines_running == profile.engine.count:
        return True
    stated = profile.approach.low_visibility_one_engine
    return None if stated is LowVisibility.NOT_STATED else stated is LowVisibility.USABLE


def lost_for_low_visibility(attempt: Scene, profile: Profile) -> tuple[str, ...]:
    """Words for what is lost, engines apart: equipment, and the flap of the ordinary landing."""
    left = attempt.capability
    words = [each.value for each in COUPLED_WITH if each in left.lost_approach_equipment]
    if profile.approach.landing_detent not in left.flap.reachable:
        words.append(f"landing flap {profile.approach.landing_detent}")
    return tuple(words)


# --- the gate ---

PATH_DEG: Final = 3.0  # of an ordinary final approach [PANS-OPS-I]
NEAR_NM: Final = 4.0  # 1000 ft on a 3 degree path is 3.1 NM from the threshold [TERPS]
FINAL_FIX: Final = "final_approach_fix"  # word of the row for a gate that is no height
FINAL_FIX_NM: Final = 5.0  # where the gate is a fix: its distance, not of the chart [ASSUMED]
LANDS_WITHIN: Final = timedelta(minutes=5)  # from past any gate, at any approach speed [ASSUMED]
FT_PER_NM_OF_PATH: Final = FT_PER_NM * tan(radians(PATH_DEG))


@dataclass(frozen=True, slots=True, kw_only=True)
class BanGate:
    """Where an approach may not be continued below minima.

    Passed lower than `height_ft` above the aerodrome and within `near_nm` of the threshold.
    `at_nm`: its distance, where it is a fix.
    """

    height_ft: float
    near_nm: float
    at_nm: float | None


def _gate(context: Context) -> BanGate:
    """The gate of the rulebook; a fix is taken to be 5 NM from the threshold."""
    if context.rulebook.word("ban_gate") == FINAL_FIX:
        path_ft = FINAL_FIX_NM * FT_PER_NM_OF_PATH
        return BanGate(height_ft=path_ft, near_nm=FINAL_FIX_NM, at_nm=FINAL_FIX_NM)
    height_ft = context.rulebook.number("ban_gate_height_ft")
    return BanGate(height_ft=height_ft, near_nm=NEAR_NM, at_nm=None)


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
    weather, aerodrome = attempt.weather, attempt.aerodrome
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


RULES: Final[tuple[Rule, ...]] = (
    Rule(
        "AP-01",
        "An approach that can be flown",
        "minima_method",
        Breach.BELOW_MINIMA,
        available,
        of_scene=available,
    ),
    Rule(
        "AP-02",
        "Approach ban",
        "ban_gate",
        Breach.BELOW_MINIMA,
        approach_ban,
        applies=frozenset({Role.MISSED, Role.COMMITTED}),
        mend=Mend.REPORT,
        telling=True,
        tight_weather_ratio=TIGHT_RATIO,
    ),
    Rule(
        "AP-03",
        "Low-visibility capability",
        "low_visibility_capability",
        Breach.BELOW_MINIMA,
        low_visibility_capability,
        of_scene=low_visibility_capability,
    ),
)
