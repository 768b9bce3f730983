"""One module per resource: its views, each declared with its address."""

from __future__ import annotations

from typing import Final

from service.address import View
from service.resources import (
    again,
    assets,
    audit,
    batch,
    board,
    catalogue,
    compare,
    decisions,
    docs,
    events,
    failures,
    flights,
    home,
    notices,
    operation,
    parts,
    performance,
    problem_pages,
    reports,
    sessions,
    sweeps,
    watches,
    weather,
)

MODULES: Final = (
    decisions,
    parts,
    again,
    batch,
    sweeps,
    flights,
    compare,
    reports,
    watches,
    events,
    board,
    weather,
    notices,
    failures,
    performance,
    catalogue,
    sessions,
    audit,
    home,
    operation,
    docs,
    assets,
    problem_pages,
)
VIEWS: Final = tuple(
    value for module in MODULES for value in vars(module).values() if isinstance(value, View)
)
