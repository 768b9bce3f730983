"""The answer as plain data, in the field names of the API, in the order in which to read it.

Figures keep a thousandth of their unit: identities between them still hold, and no float noise is
shown. Parts that are computed only on request are null unless the case includes them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any, Final

from decision.case import Case, Fetched
from decision.course import AfterMissThere, Attempt, Course, Origin
from decision.decide.judge import JudgedCourse
from decision.decide.measures import margin_p95_kg, minutes_left, minutes_to_touchdown
from decision.flight.irreversible import Extension
from decision.flight.onward import fully_sampled
from decision.flight.situation import Situation
from decision.performance import Step
from decision.profile.types import AccuracyRow
from decision.recommend.answer import (
    DISCLAIMER,
    CleanPoint,
    Deadline,
    Do,
    Instead,
    LeaveBy,
    Look,
    Recommendation,
    Remedy,
    StepAhead,
)
from decision.recommend.flip import FlipPoint
from decision.recommend.words import broken_text
from decision.rules.finding import Finding
from decision.systems import Capability, Limit
from decision.version import ENGINE_VERSION
from decision.weather import report_to_mapping
from decision.weather.readings import Conditions
from decision.windows import instant_text

DECIMALS: Final = 3


def to_mapping(
    answer: Recommendation,
    *,
    flip_points: Sequence[FlipPoint] | None,
    compared: Sequence[Recommendation] | None,
) -> dict[str, Any]:
    """The whole answer; `id` is null, the service puts its own there."""
    situation, decision = answer.situation, answer.decision
    case = situation.case
    chosen = decision.chosen.course
    return {
        "id": None,
        "flight_id": case.flight_id,
        "as_of": instant(case.as_of),
        "verdict": decision.verdict,
        "action": {
            "do": decision.do,
            **_where(decision.do, chosen, case),
            "latest_at": None if answer.leave_by is None else instant(answer.leave_by.at),
            "course": chosen.label,
        },
        "basis": decision.basis,
        "headline": answer.headline,
        "fuel_on_board_kg": number(case.fuel.on_board_kg),
        "fuel_state": answer.fuel_state,
        "emergency": {
            "level": answer.emergency.level,
            "reason": answer.emergency.reason,
            "phrase": answer.phrase,
            "basis": situation.rulebook.row("emergency_basis").citation,
        },
        "messages": [{"to": each.to, "text": each.text} for each in answer.messages],
        "deadline": _leave_by(answer.leave_by),
        "until_then": list(answer.until_then),
        "instead": _instead(answer.instead),
        "ways_out": answer.ways_out,
        "other_runways": [
            {
                "aerodrome": each.aerodrome,
                "runway": each.runway,
                "approach": each.approach,
                "lacks": list(each.lacks),
            }
            for each in answer.other_runways
        ],
        "ask": [
            {"what": each.what, "whom": each.whom, "by_at": instant(each.by_at)}
            for each in answer.asks
        ],
        "minimum_fuel_to_start_kg": number(answer.minimum_fuel_to_start_kg),
        "reasons": [_reason(finding, judged) for finding, judged in answer.reasons],
        "cautions": [
            {
                "code": caution.code,
                "text": caution.text,
                "weight": caution.weight,
                "because": list(caution.because),
            }
            for caution in answer.cautions
        ],
        "last_clean_diversion": _clean_point(answer.clean_point),
        "timeline": [_step_ahead(step) for step in answer.steps_ahead],
        "gear_extension": [_extension(each) for each in answer.extensions],
        "remedies": [_remedy(each) for each in answer.remedies],
        "holding": _holding(answer),
        "next_look": _look(answer.next_look),
        "valid_until": _look(answer.valid_until),
        "courses": [
            _course(judged, rank, situation, answer.second_misses.get(judged.course.label))
            for rank, judged in enumerate(answer.courses, start=1)
        ],
        "capability": _capability(situation.capability),
        "weather": _weather(answer),
        "flip_points": None if flip_points is None else [_flip(each) for each in flip_points],
        "uncertainty": _uncertainty(answer),
        "accuracy": [_accuracy(row) for row in case.aircraft.profile.accuracy],
        "rulebooks_compared": None if compared is None else [_compared(each) for each in compared],
        "unknowns": list(answer.unknowns),
        "assumptions": [
            {"field": each.field, "value": each.value, "text": each.text}
            for each in answer.assumptions
        ],
        "disclaimer": DISCLAIMER,
        "provenance": _provenance(situation),
    }


def _leave_by(leave_by: LeaveBy | None) -> dict[str, Any] | None:
    if leave_by is None:
        return None
    return {
        "at": instant(leave_by.at),
        "what": leave_by.what,
        "aerodrome": leave_by.aerodrome,
        "distance_to_go_nm": number(leave_by.distance_to_go_nm),
        "fuel_kg": number(leave_by.fuel_kg),
        "holding_until": instant(leave_by.holding_until),
    }


def _instead(instead: Instead | None) -> dict[str, Any] | None:
    if instead is None:
        return None
    return {
        "course": instead.course.course.label,
        "aerodrome": instead.course.course.icao,
        "costs": list(instead.costs),
        "breaks": list(instead.breaks),
    }


def number(value: float | None) -> float | None:
    """A figure to a thousandth; minus zero is zero."""
    return None if value is None else round(value, DECIMALS) + 0.0


def instant(at: datetime | None) -> str | None:
    """RFC 3339 in UTC, to the second."""
    return None if at is None else instant_text(at)


def _flip(point: FlipPoint) -> dict[str, Any]:
    return {
        "input": point.input,
        "present": number(point.present),
        "flips_at": number(point.flips_at),
        "to_verdict": point.to_verdict,
        "unit": point.unit,
    }


def _uncertainty(answer: Recommendation) -> dict[str, Any] | None:
    """How the fuel on landing of the chosen course may turn out, from flights of every sample."""
    chosen, situation = answer.decision.chosen.course, answer.situation
    ledger = chosen.ledger
    if "uncertainty" not in situation.case.include or ledger is None:
        return None
    spread = fully_sampled(situation.case.aircraft.profile, chosen)
    if spread is None:
        return None
    from_kg = ledger.counted_from_kg
    room_kg = from_kg - ledger.final_reserve_kg
    return {
        "landing_fuel_p5_kg": number(from_kg - spread.fuel_p95_kg),
        "landing_fuel_p50_kg": number(from_kg - spread.fuel_p50_kg),
        "landing_fuel_p95_kg": number(from_kg - spread.fuel_p5_kg),
        "below_final_reserve_probability": number(spread.probability_above(room_kg)),
        "samples": spread.samples,
        "seed": spread.seed,
    }


def _compared(other: Recommendation) -> dict[str, Any]:
    """What the same case comes to under another rulebook, and what decides there."""
    return {
        "rulebook": other.situation.rulebook.id,
        "verdict": other.decision.verdict,
        "do": other.decision.do,
        "aerodrome": other.decision.chosen.course.icao,
        "basis": other.decision.basis,
        "headline": other.headline,
        "reasons": [_reason(finding, judged) for finding, judged in other.reasons],
    }


def _where(do: Do, chosen: Course, case: Case) -> dict[str, str | None]:
    """Where the action happens: an approach or a hold at the destination, else where it ends."""
    if do in (Do.APPROACH, Do.HOLD):
        first = chosen.attempts[0].runway if chosen.attempts else None
        runway = None if first is None else first.ident
        return {"aerodrome": case.destination.aerodrome.icao, "runway": runway}
    return {"aerodrome": chosen.icao, "runway": _runway(chosen)}


def _runway(course: Course) -> str | None:
    runway = course.attempts[-1].runway if course.attempts else None
    return None if runway is None else runway.ident


def _finding(finding: Finding) -> dict[str, Any]:
    judged = finding.judgement
    return {
        "rule": finding.rule,
        "title": finding.title,
        "at": finding.at,
        "outcome": finding.outcome,
        "text": finding.text,
        "value": number(judged.value),
        "limit": number(judged.limit),
        "sense": judged.sense,
        "margin": number(finding.margin),
        "unit": judged.unit or None,
        "citation": finding.citation,
    }


def _broken(finding: Finding) -> dict[str, Any]:
    """A binding rule that a course breaks, in short."""
    return {
        "rule": finding.rule,
        "at": finding.at,
        "text": broken_text(finding),
        "breach": finding.breach.name,
        "endangers": finding.breach.endangers,
    }


def _reason(finding: Finding, judged: JudgedCourse) -> dict[str, Any]:
    return {**_finding(finding), "course": judged.course.label}


def _course(
    judged: JudgedCourse, rank: int, situation: Situation, second_miss: AfterMissThere | None
) -> dict[str, Any]:
    course = judged.course
    wanted = "steps" in situation.case.include
    return {
        "course": course.label,
        "kind": course.kind,
        "from": course.origin,
        "aerodrome": course.icao,
        "runway": _runway(course),
        "legal": judged.legal,
        "advised_against": bool(judged.advised_against),
        "breaks": [_broken(finding) for finding in judged.breaches],
        "touchdown_at": instant(course.arrive_at),
        "minutes_to_touchdown": number(minutes_to_touchdown(course)),
        "rank": rank,
        "limited_by": course.limited_by,
        "emergency_basis": None
        if judged.legal is not False
        else situation.rulebook.row("emergency_basis").citation,
        "unknown": list(course.unknown),
        "rests_on": course.rests_on,
        "configuration": course.configuration.label,
        "cruise_pressure_altitude_ft": number(course.cruise_level_ft),
        "cruise_cas_kt": number(course.cruise_cas_kt),
        "fuel": _fuel(course, situation),
        "time": {
            "missed_approach_at": instant(course.missed_at),
            "arrive_at": instant(course.arrive_at),
            "hold_min": number(course.hold_min),
        },
        "attempts": [_attempt(attempt) for attempt in course.attempts],
        "findings": [_finding(finding) for finding in judged.findings],
        "after_miss_there": _after_miss_there(second_miss),
        "steps": [_step(step) for step in course.steps] if wanted else None,
    }


def _after_miss_there(left: AfterMissThere | None) -> dict[str, Any] | None:
    """What a miss at the alternate would leave, for the courses of which it was worked out."""
    if left is None:
        return None
    return {
        "endurance_min": number(left.endurance_min),
        "next_aerodrome": left.next_aerodrome,
        "margin_kg": number(left.margin_kg),
        "distance_unknown": list(left.distance_unknown),
        "missed_gradient_percent": number(left.gradient_percent),
        "published_gradient_percent": number(left.published_gradient_percent),
    }


def _fuel(course: Course, situation: Situation) -> dict[str, Any] | None:
    ledger = course.ledger
    if ledger is None:
        return None
    return {
        "at_most": bool(course.unknown),
        "at_missed_approach_kg": number(ledger.at_missed_approach_kg),
        "counted_from_kg": number(ledger.counted_from_kg),
        "flight_kg": number(ledger.flight_kg),
        "required_kg": number(ledger.required_kg),
        "required_from": _counted_from(course),
        "required_now_kg": number(situation.case.fuel.on_board_kg - ledger.margin_kg),
        "landing_kg": number(ledger.landing_kg),
        "landing_min": number(minutes_left(course)),
        "final_reserve_kg": number(ledger.final_reserve_kg),
        "planned_final_reserve_kg": number(ledger.planned_reserve_kg),
        "configured_final_reserve_kg": number(ledger.configured_reserve_kg),
        "margin_kg": number(ledger.margin_kg),
        "margin_p95_kg": number(margin_p95_kg(course, situation)),
    }


def _counted_from(course: Course) -> str:
    """Where the ledger counts from, and with it every figure that a course needs."""
    missed = course.ledger is not None and course.ledger.at_missed_approach_kg is not None
    return Origin.MISSED_APPROACH if missed else course.origin


def _attempt(attempt: Attempt) -> dict[str, Any]:
    landing, wind, surface = attempt.landing, attempt.wind, attempt.runway_condition
    return {
        "aerodrome": attempt.icao,
        "role": attempt.role,
        "approach": None if attempt.approach is None else attempt.approach.id,
        "runway": None if attempt.runway is None else attempt.runway.ident,
        "at": instant(attempt.at),
        "window": _window(attempt.weather),
        "flap": attempt.flap,
        "approach_speed_kt": number(attempt.approach_speed_kt),
        "category": attempt.category,
        "mass_kg": number(attempt.mass_kg),
        "landing_distance_m": None if landing is None else number(landing.distance_m),
        "lda_m": None if attempt.runway is None else number(attempt.runway.lda_m),
        "condition_code": None if surface is None else surface.code,
        "crosswind_kt": None if wind is None else number(wind.crosswind_kt),
        "headwind_kt": None if wind is None else number(wind.headwind_kt),
        "tailwind_kt": None if wind is None else number(wind.tailwind_kt),
        "missed_gradient_percent": None
        if attempt.climb is None
        else number(attempt.climb.ground_gradient_percent),
        "unknown": list(attempt.unknown),
    }


def _step(step: Step) -> dict[str, Any]:
    return {
        "name": step.name,
        "distance_nm": number(step.distance_nm),
        "time_min": number(step.time_min),
        "fuel_kg": number(step.fuel_kg),
        "pressure_altitude_ft": number(step.pressure_altitude_ft),
        "cas_kt": number(step.cas_kt),
        "configuration": step.configuration,
    }


def _clean_point(point: CleanPoint) -> dict[str, Any]:
    """Null figures carry their reason, so that nothing has to be guessed from a bare null."""
    best = None if point.best is None else point.best.course.icao
    cheapest = next((each for each in point.penalties if each.icao == best), None)
    return {
        "distance_to_go_nm": number(point.distance_to_go_nm),
        "at": instant(point.at),
        "fuel_kg": number(point.fuel_kg),
        "aerodrome": best,
        "fuel_penalty_kg": None if cheapest is None else number(cheapest.fuel_kg),
        "penalties": [
            {
                "aerodrome": each.icao,
                "clean_kg": number(each.clean_kg),
                "after_kg": number(each.after_kg),
                "fuel_penalty_kg": number(each.fuel_kg),
            }
            for each in point.penalties
        ],
        "reason": point.reason,
    }


def _extension(extension: Extension) -> dict[str, Any]:
    return {
        "distance_to_go_nm": number(extension.distance_to_go_nm),
        "planned": extension.planned,
        "at": instant(extension.at),
        "at_missed_approach_kg": number(extension.at_missed_approach_kg),
        "more_kg": number(extension.more_kg),
    }


def _remedy(remedy: Remedy) -> dict[str, Any]:
    return {
        "kind": remedy.kind,
        "approach": remedy.approach,
        "runway": remedy.runway,
        "mass_kg": number(remedy.mass_kg),
        "minutes": number(remedy.minutes),
        "text": remedy.text,
        "say": remedy.say or None,
    }


def _step_ahead(step: StepAhead) -> dict[str, Any]:
    return {
        "step": step.step,
        "distance_to_go_nm": number(step.distance_to_go_nm),
        "at": instant(step.at),
        "minutes": number(step.minutes),
        "cannot_be_undone": step.cannot_be_undone,
        "late_nm": number(step.late_nm),
        "because": list(step.because),
    }


def _holding(answer: Recommendation) -> dict[str, Any]:
    """The deadline that counts first, then both."""
    both = answer.holding
    first = both.available
    return {
        "available_min": None if first is None else number(first.minutes),
        "until": None if first is None else instant(first.until),
        "limited_by": None if first is None else first.limited_by,
        "clean_diversion": _deadline(both.clean_diversion),
        "approach_and_miss": _deadline(both.approach_and_miss),
    }


def _deadline(deadline: Deadline | None) -> dict[str, Any] | None:
    if deadline is None:
        return None
    return {
        "available_min": number(deadline.minutes),
        "until": instant(deadline.until),
        "limited_by": deadline.limited_by,
    }


def _look(look: Look) -> dict[str, Any]:
    return {"at": instant(look.at), "why": look.why}


def _capability(left: Capability) -> dict[str, Any]:
    return {
        "lost": [
            {
                "function": each.function,
                "title": each.title,
                "degraded": each.degraded,
                "because": list(each.because),
            }
            for each in left.lost
        ],
        "gear": {
            "position": left.gear.position,
            "extension": left.gear.extension,
            "retractable": left.gear.retractable,
            "doors_after_extension": left.gear.doors_after_extension,
            "because": list(left.gear.because),
        },
        "flap": {
            "position": left.flap.position,
            "reachable": list(left.flap.reachable),
            "drive": left.flap.drive,
            "because": list(left.flap.because),
        },
        "slats": {
            "position": left.slats.position,
            "movable": left.slats.movable,
            "because": list(left.slats.because),
        },
        "engines_running": left.engines_running,
        "pressurised": left.pressurised,
        "urgency": left.urgency,
        "limits": [_limit(limit) for limit in left.limits],
        "landing_devices": _landing_devices(left),
        "lost_approach_equipment": sorted(left.lost_approach_equipment),
        "irreversible": [
            {"what": each.what, "step": each.step, "because": list(each.because)}
            for each in left.irreversible
        ],
    }


def _limit(limit: Limit) -> dict[str, Any]:
    return {
        "name": limit.name,
        "value": number(limit.value),
        "unit": limit.unit,
        "because": limit.because,
    }


def _landing_devices(left: Capability) -> list[dict[str, Any]]:
    return [
        {"device": "ground_spoilers", "left": left.ground_spoilers},
        {"device": "reversers", "left": left.reversers},
        {"device": "wheel_brakes_fraction", "left": number(left.brakes_fraction)},
        {"device": "anti_skid", "left": left.anti_skid},
        {"device": "nose_wheel_steering", "left": left.nose_wheel_steering},
    ]


def _weather(answer: Recommendation) -> dict[str, Any]:
    """By aerodrome: what is in force, and the conditions of the best course that lands there."""
    return {
        icao: {
            "observation": None
            if station.observation is None
            else report_to_mapping(station.observation),
            "forecast": None if station.forecast is None else report_to_mapping(station.forecast),
            **_governing(_attempts_at(answer.courses, icao)),
            "fetched": [
                _fetched(each)
                for each in answer.situation.case.fetched or ()
                if each.lack.icao == icao
            ],
        }
        for icao, station in answer.situation.weather.items()
    }


def _fetched(fetched: Fetched) -> dict[str, Any]:
    return {
        "kind": fetched.lack.kind,
        "at": instant(fetched.at),
        "age_s": number(fetched.age_s),
        "stale": fetched.stale,
        "problem": fetched.problem,
    }


def _attempts_at(courses: Sequence[JudgedCourse], icao: str) -> Attempt | None:
    for judged in courses:
        for attempt in judged.course.attempts:
            if attempt.icao == icao:
                return attempt
    return None


def _governing(attempt: Attempt | None) -> dict[str, Any]:
    if attempt is None:
        return {"governing": None, "window": None, "age_min": None, "unread": []}
    weather = attempt.weather
    return {
        "governing": {
            "ceiling": {
                "state": weather.ceiling.state,
                "feet": number(weather.ceiling.feet),
                **_source(weather.ceiling.governing),
            },
            "visibility": {
                "metres": number(weather.visibility.metres),
                "bound": weather.visibility.bound,
                **_source(weather.visibility.governing),
            },
            "wind": {
                "from_true_deg": number(weather.wind.from_true_deg),
                "speed_kt": number(weather.wind.speed_kt),
                "gust_kt": number(weather.wind.gust_kt),
                **_source(weather.wind.governing),
            },
            "weather": list(weather.phenomena),
            "disregarded": [{"text": each.text, "why": each.why} for each in weather.disregarded],
        },
        "window": _window(weather),
        "age_min": number(weather.observation_age_min),
        "unread": list(weather.unread),
    }


def _source(governing: Any) -> dict[str, str]:  # noqa: ANN401 - any reading's governing group
    return {"kind": governing.kind, "text": governing.text, "why": governing.why}


def _window(weather: Conditions) -> dict[str, str | None]:
    return {"start": instant(weather.window.start_at), "end": instant(weather.window.end_at)}


def _accuracy(row: AccuracyRow) -> dict[str, Any]:
    """How far a figure of the model may be off in 19 cases of 20."""
    return {
        "of": row.of,
        "within": row.within,
        "unit": row.of.unit,
        "check": row.check,
        "source": row.source,
    }


def _provenance(situation: Situation) -> Mapping[str, Any]:
    profile, book = situation.case.aircraft.profile, situation.rulebook
    return {
        "engine_version": ENGINE_VERSION,
        "rulebook": {"id": book.id, "version": book.version, "digest": book.digest},
        "profile": {"id": profile.id, "version": profile.version, "digest": profile.digest},
        "input_digest": situation.case.input_digest,
    }
