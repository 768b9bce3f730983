"""What is reported against what is required: RVR where there is one, converted visibility else.

How a figure with a bound counts: "at least" and "above" count at their figure and never higher;
"below" is short of its figure, so it fails a minimum at or over it and leaves one under it unknown.
An RVR above the greatest that is assessed (P1500), short of what is required, is not treated as
reported: the visibility is converted instead. Three questions stay apart in the answer: what was
compared (`quantity`), with which figures, and whether it `reached` the minimum; `reached` decides.
"""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum
from functools import lru_cache
from math import inf
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from decision.attempt.minima.equipment import EDGE_LIGHTS
from decision.attempt.minima.operating import OperatingMinima
from decision.attempt.minima.visual_tables import (
    Installation,
    conversion_ratio,
    equivalent_rvr_m,
    greatest_conversion_ratio,
    installation_of,
    least_conversion_ratio,
    perhaps_high_intensity,
)
from decision.case.types import Approach, Lights
from decision.quantities import Bound
from decision.rulebooks.rulebook import Rulebook
from decision.weather.readings import RvrReading, VisibilityReading, reaches

COMPARED_KEPT: Final = 1024  # places in their weather; most arrivals ask for the same
NOT_REPORTED: Final = "no RVR and no visibility reported"
WORST_FIRST: Final = (False, None, True)
WHEN: Final = {True: "night", False: "day", None: "worse of day and night"}


class Quantity(StrEnum):
    """What stands on the reported side of the comparison."""

    RVR = "RVR"
    MIDPOINT_RVR = "midpoint RVR"
    STOP_END_RVR = "stop-end RVR"
    VISIBILITY = "visibility"
    CONVERTED = "converted visibility"
    EQUIVALENT = "visibility as RVR"
    NOTHING = "nothing"


RANGES: Final = frozenset({Quantity.RVR, Quantity.MIDPOINT_RVR, Quantity.STOP_END_RVR})


class Conversion(StrEnum):
    """How a rulebook turns visibility into RVR; the word of its row `visibility_conversion`."""

    CONVERTED = "converted_visibility"
    EQUIVALENTS = "rvr_equivalents"


class Seen(Struct, frozen=True, kw_only=True, gc=False):
    """One comparison. `reached` None: not known, and `because` says what is missing.

    `value_m` is what counts of the report, `limit_m` what is required; either may be None.
    """

    quantity: Quantity
    value_m: float | None
    bound: Bound
    limit_m: float | None
    reached: bool | None
    because: str


class _Lit(Struct, frozen=True, kw_only=True, gc=False):
    """Lights and time of day that a conversion depends on."""

    lights: Lights | None
    edge_lights_out: bool
    is_night: bool | None
    planning: bool


class _Figure(Struct, frozen=True, kw_only=True, gc=False):
    """A reported figure with its bound; `possibly_worse` as in the reading it comes from."""

    metres: float | None
    bound: Bound
    possibly_worse: bool


@lru_cache(maxsize=COMPARED_KEPT)
def reported_to_required(
    approach: Approach,
    minima: OperatingMinima,
    *,
    rvr: RvrReading | None,
    visibility: VisibilityReading | None,
    is_night: bool | None,
    rulebook: Rulebook,
    planning: bool = False,
) -> Seen:
    """Compare what is reported for a runway with the minima of an approach to it.

    `visibility` None: none is reported. `planning`: a forecast for planning, converted by the
    planning factor where there is one.
    Sources: the rows `ban_*` and `visibility_conversion*` of the rulebook.
    """
    if minima.rvr_m is not None and rvr is not None and _assessed(rvr, minima.rvr_m):
        return _by_rvr(rvr, minima.rvr_m, rulebook)
    if visibility is None:
        return _unknown(NOT_REPORTED, minima.rvr_m or minima.visibility_m)
    if minima.visibility_m is not None:
        why = "the minimum is a visibility, or no RVR is reported"
        return _seen(Quantity.VISIBILITY, _figure(visibility), minima.visibility_m, why)
    if minima.rvr_m is None:
        return _unknown("neither an RVR nor a visibility minimum is known")
    lit = _Lit(
        lights=minima.lights,
        edge_lights_out=EDGE_LIGHTS in approach.equipment_out,
        is_night=is_night,
        planning=planning,
    )
    return _by_conversion(visibility, minima.rvr_m, lit, rulebook)


def worst_seen(compared: Iterable[Seen]) -> Seen | None:
    """Of several comparisons the one that decides: the worst, then the one with the least room."""
    return min(compared, key=_room, default=None)


def _room(seen: Seen) -> tuple[int, float]:
    known = seen.value_m is not None and seen.limit_m
    return WORST_FIRST.index(seen.reached), (seen.value_m or 0.0) / known if known else inf


def _assessed(rvr: RvrReading, required_m: float) -> bool:
    """Whether the RVR says enough: P1500 is no reading where more than 1500 m is required."""
    if rvr.low_m is None or rvr.low_bound is Bound.UNKNOWN:
        return False
    return rvr.low_bound is not Bound.ABOVE or rvr.low_m >= required_m


def _by_rvr(rvr: RvrReading, required_m: float, rulebook: Rulebook) -> Seen:
    """Touchdown RVR controls; midpoint and stop end, where given, have limits of their own."""
    gate = rulebook.row("ban_controlling_rvr").citation
    touchdown = _Figure(metres=rvr.low_m, bound=rvr.low_bound, possibly_worse=rvr.possibly_worse)
    compared = [_seen(Quantity.RVR, touchdown, required_m, gate)]
    for quantity, value_m, row in (
        (Quantity.MIDPOINT_RVR, rvr.midpoint_m, "ban_midpoint_rvr_m"),
        (Quantity.STOP_END_RVR, rvr.stop_end_m, "ban_stop_end_rvr_m"),
    ):
        limit_m = rulebook.number_or_none(row)
        if value_m is not None and limit_m is not None:
            figure = _Figure(metres=value_m, bound=Bound.EXACT, possibly_worse=rvr.possibly_worse)
            clause = rulebook.row(row).citation
            compared.append(_seen(quantity, figure, min(limit_m, required_m), clause))
    return min(compared, key=lambda seen: WORST_FIRST.index(seen.reached))


def _by_conversion(
    visibility: VisibilityReading, required_m: float, lit: _Lit, rulebook: Rulebook
) -> Seen:
    """Visibility turned into RVR, where the rulebook allows that for this minimum."""
    if visibility.metres is None:
        return _unknown(NOT_REPORTED, required_m)
    row = rulebook.row("visibility_conversion")
    least_m = rulebook.number("visibility_conversion_from_rvr_m")
    figure = _figure(visibility)
    if required_m < least_m:
        clause = rulebook.row("visibility_conversion_from_rvr_m").citation
        why = f"no RVR reported; none may be converted for less than {least_m:g} m {clause}"
        return _as_it_stands(figure, required_m, why)
    if row.value == Conversion.EQUIVALENTS:
        return _by_equivalents(figure, visibility.metres, required_m, row.citation)
    ratio, why = _ratio(lit, rulebook)
    if ratio is None:
        return _unknown(f"visibility cannot be converted: {why} {row.citation}", required_m)
    converted = replace(figure, metres=visibility.metres * ratio)
    text = f"visibility {visibility.metres:.0f} m x {ratio:g}, {why} {row.citation}"
    seen = _seen(Quantity.CONVERTED, converted, required_m, text)
    if seen.reached is False and _enough_if_bright(figure, required_m, lit):
        return _unknown(
            f"{text}; whether the lights are of high intensity is not known", required_m
        )
    return seen


def _enough_if_bright(figure: _Figure, required_m: float, lit: _Lit) -> bool:
    """Whether high-intensity lights, which the class neither proves nor excludes, would do."""
    if lit.planning or lit.edge_lights_out or lit.lights is None or figure.metres is None:
        return False
    ratio = conversion_ratio(Installation.HIGH_INTENSITY, is_night=lit.is_night)
    bright = replace(figure, metres=figure.metres * (ratio or 0.0))
    reached = _seen(Quantity.CONVERTED, bright, required_m, "").reached
    return perhaps_high_intensity(lit.lights) and reached is not False


def _as_it_stands(figure: _Figure, required_m: float, why: str) -> Seen:
    """Visibility without conversion: enough where it reaches the RVR as it stands.

    Lights make an RVR at least as long as the visibility, so this never flatters [PRACTICE]. Where
    even the greatest factor of the table would not reach, it is short; between the two the RVR is
    not known.
    """
    plain = _seen(Quantity.VISIBILITY, figure, required_m, f"{why}; the visibility itself counts")
    if plain.reached:
        return plain
    ratio = greatest_conversion_ratio()
    stretched = replace(figure, metres=None if figure.metres is None else figure.metres * ratio)
    at_most = _seen(Quantity.CONVERTED, stretched, required_m, f"{why}; at most x {ratio:g}")
    return at_most if at_most.reached is False else _unknown(why, required_m)


def _by_equivalents(figure: _Figure, metres: float, required_m: float, citation: str) -> Seen:
    """By the table of comparable values; under its first row the visibility stands as it is."""
    rvr_m = equivalent_rvr_m(metres)
    converted = figure if rvr_m is None else replace(figure, metres=rvr_m)
    text = f"visibility {metres:.0f} m by the table of comparable values {citation}"
    return _seen(Quantity.EQUIVALENT, converted, required_m, text)


def _ratio(lit: _Lit, rulebook: Rulebook) -> tuple[float | None, str]:
    """The factor and what it is for."""
    if lit.planning:
        return rulebook.number("visibility_conversion_planning_factor"), "planning"
    if lit.lights is None:
        return least_conversion_ratio(), "class of lights not given, least factor"
    installation = installation_of(lit.lights)
    if lit.edge_lights_out:
        high = installation is Installation.HIGH_INTENSITY
        installation = Installation.OTHER if high else Installation.NONE
    lights = f"{installation.replace('_', ' ')} lights, {WHEN[lit.is_night]}"
    return conversion_ratio(installation, is_night=lit.is_night), lights


def _figure(visibility: VisibilityReading) -> _Figure:
    return _Figure(
        metres=visibility.metres,
        bound=visibility.bound,
        possibly_worse=visibility.possibly_worse,
    )


def _seen(quantity: Quantity, figure: _Figure, limit_m: float, because: str) -> Seen:
    return Seen(
        quantity=quantity,
        value_m=figure.metres,
        bound=figure.bound,
        limit_m=limit_m,
        reached=reaches(
            figure.metres,
            bound=figure.bound,
            limit=limit_m,
            possibly_worse=figure.possibly_worse,
        ),
        because=because,
    )


def _unknown(why: str, limit_m: float | None = None) -> Seen:
    return Seen(
        quantity=Quantity.NOTHING,
        value_m=None,
        bound=Bound.UNKNOWN,
        limit_m=limit_m,
        reached=None,
        because=why,
    )
