"""Fuel over the miles to the threshold as it is published: on board, and needed for each place."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

from msgspec import Struct

from decision.answer.figures import instant, number
from decision.fields import Instant, about
from decision.flight import fuel_ahead as flown


class FuelNeed(Struct, frozen=True, kw_only=True, gc=False):
    """What a diversion to one alternate needs, counted from the point that it belongs to."""

    aerodrome: Annotated[str, about("The alternate.", examples=["XTOR"])]
    need_kg: Annotated[
        float | None,
        about(
            "Fuel needed there to divert: what is flown or waited before, the diversion, approach "
            "and landing at the alternate, final reserve. At the minimum `required_kg` of the "
            "course after a missed approach. Null: not in reach, or not known.",
            unit="kg",
            examples=[3050.0],
        ),
    ]
    need_p5_kg: Annotated[
        float | None, about("Enough in the best of 20.", unit="kg", examples=[3050.0])
    ]
    need_p95_kg: Annotated[
        float | None,
        about(
            "Enough in 19 of 20, at the ordinary level and speed where these are dearer.", unit="kg"
        ),
    ]
    final_reserve_kg: Annotated[
        float | None,
        about("The final reserve in each of these figures.", unit="kg", examples=[3050.0]),
    ]
    reason: Annotated[str | None, about("Why there are no figures; null where there are.")]


class FuelAhead(Struct, frozen=True, kw_only=True, gc=False):
    """One point on the way to the threshold: fuel on board and fuel needed there.

    Two points have the same distance where fuel is used without coming nearer, and on both sides
    of a step that cannot be undone.
    """

    distance_to_go_nm: Annotated[
        float | None, about("Miles to the threshold; null: not known.", unit="NM", examples=[12.5])
    ]
    at: Annotated[
        Instant | None,
        about("When it is passed; null: it is not reached.", examples=["2026-03-14T06:18:00Z"]),
    ]
    planned_kg: Annotated[
        float | None,
        about(
            "Usable fuel on board there as planned; null: not known or not reached.",
            unit="kg",
            examples=[3400.0],
        ),
    ]
    configuration: Annotated[str, about("Gear and flaps of a diversion from there.")]
    after_step: Annotated[
        bool, about("Whether it lies beyond the step that cannot be undone, or that is done.")
    ]
    places: Annotated[tuple[FuelNeed, ...], about("One for each alternate.")]
    reason: Annotated[str | None, about("Why `planned_kg` is null; null where it is a figure.")]


def ahead_told(points: Sequence[flown.PointAhead]) -> tuple[FuelAhead, ...]:
    """The points in the order in which they are flown."""
    return tuple(
        FuelAhead(
            distance_to_go_nm=number(point.distance_to_go_nm),
            at=instant(point.at),
            planned_kg=number(point.planned_kg),
            configuration=point.configuration.label,
            after_step=point.after_step,
            places=tuple(map(_need, point.needs)),
            reason=point.reason,
        )
        for point in points
    )


def _need(need: flown.Need) -> FuelNeed:
    return FuelNeed(
        aerodrome=need.icao,
        need_kg=number(need.need_kg),
        need_p5_kg=number(need.need_p5_kg),
        need_p95_kg=number(need.need_p95_kg),
        final_reserve_kg=number(need.final_reserve_kg),
        reason=need.reason,
    )
