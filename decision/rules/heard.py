"""What the weather of a window counts as in a rulebook: remarks on it, too.

A remark may speak of less than the body of a report: cloud that varies to a ceiling, a visibility
between two figures. Where the worst of body and conditional part controls, that is the weather;
elsewhere it is a doubt, so that a minimum above it is not known to be met.
"""

from __future__ import annotations

from dataclasses import replace

from decision.course import Attempt
from decision.quantities import Bound
from decision.rules.finding import shown
from decision.rules.registry import Context
from decision.weather.readings import CeilingReading, VisibilityReading
from decision.weather.report import CeilingState
from decision.weather.use import Reading


def ceiling_of(attempt: Attempt, context: Context) -> CeilingReading:
    """The ceiling of the window, or the lower one of a remark where the rulebook counts it."""
    said = attempt.weather.ceiling
    remarked_ft = said.possible_ceiling_ft
    if remarked_ft is None or not remarks_count(context):
        return said
    if said.feet is not None and said.feet <= remarked_ft:
        return said
    return replace(
        said,
        state=CeilingState.VALUE,
        feet=remarked_ft,
        possible_ceiling_ft=None,
        governing=replace(said.governing, why=why_remark(remarked_ft, "ft", context)),
    )


def visibility_of(attempt: Attempt, context: Context) -> VisibilityReading:
    """The visibility of the window, or the lower one of a remark where the rulebook counts it."""
    return counted(attempt.weather.visibility, context)


def counted(said: VisibilityReading, context: Context) -> VisibilityReading:
    """A visibility as it is read, or the lower one of a remark where the rulebook counts it."""
    remarked_m = said.possible_metres
    if remarked_m is None or not remarks_count(context):
        return said
    return at_remark(said) if said.metres is None or remarked_m < said.metres else said


def at_remark(said: VisibilityReading) -> VisibilityReading:
    """The visibility as the remark has it."""
    return replace(said, metres=said.possible_metres, bound=Bound.EXACT, possible_metres=None)


def remarks_count(context: Context) -> bool:
    """Whether this rulebook reads the worst of body and conditional part."""
    return context.rulebook.reading is Reading.CONDITIONAL


def why_remark(value: float, unit: str, context: Context) -> str:
    """The words for it, with the row that says so."""
    row = context.rulebook.row("forecast_reading")
    return f"a remark speaks of {shown(value, unit)} {row.citation}"
