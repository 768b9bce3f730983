"""Can the aircraft stop on this runway, as it is and as the runway is."""

from __future__ import annotations

from typing import Final

from decision.attempt.attempt import Attempt, Role, Scene
from decision.attempt.minima.landing import LandingBasis, required_landing_distance_m
from decision.case import AlternateBar, Runway
from decision.performance import Landing
from decision.profile.systems_effects import LimitName
from decision.profile.types import AccuracyOf
from decision.rules.combine import at_least, at_most, holds, not_applicable, unknown
from decision.rules.finding import Judgement, Outcome
from decision.rules.policy import landing_factor
from decision.rules.registry import Context, Rule
from decision.rules.row import Breach, Figure, Mend
from decision.units import PERCENT
from decision.weather.readings import NotAtHand
from decision.weather.runway import RunwayCondition

DRY_CODE: Final = 6  # [GRF]
CONTAMINATED_FROM_CODE: Final = 4  # [GRF] and below: neither dry nor wet


def _lacks(attempt: Attempt) -> tuple[str, ...]:
    """What the landing distance lacks."""
    if attempt.runway is None:
        return (*attempt.unknown, "runway")
    if attempt.runway_condition is None or attempt.runway_condition.code is None:
        return (*attempt.unknown, "runway condition")
    return attempt.unknown


def _missing(attempt: Attempt) -> str:
    """The same in words, and why where no observation could tell it."""
    lacks = _lacks(attempt)
    blind = attempt.unknown and NotAtHand.NO_OBSERVATION in attempt.weather.not_at_hand
    return f"{', '.join(lacks)} not known{', no observation is at hand' if blind else ''}"


def distance(attempt: Attempt, context: Context) -> Judgement:
    """Landing distance available against the distance at time of arrival times its factor.

    On a runway of unknown condition the distance is longer than on the best that it may have: what
    is too long there is too long.
    """
    factor, runway = landing_factor(context.case.policy, context.rulebook), attempt.runway
    where = "" if runway is None else f" runway {runway.ident}"
    what = f"{attempt.icao}{where} landing distance x{factor:.2f}"
    if runway is not None and attempt.landing is not None:
        return _stops(what, attempt.landing, factor, runway)
    if runway is not None and attempt.landing_at_best is not None:
        judged = _stops(what, attempt.landing_at_best, factor, runway)
        if judged.outcome is Outcome.FAIL:
            return judged.adding(even_at_best(attempt.runway_condition))
    return unknown(f"{what}: {_missing(attempt)}", lacks=_lacks(attempt))


def _stops(what: str, landing: Landing, factor: float, runway: Runway) -> Judgement:
    if landing.unknown is not None:
        return unknown(f"{what}: {landing.unknown}")
    if landing.distance_m is None:
        return holds(False, yes="", no=f"{what}: {landing.limited_by}", unknown="")
    if runway.lda_m is None:
        judged = _fits(what, landing.distance_m * factor, runway)
        stops = runway.length_m is None or landing.distance_m <= runway.length_m
    else:  # as nearly always, with no call more than it takes
        judged = at_most(what, landing.distance_m * factor, runway.lda_m, unit="m")
        stops = landing.distance_m <= runway.lda_m
    return judged.meaning(Breach.LANDING_FACTOR if stops else Breach.CANNOT_STOP)


def _fits(what: str, distance_m: float, runway: Runway) -> Judgement:
    """A distance against that available; where that is not known, against the runway itself.

    What is too long for the runway itself is too long; what is not, nobody knows.
    """
    if runway.lda_m is not None:
        return at_most(what, distance_m, runway.lda_m, unit="m")
    if runway.length_m is not None and distance_m > runway.length_m:
        return at_most(what, distance_m, runway.length_m, unit="m").adding(
            "the length of the runway itself"
        )
    return unknown(f"{what}: {AVAILABLE} not known", lacks=(AVAILABLE,))


AVAILABLE: Final = "landing distance available"


def landing_within_error(attempt: Attempt, context: Context) -> bool:
    """Whether the factored distance fits by less than the model of landing can tell.

    It fits at the central distance, but not with that lengthened by the error that the profile
    states: for a dry runway, else for a contaminated one [ASSUMED for a wet one]. An operator's
    table that governs alone is no model.
    """
    landed, runway = attempt.landing, attempt.runway
    if landed is None or landed.distance_m is None or runway is None or runway.lda_m is None:
        return False
    if landed.distance_m == landed.table_m:
        return False
    factored_m = landed.distance_m * landing_factor(context.case.policy, context.rulebook)
    return factored_m <= runway.lda_m < factored_m * (1.0 + _error_ratio(attempt, context))


def _error_ratio(attempt: Attempt, context: Context) -> float:
    surface = attempt.runway_condition
    dry = surface is not None and surface.code == DRY_CODE
    of = AccuracyOf.DRY_LANDING if dry else AccuracyOf.CONTAMINATED_LANDING
    stated = context.case.aircraft.profile.accuracy
    return next(row.within for row in stated if row.of is of) / PERCENT


def dispatch_distance(attempt: Attempt, context: Context) -> Judgement:
    """The planning check on the dry distance without reverse thrust, on the runway as expected.

    Wet, the wet factor of the destination or the alternate; contaminated, the greater of that and
    the factored distance on the surface itself.
    """
    elsewhere = not_for_dispatch(attempt, context)
    if elsewhere is not None:
        return elsewhere
    what = f"{attempt.icao} {FOR_DISPATCH}"
    runway, dry = attempt.runway, attempt.landing_dry
    if runway is None or dry is None:
        return unknown(f"{what}: {_missing(attempt)}", lacks=_lacks(attempt))
    code = None if attempt.runway_condition is None else attempt.runway_condition.code
    contaminated = code is not None and code <= CONTAMINATED_FROM_CODE
    on_surface = attempt.landing if contaminated else dry
    if dry.distance_m is None or on_surface is None or on_surface.distance_m is None:
        return _no_distance(what, dry if dry.distance_m is None else on_surface, attempt)
    required = required_landing_distance_m(
        dry.distance_m,
        basis=_basis(attempt.role, dry=code is None or code == DRY_CODE),
        rulebook=context.rulebook,
        contaminated_distance_m=on_surface.distance_m if contaminated else None,
    )
    what = f"{what} x{required.factor:.2f}"
    judged = _fits(what, required.distance_m, runway)
    if code is None and judged.outcome is Outcome.PASS:
        return unknown(f"{what}: runway condition not known", lacks=_lacks(attempt))
    return judged


FOR_DISPATCH: Final = "landing distance for dispatch"


def not_for_dispatch(scene: Scene, context: Context) -> Judgement | None:
    """Why it is not judged in flight; None in planning."""
    if context.case.policy.alternate_bar is AlternateBar.PLANNING:
        return None
    what = f"{scene.icao} {FOR_DISPATCH}"
    return not_applicable(f"{what}: judged for planning, in flight at time of arrival")


def _no_distance(what: str, landed: Landing | None, attempt: Attempt) -> Judgement:
    """Why there is no distance: not known, or the aircraft may not land or does not stop."""
    if landed is None or landed.unknown is not None:
        why = _missing(attempt) if landed is None else landed.unknown
        return unknown(f"{what}: {why}", lacks=_lacks(attempt))
    return holds(False, yes="", no=f"{what}: {landed.limited_by}", unknown="")


def _basis(role: Role, *, dry: bool) -> LandingBasis:
    if role is Role.ALTERNATE:
        return LandingBasis.DISPATCH_ALTERNATE_DRY if dry else LandingBasis.DISPATCH_ALTERNATE_WET
    return LandingBasis.DISPATCH_DRY if dry else LandingBasis.DISPATCH_WET


def even_at_best(surface: RunwayCondition | None) -> str:
    """What a failure on a runway of unknown condition rests on."""
    code = "" if surface is None else f", code {surface.at_best},"
    return f"even on the best condition{code} that the runway may have"


def braking(attempt: Attempt, context: Context) -> Judgement:
    """No landing on a surface that gives less than poor braking."""
    surface = attempt.runway_condition
    code = None if surface is None else surface.code
    missing = _missing(attempt) if code is None else ""
    return at_least(
        f"{attempt.icao} runway condition code",
        code,
        context.rulebook.number("no_operations_code") + 1,
        unit="code",
        missing=missing,
    )


def mass(attempt: Attempt, context: Context) -> Judgement:
    """Landing mass within the structural limit."""
    return at_most(
        f"{attempt.icao} landing mass",
        attempt.mass_kg,
        context.case.aircraft.profile.masses.mlw_kg,
        unit="kg",
    )


def brake_energy(attempt: Attempt, context: Context) -> Judgement:
    """Energy that the wheel brakes must take."""
    if attempt.landing is None:
        why = f"{attempt.icao} brake energy: {_missing(attempt)}"
        return unknown(why, lacks=_lacks(attempt))
    limit_mj = context.case.aircraft.profile.brakes.energy_limit_mj
    weak = attempt.capability.limit(LimitName.MAX_BRAKE_ENERGY_RATIO)
    if weak is not None:
        limit_mj *= weak.value
    if attempt.landing.brake_energy_mj is None:
        return not_applicable(f"{attempt.icao} brake energy: {attempt.landing.limited_by}")
    return at_most(
        f"{attempt.icao} brake energy",
        attempt.landing.brake_energy_mj,
        limit_mj,
        unit="MJ",
    )


def tyre_speed(attempt: Attempt, context: Context) -> Judgement:
    """Ground speed at touchdown, the same on any surface, against the rating of the tyres."""
    landing = attempt.landing or attempt.landing_at_best
    if landing is None:
        return unknown(f"{attempt.icao} tyre speed: {_missing(attempt)}", lacks=_lacks(attempt))
    return at_most(
        f"{attempt.icao} touchdown ground speed",
        landing.tyre_speed_kt,
        context.case.aircraft.profile.tyres.speed_limit_kt,
        unit="kt",
    )


RULES: Final[tuple[Rule, ...]] = (
    Rule(
        "LD-01",
        "Landing distance at time of arrival",
        "landing_arrival_factor",
        Breach.CANNOT_STOP,
        distance,
        figure=Figure.LANDING_DISTANCE,
        adopted=True,
        telling=True,
        stops=True,
        tight_runway_ratio=0.1,
    ),
    Rule(
        "LD-02",
        "Braking better than less than poor",
        "no_operations_code",
        Breach.CANNOT_STOP,
        braking,
        stops=True,
    ),
    Rule("LD-03", "Landing mass", "landing_mass", Breach.LANDING_MASS, mass, mend=Mend.BURNING_OFF),
    Rule("LD-04", "Brake energy", "flight_manual_limits", Breach.RUNWAY_LIMIT, brake_energy),
    Rule("LD-05", "Tyre speed", "flight_manual_limits", Breach.RUNWAY_LIMIT, tyre_speed),
    Rule(
        "LD-06",
        "Landing distance for dispatch",
        "dispatch_landing_fraction",
        Breach.PLANNING_BAR,
        dispatch_distance,
        of_scene=not_for_dispatch,
    ),
)
