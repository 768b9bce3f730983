"""Minimum heights in the cold, where an altimeter shows more than there is."""

from __future__ import annotations

from typing import Final

from decision.attempt.attempt import Attempt, Scene
from decision.attempt.minima.equipment import ProcedureGroup
from decision.rules.against_minima import ceiling_at_least
from decision.rules.combine import not_applicable, unknown
from decision.rules.finding import Judgement, shown
from decision.rules.registry import Context, Rule
from decision.rules.row import Breach
from decision.units import K_AT_0_DEGC

FROM_DEGC: Final = 0.0  # at and below this heights are corrected [PRACTICE]
STANDARD_DEGC: Final = 15.0  # at sea level [ICAO-7488]
LAPSE_DEGC_PER_FT: Final = 0.00198  # [ICAO-7488]


def cold_error_ft(*, height_ft: float, elevation_ft: float, temperature_degc: float) -> float:
    """How much higher than the aircraft is an altimeter set to the aerodrome's QNH shows it.

    `height_ft` above the aerodrome, `temperature_degc` there; zero at and above standard
    temperature. Valid to 5000 ft and -50 degrees, within 10 ft of the published table, which is
    rounded up. Source: [PANS-OPS-I], part III, chapter 4, the formula for temperatures that are not
    in the table; from memory.
    """
    sea_level_degc = temperature_degc + LAPSE_DEGC_PER_FT * elevation_ft
    mean_k = K_AT_0_DEGC + sea_level_degc - LAPSE_DEGC_PER_FT * (elevation_ft + height_ft / 2.0)
    return max(0.0, height_ft * (STANDARD_DEGC - sea_level_degc) / mean_k)


def cold_correction_ft(attempt: Attempt) -> float | None:
    """What is added to the minimum height of the attempt; None where that is not known."""
    minima, temperature_degc = attempt.minima, attempt.surface_temperature_degc
    if minima is None or minima.height_ft is None or temperature_degc is None:
        return None
    if temperature_degc > FROM_DEGC or minima.group is ProcedureGroup.LOW_VISIBILITY:
        return 0.0
    return cold_error_ft(
        height_ft=minima.height_ft,
        elevation_ft=attempt.leg.aerodrome.elevation_ft,
        temperature_degc=temperature_degc,
    )


CORRECTED: Final = "ceiling for the minimum height corrected for cold"


def no_correction(scene: Scene, _context: Context) -> Judgement | None:
    """Why nothing is corrected; None where something may be."""
    what, temperature_degc = f"{scene.icao} {CORRECTED}", scene.surface_temperature_degc
    if temperature_degc is not None and temperature_degc > FROM_DEGC:
        return not_applicable(f"{what}: {temperature_degc:.0f} degrees are no cold")
    if scene.minima is not None and scene.minima.group is ProcedureGroup.LOW_VISIBILITY:
        return not_applicable(f"{what}: below category I heights are by radio altimeter")
    return None


def ceiling_in_the_cold(attempt: Attempt, context: Context) -> Judgement:
    """The ceiling against the minimum height as corrected: from there the runway must be seen."""
    elsewhere = no_correction(attempt, context)
    if elsewhere is not None:
        return elsewhere
    what = f"{attempt.icao} {CORRECTED}"
    minima, temperature_degc = attempt.minima, attempt.surface_temperature_degc
    added_ft = cold_correction_ft(attempt)
    if minima is None or minima.height_ft is None or added_ft is None:
        lacks = attempt.unknown or ("minimum height",)
        return unknown(f"{what}: {', '.join(lacks)} not known", lacks=lacks)
    judged = ceiling_at_least(attempt, minima.height_ft + added_ft, context, what=what)
    return judged.adding(f"{shown(added_ft, 'ft')} added at {temperature_degc:.0f} degrees")


RULES: Final[tuple[Rule, ...]] = (
    Rule(
        "CT-01",
        "Minimum height corrected for cold",
        "cold_correction",
        Breach.GUIDANCE,
        ceiling_in_the_cold,
        of_scene=no_correction,
    ),
)
