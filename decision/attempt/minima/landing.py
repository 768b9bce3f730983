"""Margins on a landing distance."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from decision.rulebooks.rulebook import Rulebook


class LandingBasis(StrEnum):
    """What a required distance is required for; each rulebook has its own factors for them.

    ARRIVAL: assessed in flight on the distance at time of arrival. The others are planning checks
    on the dry distance of the flight manual, for jets.
    """

    ARRIVAL = "arrival"
    DISPATCH_DRY = "dispatch_dry"
    DISPATCH_WET = "dispatch_wet"
    DISPATCH_ALTERNATE_DRY = "dispatch_alternate_dry"
    DISPATCH_ALTERNATE_WET = "dispatch_alternate_wet"


WET_ROW: Final = {
    LandingBasis.DISPATCH_WET: "dispatch_wet_factor",
    LandingBasis.DISPATCH_ALTERNATE_WET: "dispatch_alternate_wet_factor",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class RequiredLanding:
    """Landing distance that must be available, the factor in it, and the rows it rests on."""

    distance_m: float
    factor: float
    because: tuple[str, ...]


def required_landing_distance_m(
    distance_m: float,
    *,
    basis: LandingBasis,
    rulebook: Rulebook,
    arrival_factor: float | None = None,
    contaminated_distance_m: float | None = None,
) -> RequiredLanding:
    """The distance that must be available for an unfactored one, in metres.

    `arrival_factor` is the operator's, else the rulebook's. `contaminated_distance_m`, approved
    data for a contaminated runway, is for the wet dispatch cases: the greater result governs, where
    the rulebook has a factor for them.
    """
    if basis is LandingBasis.ARRIVAL:
        row = rulebook.row("landing_arrival_factor")
        factor = arrival_factor or rulebook.number(row.name)
        return RequiredLanding(
            distance_m=distance_m * factor, factor=factor, because=(row.citation,)
        )
    wet = WET_ROW.get(basis)
    rows = ("dispatch_landing_fraction",) if wet is None else ("dispatch_landing_fraction", wet)
    factor = 1.0 / rulebook.number("dispatch_landing_fraction")
    factor *= 1.0 if wet is None else rulebook.number(wet)
    required_m = distance_m * factor
    slippery = rulebook.number_or_none("dispatch_contaminated_factor")
    if wet is not None and slippery is not None and contaminated_distance_m is not None:
        rows = (*rows, "dispatch_contaminated_factor")
        required_m = max(required_m, contaminated_distance_m * slippery)
    return RequiredLanding(
        distance_m=required_m,
        factor=required_m / distance_m,
        because=tuple(rulebook.row(row).citation for row in rows),
    )
