"""What the page of a recorded decision offers to vary: a slider for each of six inputs."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, Final

from msgspec import Struct

from decision.what_if.vary import BY_NAME
from service.page.figures.margins import course_name

Data = Mapping[str, Any]


class Slider(Struct, frozen=True, kw_only=True):
    """One input: how it is called, and where its slider may go.

    `around`: so far on either side of what it is in the case, as far as the input goes; None: over
    the whole of `steps`, each a value up to which the slider moves by so much.
    """

    input: str
    label: str
    around: float | None = None
    steps: tuple[tuple[float, float], ...] = ()
    start: float = 0.0

    @property
    def unit(self) -> str:
        """Unit of the input."""
        return BY_NAME[self.input].unit

    @property
    def values(self) -> str:
        """Every value that the slider can have, as JSON; empty where it moves around the case's."""
        if not self.steps:
            return ""
        value, values = self.start, [self.start]
        for end, step in self.steps:
            while value < end:
                value += step
                values.append(value)
        return json.dumps(values)

    @property
    def step(self) -> float:
        """How far one step moves it where it moves around what the case has."""
        return BY_NAME[self.input].step


SLIDERS: Final = (
    Slider(input="fuel_on_board_kg", label="Fuel on board", around=3000.0),
    Slider(
        input="diversion_headwind_kt",
        label="More headwind on diversions",
        start=-60.0,
        steps=((100.0, 1.0),),
    ),
    Slider(
        input="destination_visibility_m",
        label="Visibility (RVR) at the destination",
        steps=((1000.0, 50.0), (3000.0, 100.0), (10_000.0, 500.0)),
    ),
    Slider(
        input="destination_ceiling_ft",
        label="Ceiling at the destination",
        steps=((1000.0, 50.0), (2000.0, 100.0), (5000.0, 500.0)),
    ),
    Slider(input="delay_min", label="Delay before the approach", steps=((60.0, 1.0),)),
    Slider(input="mass_kg", label="Gross mass", around=5000.0),
)


def names_of_courses(answer: Data) -> str:
    """How the page calls each course of an answer, as JSON by its label."""
    return json.dumps({each["course"]: course_name(each) for each in answer["courses"]})
