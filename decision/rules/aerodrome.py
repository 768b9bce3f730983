"""Is the place open, is there a runway, does it bear the aircraft."""

from __future__ import annotations

from typing import Final

from decision.case import AlternateBar
from decision.course import Attempt, Role
from decision.rules.breach import Breach
from decision.rules.combine import at_least, at_most, holds, not_applicable, unknown
from decision.rules.finding import Judgement
from decision.rules.registry import EVERY_ROLE, Context, Rule
from decision.rules.rescue import rescue_category_of
from decision.windows import clock_text


def is_open(attempt: Attempt, _context: Context) -> Judgement:
    """No closure covers any moment of the window."""
    window = attempt.weather.window
    if any(each.overlaps(window) for each in attempt.leg.aerodrome.closures):
        hours = f"{clock_text(window.start_at)} to {clock_text(window.end_at)}"
        return holds(False, yes="", no=f"{attempt.icao} is closed for part of {hours}", unknown="")
    return holds(True, yes=f"{attempt.icao} is open at {clock_text(attempt.at)}", no="", unknown="")


def runway_available(attempt: Attempt, _context: Context) -> Judgement:
    """There is a runway to land on, and neither the case nor its state report closes it."""
    if attempt.runway is None or attempt.runway.closed:
        return holds(False, yes="", no=f"no open runway at {attempt.icao}", unknown="")
    surface = attempt.runway_condition
    shut = surface is not None and surface.closed
    return holds(
        not shut,
        yes=f"runway {attempt.runway.ident} is available",
        no=f"runway {attempt.runway.ident} is reported closed",
        unknown="",
    )


def runway_strength(attempt: Attempt, _context: Context) -> Judgement:
    """The pavement is cleared for the landing mass, where a limit is given."""
    if attempt.runway is None:
        return unknown(f"no open runway at {attempt.icao}")
    if attempt.runway.strength_kg is None:
        return not_applicable(f"no strength limit given for runway {attempt.runway.ident}")
    return at_most(
        f"landing mass on runway {attempt.runway.ident}",
        attempt.mass_kg,
        attempt.runway.strength_kg,
        unit="kg",
    )


def rescue_services(attempt: Attempt, context: Context) -> Judgement:
    """Rescue and fire fighting of an alternate, which may be some categories below the aeroplane's.

    Asked in planning; in flight the commander weighs it, and a caution tells what is missing.
    """
    what = f"{attempt.icao} rescue and fire fighting"
    below = context.rulebook.number_or_none("rescue_below_alternate")
    if below is None:
        return not_applicable(f"{what}: this rulebook has no category for it")
    if context.case.policy.alternate_bar is not AlternateBar.PLANNING:
        return not_applicable(f"{what}: judged for planning, in flight the commander weighs it")
    return at_least(
        what,
        attempt.leg.aerodrome.rescue_category,
        rescue_category_of(context.case.aircraft.profile) - below,
        unit="category",
    )


RULES: Final[tuple[Rule[Attempt], ...]] = (
    Rule(
        code="AD-01",
        title="Aerodrome open at arrival",
        row="aerodrome_adequate",
        breach=Breach.CANNOT_STOP,
        applies=EVERY_ROLE,
        check=is_open,
    ),
    Rule(
        code="AD-02",
        title="Runway available",
        row="aerodrome_adequate",
        breach=Breach.CANNOT_STOP,
        applies=EVERY_ROLE,
        check=runway_available,
    ),
    Rule(
        code="AD-03",
        title="Runway strong enough",
        row="aerodrome_adequate",
        breach=Breach.RUNWAY_LIMIT,
        applies=EVERY_ROLE,
        check=runway_strength,
    ),
    Rule(
        code="AD-04",
        title="Rescue and fire fighting at the alternate",
        row="rescue_below_alternate",
        breach=Breach.PLANNING_BAR,
        applies=frozenset({Role.ALTERNATE}),
        check=rescue_services,
    ),
)
