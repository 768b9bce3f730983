"""Wind on the runway against what the aircraft and the surface allow.

A gust counts where the aircraft's limits include gusts, else where the rulebook says so; where
neither does, the mean wind is judged and a gust beyond a limit is for a caution.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from decision.attempt.attempt import Attempt, RunwayWind, Scene
from decision.attempt.runway_wind import gusts_count, runway_wind
from decision.case import Runway
from decision.profile.systems_effects import LimitName
from decision.rules.combine import at_most, doubtful, unknown
from decision.rules.finding import Judgement, Outcome, shown_up
from decision.rules.landing import even_at_best
from decision.rules.policy import landing_factor
from decision.rules.registry import Context, Rule
from decision.rules.row import TIGHT_RATIO, Breach, Mend

FAR_BEYOND_KT: Final = 5.0  # a limit missed by more than this endangers [ASSUMED]
PART_UNREAD: Final = "part of the wind could not be read"


def crosswind(attempt: Scene, context: Context) -> Judgement:
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
    judged = _about_gusts(judged, attempt, context, lambda each: each.crosswind_kt)
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


def _about_gusts(
    judged: Judgement,
    attempt: Scene,
    context: Context,
    component_kt: Callable[[RunwayWind], float],
) -> Judgement:
    """Why the gust is in the figure, or that it is not; nothing where it changes nothing."""
    gusting = _wind_with(attempt, gusts=True)
    steady = None if gusting is None else _wind_with(attempt, gusts=False)
    if gusting is None or steady is None or component_kt(gusting) <= component_kt(steady):
        return judged
    if context.case.aircraft.profile.wind.gust_included:
        return judged.adding("gusts count in the limits of this aircraft")
    row = context.rulebook.row("wind_limits_with_gust")
    if row.value:
        return judged.adding(f"with its gust {row.citation}")
    gust = shown_up(component_kt(gusting), "kt")
    return judged.adding(f"mean wind, gusts up to {gust} do not count {row.citation}")


def _wind_with(attempt: Scene, *, gusts: bool) -> RunwayWind | None:
    """The wind of the window on the runway, with its gusts or without; None where not known."""
    if attempt.runway is None or not any(each.gust_kt for each in attempt.weather.winds):
        return None
    return runway_wind(
        attempt.weather, true_bearing_deg=attempt.runway.true_bearing_deg, with_gusts=gusts
    )


def gust_beyond_limit(attempt: Scene, context: Context) -> float | None:
    """Knots by which a gust that does not count is beyond a wind limit; None where none is.

    For a caution: the rules on wind pass by the mean wind then. A crosswind limit that is not known
    is beyond nothing.
    """
    limits = context.case.aircraft.profile.wind
    gusting = None
    if not gusts_count(limits, context.rulebook):
        gusting = _wind_with(attempt, gusts=True)
    if gusting is None:
        return None
    beyond_kt = [gusting.tailwind_kt - limits.tailwind_limit_kt]
    across_kt = crosswind_limit_kt(attempt, context)
    if across_kt is not None:
        beyond_kt.append(gusting.crosswind_kt - across_kt)
    worst_kt = max(beyond_kt)
    return worst_kt if worst_kt > 0.0 else None


def crosswind_limit_kt(attempt: Scene, context: Context) -> float | None:
    """The limit for the surface at its best, and that of a failure if stricter; None if neither."""
    surface, limits = attempt.runway_condition, context.case.aircraft.profile.wind
    failed = attempt.capability.limit(LimitName.MAX_CROSSWIND_KT)
    known = [] if failed is None else [failed.value]
    given = {row.condition_code for row in limits.crosswind}
    if surface is not None and surface.best_code in given:
        known.append(limits.crosswind_limit_kt(surface.best_code))
    return min(known, default=None)


def tailwind(attempt: Scene, context: Context) -> Judgement:
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
    judged = _about_gusts(judged, attempt, context, lambda each: each.tailwind_kt)
    return doubtful(judged, PART_UNREAD if wind.possibly_worse else None, lacks=("wind",))


def usable_runways(attempt: Attempt, context: Context) -> frozenset[str]:
    """Idents of the open runways on which neither wind nor length is known to forbid a landing."""
    return frozenset(
        runway.ident
        for runway in attempt.aerodrome.runways
        if not runway.closed
        and _long_enough(runway, attempt, context)
        and _wind_allows(runway, attempt, context)
    )


def _long_enough(runway: Runway, attempt: Attempt, context: Context) -> bool:
    distance_m = None if attempt.landing is None else attempt.landing.distance_m
    if distance_m is None:
        return True
    longest_m = runway.longest_m
    if longest_m is None:
        return True
    return distance_m * landing_factor(context.case.policy, context.rulebook) <= longest_m


def _wind_allows(runway: Runway, attempt: Attempt, context: Context) -> bool:
    """Every wind of the window, with its gust where gusts count, inside both limits."""
    wind = attempt.winds[runway.ident]
    if wind is None:
        return True
    across_kt = crosswind_limit_kt(attempt, context)
    return wind.tailwind_kt <= context.case.aircraft.profile.wind.tailwind_limit_kt and (
        across_kt is None or wind.crosswind_kt <= across_kt
    )


RULES: Final[tuple[Rule, ...]] = (
    Rule(
        "WD-01",
        "Crosswind",
        "flight_manual_limits",
        Breach.WIND_LIMIT,
        crosswind,
        of_scene=crosswind,
        mend=Mend.WAITING,
        telling=True,
        tight_runway_ratio=TIGHT_RATIO,
    ),
    Rule(
        "WD-02",
        "Tailwind",
        "flight_manual_limits",
        Breach.WIND_LIMIT,
        tailwind,
        of_scene=tailwind,
        mend=Mend.WAITING,
        telling=True,
        tight_runway_ratio=TIGHT_RATIO,
    ),
)
