"""Can it climb away: gradient over the ground and obstacles, as the aircraft then is."""

from __future__ import annotations

from typing import Final, NamedTuple

from decision.attempt.attempt import Attempt, Role
from decision.attempt.certified import APPROACH_ROW, LANDING_ROW, not_as_certified
from decision.case import Approach
from decision.profile.types import AccuracyOf
from decision.rulebooks.rulebook import Force, Rulebook
from decision.rules.against_minima import miss_likely
from decision.rules.combine import at_least, not_applicable, unknown
from decision.rules.finding import Judgement, Outcome
from decision.rules.registry import Context, Rule
from decision.rules.row import CHART, Breach, Figure, Mend
from decision.units import FT_PER_NM, PERCENT


class Published(NamedTuple):
    """The gradient that is asked of this aircraft, in percent, and how it binds.

    `force` None: as the row of the rule does. `words`: what is not ordinary about it.
    """

    percent: float
    force: Force | None = None
    words: str = ""


def missed_gradient(attempt: Attempt, context: Context) -> Judgement:
    """The gradient with the engines that run, against the published one.

    Obstacles that are given decide by their height where no gradient is charted.
    """
    what = f"{attempt.icao} missed approach gradient"
    asked = published_gradient(attempt, context)
    if attempt.approach is None or asked is None:
        return unknown(f"{what}: no procedure is described", lacks=(CHART,))
    if _decided_by_obstacles(attempt.approach, one_out=_one_out(attempt, context)):
        return not_applicable(f"{what}: none is charted, the obstacles given decide by height")
    if attempt.climb is None:
        return unknown(f"{what}: {', '.join(attempt.unknown)} not known", lacks=attempt.unknown)
    judged = at_least(
        f"{what}, {_engines(attempt)}",
        attempt.climb.ground_gradient_percent,
        asked.percent,
        unit="percent",
    ).binding(asked.force)
    judged = judged.adding(asked.words) if asked.words else judged
    return _worse_with_a_miss_likely(judged, attempt, context)


def gradient_short(attempt: Attempt, context: Context) -> bool:
    """Whether the climb after a miss is under the published gradient by more than the model errs.

    With no obstacles given a diversion after such a miss is no way out. False where either figure
    is not known: that is UNKNOWN by the rule on the gradient.
    """
    margin = _gradient_margin(attempt, context)
    given = attempt.approach is not None and bool(attempt.approach.obstacles)
    return not given and margin is not None and margin < -gradient_error_percent(context)


def gradient_within_error(attempt: Attempt, context: Context) -> bool:
    """Whether the climb after a miss is as near to what is asked of it as the model errs.

    That is the published gradient, and the clearance over each obstacle that is given.
    """
    error, margin = gradient_error_percent(context), _gradient_margin(attempt, context)
    if margin is not None and abs(margin) <= error:
        return True
    wanted_ft = context.rulebook.number("missed_obstacle_clearance_ft")
    return any(
        abs(each.above_ft - wanted_ft) <= each.obstacle.distance_nm * FT_PER_NM * error / PERCENT
        for each in attempt.clearances
    )


def gradient_error_percent(context: Context) -> float:
    """How far a gradient of the model may be off, in points, as the profile states it."""
    accuracy = context.case.aircraft.profile.accuracy
    return next(row.within for row in accuracy if row.of is AccuracyOf.CLIMB_GRADIENT)


def _gradient_margin(attempt: Attempt, context: Context) -> float | None:
    """Room to the published gradient in points; None where either is not known or none counts."""
    approach, asked = attempt.approach, published_gradient(attempt, context)
    if approach is None or asked is None or attempt.climb is None:
        return None
    if _decided_by_obstacles(approach, one_out=_one_out(attempt, context)):
        return None
    return attempt.climb.ground_gradient_percent - asked.percent


def _decided_by_obstacles(approach: Approach, *, one_out: bool) -> bool:
    """Whether obstacles are given, and no gradient that counts with the engines that run."""
    charted = [approach.missed_gradient_percent]
    if one_out:
        charted.append(approach.oei_missed_gradient_percent)
    return bool(approach.obstacles) and all(each is None for each in charted)


def obstacles(attempt: Attempt, context: Context) -> Judgement:
    """The obstacle that is cleared by least, against the clearance that is wanted of all."""
    what = f"{attempt.icao} missed approach over the obstacle"
    approach = attempt.approach
    if approach is None or not approach.obstacles:
        return not_applicable(f"{attempt.icao}: no obstacle is given for the missed approach")
    lowest = attempt.least_clearance
    if lowest is None:
        lacks = attempt.unknown if attempt.climb is None else ("decision height",)
        return unknown(f"{what}: {', '.join(lacks)} not known", lacks=lacks)
    where = f"at {lowest.obstacle.distance_nm:g} NM, {_engines(attempt)}, clearance"
    return at_least(
        f"{what} {where}",
        lowest.above_ft,
        context.rulebook.number("missed_obstacle_clearance_ft"),
        unit="ft",
    )


def _worse_with_a_miss_likely(judged: Judgement, attempt: Attempt, context: Context) -> Judgement:
    """A gradient that is not reached endangers where the approach will probably be missed."""
    if judged.outcome is Outcome.FAIL and miss_likely(attempt, context) is not False:
        return judged.meaning(Breach.OBSTACLES)
    return judged


def charted_percent(attempt: Attempt, context: Context) -> float | None:
    """The gradient that the procedure asks of this aircraft, in percent; None without one."""
    asked = published_gradient(attempt, context)
    return None if asked is None else asked.percent


def published_gradient(attempt: Attempt, context: Context) -> Published | None:
    """What the procedure asks with the engines that run; None without a procedure.

    With an engine out that of a one-engine-out procedure where one is published, else the ordinary
    one, which then binds only as far as the rulebook says.
    """
    approach, book = attempt.approach, context.rulebook
    if approach is None:
        return None
    ordinary = approach.missed_gradient_percent
    if ordinary is None:
        ordinary = book.gradient_percent("missed_gradient")
    if not _one_out(attempt, context):
        return Published(ordinary)
    if approach.oei_missed_gradient_percent is not None:
        return Published(approach.oei_missed_gradient_percent)
    asked = _ordinary_with_one_out(approach, ordinary, book)
    return asked._replace(force=None) if CODE in context.case.policy.adopt else asked


def _ordinary_with_one_out(approach: Approach, ordinary: float, book: Rulebook) -> Published:
    """A gradient that is not made for one engine out, and what the rulebook makes of it then."""
    low, steep = book.row("low_height_oei_gradient_percent"), book.row("oei_missed_above_percent")
    least, above = book.number_or_none(low.name), book.number_or_none(steep.name)
    height_ft = approach.minimum_height_ft
    is_low = height_ft is not None and height_ft < book.number("low_visibility_height_ft")
    if is_low and least is not None:
        return Published(max(ordinary, least), low.force, f"with one engine out {low.citation}")
    if above is not None and ordinary > above:
        return Published(ordinary, steep.force, f"with one engine out {steep.citation}")
    return Published(
        ordinary, Force.GUIDANCE, f"with one engine out no more than guidance {steep.citation}"
    )


def _one_out(attempt: Attempt, context: Context) -> bool:
    return attempt.capability.engines_running < context.case.aircraft.profile.engine.count


def _engines(attempt: Attempt) -> str:
    return "one engine out" if attempt.capability.engines_failed else "all engines"


CODE: Final = "MA-01"


TWIN: Final = 2  # the rows are those of aeroplanes with two engines


def approach_climb(attempt: Attempt, context: Context) -> Judgement:
    """One engine out, gear up, flap of the go-around, at the landing mass."""
    figures = attempt.certified_climb
    percent = None if figures is None else figures.approach_percent
    return _climb(attempt, context, "approach climb, one engine out", percent, row=APPROACH_ROW)


def landing_climb(attempt: Attempt, context: Context) -> Judgement:
    """All engines, gear down, flap of the landing, at the landing mass."""
    figures = attempt.certified_climb
    percent = None if figures is None else figures.landing_percent
    return _climb(attempt, context, "landing climb, all engines", percent, row=LANDING_ROW)


def _climb(
    attempt: Attempt, context: Context, words: str, percent: float | None, *, row: str
) -> Judgement:
    profile = context.case.aircraft.profile
    what = f"{attempt.icao} {words}"
    if profile.engine.count != TWIN:
        return not_applicable(f"{what}: no figure for {profile.engine.count} engines")
    if percent is None:
        lacks = attempt.unknown
        return unknown(f"{what}: {', '.join(lacks)} not known", lacks=lacks)
    limit, failed = context.rulebook.number(row), not_as_certified(attempt.capability, profile)
    if failed and percent >= limit:
        return not_applicable(f"{what}: certified for nothing failed, and there is {failed}")
    given = f"at {attempt.mass_kg:.0f} kg{', nothing having failed' if failed else ''}"
    return at_least(what, percent, limit, unit="percent", given=given)


RULES: Final[tuple[Rule, ...]] = (
    Rule(
        CODE,
        "Missed approach gradient",
        "missed_gradient",
        Breach.GRADIENT,
        missed_gradient,
        applies=frozenset({Role.MISSED, Role.COMMITTED}),
        mend=Mend.GENTLER_MISS,
        figure=Figure.MISSED_GRADIENT,
        telling=True,
    ),
    Rule(
        "MA-02",
        "Obstacles under the missed approach",
        "missed_obstacle_clearance_ft",
        Breach.OBSTACLES,
        obstacles,
        applies=frozenset({Role.MISSED, Role.COMMITTED}),
        mend=Mend.GENTLER_MISS,
        telling=True,
    ),
    Rule(
        "MA-03",
        "Landing mass for the approach climb",
        APPROACH_ROW,
        Breach.LANDING_MASS,
        approach_climb,
        mend=Mend.BURNING_OFF,
    ),
    Rule(
        "MA-04",
        "Landing mass for the landing climb",
        LANDING_ROW,
        Breach.LANDING_MASS,
        landing_climb,
        mend=Mend.BURNING_OFF,
    ),
)
