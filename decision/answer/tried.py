"""What is told of a case with inputs at other values: a row of figures, and where it turns."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

from msgspec import Struct

from decision.answer.figures import number
from decision.answer.row import RowTold
from decision.answer.types import FlipPointTold
from decision.decide.decision import Decided
from decision.fields import about
from decision.what_if.flip import FlipPoint
from decision.what_if.vary import Input


class InputTried(Struct, frozen=True, kw_only=True, gc=False):
    """An input at another value."""

    input: Annotated[str, about("The input.")]
    present: Annotated[float | None, about("Its value in the case, in `unit`.")]
    value: Annotated[float, about("The value that is tried out, in `unit`.")]
    unit: Annotated[str, about("Unit of the two figures.")]


class TriedTold(Struct, frozen=True, kw_only=True, gc=False):
    """The case with inputs at other values, all at once."""

    inputs: Annotated[tuple[InputTried, ...], about("What is tried out.")]
    row: Annotated[RowTold, about("What is decided then.")]
    turns: Annotated[
        tuple[FlipPointTold, ...],
        about(
            "Where inputs asked for turn the verdict: each from its value in the case, with the"
            " others at the values that are tried out."
        ),
    ]
    left_out: Annotated[
        tuple[str, ...], about("Inputs asked for that there was no room to look at.")
    ]


def tried_told(
    stored: Decided,
    inputs: Sequence[tuple[Input, float]],
    *,
    row: RowTold,
    turns: Sequence[FlipPoint],
    left_out: Sequence[str],
) -> TriedTold:
    """A variation of what was decided of a stored case."""
    return TriedTold(
        inputs=tuple(
            InputTried(
                input=each.name,
                present=number(each.present(stored)),
                value=number(float(value)),
                unit=each.unit,
            )
            for each, value in inputs
        ),
        row=row,
        turns=tuple(map(flip_told, turns)),
        left_out=tuple(left_out),
    )


def flip_told(point: FlipPoint) -> FlipPointTold:
    """Where an input turns the verdict."""
    return FlipPointTold(
        input=point.input,
        present=number(point.present),
        flips_at=number(point.flips_at),
        to_verdict=point.to_verdict,
        unit=point.unit,
    )
