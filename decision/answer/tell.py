"""From what was decided to what is published: words and rounding, nothing is worked out here.

Figures keep a thousandth of their unit: identities between them still hold, and no float noise is
shown. Parts that are computed only on request are null unless the case includes them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from decision.answer import types as told
from decision.answer.asks import asks_for_places
from decision.answer.assumptions import assumptions_of
from decision.answer.cautions import cautions_told
from decision.answer.courses import MOST_FINDINGS, AttemptTold, CourseTold, FindingTold, RuleTold
from decision.answer.figures import instant, number
from decision.answer.finding import (
    Subjects,
    applying,
    finding_told,
    not_applicable,
    reason_told,
)
from decision.answer.fuel_ahead import ahead_told
from decision.answer.headline import headline_of, story_of
from decision.answer.messages import Talk, messages_of, phrase_of
from decision.answer.outlook import next_look, until_then, valid_until
from decision.answer.place import reports_told, weather_told
from decision.answer.recommendation import NOTHING_MORE, Included, Reasoned, Recommendation
from decision.answer.remedies import remedy
from decision.answer.row import action_told, deadline_told
from decision.answer.second_best import instead_told, runway_told
from decision.answer.tried import flip_told
from decision.answer.unknowns import unknowns_of
from decision.answer.way import attempt_told, course_told
from decision.case import Assumption, Case
from decision.case.types import Proposed
from decision.course import Course as Flown
from decision.decide.concerns import left_out, weak_climbs
from decision.decide.decision import CleanPoint, Deadline
from decision.decide.judge import JudgedCourse
from decision.flight.irreversible import PricedExtension
from decision.flight.situation import Situation
from decision.flight.steps_ahead import StepAhead
from decision.performance import Spread
from decision.profile.types import AccuracyRow
from decision.quantities import AntiSkid
from decision.rules.finding import Stated
from decision.systems import Capability
from decision.version import ENGINE_VERSION

DISCLAIMER = (
    "Advice only. The operator's approved manuals, the rules of the State and the licensed crew "
    "decide. Figures come from a model and from reports that may be wrong or out of date; check "
    "them before use. Demonstration data are invented and are not for flight."
)


def tell(
    answer: Recommendation,
    *,
    include: frozenset[str],
    more: Included = NOTHING_MORE,
) -> told.Answer:
    """The answer with the parts that are included; `id` is null, the service puts its own there."""
    full, case = "findings" in include, answer.situation.case
    subjects = Subjects(answer.courses)
    situation, decision = answer.situation, answer.decision
    story = story_of(answer)
    talk = Talk(
        situation=situation,
        decision=decision,
        emergency=answer.emergency,
        state=answer.fuel_state,
        asks=story.asks,
    )
    chosen = decision.chosen.course
    findings = _findings(subjects) if full else None
    missing = tuple(_left_out(more, findings, case))
    courses = tuple(
        course_told(judged, rank, answer, subjects, include)
        for rank, judged in enumerate(answer.courses, start=1)
    )
    return told.Answer(
        id=None,
        flight_id=case.flight_id,
        as_of=instant(case.as_of),
        verdict=decision.verdict,
        action=action_told(decision, answer.place, answer.leave_by),
        basis=decision.basis,
        headline=headline_of(story),
        fuel_on_board_kg=number(case.fuel.on_board_kg),
        fuel_state=answer.fuel_state,
        emergency=told.DeclaredEmergency(
            level=answer.emergency.level,
            reason=answer.emergency.reason,
            phrase=phrase_of(talk),
            basis=situation.rulebook.row("emergency_basis").citation,
        ),
        messages=messages_of(talk),
        deadline=deadline_told(answer.leave_by),
        until_then=until_then(decision, situation),
        instead=instead_told(answer.instead, decision, answer.courses),
        ways_out=len({each.course.icao for each in answer.ways_out}),
        other_runways=tuple(map(runway_told, answer.second_runways)),
        ask=(*story.asks, *asks_for_places(answer.courses, situation)),
        alternates_proposed=None if case.proposed is None else _proposed(case.proposed),
        minimum_fuel_to_start_kg=number(answer.minimum_fuel_to_start_kg),
        reasons=tuple(reason_told(*each) for each in story.reasons),
        cautions=cautions_told(
            (
                *answer.concerns,
                *weak_climbs(answer.second_misses),
                *left_out(missing),
            )
        ),
        last_clean_diversion=_clean_point(answer.clean_point),
        timeline=tuple(_step_ahead(step) for step in answer.steps_ahead),
        gear_extension=tuple(_extension(each) for each in answer.extensions),
        remedies=tuple(remedy(each, situation) for each in answer.mended),
        holding=_holding(answer),
        next_look=next_look(situation, decision, answer.holding),
        valid_until=valid_until(situation, answer.courses, answer.holding, answer.leave_by),
        courses=courses,
        rules=_rules(answer.courses, None if full else _named(courses)),
        findings=findings,
        not_applicable=_not_applicable(subjects) if full else None,
        attempts=_attempts(subjects, situation) if full else None,
        capability=_capability(situation.capability),
        weather=weather_told(answer),
        reports=reports_told(answer) if full else None,
        flip_points=None if more.flip_points is None else tuple(map(flip_told, more.flip_points)),
        fuel_ahead=None if more.fuel_ahead is None else ahead_told(more.fuel_ahead),
        uncertainty=_uncertainty(chosen, more.spread),
        accuracy=tuple(_accuracy(row) for row in case.aircraft.profile.accuracy),
        rulebooks_compared=None if more.compared is None else tuple(map(_compared, more.compared)),
        included=tuple(sorted(case.include)),
        unknowns=unknowns_of(answer.courses, situation),
        assumptions=tuple(_assumed(each) for each in assumptions_of(answer.courses, situation)),
        disclaimer=DISCLAIMER,
        provenance=_provenance(situation),
    )


def _named(courses: Sequence[CourseTold]) -> frozenset[str]:
    """Codes of the rules that courses name."""
    lists = (part for each in courses for part in (each.breaks, each.open, each.tightest))
    return frozenset(each.rule for part in lists for each in part)


def _rules(courses: Sequence[JudgedCourse], named: frozenset[str] | None) -> dict[str, RuleTold]:
    """Title and citation by code, in the order of codes; `named` None: of all rules."""
    found: dict[str, Stated] = {}
    for judged in courses:  # all courses that have a rule have it stated alike
        if named is not None and named <= found.keys():
            break
        found |= {each.stated.by.code: each.stated for each in judged.found}
    return {
        code: RuleTold(title=found[code].by.title, citation=found[code].citation)
        for code in sorted(found)
        if named is None or code in named
    }


def _findings(subjects: Subjects) -> tuple[FindingTold, ...]:
    """Every finding of a rule that applies, each once: on approaches, then on courses."""
    return tuple(
        finding_told(subject, each)
        for subject in (*subjects.attempts, *subjects.ids)
        for each in applying(subjects.found[subject])
    )


def _left_out(more: Included, findings: Sequence[FindingTold] | None, case: Case) -> Iterator[str]:
    """What the case asked for and does not get."""
    yield from more.left_out
    if case.proposed is not None and case.proposed.beyond and _is_bounded(case):
        yield f"{case.proposed.beyond} places within the limits that are farther than those told"
    beyond = len(findings or ()) - MOST_FINDINGS
    if beyond > 0 and "findings" in case.include:
        yield f"{beyond} of {len(findings or ())} findings (recorded, they can be read by pages)"


def _is_bounded(case: Case) -> bool:
    """Whether the case said how far to look for more alternates."""
    asked = case.propose_alternates
    return asked is not None and not (asked.within_nm is None and asked.within_min is None)


def _not_applicable(subjects: Subjects) -> dict[str, tuple[str, ...]]:
    return {name: not_applicable(subjects.found[name]) for name in subjects.found}


def _attempts(subjects: Subjects, situation: Situation) -> dict[str, AttemptTold]:
    factor = situation.case.policy.landing_factor
    return {
        name: attempt_told(attempt, subjects.found[name], landing_factor=factor)
        for name, attempt in subjects.attempts.items()
    }


def _uncertainty(chosen: Flown, spread: Spread | None) -> told.Uncertainty | None:
    """How the fuel on landing of the chosen course may turn out, from flights of every sample."""
    ledger = chosen.ledger
    if spread is None or ledger is None:
        return None
    from_kg = ledger.counted_from_kg
    room_kg = from_kg - ledger.final_reserve_kg
    return told.Uncertainty(
        landing_fuel_p5_kg=number(from_kg - spread.fuel_p95_kg),
        landing_fuel_p50_kg=number(from_kg - spread.fuel_p50_kg),
        landing_fuel_p95_kg=number(from_kg - spread.fuel_p5_kg),
        below_final_reserve_probability=number(spread.probability_above(room_kg)),
        samples=spread.samples,
        seed=spread.seed,
    )


def _compared(other: Reasoned) -> told.UnderRulebook:
    """What the same case comes to under another rulebook, and what decides there."""
    story = story_of(other)
    return told.UnderRulebook(
        rulebook=other.situation.rulebook.id,
        verdict=other.decision.verdict,
        do=other.decision.do,
        aerodrome=other.decision.chosen.course.icao,
        basis=other.decision.basis,
        headline=headline_of(story),
        reasons=tuple(reason_told(*each) for each in story.reasons),
    )


def _clean_point(point: CleanPoint) -> told.LastCleanDiversion:
    """Null figures carry their reason, so that nothing has to be guessed from a bare null."""
    best = None if point.best is None else point.best.course.icao
    cheapest = next((each for each in point.penalties if each.icao == best), None)
    return told.LastCleanDiversion(
        distance_to_go_nm=number(point.distance_to_go_nm),
        at=instant(point.at),
        fuel_kg=number(point.fuel_kg),
        aerodrome=best,
        fuel_penalty_kg=None if cheapest is None else number(cheapest.fuel_kg),
        penalties=tuple(
            told.PenaltyTold(
                aerodrome=each.icao,
                clean_kg=number(each.clean_kg),
                after_kg=number(each.after_kg),
                fuel_penalty_kg=number(each.fuel_kg),
            )
            for each in point.penalties
        ),
        reason=point.reason,
    )


def _extension(extension: PricedExtension) -> told.GearExtensionTold:
    return told.GearExtensionTold(
        distance_to_go_nm=number(extension.distance_to_go_nm),
        planned=extension.planned,
        at=instant(extension.at),
        at_missed_approach_kg=number(extension.at_missed_approach_kg),
        more_kg=number(extension.more_kg),
    )


def _step_ahead(step: StepAhead) -> told.StepAheadTold:
    return told.StepAheadTold(
        step=step.step,
        distance_to_go_nm=number(step.distance_to_go_nm),
        at=instant(step.at),
        minutes=number(step.minutes),
        cannot_be_undone=step.cannot_be_undone,
        late_nm=number(step.late_nm),
        because=step.because,
    )


def _holding(answer: Recommendation) -> told.HoldingTold:
    """The deadline that counts first, then both."""
    both = answer.holding
    first = _deadline(both.available)
    return told.HoldingTold(
        available_min=None if first is None else first.available_min,
        until=None if first is None else first.until,
        limited_by=None if first is None else first.limited_by,
        clean_diversion=_deadline(both.clean_diversion),
        approach_and_miss=_deadline(both.approach_and_miss),
    )


def _deadline(deadline: Deadline | None) -> told.HoldDeadline | None:
    if deadline is None:
        return None
    return told.HoldDeadline(
        available_min=number(deadline.minutes),
        until=instant(deadline.until),
        limited_by=deadline.limited_by,
    )


def _capability(left: Capability) -> told.CapabilityLeft:
    return told.CapabilityLeft(
        lost=tuple(
            told.FunctionLost(
                function=each.function,
                degraded=each.degraded,
                because=each.because,
            )
            for each in left.lost
        ),
        gear=told.GearLeft(
            position=left.gear.position,
            extension=left.gear.extension,
            retractable=left.gear.retractable,
            doors_after_extension=left.gear.doors_after_extension,
            because=left.gear.because,
        ),
        flap=told.FlapsLeft(
            position=left.flap.position,
            reachable=left.flap.reachable,
            drive=left.flap.drive,
            because=left.flap.because,
        ),
        slats=told.SlatsLeft(
            position=left.slats.position,
            movable=left.slats.movable,
            because=left.slats.because,
        ),
        engines_running=left.engines_running,
        pressurised=left.pressurised,
        urgency=left.urgency,
        limits=tuple(replace(limit, value=number(limit.value)) for limit in left.limits),
        landing_devices=_landing_devices(left),
        lost_approach_equipment=tuple(sorted(left.lost_approach_equipment)),
        irreversible=left.irreversible,
    )


def _landing_devices(left: Capability) -> tuple[told.LandingDevice, ...]:
    devices: dict[str, bool | float | AntiSkid] = {
        "ground_spoilers": left.ground_spoilers,
        "reversers": left.reversers,
        "wheel_brakes_fraction": number(left.brakes_fraction),
        "anti_skid": left.anti_skid,
        "nose_wheel_steering": left.nose_wheel_steering,
    }
    return tuple(told.LandingDevice(device=name, left=each) for name, each in devices.items())


def _assumed(each: Assumption) -> told.Assumed:
    value = each.value
    plain: float | bool | str = value if isinstance(value, bool | int) else str(value)
    if isinstance(value, float):
        plain = number(value)
    why = None if each.text == f"{each.field} not given: {value} assumed" else each.text
    return told.Assumed(field=each.field, value=plain, text=why)


def _accuracy(row: AccuracyRow) -> told.Accuracy:
    """How far a figure of the model may be off in 19 cases of 20."""
    return told.Accuracy(of=row.of, within=row.within, unit=row.of.unit)


def _proposed(found: Proposed) -> tuple[told.PlaceFound, ...]:
    return tuple(
        told.PlaceFound(icao=each.icao, taken=each.taken, why=each.why) for each in found.places
    )


def _provenance(situation: Situation) -> told.Provenance:
    loaded = situation.case.gazette
    profile, book = situation.case.aircraft.profile, situation.rulebook
    return told.Provenance(
        engine_version=ENGINE_VERSION,
        rulebook=told.Edition(id=book.id, version=book.version),
        profile=told.DataInUse(id=profile.id, version=profile.version, digest=profile.digest),
        input_digest=situation.case.input_digest,
        aerodromes=None
        if loaded is None
        else told.AerodromesInUse(digest=loaded.digest, count=loaded.count),
    )
