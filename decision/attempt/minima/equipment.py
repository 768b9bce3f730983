"""Ground equipment that is out of service: what each item does to a minimum, as data.

The table has every item of the request for every method and group of approaches, so that no item
is taken to be without effect by silence [EU-AO] AMC11 CAT.OP.MPA.110, [FAA-TPP].
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import Final

from decision.case.types import ApproachKind, Lights
from decision.citations import Confidence
from decision.tables import Row, rows

FILE: Final = "equipment_out.csv"
COLUMNS: Final = frozenset(
    {
        "method",
        "group",
        "equipment",
        "effect",
        "lights",
        "rvr_m",
        "rvr_from_600_m",
        "add_sm",
        "text",
    }
)
RUNWAY_LIGHTS: Final = frozenset({"edge_lights", "centreline_lights", "touchdown_zone_lights"})
EDGE_LIGHTS: Final = "edge_lights"
SHORT: Final = {each.lower(): each for each in ("ILS", "DME", "VOR", "NDB", "RVR")}


class Method(StrEnum):
    """How a rulebook works out what failed equipment does; the word of its row `minima_method`."""

    LIGHTING_TABLE = "lighting_table"
    VISUAL_AIDS_TABLE = "visual_aids_table"


class ProcedureGroup(StrEnum):
    """Groups of approaches that share the effects of failed equipment."""

    TYPE_B = "type_b"
    TYPE_A = "type_a"
    CIRCLING = "circling"
    LOW_VISIBILITY = "low_visibility"


GROUP_OF_KIND: Final = {
    ApproachKind.TYPE_B: ProcedureGroup.TYPE_B,
    ApproachKind.TYPE_A_3D: ProcedureGroup.TYPE_A,
    ApproachKind.TYPE_A_2D: ProcedureGroup.TYPE_A,
    ApproachKind.CIRCLING: ProcedureGroup.CIRCLING,
}


class Downgrading(StrEnum):
    """What an item out of service does to the minimum."""

    NONE = "none"
    LIGHTS = "lights"  # the class of approach lights falls to `lights`
    RVR_FLOOR = "rvr_floor"  # at least `rvr_m` unless flown by flight director
    RAISED = "raised"  # lowest RVR minima become `rvr_m`, those from 600 m `rvr_from_600_m`, others
    # rise by `add_sm`
    NOT_AT_NIGHT = "not_at_night"
    NOT_ALLOWED = "not_allowed"
    CONDITION = "condition"  # allowed if the crew does what `text` says
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class Downgrade:
    """One cell of the table; figures are None where the effect has none."""

    equipment: str
    effect: Downgrading
    lights: Lights | None
    rvr_m: float | None
    rvr_from_600_m: float | None
    add_sm: float | None
    text: str
    cite: str
    confidence: Confidence

    @property
    def because(self) -> str:
        """The item and what it does, with the source."""
        words = (SHORT.get(word, word) for word in self.equipment.split("_"))
        return f"{' '.join(words)} out: {self.text} [{self.cite}]"


def downgrades(
    equipment_out: tuple[str, ...], *, method: Method, group: ProcedureGroup
) -> tuple[Downgrade, ...]:
    """The effects of all items that are out, in the order of the table. Unknown items: KeyError."""
    cells = _table()[method, group]
    out = {cells[item].equipment for item in equipment_out}
    return tuple(cell for cell in cells.values() if cell.equipment in out)


@cache
def _table() -> dict[tuple[Method, ProcedureGroup], dict[str, Downgrade]]:
    """The cells of each method and group, by item."""
    table: dict[tuple[Method, ProcedureGroup], dict[str, Downgrade]] = defaultdict(dict)
    for row in rows(FILE, columns=COLUMNS):
        cell = _cell(row)
        table[row.kind("method", Method), row.kind("group", ProcedureGroup)][cell.equipment] = cell
    return dict(table)


def _cell(row: Row) -> Downgrade:
    return Downgrade(
        equipment=row.text("equipment"),
        effect=row.kind("effect", Downgrading),
        lights=row.kind("lights", Lights) if row.cells["lights"] else None,
        rvr_m=row.number_or_none("rvr_m"),
        rvr_from_600_m=row.number_or_none("rvr_from_600_m"),
        add_sm=row.number_or_none("add_sm"),
        text=row.text("text"),
        cite=row.text("source"),
        confidence=row.kind("confidence", Confidence),
    )
