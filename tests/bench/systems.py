"""Expanding failures: one against ten, so that the cost of a long list shows as a ratio."""

from __future__ import annotations

from random import Random
from typing import Final

from decision.quantities import GearPosition
from decision.systems import assess
from tests.bench.measure import Comparison, Way
from tests.systems.builders import CATALOGUE, XTJ, report

MANY: Final = 10
IDS: Final = [entry.id for entry in CATALOGUE if GearPosition.UP in entry.gear]
TEN: Final = [report(id_) for id_ in Random(5).sample(IDS, MANY)]  # noqa: S311


def expand(count: int) -> None:
    """Assess the first so many of the ten failures."""
    assess(XTJ, TEN[:count], gear=GearPosition.UP, flap="0", slats=None)


COMPARISONS: Final = (
    Comparison(
        title="failures expanded",
        ours=Way(label="ten", call=lambda: expand(MANY), items=MANY),
        yardstick=Way(label="one", call=lambda: expand(1)),
    ),
)
