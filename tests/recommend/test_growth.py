"""What a decision takes grows no faster than its case, whichever part of the case grows."""

from __future__ import annotations

import cProfile
import pstats
from typing import Any

import pytest

from decision.case import case_from_mapping
from decision.recommend import recommend_mapping
from service.documents import FIGURES
from tests.bench.growth import PARTS, Part, counted_chart, operations

NOISE = 0.15  # share of all calls: what is remembered of other cases, or not, and which failures
MORE_THAN_LINEAR = 1.25  # pairs of a few are compared with each other


def calls(body: dict[str, Any]) -> int:
    """Calls of functions in a decision that nobody made before: the same on every machine."""
    recommend_mapping(case_from_mapping(body))
    mass_kg = body["aircraft"]["mass_kg"] + 37.3
    changed = {**body, "aircraft": {**body["aircraft"], "mass_kg": mass_kg}}
    profile = cProfile.Profile()
    profile.runcall(recommend_mapping, case_from_mapping(changed))
    stats: Any = pstats.Stats(profile)
    return int(stats.total_calls)


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.name)
def test_the_second_half_of_a_part_takes_no_more_than_the_first(part: Part) -> None:
    least, most = part.sizes[0], part.sizes[-1]
    half = (least + most) // 2
    first, middle, last = (calls(part.flight(n)) for n in (least, half, most))
    share = (most - half) / (half - least)
    assert last - middle <= MORE_THAN_LINEAR * share * abs(middle - first) + NOISE * first
    assert operations(part.flight(most)) <= operations(part.flight(least)) * most / least


def test_the_figure_of_the_operations_is_the_one_of_this_engine() -> None:
    assert counted_chart() == (FIGURES / "growth-operations.svg").read_text(encoding="utf-8")
