"""Remedies in words: what each takes, and what is said to air traffic control for it."""

from __future__ import annotations

from decision.answer.figures import number
from decision.answer.types import Remedy, RemedyKind
from decision.attempt.attempt import Attempt
from decision.case import Approach, Runway
from decision.decide.attempts import JudgedAttempt
from decision.flight.situation import Situation
from decision.performance import NotKnown
from decision.rules.finding import Outcome, shown, shown_down, shown_up
from decision.what_if.remedies import (
    BurnOff,
    LessMass,
    Mended,
    OtherHold,
    OtherProcedure,
    OverweightLanding,
)


def remedy(mended: Mended, situation: Situation) -> Remedy:
    """One of them."""
    match mended:
        case OtherProcedure():
            return _other_procedure(mended)
        case LessMass():
            return _remedy(RemedyKind.LESS_MASS, _mass_words(mended), mass_kg=mended.mass_kg)
        case BurnOff():
            return _burn_off(mended)
        case OverweightLanding():
            return _overweight(mended)
        case OtherHold():
            return _other_hold(mended, situation.case.destination.aerodrome.icao)


def _remedy(
    kind: RemedyKind,
    text: str,
    *,
    approach: Approach | None = None,
    runway: Runway | None = None,
    mass_kg: float | None = None,
    minutes: float | None = None,
    say: str | None = None,
) -> Remedy:
    return Remedy(
        kind=kind,
        approach=None if approach is None else approach.id,
        runway=None if runway is None else runway.ident,
        mass_kg=number(mass_kg),
        minutes=number(minutes),
        text=text,
        say=say,
    )


def _other_procedure(other: OtherProcedure) -> Remedy:
    attempt = other.judged.attempt
    name = "" if attempt.approach is None else attempt.approach.id
    return _remedy(
        RemedyKind.ANOTHER_MINIMUM if other.same_runway else RemedyKind.ANOTHER_RUNWAY,
        f"{name}{_minimum(attempt)}: its missed approach can be flown{_against(other.judged)}",
        approach=attempt.approach,
        runway=attempt.runway,
    )


def _minimum(attempt: Attempt) -> str:
    height_ft = attempt.minimum_height_ft
    return "" if height_ft is None else f", minimum height {shown(height_ft, 'ft')}"


def _against(judged: JudgedAttempt) -> str:
    """The first thing that stands against a procedure all the same."""
    for finding in judged.findings:
        if finding.outcome is Outcome.FAIL:
            return f", but {finding.text} ({finding.rule})"
    return ""


def _mass_words(less: LessMass) -> str:
    if isinstance(less.minutes, NotKnown):
        return f"how much less it takes is not known: {less.minutes.what}"
    if less.mass_kg is None:
        return "less mass alone does not do it, not even with only the final reserve left"
    less_kg = less.attempt.mass_kg - less.mass_kg
    return (
        f"{shown_down(less.mass_kg, 'kg')} at the missed approach point, "
        f"{shown_up(less_kg, 'kg')} less ({shown_up(less.minutes, 'min')} of holding): every "
        "diversion after it has so much less fuel"
    )


def _burn_off(burn: BurnOff) -> Remedy:
    mass_kg = burn.attempt.mass_kg - burn.over_kg
    minutes = shown_up(burn.minutes, "min")
    return _remedy(
        RemedyKind.BURN_OFF,
        f"hold {minutes} to burn {shown_up(burn.over_kg, 'kg')}: then {shown_down(mass_kg, 'kg')} "
        f"on landing at {burn.attempt.icao}, and so much less fuel for everything after it",
        mass_kg=mass_kg,
        minutes=burn.minutes,
        say=f"Request to hold for {minutes} to burn fuel.",
    )


def _overweight(landing: OverweightLanding) -> Remedy:
    attempt = landing.attempt
    return _remedy(
        RemedyKind.OVERWEIGHT_LANDING,
        f"land at {attempt.icao} at once, {shown_up(landing.over_kg, 'kg')} above the maximum "
        "landing mass, by the operator's procedure for it: the aircraft is inspected afterwards",
        approach=attempt.approach,
        runway=attempt.runway,
        mass_kg=attempt.mass_kg,
    )


def _other_hold(hold: OtherHold, here: str) -> Remedy:
    refused, whole, then = hold.minutes == 0.0, shown_down(hold.minutes, "min"), hold.then
    most = "without the hold" if refused else f"with {whole} at the most"
    said = "Unable to hold" if refused else f"Unable to hold beyond {whole}"
    return _remedy(
        RemedyKind.REFUSE_HOLD if refused else RemedyKind.SHORTEN_HOLD,
        f"{most} instead of the assigned {shown_up(hold.assigned_min, 'min')} the answer is "
        f"{then.verdict}: {then.do} {then.place}, fuel state {then.fuel_state}",
        minutes=hold.minutes,
        say=f"{said} due to fuel, request approach at {here}.",
    )
