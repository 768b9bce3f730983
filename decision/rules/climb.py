"""Can it climb away: gradient over the ground and obstacles, as the aircraft then is."""

from __future__ import annotations

from typing import Final

from decision.course import Attempt, Role
from decision.rules.approach import miss_likely
from decision.rules.breach import Breach
from decision.rules.combine import at_least, not_applicable, unknown
from decision.rules.finding import Judgement, Outcome
from decision.rules.registry import Context, Rule


def missed_gradient(attempt: Attempt, context: Context) -> Judgement:
    """The gradient with the engines that run, against the charted one.

    With an engine out the charted gradient of a one-engine-out procedure is the limit where one is
    published; the ordinary one otherwise.
    """
    what = f"{attempt.icao} missed approach gradient"
    if attempt.approach is None:
        return unknown(f"{what}: no procedure is described")
    if attempt.climb is None:
        return unknown(f"{what}: {', '.join(attempt.unknown)} not known", lacks=attempt.unknown)
    judged = at_least(
        f"{what}, {_engines(attempt)}",
        attempt.climb.ground_gradient_percent,
        charted_percent(attempt, context),
        unit="percent",
    )
    return _worse_with_a_miss_likely(judged, attempt, context)


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
    approach = attempt.approach
    if approach is None:
        return None
    single = attempt.capability.engines_running < context.case.aircraft.profile.engine.count
    if single and approach.oei_missed_gradient_percent is not None:
        return approach.oei_missed_gradient_percent
    if approach.missed_gradient_percent is not None:
        return approach.missed_gradient_percent
    return context.rulebook.gradient_percent("missed_gradient")


def _engines(attempt: Attempt) -> str:
    return "one engine out" if attempt.capability.engines_failed else "all engines"


RULES: Final[tuple[Rule[Attempt], ...]] = (
    Rule(
        code="MA-01",
        title="Missed approach gradient",
        row="missed_gradient",
        breach=Breach.GRADIENT,
        applies=frozenset({Role.MISSED, Role.COMMITTED}),
        check=missed_gradient,
    ),
    Rule(
        code="MA-02",
        title="Obstacles under the missed approach",
        row="missed_obstacle_clearance_ft",
        breach=Breach.OBSTACLES,
        applies=frozenset({Role.MISSED, Role.COMMITTED}),
        check=obstacles,
    ),
)
