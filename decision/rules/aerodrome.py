"""Is the place open, is there a runway, does it bear the aircraft."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Final, NamedTuple

from decision.attempt.attempt import Attempt, Role, Scene
from decision.case import AlternateBar, Runway
from decision.profile import Profile
from decision.rulebooks.rulebook import Rulebook
from decision.rules.combine import at_least, at_most, holds, not_applicable, unknown
from decision.rules.finding import Judgement
from decision.rules.registry import Context, Rule
from decision.rules.row import Breach
from decision.tables import rows
from decision.windows import clock_text, covers


def is_open(attempt: Attempt, _context: Context) -> Judgement:
    """No closure covers any moment of the window, and the hours given cover all of it."""
    window, place = attempt.window, attempt.aerodrome
    closed = any(each.window.overlaps(window) for each in place.closures)
    hours = [each.window for each in place.opening]
    outside = bool(hours) and not covers(hours, window)
    if not (closed or outside):
        return holds(
            True, yes=f"{attempt.icao} is open at {clock_text(attempt.at)}", no="", unknown=""
        )
    span = f"{clock_text(window.start_at)} to {clock_text(window.end_at)}"
    how = "closed for part" if closed else "not open for all"
    by = _by_notices(() if attempt.noticed is None else attempt.noticed.closing_all)
    return holds(False, yes="", no=f"{attempt.icao} is {how} of {span}{by}", unknown="")


def _by_notices(names: Sequence[str]) -> str:
    """By which notices, in words; nothing where by none."""
    return f" by {' and '.join(names)}" if names else ""


def runway_available(attempt: Scene, _context: Context) -> Judgement:
    """There is a runway to land on, and neither the case nor a notice nor its state closes it."""
    noticed = attempt.noticed
    if attempt.runway is None or attempt.runway.closed:
        closing = (
            ()
            if noticed is None or attempt.runway is None
            else noticed.closing(attempt.runway.ident)
        )
        no = f"no open runway at {attempt.icao}"
        if closing and attempt.runway is not None:
            no = f"runway {attempt.runway.ident} is closed{_by_notices(closing)}"
        return holds(False, yes="", no=no, unknown="")
    doubts = () if noticed is None else noticed.doubts(attempt.runway.ident)
    if doubts:
        return unknown(
            f"whether runway {attempt.runway.ident} can be used as published is not known: "
            f"{' and '.join(doubts)} may close or shorten it"
        )
    surface = attempt.runway_condition
    shut = surface is not None and surface.closed
    ident, said = attempt.runway.ident, "taken as open" if attempt.runway.closed is None else "open"
    return holds(
        not shut,
        yes=f"runway {ident} is {said}",
        no=f"runway {ident} is reported closed",
        unknown="",
    )


def runway_strength(attempt: Attempt, _context: Context) -> Judgement:
    """The pavement is cleared for the landing mass, where a limit is given."""
    runway = attempt.runway
    if runway is None or runway.strength_kg is None:
        return _no_limit(runway, attempt.icao)
    what = f"landing mass on runway {runway.ident}"
    return at_most(what, attempt.mass_kg, runway.strength_kg, unit="kg")


def any_mass(scene: Scene, _context: Context) -> Judgement | None:
    """What is said of every mass, where no limit is given."""
    runway = scene.runway
    limited = runway is not None and runway.strength_kg is not None
    return None if limited else _no_limit(runway, scene.icao)


def _no_limit(runway: Runway | None, icao: str) -> Judgement:
    if runway is None:
        return unknown(f"no open runway at {icao}")
    return not_applicable(f"no strength limit given for runway {runway.ident}")


def runway_width(attempt: Scene, context: Context) -> Judgement:
    """The runway as wide as the aircraft needs; a width that is not given is an assumption."""
    if attempt.runway is None:
        return unknown(f"no open runway at {attempt.icao}")
    if attempt.runway.width_m is None:
        return not_applicable(f"no width given for runway {attempt.runway.ident}")
    return at_least(
        f"width of runway {attempt.runway.ident}",
        attempt.runway.width_m,
        context.case.aircraft.profile.limits.minimum_runway_width_m,
        unit="m",
    ).in_steps(WIDTH_STEP_M)


def rescue_at_alternate(attempt: Scene, context: Context) -> Judgement:
    """Rescue and fire fighting of an alternate, which may be some categories below the aircraft."""
    return _rescue(attempt, context, row="rescue_below_alternate")


def rescue_at_destination(attempt: Scene, context: Context) -> Judgement:
    """Rescue and fire fighting of the destination, which may be fewer categories below it."""
    return _rescue(attempt, context, row="rescue_below_destination")


def _rescue(attempt: Scene, context: Context, *, row: str) -> Judgement:
    """The category of a place against that of the aeroplane, less what the row allows.

    Asked in planning; in flight the commander weighs it, and a caution tells what is missing.
    """
    what = f"{attempt.icao} rescue and fire fighting"
    below = context.rulebook.number_or_none(row)
    if below is None:
        return not_applicable(f"{what}: this rulebook has no category for it")
    if context.case.policy.alternate_bar is not AlternateBar.PLANNING:
        return not_applicable(f"{what}: judged for planning, in flight the commander weighs it")
    profile = context.case.aircraft.profile
    return at_least(
        what,
        attempt.aerodrome.rescue_category,
        least_rescue_category(profile, below=below, rulebook=context.rulebook),
        unit="category",
    )


WIDTH_STEP_M: Final = 1.0  # a runway is 45 m wide, not some 40


CATEGORIES: Final = "rescue_category.csv"


class _Band(NamedTuple):
    """Lengths of one category, and the widest fuselage that still belongs to it."""

    below_m: float
    widest_m: float
    category: int


def rescue_category_of(profile: Profile) -> int:
    """By length over all; one more where the fuselage is wider than that category allows.

    Source: [ICAO-ANNEX14] table 9-1. The greatest length of a profile lies within the table.
    """
    body = profile.fuselage
    band = next(each for each in _bands() if body.length_m < each.below_m)
    return band.category + (body.width_m > band.widest_m)


def least_rescue_category(profile: Profile, *, below: float, rulebook: Rulebook) -> float:
    """What a place needs that may be `below` categories under the aeroplane's own.

    Never under the floor of the rulebook for an aeroplane above the mass that it names.
    """
    least = rescue_category_of(profile) - below
    floor = rulebook.number_or_none("rescue_floor_category")
    above_kg = rulebook.number_or_none("rescue_floor_above_kg")
    if floor is None or above_kg is None or profile.masses.mtow_kg <= above_kg:
        return least
    return max(least, floor)


@cache
def _bands() -> tuple[_Band, ...]:
    columns = frozenset({"category", "from_m", "below_m", "widest_m"})
    return tuple(
        _Band(row.number("below_m"), row.number("widest_m"), round(row.number("category")))
        for row in rows(CATEGORIES, columns=columns)
    )


RULES: Final[tuple[Rule, ...]] = (
    Rule("AD-01", "Aerodrome open at arrival", "aerodrome_adequate", Breach.CANNOT_STOP, is_open),
    Rule(
        "AD-02",
        "Runway available",
        "aerodrome_adequate",
        Breach.CANNOT_STOP,
        runway_available,
        of_scene=runway_available,
    ),
    Rule(
        "AD-03",
        "Runway strong enough",
        "aerodrome_adequate",
        Breach.RUNWAY_LIMIT,
        runway_strength,
        of_scene=any_mass,
    ),
    Rule(
        "AD-04",
        "Rescue and fire fighting at the alternate",
        "rescue_below_alternate",
        Breach.PLANNING_BAR,
        rescue_at_alternate,
        of_scene=rescue_at_alternate,
        applies=frozenset({Role.ALTERNATE}),
    ),
    Rule(
        "AD-05",
        "Runway wide enough",
        "aerodrome_adequate",
        Breach.RUNWAY_LIMIT,
        runway_width,
        of_scene=runway_width,
    ),
    Rule(
        "AD-06",
        "Rescue and fire fighting at the destination",
        "rescue_below_destination",
        Breach.PLANNING_BAR,
        rescue_at_destination,
        of_scene=rescue_at_destination,
        applies=frozenset({Role.MISSED, Role.COMMITTED}),
    ),
)
