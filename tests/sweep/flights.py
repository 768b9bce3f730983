"""Flights of an evening, made of a demo case: nothing has failed, and the way is still long."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

from tests.case.builders import demo

FEW: list[str] = ["hydraulic-1", "engine-1", "gear-retraction", "pressurisation", "fuel-leak"]


def flight(number: int = 0, *, track_nm: float = 150.0, more_kg: float = 900.0) -> dict[str, Any]:
    """The flight of that number, so far from its destination."""
    body = copy.deepcopy(demo("clean"))
    body["flight_id"] = f"VENTO {100 + number}"
    body["failures"] = []
    body["fuel"]["on_board_kg"] += more_kg
    body["aircraft"]["mass_kg"] += more_kg
    body["destination"]["track_nm"] = track_nm
    return body


def evening(count: int) -> list[dict[str, Any]]:
    """So many flights, no two alike."""
    return [
        flight(number, track_nm=60.0 + 53 * number % 250, more_kg=500.0 + 37 * number % 1500)
        for number in range(count)
    ]


def written(flights: list[dict[str, Any]], file: Path) -> Path:
    """A case a line."""
    file.write_text("".join(json.dumps(each) + "\n" for each in flights), encoding="utf-8")
    return file
