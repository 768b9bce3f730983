"""A caution for each place where a second miss could not climb away."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from decision.flight.second_miss import AfterMissThere
from decision.recommend.cautions import heaviest_first
from decision.rules.finding import shown, shown_down
from decision.systems import SystemCaution, Weight


def with_second_misses(
    cautions: Sequence[SystemCaution], second_misses: Mapping[str, AfterMissThere]
) -> tuple[SystemCaution, ...]:
    """The cautions with one for each place where a second miss could not climb away."""
    short: dict[str, SystemCaution] = {}
    for label, left in second_misses.items():
        if left.climb_short:
            icao = label.split(":")[1]
            short.setdefault(icao, _caution(icao, left))
    return heaviest_first((*cautions, *short.values()))


def _caution(icao: str, left: AfterMissThere) -> SystemCaution:
    gradient = shown_down(left.gradient_percent or 0.0, "percent")
    published = shown(left.published_gradient_percent or 0.0, "percent")
    return SystemCaution(
        code="NO_CLIMB_THERE",
        text=f"Missing the approach at {icao} too: climb {gradient}, asked for {published}.",
        weight=Weight.CAUTION,
        because=(),
    )
