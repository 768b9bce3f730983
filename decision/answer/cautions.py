"""Everything the crew must be told that no rule decides, the gravest first.

Each source of cautions is one small function in the table at the end. Codes are never reused.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Final

from decision.answer.words import sentence
from decision.attempt.attempt import Attempt
from decision.case import Fetched
from decision.case.bearing import doubtful_bearings
from decision.course import Course, CourseKind
from decision.decide.judge import JudgedCourse
from decision.decide.wait import barred_wait
from decision.flight.second_miss import AfterMissThere
from decision.flight.situation import FLOW_TOLERANCE_RATIO, Situation
from decision.profile.systems_effects import LIMITS, LimitName
from decision.quantities import GearPosition
from decision.rulebooks.rulebook import Force
from decision.rules.aerodrome import rescue_category_of
from decision.rules.against_minima import minima_of, miss_likely
from decision.rules.approach import may_be_barred
from decision.rules.climb import charted_percent, gradient_within_error
from decision.rules.finding import shown, shown_down, shown_up
from decision.rules.hazard import hazards_of, quoted, span_text, told
from decision.rules.landing import landing_within_error
from decision.rules.policy import deviations, lightened
from decision.rules.row import Breach
from decision.rules.wind import gust_beyond_limit
from decision.systems import SystemCaution, Urgency, Weight
from decision.units import PERCENT, S_PER_MIN
from decision.weather.readings import Hazard, HazardWeight, NotAtHand
from decision.windows import clock_text, minutes_between

Source = Callable[[Situation, Sequence[JudgedCourse]], Iterable[SystemCaution]]


def cautions_of(situation: Situation, courses: Sequence[JudgedCourse]) -> tuple[SystemCaution, ...]:
    """All cautions, by weight, then in the order of their sources; each code and text once."""
    return heaviest_first(caution for source in SOURCES for caution in source(situation, courses))


def heaviest_first(cautions: Iterable[SystemCaution]) -> tuple[SystemCaution, ...]:
    """By weight, in the order in which they come; each code and text once."""
    unique = {(caution.code, caution.text): caution for caution in cautions}
    weights = list(Weight)[::-1]
    return tuple(sorted(unique.values(), key=lambda each: weights.index(each.weight)))


def _caution(code: str, weight: Weight, text: str, *because: str) -> SystemCaution:
    return SystemCaution(code=code, text=text, weight=weight, because=because)


def with_second_misses(
    cautions: Sequence[SystemCaution], second_misses: Mapping[str, AfterMissThere]
) -> tuple[SystemCaution, ...]:
    """The cautions with one for each place where a second miss could not climb away."""
    short: dict[str, SystemCaution] = {}
    for label, left in second_misses.items():
        if left.climb_short:
            icao = label.split(":")[1]
            short.setdefault(icao, _no_climb_there(icao, left))
    return heaviest_first((*cautions, *short.values()))


def _no_climb_there(icao: str, left: AfterMissThere) -> SystemCaution:
    gradient = shown_down(left.gradient_percent or 0.0, "percent")
    published = shown(left.published_gradient_percent or 0.0, "percent")
    return _caution(
        "NO_CLIMB_THERE",
        Weight.CAUTION,
        f"Missing the approach at {icao} too: climb {gradient}, asked for {published}.",
    )


def attempt_here(courses: Sequence[JudgedCourse]) -> Attempt | None:
    """The approach at the destination."""
    for judged in courses:
        if judged.course.kind in (CourseKind.APPROACH_THEN_DIVERT, CourseKind.COMMIT_TO_LAND):
            return next(iter(judged.course.attempts), None)
    return None


def _systems(situation: Situation, _courses: Sequence[JudgedCourse]) -> Iterable[SystemCaution]:
    """What the failures themselves ask to be said."""
    return (*situation.capability.landing_hazards, *situation.capability.cautions)


def _irreversible(
    situation: Situation, _courses: Sequence[JudgedCourse]
) -> Iterable[SystemCaution]:
    for change in situation.capability.irreversible:
        yield _caution(
            "IRREVERSIBLE_STEP",
            Weight.CAUTION,
            f"Cannot be undone: {change.step}.",
            *change.because,
        )


def _miss_likely(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[SystemCaution]:
    attempt = attempt_here(courses)
    if attempt is None:
        return
    minima, ceiling = minima_of(attempt, situation), attempt.weather.ceiling
    height_ft = None if minima is None else minima.height_ft
    if miss_likely(attempt, situation) and height_ft is not None and ceiling.feet is not None:
        yield _caution(
            "MISS_LIKELY",
            Weight.WARNING,
            f"Missed approach likely: ceiling {shown(ceiling.feet, 'ft')} at {attempt.icao} is "
            f"below the minimum height of {shown(height_ft, 'ft')}.",
            ceiling.governing.text,
        )


def _engine_out(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[SystemCaution]:
    """With all engines running: what an engine failure in the missed approach would leave."""
    attempt = attempt_here(courses)
    if attempt is None or attempt.engine_out_climb is None:
        return
    charted = charted_percent(attempt, situation)
    gradient = attempt.engine_out_climb.ground_gradient_percent
    if charted is not None and gradient < charted:
        yield _caution(
            "ENGINE_OUT_MARGIN_LOST",
            Weight.INFO,
            f"No margin for an engine failure in the missed approach at {attempt.icao}: "
            f"{shown(gradient, 'percent')} against {shown(charted, 'percent')} charted.",
        )


def _engine_out_procedure(
    situation: Situation, courses: Sequence[JudgedCourse]
) -> Iterable[SystemCaution]:
    attempt = attempt_here(courses)
    if attempt is None or attempt.approach is None or not situation.capability.engines_failed:
        return
    if attempt.approach.oei_missed_gradient_percent is None:
        yield _caution(
            "NO_ENGINE_OUT_MISSED_APPROACH",
            Weight.CAUTION,
            f"No engine-out missed approach is given for {attempt.icao}; the ordinary gradient "
            "is judged. Unknown, not met: ask for the operator's procedure.",
        )


def _terrain(situation: Situation, _courses: Sequence[JudgedCourse]) -> Iterable[SystemCaution]:
    bare = [leg.aerodrome.icao for leg in situation.legs if leg.minimum_level_ft is None]
    if bare:
        degraded = bool(situation.capability.engines_failed) or not situation.capability.pressurised
        yield _caution(
            "NO_TERRAIN_GIVEN",
            Weight.CAUTION if degraded else Weight.INFO,
            f"No minimum level is given on the way to {', '.join(bare)}: terrain was not judged.",
        )


def _winds(situation: Situation, _courses: Sequence[JudgedCourse]) -> Iterable[SystemCaution]:
    if situation.case.winds_aloft is None:
        yield _caution(
            "NO_WIND_GIVEN",
            Weight.CAUTION,
            "No winds aloft are given: calm was taken. A headwind costs fuel.",
        )


def _winds_beyond(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[SystemCaution]:
    """Beyond the levels that have a wind the nearest is taken, and that is said."""
    given_ft = [wind.pressure_altitude_ft for wind in situation.case.winds_aloft or ()]
    if not given_ft:
        return
    ends = (("above", max(given_ft), 1.0), ("below", min(given_ft), -1.0))
    for word, end_ft, sign in ends:
        beyond = dict.fromkeys(
            judged.course.icao
            for judged in courses
            if judged.course.cruise_level_ft is not None
            and (judged.course.cruise_level_ft - end_ft) * sign > 0.0
        )
        if beyond:
            yield _caution(
                "WIND_OF_NEAREST_LEVEL",
                Weight.INFO,
                f"No wind is given {word} {end_ft:.0f} ft, and cruise to {', '.join(beyond)} is "
                f"{word} it: the wind of {end_ft:.0f} ft was taken.",
            )


def _flow(situation: Situation, _courses: Sequence[JudgedCourse]) -> Iterable[SystemCaution]:
    ratio = situation.flow_ratio
    if ratio is not None and ratio > FLOW_TOLERANCE_RATIO:
        yield _caution(
            "FUEL_FLOW_ABOVE_MODEL",
            Weight.WARNING,
            f"Fuel flow is {(ratio - 1.0) * PERCENT:.0f} % above the model, which was scaled to "
            "it. Consider a leak or drag that is not accounted for.",
        )


def _reports(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[SystemCaution]:
    told = {  # what the attempts there had to do without is said of them
        attempt.icao
        for judged in courses
        for attempt in judged.course.attempts
        if attempt.weather.not_at_hand
    }
    for icao, station in situation.weather.items():
        if station.observation is None and station.forecast is None and icao not in told:
            yield _caution("NO_REPORT", Weight.INFO, f"No usable weather report for {icao}.")
        for alike in station.differing:
            yield _caution(
                "REPORTS_DIFFER",
                Weight.WARNING,
                f"Reports of {icao} of {clock_text(alike[0].issued_at)} differ, the worse of each "
                f"element counts: {' | '.join(each.raw for each in alike)}",
            )
        for report in station.in_force:
            if report.unread:
                yield _caution(
                    "REPORT_PARTLY_UNREAD",
                    Weight.CAUTION,
                    f"{report.kind} {icao}: not understood and taken as unknown: "
                    f"{' '.join(report.unread)}.",
                )


def _not_at_hand(_situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[SystemCaution]:
    """Reports that would have been heard, had they been there: no plain GO without them."""
    for judged in courses:
        for attempt in judged.course.attempts:
            missing = frozenset(attempt.weather.not_at_hand)
            words = [(code, text) for what, code, text in MISSING_WORDS if what <= missing]
            if words:
                code, text = words[0]
                yield _caution(code, MISSING_WEIGHTS[code], f"{attempt.icao}: {text}.")


WEATHER_NOT_COMPLETE: Final = "WEATHER_NOT_COMPLETE"
MISSING_WEIGHTS: Final = {
    NotAtHand.NO_FORECAST.name: Weight.WARNING,
    NotAtHand.NO_OBSERVATION.name: Weight.WARNING,
    WEATHER_NOT_COMPLETE: Weight.CAUTION,
}
MISSING_WORDS: Final = (  # the first that fits is said
    (
        frozenset({NotAtHand.NO_OBSERVATION, NotAtHand.NO_FORECAST}),
        NotAtHand.NO_FORECAST.name,
        "no report is at hand, neither observation nor forecast",
    ),
    (
        frozenset({NotAtHand.OLD_OBSERVATION, NotAtHand.NO_FORECAST}),
        NotAtHand.NO_FORECAST.name,
        "no forecast is in force at the time of the approach, and the observation is older than "
        "half an hour",
    ),
    (
        frozenset({NotAtHand.NO_FORECAST}),
        NotAtHand.NO_FORECAST.name,
        "no forecast is in force at the time of the approach: the weather rests on the observation "
        "alone, and what is to come is not known",
    ),
    (
        frozenset({NotAtHand.NO_OBSERVATION}),
        NotAtHand.NO_OBSERVATION.name,
        "no observation is at hand, only a forecast",
    ),
    (
        frozenset({NotAtHand.OLD_OBSERVATION}),
        WEATHER_NOT_COMPLETE,
        "the observation is older than half an hour",
    ),
)


def _fetch(situation: Situation, _courses: Sequence[JudgedCourse]) -> Iterable[SystemCaution]:
    """The engine itself fetches nothing: what was fetched has been put into the case before."""
    if situation.case.weather.fetch and situation.case.weather.fetched is None:
        yield _caution(
            "NOTHING_FETCHED",
            Weight.CAUTION,
            "Fetching of reports was asked for, but no source is set up: only the reports in the "
            "request were used.",
        )


def _fetched(situation: Situation, _courses: Sequence[JudgedCourse]) -> Iterable[SystemCaution]:
    """What could not be fetched, and what is older than it should be: a caution for each reason."""
    groups: dict[tuple[bool, str], list[Fetched]] = {}
    for each in situation.case.weather.fetched or ():
        if each.problem is not None:
            groups.setdefault((each.stale, each.problem), []).append(each)
    for (stale, problem), group in groups.items():
        code, words = FETCH_WORDS[stale]
        yield _caution(
            code, Weight.CAUTION, f"{words}, since {problem}: {_by_kind(group)}.", *_aged(group)
        )


FETCH_WORDS: Final = {
    False: ("FETCH_FAILED", "Could not be fetched"),
    True: ("FETCHED_REPORT_STALE", "Fetched before and could not be renewed"),
}


def _by_kind(group: Sequence[Fetched]) -> str:
    places: dict[str, list[str]] = {}
    for each in group:
        places.setdefault(each.lack.kind, []).append(each.lack.icao)
    return "; ".join(f"{kind} of {', '.join(icaos)}" for kind, icaos in places.items())


def _aged(group: Sequence[Fetched]) -> Iterable[str]:
    for each in group:
        age = "" if each.age_s is None else f", fetched {each.age_s / S_PER_MIN:.0f} min before"
        yield f"{each.lack.kind} of {each.lack.icao}{age}"


def _set_aside(situation: Situation, _courses: Sequence[JudgedCourse]) -> Iterable[SystemCaution]:
    stations = situation.weather.values()
    aside = [*situation.set_aside, *(each for station in stations for each in station.set_aside)]
    for each in aside:
        yield _caution(
            "REPORT_NOT_USED", Weight.INFO, f"Report not used, {each.reason}: {each.raw[:60]}"
        )
    for report in situation.reports:
        if report.station not in situation.weather:
            yield _caution(
                "REPORT_NOT_USED",
                Weight.INFO,
                f"Report not used, {report.station} is not in the case: {report.raw[:60]}",
            )


def _gate_report(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[SystemCaution]:
    """Passing the last clean point needs a fresh report of the destination."""
    attempt = attempt_here(courses)
    station = situation.station(situation.case.destination.aerodrome.icao)
    ahead = situation.configurations.irreversible
    if attempt is None or station.observation is None or not ahead:
        return
    if situation.case.aircraft.gear is not GearPosition.UP:
        return
    limit_min = situation.case.policy.gate_report_max_age_min
    old_min = minutes_between(station.observation.issued_at, attempt.at)
    if old_min > limit_min:
        yield _caution(
            "FRESH_REPORT_NEEDED",
            Weight.CAUTION,
            f"The report of {attempt.icao} will be {old_min:.0f} min old at the "
            f"minimum: get one not older than {limit_min:.0f} min before the gear goes down.",
            station.observation.raw,
        )


def _hazards(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[SystemCaution]:
    """Each kind of hazardous weather once a place, the gravest first, with the words that say so.

    Of one kind the earliest is told; where others say the same, they are behind it.
    """
    met: dict[tuple[str, str], dict[str, Hazard]] = {}
    for judged in courses:
        for attempt in judged.course.attempts:
            for hazard in hazards_of(attempt, situation):
                place = met.setdefault((attempt.icao, hazard.phenomenon), {})
                place.setdefault(told(hazard), hazard)
    for (icao, phenomenon), said in sorted(met.items(), key=_gravest):
        first = next(iter(said.values()))
        yield _caution(
            f"HAZARD_{phenomenon.upper()}",
            HAZARD_WEIGHTS[first.weight],
            sentence(f"{first.words} at {icao}: {quoted(first)}"),
            *said,
        )


def _gravest(place: tuple[tuple[str, str], dict[str, Hazard]]) -> int:
    return list(HazardWeight).index(next(iter(place[1].values())).weight)


HAZARD_WEIGHTS: Final = {
    HazardWeight.BAR: Weight.WARNING,
    HazardWeight.WARNING: Weight.WARNING,
    HazardWeight.CAUTION: Weight.CAUTION,
}


def _may_be_barred(
    situation: Situation, courses: Sequence[JudgedCourse]
) -> Iterable[SystemCaution]:
    """Forecast groups that would bar the approach here if they came true."""
    attempt = attempt_here(courses)
    groups = () if attempt is None else may_be_barred(attempt, situation)
    if attempt is not None and groups:
        said = [f"{each.text} ({span_text(each.from_at, each.until_at)})" for each in groups]
        yield _caution(
            "MAY_BE_BARRED",
            Weight.CAUTION,
            f"The approach at {attempt.icao} may be barred, it is not by any report yet: "
            f"{'; '.join(dict.fromkeys(said))}.",
        )


def _observed_worse(
    _situation: Situation, courses: Sequence[JudgedCourse]
) -> Iterable[SystemCaution]:
    """Where the forecast governs although what was seen is worse and nothing named ends it."""
    for judged in courses:
        for attempt in judged.course.attempts:
            for seen in attempt.weather.observed_worse:
                yield _caution(
                    "OBSERVED_WORSE",
                    Weight.CAUTION,
                    f"{attempt.icao}: {seen.kind} {seen.text} was worse than the forecast that "
                    "governs at the time of the approach, and no group says that it ends.",
                )


STRONG_WIND_KT: Final = 50.0  # [PRACTICE] about where doors, stairs and taxiing reach limits


def _strong_wind(_situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[SystemCaution]:
    """A gale, wherever it comes from: nothing here judges wind from ahead."""
    most_kt: dict[str, float] = {}
    for judged in courses:
        for attempt in judged.course.attempts:
            for wind in attempt.weather.winds:
                blows_kt = max(wind.speed_kt or 0.0, wind.gust_kt or 0.0)
                most_kt[attempt.icao] = max(blows_kt, most_kt.get(attempt.icao, 0.0))
    for icao, blows_kt in most_kt.items():
        if blows_kt >= STRONG_WIND_KT:
            yield _caution(
                "STRONG_WIND",
                Weight.CAUTION,
                f"Wind of {blows_kt:.0f} kt at {icao}: limits for taxiing, doors and stairs are "
                "not judged here.",
            )


def _blocked(situation: Situation, _courses: Sequence[JudgedCourse]) -> Iterable[SystemCaution]:
    """What it does to the others: where there is no second runway nobody lands after it."""
    if not situation.capability.blocks_runway:
        return
    places = [leg.aerodrome for leg in situation.legs]
    closes = [place.icao for place in places if place.separate_runways is not True]
    last = f" At {', '.join(closes)} nobody else may be able to land until then." if closes else ""
    yield _caution(
        "RUNWAY_WILL_BE_BLOCKED",
        Weight.CAUTION,
        "The aircraft may stop on the runway and block it until it is towed; tell the tower early."
        + last,
    )


def _rescue(situation: Situation, _courses: Sequence[JudgedCourse]) -> Iterable[SystemCaution]:
    """Rescue and fire fighting below the aeroplane's category; weighty where it may be needed."""
    needed = rescue_category_of(situation.case.aircraft.profile)
    left = situation.capability
    weighty = bool(left.landing_hazards) or left.urgency is not Urgency.NONE
    places = (leg.aerodrome for leg in situation.legs)
    less = [
        f"{place.icao} {place.rescue_category}"
        for place in places
        if place.rescue_category is not None and place.rescue_category < needed
    ]
    if less:
        yield _caution(
            "RESCUE_BELOW_CATEGORY",
            Weight.CAUTION if weighty else Weight.INFO,
            f"Rescue and fire fighting below category {needed}: {', '.join(less)}.",
        )


def _not_in_the_figures(
    situation: Situation, _courses: Sequence[JudgedCourse]
) -> Iterable[SystemCaution]:
    """Limits that the crew has to keep and that no figure here takes into account."""
    for name, weight in NOT_IN_THE_FIGURES.items():
        limit = situation.capability.limit(name)
        if limit is not None:
            yield _caution(
                "LIMIT_NOT_IN_FIGURES",
                weight,
                f"{LIMITS[name].words} {limit.value:g}: the figures do not take it into account.",
                limit.because,
            )


NOT_IN_THE_FIGURES: Final = {  # climb, cruise and descent are flown by airspeed
    LimitName.MAX_MACH: Weight.CAUTION,
    LimitName.MAX_BRAKE_APPLICATIONS: Weight.INFO,
}


def _icing_with_drag_out(
    situation: Situation, courses: Sequence[JudgedCourse]
) -> Iterable[SystemCaution]:
    """Flaps or gear that stay out on the way into icing weather, whether protection works or not.

    Ice on what nothing heats is not shed again: no long flight in icing so [PRACTICE].
    """
    met: dict[str, set[str]] = {}
    for course in (judged.course for judged in courses if judged.course.kind in ONWARD):
        out = _left_out(situation, course)
        for attempt in course.attempts:
            iced = attempt.weather.icing_phenomena or attempt.weather.freezing_precipitation
            if out and iced and attempt.icao == course.icao:
                met.setdefault(attempt.icao, set()).add(out)
    for icao, what in met.items():
        yield _caution(
            "ICING_WITH_DRAG_OUT",
            Weight.CAUTION,
            f"Icing weather at {icao}, flown to with {' or '.join(sorted(what))} out: ice there is "
            "not shed; stay in it as briefly as possible.",
        )


def _hold_barred(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[SystemCaution]:
    """Why weather that improves in time is not waited for."""
    bar = barred_wait(situation, courses)
    if bar is not None:
        where = situation.case.destination.aerodrome.icao
        text = f"The weather at {where} is said to improve, but there is no hold for it: {bar}."
        yield _caution("HOLD_BARRED", Weight.CAUTION, text)


def _left_out(situation: Situation, course: Course) -> str:
    """What stands out all the way of a course, in words; empty if nothing does."""
    flown = course.configuration
    flaps_out = flown.flap != situation.case.aircraft.profile.flaps_up
    return " and ".join(
        what for what, is_out in (("gear", flown.gear_down), ("flaps", flaps_out)) if is_out
    )


ONWARD: Final = {CourseKind.APPROACH_THEN_DIVERT, CourseKind.DIVERT_NOW}  # with a way to fly


def _policy(situation: Situation, _courses: Sequence[JudgedCourse]) -> Iterable[SystemCaution]:
    """Where the operator's policy is looser than the rulebook, with the reason it gives."""
    policy = situation.case.policy
    looser = [each.text for each in deviations(policy, situation.rulebook)]
    for text in (*looser, *(each.text for each in lightened(policy))):
        yield _caution("POLICY_DEVIATION", Weight.CAUTION, sentence(text))


def _conditions(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[SystemCaution]:
    """What the crew has to do for the approach here to be usable."""
    attempt = attempt_here(courses)
    minima = None if attempt is None else minima_of(attempt, situation)
    for condition in () if minima is None else minima.conditions:
        yield _caution("APPROACH_CONDITION", Weight.CAUTION, sentence(condition))


def _minima(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[SystemCaution]:
    """Why minima are not those of the chart: the category flown, equipment or lights that fail."""
    for judged in courses:
        for attempt in judged.course.attempts:
            minima = minima_of(attempt, situation)
            if attempt.approach is None or minima is None:
                continue
            for why in minima.because:
                if why not in minima.barred:
                    yield _caution(
                        "MINIMA_NOT_AS_CHARTED",
                        Weight.INFO,
                        f"Minima of {attempt.icao} {attempt.approach.id} are not as charted: "
                        f"{why}.",
                    )


def _gusts(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[SystemCaution]:
    """A gust beyond a wind limit where the rulebook judges the mean wind."""
    worst_kt: dict[str, float] = {}
    for judged in courses:
        for attempt in judged.course.attempts:
            beyond_kt = gust_beyond_limit(attempt, situation)
            if beyond_kt is not None:
                worst_kt[attempt.icao] = max(beyond_kt, worst_kt.get(attempt.icao, 0.0))
    for icao, beyond_kt in worst_kt.items():
        yield _caution(
            "GUST_BEYOND_LIMIT",
            Weight.CAUTION,
            f"Gusts at {icao} are {shown_up(beyond_kt, 'kt')} beyond a wind limit of the aircraft; "
            "the mean wind is judged.",
        )


def _amended_release(
    situation: Situation, courses: Sequence[JudgedCourse]
) -> Iterable[SystemCaution]:
    """Where release needs an alternate, landing here with all of them barred needs another one."""
    row = situation.rulebook.row("commit")
    ways = [each for each in courses if each.course.kind is CourseKind.APPROACH_THEN_DIVERT]
    below = [each for each in ways if each.worst is Breach.BELOW_MINIMA]
    if row.force is Force.RULE and ways and len(below) == len(ways):
        yield _caution(
            "RELEASE_TO_BE_AMENDED",
            Weight.CAUTION,
            "Every alternate of the release is below its minima: to go on to the destination takes "
            "an amended release or the pilot's emergency authority.",
            row.citation,
        )


def _near_a_limit(situation: Situation, courses: Sequence[JudgedCourse]) -> Iterable[SystemCaution]:
    """What passes by less than the model can tell: no plain GO rests on it."""
    attempt = attempt_here(courses)
    if attempt is None:
        return
    for near, what in NEAR:
        if near(attempt, situation):
            yield _caution(
                "WITHIN_MODEL_ERROR",
                Weight.CAUTION,
                f"{what} at {attempt.icao} is met by less than the model can tell.",
            )


NEAR: Final = (
    (gradient_within_error, "The missed approach climb gradient"),
    (landing_within_error, "The landing distance with its factor"),
)


def _bearings(situation: Situation, _courses: Sequence[JudgedCourse]) -> Iterable[SystemCaution]:
    """A bearing that goes badly with the name of its runway: one of the two may be wrong."""
    for each in doubtful_bearings(situation.case):
        yield _caution(
            "RUNWAY_BEARING_DOUBTFUL",
            Weight.CAUTION,
            f"Runway {each.runway.ident} of {each.icao} is given a bearing {each.apart_deg:.0f} "
            "degrees from what its name says: check it.",
        )


SOURCES: Final[tuple[Source, ...]] = (
    _hazards,
    _policy,
    _conditions,
    _minima,
    _systems,
    _irreversible,
    _miss_likely,
    _may_be_barred,
    _observed_worse,
    _flow,
    _engine_out,
    _engine_out_procedure,
    _gate_report,
    _strong_wind,
    _near_a_limit,
    _gusts,
    _bearings,
    _amended_release,
    _blocked,
    _rescue,
    _not_in_the_figures,
    _icing_with_drag_out,
    _hold_barred,
    _terrain,
    _winds,
    _winds_beyond,
    _reports,
    _not_at_hand,
    _fetch,
    _fetched,
    _set_aside,
)
