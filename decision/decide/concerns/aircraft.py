"""What weighs on a decision from the aircraft, its policy and the places of the case."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from decision.case.bearing import doubtful_bearings
from decision.case.carried import may_be_go, state_age_min, state_max_age_min
from decision.course import CourseKind
from decision.decide.concerns.concern import Concern
from decision.decide.concerns.notices import places_noticed
from decision.decide.judge import JudgedCourse
from decision.flight.situation import FLOW_TOLERANCE_RATIO, Situation
from decision.profile.systems_effects import LIMITS, LimitName
from decision.quantities import least_known
from decision.rulebooks.rulebook import Force
from decision.rules.aerodrome import rescue_category_of
from decision.rules.policy import deviations, lightened
from decision.rules.row import Breach
from decision.systems import Urgency, Weight


def systems(situation: Situation, _courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """What the failures themselves ask to be said."""
    left = situation.capability
    for each in (*left.landing_hazards, *left.cautions):
        yield Concern(code=each.code, weight=each.weight, because=each.because, words=each.text)


def irreversible(situation: Situation, _courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """Every step that cannot be undone."""
    for change in situation.capability.irreversible:
        yield Concern(
            code="IRREVERSIBLE_STEP",
            weight=Weight.CAUTION,
            quotes=(change.step,),
            because=change.because,
        )


def flow(situation: Situation, _courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """A fuel flow that was observed well above that of the model."""
    ratio = situation.flow_ratio
    if ratio is not None and ratio > FLOW_TOLERANCE_RATIO:
        yield Concern(
            code="FUEL_FLOW_ABOVE_MODEL", weight=Weight.WARNING, figures={"flow_ratio": ratio}
        )


def carried(situation: Situation, _courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """State that is older than the case; where the verdict was no plain GO, it stays none."""
    case = situation.case
    if case.carried is None or not case.carried.values:
        return
    lost = case.carried.lost
    yield Concern(
        code="STATE_CARRIED",
        weight=Weight.INFO if may_be_go(case) else Weight.CAUTION,
        figures={"age_min": state_age_min(case), "limit_min": state_max_age_min(case)},
        quotes=(case.carried.along,) if lost is None else (case.carried.along, lost),
    )


def not_in_the_figures(situation: Situation, _courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """Limits that the crew has to keep and that no figure here takes into account."""
    for name, weight in NOT_IN_THE_FIGURES.items():
        limit = situation.capability.limit(name)
        if limit is not None:
            yield Concern(
                code="LIMIT_NOT_IN_FIGURES",
                weight=weight,
                figures={"limit": limit.value},
                quotes=(LIMITS[name].words,),
                because=(limit.because,),
            )


NOT_IN_THE_FIGURES: Final = {  # climb, cruise and descent are flown by airspeed
    LimitName.MAX_MACH: Weight.CAUTION,
    LimitName.MAX_BRAKE_APPLICATIONS: Weight.INFO,
}


def policy(situation: Situation, _courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """Where the operator's policy is looser than the rulebook, with the reason it gives."""
    own = situation.case.policy
    looser = [each.text for each in deviations(own, situation.rulebook)]
    for text in (*looser, *(each.text for each in lightened(own))):
        yield Concern(code="POLICY_DEVIATION", weight=Weight.CAUTION, quotes=(text,))


def amended_release(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """Where release needs an alternate, landing here with all of them barred needs another one."""
    row = situation.rulebook.row("commit")
    ways = [each for each in courses if each.course.kind is CourseKind.APPROACH_THEN_DIVERT]
    below = [each for each in ways if each.worst is Breach.BELOW_MINIMA]
    if row.force is Force.RULE and ways and len(below) == len(ways):
        yield Concern(code="RELEASE_TO_BE_AMENDED", weight=Weight.CAUTION, because=(row.citation,))


def blocked(situation: Situation, _courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """What it does to the others: where there is no second runway nobody lands after it."""
    if situation.capability.blocks_runway:
        places = (leg.aerodrome for leg in situation.legs)
        closes = tuple(each.icao for each in places if each.separate_runways is not True)
        yield Concern(code="RUNWAY_WILL_BE_BLOCKED", weight=Weight.CAUTION, at=closes)


def rescue(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """Rescue and fire fighting below the aeroplane's category; weighty where it may be needed."""
    needed = rescue_category_of(situation.case.aircraft.profile)
    left = situation.capability
    weighty = bool(left.landing_hazards) or left.urgency is not Urgency.NONE
    lowest = {leg.aerodrome.icao: leg.aerodrome.rescue_category for leg in situation.legs}
    for noticed in places_noticed(situation, courses):  # a notice may leave less for an arrival
        place = noticed.aerodrome
        lowest[place.icao] = least_known(lowest[place.icao], place.rescue_category)
    less = tuple(
        f"{icao} {category}"
        for icao, category in lowest.items()
        if category is not None and category < needed
    )
    if less:
        yield Concern(
            code="RESCUE_BELOW_CATEGORY",
            weight=Weight.CAUTION if weighty else Weight.INFO,
            figures={"needed_category": needed},
            quotes=less,
        )


def terrain(situation: Situation, _courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """Ways without a minimum level; weighty for an aircraft that has to stay low."""
    bare = tuple(leg.aerodrome.icao for leg in situation.legs if leg.minimum_level_ft is None)
    if bare:
        degraded = bool(situation.capability.engines_failed) or not situation.capability.pressurised
        yield Concern(
            code="NO_TERRAIN_GIVEN", weight=Weight.CAUTION if degraded else Weight.INFO, at=bare
        )


def bearings(situation: Situation, _courses: Sequence[JudgedCourse]) -> Iterable[Concern]:
    """A bearing that goes badly with the name of its runway: one of the two may be wrong."""
    for each in doubtful_bearings(situation.case):
        yield Concern(
            code="RUNWAY_BEARING_DOUBTFUL",
            weight=Weight.CAUTION,
            at=(each.icao,),
            figures={"apart_deg": each.apart_deg},
            quotes=(each.runway.ident,),
        )
