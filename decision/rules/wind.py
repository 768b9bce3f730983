"""Wind on the runway against what the aircraft and the surface allow."""

from __future__ import annotations

from typing import Final

from decision.course import Attempt
from decision.profile.systems_effects import LimitName
from decision.rules.breach import Breach
from decision.rules.combine import at_most, doubtful, unknown
from decision.rules.finding import Judgement, Outcome
from decision.rules.landing import even_at_best
from decision.rules.registry import EVERY_ROLE, Context, Rule

FAR_BEYOND_KT: Final = 5.0  # a limit missed by more than this endangers [ASSUMED]
PART_UNREAD: Final = "part of the wind could not be read"


def crosswind(attempt: Attempt, context: Context) -> Judgement:
    """Crosswind against the limit for the runway condition, and that of a failure if stricter.

    Of an unknown condition only the best that it may be is known: too much there is too much.
    """
    what = f"{attempt.icao} crosswind"
    surface, wind = attempt.runway_condition, attempt.wind
    if wind is None:
        return unknown(f"{what}: wind or runway not known", lacks=("wind",))
    if surface is None:
        return unknown(f"{what}: runway condition not known", lacks=("runway condition",))
    best = surface.best_code
    if best < min(row.condition_code for row in context.case.aircraft.profile.wind.crosswind):
        return unknown(f"{what}: no limit is given for runway condition code {best}")
    judged = _by_how_much(
        at_most(what, wind.crosswind_kt, crosswind_limit_kt(attempt, context), unit="kt")
    )
    if surface.code is None:
        if judged.outcome is Outcome.FAIL:
            return judged.adding(even_at_best(surface))
        return unknown(f"{what}: runway condition not known", lacks=("runway condition",))
    return doubtful(judged, PART_UNREAD if wind.possibly_worse else None, lacks=("wind",))


def _by_how_much(judged: Judgement) -> Judgement:
    """A limit missed by little is a limit missed; by more, people are in danger."""
    if judged.margin is not None and judged.margin < -FAR_BEYOND_KT:
        return judged.meaning(Breach.WIND_FAR_BEYOND)
    return judged


def crosswind_limit_kt(attempt: Attempt, context: Context) -> float | None:
    """The limit for the surface at its best, and that of a failure if stricter; None if neither."""
    surface, limits = attempt.runway_condition, context.case.aircraft.profile.wind
    failed = attempt.capability.limit(LimitName.MAX_CROSSWIND_KT)
    known = [] if failed is None else [failed.value]
    given = {row.condition_code for row in limits.crosswind}
    if surface is not None and surface.best_code in given:
        known.append(limits.crosswind_limit_kt(surface.best_code))
    return min(known, default=None)


def tailwind(attempt: Attempt, context: Context) -> Judgement:
    """Worst tailwind of the window, gusts where they count, against the limit of the aircraft."""
    wind = attempt.wind
    if wind is None:
        return unknown(f"{attempt.icao} tailwind: wind or runway not known", lacks=("wind",))
    judged = _by_how_much(
        at_most(
            f"{attempt.icao} tailwind",
            wind.tailwind_kt,
            context.case.aircraft.profile.wind.tailwind_limit_kt,
            unit="kt",
        )
    )
    return doubtful(judged, PART_UNREAD if wind.possibly_worse else None, lacks=("wind",))


RULES: Final[tuple[Rule[Attempt], ...]] = (
    Rule(
        code="WD-01",
        title="Crosswind",
        row="wind_limits_with_gust",
        breach=Breach.WIND_LIMIT,
        applies=EVERY_ROLE,
        check=crosswind,
    ),
    Rule(
        code="WD-02",
        title="Tailwind",
        row="wind_limits_with_gust",
        breach=Breach.WIND_LIMIT,
        applies=EVERY_ROLE,
        check=tailwind,
    ),
)
