"""Rounding and laying out: figures against the aircraft, lines of eighty columns."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from math import ceil, floor
from typing import Any, Final

WIDTH: Final = 80
INDENT: Final = "  "
STEP_KG: Final = 10
NONE: Final = "-"
CUT: Final = " (more below)"
LEVELS_FROM_FT: Final = 10_000.0  # below it a level is said as an altitude [PRACTICE]

Data = Mapping[str, Any]


def wrapped(text: str, *, first: str = "", rest: str | None = None) -> list[str]:
    """Lines of a text; those after the first begin under its words, or with `rest`."""
    return textwrap.wrap(
        text,
        width=WIDTH,
        initial_indent=first,
        subsequent_indent=" " * len(first) if rest is None else rest,
        break_long_words=True,
        break_on_hyphens=False,
    )


def shortened(text: str, *, width: int, most: int) -> list[str]:
    """At most so many lines of a width; what is left out is said to stand further below."""
    return textwrap.wrap(
        text,
        width=width,
        max_lines=most,
        placeholder=CUT,
        break_long_words=True,
        break_on_hyphens=False,
    ) or [""]


def clock_down(instant: str | None) -> str:
    """Hour and minute of a deadline, or of a moment that is only looked at: never later."""
    return NONE if instant is None else f"{instant[11:16]}Z"


def clock_up(instant: str | None) -> str:
    """Hour and minute of an arrival: never earlier than it will be."""
    if instant is None:
        return NONE
    at = datetime.fromisoformat(instant)
    whole = at.replace(second=0, microsecond=0)
    return f"{whole if whole == at else whole + timedelta(minutes=1):%H:%M}Z"


def in_tens(value: float, rounded: Callable[[float], int]) -> int:
    """To 10 kg, up or down."""
    return rounded(value / STEP_KG) * STEP_KG


def tens(value: float | None, rounded: Callable[[float], int]) -> str:
    """The same as text."""
    return NONE if value is None else str(in_tens(value, rounded))


def kg_down(value: float | None) -> str:
    """Rounded down to 10 kg, as fuel that is there and a margin must be."""
    return NONE if value is None else f"{tens(value, floor)} kg"


def kg_up(value: float | None) -> str:
    """Rounded up to 10 kg: what something takes, never less than the truth."""
    return NONE if value is None else f"{tens(value, ceil)} kg"


def up(value: float | None, unit: str, step: int = 1) -> str:
    """Rounded up: what is needed, a wind that hinders, the time until something is reached."""
    return NONE if value is None else f"{ceil(value / step) * step} {unit}"


def down(value: float | None, unit: str, step: int = 1) -> str:
    """Rounded down: what there is."""
    return NONE if value is None else f"{floor(value / step) * step} {unit}"


def tenth_down(value: float) -> str:
    """A gradient that is reached."""
    return f"{floor(value * 10) / 10:.1f}"


def tenth_up(value: float) -> str:
    """A gradient that is asked for."""
    return f"{ceil(value * 10) / 10:.1f}"


def level_text(pressure_altitude_ft: float) -> str:
    """A flight level, or an altitude where levels have no names."""
    if pressure_altitude_ft < LEVELS_FROM_FT:
        return f"{pressure_altitude_ft:.0f} ft"
    return f"FL{pressure_altitude_ft / 100:03.0f}"


def room_kg(fuel: Data) -> int:
    """Fuel above final reserve in tens; what is missing is the difference of the two as shown."""
    if fuel["margin_kg"] >= 0.0:
        return in_tens(fuel["margin_kg"], floor)
    return in_tens(fuel["landing_kg"], floor) - in_tens(fuel["final_reserve_kg"], ceil)


def above_reserve(fuel: Data) -> str:
    """A margin in words, so that no sign has to be read."""
    room = room_kg(fuel)
    return f"{-room} kg under final reserve" if room < 0 else f"{room} kg above final reserve"


def joined(parts: Iterable[str], by: str = ", ") -> str:
    """Those of the parts that say something."""
    return by.join(part for part in parts if part)


def counted(texts: Sequence[str], most: int) -> list[str]:
    """The first few, and how many more there are."""
    more = len(texts) - most
    return [*texts[:most], *([f"and {more} more"] if more > 0 else [])]
